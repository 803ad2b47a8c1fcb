"""Examining one rope along its length, clearing it, and what to do with what was found."""

from collections.abc import Sequence
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.basics import Finding
from tethera.store import Cleared, Event, Inspected, Refused, RopeState, names_a_fault
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.inspection.faults import (
    MOST,
    Fault,
    FaultForm,
    beyond_the_end,
    cuts_of,
    faults_of,
    fit_with_faults,
    line_of,
    rows_of,
)
from tethera.web.inspection.forms import ExamineForm
from tethera.web.paper.forms import when_doubts


@page(May.INSPECT, post=May.INSPECT)
def inspect_rope(visit: Visit, number: str) -> HttpResponse:
    """Examine one rope. What was found is drawn as it is written; only the last button records."""
    state = visit.rope(number)
    units = visit.units
    if visit.request.method != "POST":
        return _page(visit, state, ExamineForm(visit=visit, state=state), rows_of(None, units))
    told = visit.request.POST
    form = ExamineForm(told, visit=visit, state=state)
    rows = rows_of(told, units, more=told.get("act") == "more")
    if told.get("act") == "look" and visit.request.headers.get("HX-Request"):
        faults = faults_of(rows)
        doubts = fit_with_faults(state, faults, told.get("outcome", ""))
        return visit.page("inspection/line.html", {"rope": state, "line": line_of(state, faults), "doubts": doubts})
    if told.get("act") in ("look", "more"):
        # Nothing is to be recorded yet, so nothing is missing yet: what was typed stays, without a word about the rest.
        return _page(visit, state, ExamineForm(visit=visit, state=state, initial=told.dict()), rows)
    faults = faults_of(rows)
    whole = all([form.is_valid(), *(row.is_valid() for row in rows)])
    if whole and not faults and not form.cleaned_data["findings"].strip():
        form.add_error("findings", _("Write what you saw, if only that you saw nothing."))
    if not whole or form.errors:
        return _page(visit, state, form, rows, status=422)
    try:
        events = _events(visit, state, form, faults)
        findings = visit.record(events, seen=visit.seen)
    except Refused as refused:
        return _page(visit, state, form, rows, missing=refused.missing, status=409)
    visit.tell(_done(state, events), [*_doubts(state, faults, form, findings), *findings, *when_doubts(form)])
    return redirect(_afterwards(visit, state, faults))


def _doubts(state: RopeState, faults: Sequence[Fault], form: ExamineForm, recorded: Sequence[Finding]) -> list[Finding]:
    """What is odd about what was found, beside the doubts that the record brings itself."""
    known = {each.code for each in recorded}
    found = [*fit_with_faults(state, faults, form.cleaned_data["outcome"]), *beyond_the_end(state, faults)]
    return [each for each in found if each.code not in known]


def written(form: ExamineForm, faults: Sequence[Fault]) -> str:
    """What was found, as it stands in the record."""
    said = "; ".join(each.spoken() for each in faults)
    said = f"{said[:1].upper()}{said[1:]}." if said else ""
    return " ".join(each for each in (said, form.cleaned_data["findings"].strip()) if each)


def _events(visit: Visit, state: RopeState, form: ExamineForm, faults: Sequence[Fault]) -> list[Event]:
    """The examination, and what its outcome asks for."""
    told, by = form.cleaned_data, visit.membership.person
    when, found = told["happened"], written(form, faults)
    events: list[Event] = [
        Inspected(rope=state.id, happened=when, reason=told["reason"], findings=found, outcome=told["outcome"],
                  person=by, next_due=told["next_due"])
    ]  # fmt: skip
    if told.get("clear"):
        events.append(Cleared(rope=state.id, happened=when, person=by, findings=told["answered"].strip()))
    return events


def _done(state: RopeState, events: Sequence[Event]) -> str:
    said = [_("Examined: {rope}.").format(rope=state.id)]
    if any(isinstance(each, Cleared) for each in events):
        said.append(_("It is cleared."))
    elif any(isinstance(each, Inspected) and each.outcome == "not fit" for each in events):
        said.append(_("It is set aside. Nobody may take it until a competent person clears it in writing."))
    elif state.set_aside is not None:
        said.append(_("It stays set aside: it was not cleared."))
    return " ".join(said)


def _afterwards(visit: Visit, state: RopeState, faults: Sequence[Fault]) -> str:
    """To the rope, or to the cuts that would take the faults away."""
    placed = [each for each in faults if each.at_cm is not None and each.at_cm <= (state.length_cm or 0)]
    if not placed or not visit.may(May.PREPARE):
        return reverse("rope", args=[visit.store.slug, state.id])
    query = urlencode([(name, value) for each in placed for name, value in (("at", each.at_cm), ("what", each.what))])
    return f"{reverse('cut-out', args=[visit.store.slug, state.id])}?{query}"


@page(May.PREPARE)
def cut_out(visit: Visit, number: str) -> HttpResponse:
    """What a cut at each fault would leave; the cut itself is recorded on the rope's own page."""
    state = visit.rope(number)
    places, whats = visit.request.GET.getlist("at")[:MOST], visit.request.GET.getlist("what")[:MOST]
    faults = [
        Fault(what[:100] or "other", int(at))
        for at, what in zip(places, whats, strict=False)
        if at.isdecimal() and len(at) < 8
    ]
    context = {"rope": state, "line": line_of(state, faults), "cuts": cuts_of(state, faults)}
    return visit.page("inspection/cut_out.html", context)


def _page(
    visit: Visit,
    state: RopeState,
    form: ExamineForm,
    rows: Sequence[FaultForm],
    *,
    missing: Sequence[str] = (),
    status: int = 200,
) -> HttpResponse:
    context = {
        "rope": state,
        "form": form,
        "rows": rows,
        "line": line_of(state, faults_of(rows)),
        "doubts": fit_with_faults(state, faults_of(rows), str(form.data.get("outcome") or form.initial.get("outcome"))),
        "missing": missing,
        "seen": len(visit.register),
        "before": [
            {"event": event, "doubted": event.outcome == "fit" and names_a_fault(event.findings)}
            for each in reversed(visit.register.events(state.id))
            if isinstance(event := each.event, Inspected)
        ][:3],
        "name": visit.membership.account.name,
    }  # fmt: skip
    return visit.page("inspection/examine.html", context, status)
