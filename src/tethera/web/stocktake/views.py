"""The stocktake: walk the racks, tick, see what is missing."""

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.forms import when_doubts
from tethera.web.stocktake.walk import Walk, WalkForm, racks

#: Walks told beside the list.
_LAST = 6


@page(May.PREPARE, post=May.PREPARE)
def stocktake(visit: Visit) -> HttpResponse:
    """The list of the racks; when it was sent, what was seen against what should be there; then the record."""
    if visit.request.method != "POST":
        return _list(visit, WalkForm(), Walk())
    form, walk = WalkForm(visit.request.POST), Walk.of(visit)
    act = visit.request.POST.get("act", "")
    if not form.is_valid():
        return _list(visit, form, walk, status=422)
    if act == "list":
        return _list(visit, form, walk)
    if not walk.seen and not walk.unknown:
        return _list(visit, form, walk, problem=_("Tick or write the ropes you saw first."), status=422)
    if act != "record":
        return _compared(visit, form, walk)
    gone = {each.id for each in walk.not_seen(visit.ropes)}
    missed = [each for each in dict.fromkeys(visit.request.POST.getlist("missed")) if each in gone]
    back = [each.id for each in walk.away if visit.request.POST.get(f"do-{each.id}") == "returned"]
    findings = visit.record(walk.events(form.cleaned_data, back, missed))
    visit.tell(_told(walk, back, missed), (*findings, *when_doubts(form)))
    return redirect("stocktake", visit.store.slug)


def _told(walk: Walk, back: list[str], missed: list[str]) -> str:
    seen = len(walk.seen)
    said = [ngettext("Stocktake recorded: %(n)d rope seen.", "Stocktake recorded: %(n)d ropes seen.", seen)]
    said[0] %= {"n": seen}
    for words, ropes in (
        (_("Missing: {ropes}."), missed),
        (_("Brought back: {ropes}."), back),
        (_("Found again: {ropes}."), [each.id for each in walk.found]),
    ):
        if ropes:
            said.append(words.format(ropes=", ".join(ropes)))
    return " ".join(said)


def _list(visit: Visit, form: WalkForm, walk: Walk, *, problem: str = "", status: int = 200) -> HttpResponse:
    by = visit.request.GET.get("by", "length")
    shown = racks(visit, by)
    on_list = {each.id for each in shown}
    # Numbers read on the page that reads marks.
    told = visit.request.GET.get("numbers", "").strip()[:40_000]
    context = {
        "form": form,
        "walk": walk,
        "racks": shown,
        # Retired ropes are on no list: their numbers stay where they were typed.
        "typed": " ".join((*(each.id for each in walk.seen if each.id not in on_list), *walk.unknown)) or told,
        "told": told,
        "by": by,
        "problem": problem,
        "last": visit.register.stocktakes()[:_LAST],
    }
    return visit.page("stocktake/racks.html", context, status)


def _compared(visit: Visit, form: WalkForm, walk: Walk) -> HttpResponse:
    gone = walk.not_seen(visit.ropes)
    context = {
        "form": form,
        "walk": walk,
        "gone": gone,
        "unknown_words": " ".join(walk.unknown),
        "seen_cm": sum(each.length_cm or 0 for each in walk.seen),
        "aside": [each for each in walk.as_expected if each.state == "set aside"],
    }
    return visit.page("stocktake/compared.html", context)
