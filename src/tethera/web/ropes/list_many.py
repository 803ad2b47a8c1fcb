"""One act for several ropes: the ropes picked, the details to fill in, one button; recorded for all or for none."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.http import Http404, HttpResponse, HttpResponseRedirect, QueryDict
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tethera.basics import Finding
from tethera.store import Event, LogMovedOn, Refused, RopeState, missing
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.forms import when_doubts
from tethera.web.ropes.list_acts import ACTS, ELSEWHERE, ManyAct
from tethera.web.ropes.list_page import address_of

#: Numbers named one by one in a sentence; of more only how many.
_NAMED = 12


@page(May.READ, post=May.TAKE)
def many(visit: Visit) -> HttpResponse:
    """The second step: details for the picked ropes."""
    asked = visit.request.POST if visit.request.method == "POST" else visit.request.GET
    states = [visit.rope(each) for each in dict.fromkeys(asked.getlist("rope"))]
    if asked.get("act") in ELSEWHERE and states:
        query = urlencode([("rope", each.id) for each in states])
        return HttpResponseRedirect(f"{reverse(ELSEWHERE[asked['act']], args=[visit.store.slug])}?{query}")
    act = ACTS.get(asked.get("act", ""))
    if act is None and asked.get("act") not in ELSEWHERE:
        raise Http404(_("There is nothing of that name to record. Go back to the list."))
    if act is not None:
        visit.must(act.needs)
    if act is None or not states:
        return visit.page("ropes/list_none.html", {"back": _back(asked)})
    if visit.request.method != "POST":
        return _page(visit, act, states, act.form(visit=visit, state=states[0]), asked)
    return _sent(visit, act, states, asked)


def _sent(visit: Visit, act: ManyAct, states: Sequence[RopeState], asked: QueryDict) -> HttpResponse:
    """What comes of a form sent: recorded, or the same page with what is missing."""
    without = asked.get("without")
    if without:
        states = [each for each in states if each.id != without]
        if not states:
            return visit.page("ropes/list_none.html", {"back": _back(asked)})
    form = act.form(asked, visit=visit, state=states[0])
    if without:
        # Somebody still fills it in: what is typed stays, and nothing is said of what is not yet.
        form = act.form(visit=visit, state=states[0], initial={name: asked.get(name, "") for name in form.fields})
        return _page(visit, act, states, form, asked)
    if not form.is_valid():
        return _page(visit, act, states, form, asked, status=400)
    events = [act.build(visit, each, form.cleaned_data) for each in states]
    try:
        findings = visit.record(events, seen=visit.seen)
    except Refused:
        return _page(visit, act, states, form, asked, lacking=_lacking(visit, states, events), status=409)
    except LogMovedOn as moved:
        return _page(visit, act, states, form, asked, moved=str(moved), status=409)
    visit.tell(str(act.done).format(ropes=_spoken(states)), (*together(findings), *when_doubts(form)))
    back = _back(asked)
    return HttpResponseRedirect(reverse("ropes", args=[visit.store.slug]) + (f"?{back}" if back else ""))


@dataclass(frozen=True)
class _Picked:
    state: RopeState
    lacks: tuple[str, ...]


def _page(
    visit: Visit,
    act: ManyAct,
    states: Sequence[RopeState],
    form: forms.Form,
    asked: QueryDict,
    *,
    lacking: dict[str, tuple[str, ...]] | None = None,
    moved: str = "",
    status: int = 200,
) -> HttpResponse:
    lacking, back = lacking or {}, _back(asked)
    # Whoever cannot be taken along stands first.
    picked = sorted((_Picked(each, lacking.get(each.id, ())) for each in states), key=lambda each: not each.lacks)
    told: dict[str, Any] = {
        "act": act,
        "form": form,
        "picked": picked,
        "total_cm": sum(each.length_cm or 0 for each in states),
        "unready": act.word in ("take-out", "book"),
        "button": act.says(len(states)),
        "lacking": lacking,
        "moved": moved,
        "back": back,
        "back_picked": "&".join(each for each in (back, urlencode([("rope", one.id) for one in states])) if each),
        "seen": len(visit.register),
    }
    return visit.page("ropes/list_act.html", told, status)


def _lacking(visit: Visit, states: Sequence[RopeState], events: Sequence[Event]) -> dict[str, tuple[str, ...]]:
    """What each of them lacks, so that all can be mended at once."""
    found = {each.id: missing(visit.rope(each.id), event) for each, event in zip(states, events, strict=True)}
    return {rope: lacks for rope, lacks in found.items() if lacks}


def _back(asked: QueryDict) -> str:
    """The list as it was: said by the list itself, or kept by the form."""
    kept = asked.get("back")
    return address_of(asked if kept is None else QueryDict(kept[:4000]))


def _spoken(states: Sequence[RopeState]) -> str:
    if len(states) <= _NAMED:
        return ", ".join(each.id for each in states)
    return ngettext("%(n)d rope", "%(n)d ropes", len(states)) % {"n": len(states)}


def together(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The same doubt about several ropes said once, with all their numbers."""
    ropes: dict[tuple[str, str, str], list[str]] = {}
    for each in findings:
        ropes.setdefault((each.code, each.message, each.way_out), []).append(each.where.removeprefix("rope "))
    return tuple(
        Finding(code, ", ".join(dict.fromkeys(where)), message, way_out)
        for (code, message, way_out), where in ropes.items()
    )
