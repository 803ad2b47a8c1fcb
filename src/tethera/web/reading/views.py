"""The page that reads marks: by the camera, from a photograph, or typed."""

from collections.abc import Iterator
from typing import IO

from csp.decorators import csp_update
from django.conf import settings
from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.numbers import read_numbers
from tethera.web.reading.codes import codes_in
from tethera.web.reading.leading import Asked, no_rope, rope_of_code
from tethera.web.ropes.one_pictures import NoPicture


# Some browsers count what a camera sees among the media a page must be allowed to show.
@csp_update({"media-src": ["mediastream:"]})
@page(May.READ, post=May.READ)
def read_mark(visit: Visit) -> HttpResponse:
    """The camera where there is one, a photograph everywhere; a number that was read leads on."""
    asked = Asked.of(visit)
    if code := visit.request.GET.get("code", "")[:200]:
        return _to_camera(visit, asked, code)
    told = visit.request.POST if visit.request.method == "POST" else visit.request.GET
    number, wrong, choice = told.get("number", "").strip()[:200], "", list[str]()
    if number:
        if ropes := _typed(visit, asked, number):
            return redirect(asked.leads(visit, *ropes))
        wrong = no_rope([number])
    elif visit.request.method == "POST":
        wrong, choice = _from_photo(visit)
        if len(choice) == 1:
            return redirect(asked.leads(visit, choice[0]))
    context = {"asked": asked, "wrong": wrong, "choice": choice, "number": number if wrong else ""}
    if len(choice) > 1 and asked.purpose.asks:
        # Where several ropes may go on together, so may all that one picture shows.
        context["together"] = asked.leads(visit, *choice)
    return visit.page("reading/read.html", context, 422 if wrong else 200)


def _typed(visit: Visit, asked: Asked, number: str) -> tuple[str, ...]:
    """The rope typed, or the ropes where several may go on; none where any of it is no number of the store."""
    if asked.purpose.asks:
        # Blanks stand between numbers: 2 5 are two ropes, not the 25th.
        numbers = read_numbers(visit.register, number)
        return () if numbers.unknown else numbers.ropes
    known = visit.register.known(number)
    return () if known is None else (known,)


def _to_camera(visit: Visit, asked: Asked, code: str) -> HttpResponse:
    """In a few words: which rope it is and where it leads, or that it is none; the camera looks on meanwhile."""
    rope = rope_of_code(visit.register, code)
    if rope is None:
        return JsonResponse({"told": no_rope([code])})
    return JsonResponse({"rope": rope, "next": asked.leads(visit, rope)})


def _let_go(visit: Visit, looks: Iterator[tuple[str, ...]]) -> Iterator[tuple[str, ...]]:
    """Each closer look at a photograph while others use the store."""
    while True:
        with visit.let_go():
            said = next(looks, None)
        if said is None:
            return
        yield said


def _ropes_in(visit: Visit, photo: IO[bytes], name: str) -> tuple[list[str], list[str]]:
    """The ropes whose marks a photograph shows; what other codes in it say."""
    ropes, others = list[str](), list[str]()
    for said in _let_go(visit, codes_in(photo, name)):
        for each in said:
            rope = rope_of_code(visit.register, each)
            if rope is None:
                others.append(each)
            elif rope not in ropes:
                ropes.append(rope)
        if ropes:
            break
    return ropes, others


def _from_photo(visit: Visit) -> tuple[str, list[str]]:
    """What is wrong, or the ropes of the store whose marks a photograph shows."""
    photo = visit.request.FILES.get("photo")
    if photo is None:
        return _("Take a photograph of the mark first, or type its number."), []
    if (photo.size or 0) > settings.LARGEST_UPLOAD_BYTES:
        return _("That file is larger than any photograph. Take the picture once more."), []
    try:
        ropes, others = _ropes_in(visit, photo, photo.name or _("the file"))
    except NoPicture as error:
        return str(error), []
    if ropes:
        return "", ropes
    if others:
        return no_rope(others), []
    hint = _("Go nearer, hold the rope straight and still, and let light fall on it; or type the number.")
    return f"{_('No code was read in that picture.')} {hint}", []
