"""New ropes: what was bought, what it is cut into, and the new numbers."""

from dataclasses import replace

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from tethera.store import RopeState
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.forms import when_doubts
from tethera.web.paper.offered import said_of
from tethera.web.reels.foretold import foretold
from tethera.web.reels.forms import NewRopesForm, PiecesForm

_KNOWN = ("product", "maker", "material", "supplier")


@page(May.KEEP, post=May.KEEP)
def new_ropes(visit: Visit) -> HttpResponse:
    """The form; all that was bought and cut is recorded, or nothing."""
    # What leads here may fill in what it knows: a list to buy names the reel and its cuts.
    form = NewRopesForm(visit.request.POST or None, visit=visit, initial=visit.request.GET.dict())
    if visit.request.method != "POST" or not form.is_valid():
        return _form_page(visit, form)
    cutting = form.cutting()
    sure = visit.request.POST.get("sure") == cutting.seal
    if "look" in visit.request.POST or (cutting.too_much and not sure):
        return _form_page(visit, form)
    bought, cut_on = form.bought(), form.cleaned_data["cut_on"]
    numbers, findings = visit.record_new(cutting.numbers, lambda numbers: cutting.events(numbers, bought, cut_on))
    kept = numbers[len(cutting.reels_cm) :] if cutting.into_cm else numbers
    visit.tell(_told(numbers, kept), (*findings, *when_doubts(form)))
    return redirect(f"{reverse('new-ropes-written', args=[visit.store.slug])}?{urlencode({'ropes': ','.join(kept)})}")


def _told(numbers: tuple[str, ...], kept: tuple[str, ...]) -> str:
    if kept == numbers:
        return _("Written down: {ropes}.").format(ropes=", ".join(kept))
    reels = [each for each in numbers if each not in kept]
    return _("Written down: {reels}, cut into {ropes}.").format(reels=", ".join(reels), ropes=", ".join(kept))


def _form_page(visit: Visit, form: NewRopesForm) -> HttpResponse:
    cutting = form.cutting() if form.is_bound and form.is_valid() else None
    told = foretold(visit, form.cleaned_data if form.is_bound and form.is_valid() else form.initial)
    cutting = cutting and replace(cutting, loss=told.loss)
    context = {"form": form, "cutting": cutting, "known": said_of(visit.ropes, _KNOWN), "foretold": told}
    bad = form.is_bound and not form.is_valid()
    return visit.page("reels/new.html", context, status=422 if bad else 200)


@page(May.KEEP)
def pieces(visit: Visit) -> HttpResponse:
    """What the typed lengths come to, while they are typed."""
    form = PiecesForm({name: visit.request.GET.get(name, "") for name in PiecesForm.base_fields}, units=visit.units)
    cutting = form.cutting()
    told = foretold(visit, form.cleaned_data)
    cutting = cutting and replace(cutting, loss=told.loss)
    return visit.page("reels/pieces.html", {"cutting": cutting, "pieces_form": form, "foretold": told})


@page(May.KEEP)
def written(visit: Visit) -> HttpResponse:
    """The new numbers, large, in order of length, and what comes next."""
    asked = {each for each in visit.request.GET.get("ropes", "").split(",") if each}
    ropes = sorted((rope for rope in visit.ropes if rope.id in asked), key=_by_length)
    if not ropes:
        return redirect("new-ropes", visit.store.slug)
    waiting = [("rope", rope.id) for rope in ropes if rope.state == "in preparation"]
    return visit.page("reels/written.html", {"ropes": ropes, "picked": urlencode(waiting)})


def _by_length(rope: RopeState) -> tuple[int, int, str]:
    return (-(rope.length_cm or 0), len(rope.id), rope.id)
