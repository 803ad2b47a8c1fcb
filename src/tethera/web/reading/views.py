"""The page that reads marks, and where a number that was read leads."""

from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.reading.codes import codes_in
from tethera.web.ropes.one_pictures import NoPicture

#: What for: the page, and what its address calls the number; None where the number stands in the address.
_LEADS: dict[str, tuple[str, str | None]] = {
    "open": ("rope", None),
    "take": ("out-and-back", "take"),
    "back": ("bring-back", "numbers"),
    "measure": ("measure-rope", None),
    "marks": ("marks", "rope"),
}
_MOST_BYTES = 25_000_000


@page(May.READ, post=May.READ)
def read_mark(visit: Visit) -> HttpResponse:
    """The camera where there is one, a photograph everywhere; a number that was read leads on."""
    told = visit.request.POST if visit.request.method == "POST" else visit.request.GET
    what = told.get("for", "open") if told.get("for") in _LEADS else "open"
    wrong, choice = "", list[str]()
    if number := told.get("number", "").strip()[:40]:
        known = visit.register.known(number)
        if known is not None:
            return redirect(_leads(visit, what, known))
        wrong = _("{number} is no rope of this store.").format(number=number)
    elif visit.request.method == "POST":
        wrong, choice = _from_photo(visit)
        if len(choice) == 1:
            return redirect(_leads(visit, what, choice[0]))
    context = {"for": what, "wrong": wrong, "choice": choice, "lead": _leads(visit, what, "NUMBER")}
    return visit.page("reading/read.html", context, 422 if wrong else 200)


def _from_photo(visit: Visit) -> tuple[str, list[str]]:
    """What is wrong, or the ropes of the store whose marks a photograph shows."""
    photo = visit.request.FILES.get("photo")
    if photo is None:
        return _("Take a photograph of the mark first, or type its number."), []
    if (photo.size or 0) > _MOST_BYTES:
        return _("That file is larger than any photograph. Take the picture once more."), []
    try:
        said = codes_in(photo, photo.name or _("the file"))
    except NoPicture as error:
        return str(error), []
    ropes = list(dict.fromkeys(known for each in said if (known := visit.register.known(each)) is not None))
    if ropes:
        return "", ropes
    if said:
        return _("{number} is no rope of this store.").format(number=said[0][:40]), []
    hint = _("Go nearer, hold the rope straight and still, and let light fall on it; or type the number.")
    return f"{_('No code was read in that picture.')} {hint}", []


def _leads(visit: Visit, what: str, number: str) -> str:
    name, asks = _LEADS[what]
    if asks is None:
        return reverse(name, args=[visit.store.slug, number])
    return f"{reverse(name, args=[visit.store.slug])}?{urlencode({asks: number})}"
