"""A correction: what was written stays, and beside it stands what happened, or that nothing did, and why."""

from django import forms
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _

from tethera.basics import Finding, PartialDate
from tethera.store import Corrected, Event, RopeState, only_competent
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.forms import when_doubts
from tethera.web.ropes.one_event_form import EventForm, ropes_of
from tethera.web.ropes.one_life import sentence


class StruckForm(forms.Form):
    """Why it did not happen."""

    reason = forms.CharField(max_length=1000)


@page(May.PREPARE, post=May.PREPARE)
def correct(visit: Visit, number: str, event: int) -> HttpResponse:
    """Correct one entry of a rope's life."""
    state = visit.rope(number)
    written, standing = _entry(visit, state, event)
    _check_may(visit, written, standing)
    typed = visit.request.POST if visit.request.method == "POST" else None
    form = EventForm(typed, event=standing or written, visit=visit, struck=standing is None)
    if typed is None:
        return _page(visit, state, event, form)
    if visit.sent_before:
        return redirect("rope", visit.store.slug, state.id)
    if moved := _moved(visit, event):
        return _page(visit, state, event, form, moved, 409)
    if "struck" in typed:
        return _strike(visit, state, event, form)
    if not form.is_valid() or form.replacement is None:
        return _page(visit, state, event, form, status=400)
    return _record(visit, state, Corrected(
        happened=PartialDate.of(timezone.localdate()), event=event, reason=form.cleaned_data["reason"],
        replacement=form.replacement,
    ), when_doubts(form))  # fmt: skip


def _strike(visit: Visit, state: RopeState, event: int, form: EventForm) -> HttpResponse:
    why = StruckForm(visit.request.POST)
    if not why.is_valid():
        form.full_clean()
        form.errors.clear()
        form.add_error("reason", _("Say why it did not happen: that stays beside it."))
        return _page(visit, state, event, form, status=400)
    today = PartialDate.of(timezone.localdate())
    return _record(visit, state, Corrected(happened=today, event=event, reason=why.cleaned_data["reason"]))


def _record(visit: Visit, state: RopeState, correction: Corrected, doubts: tuple[Finding, ...] = ()) -> HttpResponse:
    findings = (*visit.record((correction,)), *doubts)
    told = _("{rope}: struck out.") if correction.replacement is None else _("{rope}: corrected.")
    visit.tell(told.format(rope=state.id), findings)
    return redirect("rope", visit.store.slug, state.id)


def _entry(visit: Visit, state: RopeState, number: int) -> tuple[Event, Event | None]:
    """The entry as first written and as it stands; not found unless it speaks of this rope."""
    log = visit.opened.log.read_so_far()
    written = log[number].event if number < len(visit.register) else None
    if written is None or isinstance(written, Corrected):
        raise Http404(_("There is no such entry. Go back to the rope and choose one of its life."))
    standing = visit.register.stands(number)
    known = {*ropes_of(written), *(ropes_of(standing) if standing else ())}
    if not known & {state.id, *visit.register.lineage(state.id, visit.today)}:
        raise Http404(_("That entry is not about {rope}.").format(rope=state.id))
    return written, standing


def _check_may(visit: Visit, written: Event, standing: Event | None) -> None:
    """The keeper corrects; an examination or a clearing only a competent person."""
    competent = only_competent(written) or (standing is not None and only_competent(standing))
    if competent and not visit.may(May.INSPECT):
        raise PermissionDenied(_("Only a competent person corrects an examination or a clearing."))
    if not competent and not visit.may(May.KEEP):
        raise PermissionDenied(_("Only the tackle keeper corrects the record. Write a note, and tell the keeper."))


def _moved(visit: Visit, number: int) -> str:
    """What to say when somebody corrected the same entry after this form was opened."""
    since = () if visit.seen is None else visit.opened.log.read_so_far()[visit.seen :]
    if any(isinstance(each.event, Corrected) and each.event.event == number for each in since):
        return _("Somebody corrected this meanwhile. Look at what stands now, then correct it again if it is wrong.")
    return ""


def _page(
    visit: Visit, state: RopeState, number: int, form: EventForm, moved: str = "", status: int = 200
) -> HttpResponse:
    standing = visit.register.stands(number)
    recorded = visit.opened.log.read_so_far()[number]

    told = {
        "rope": state,
        "number": number,
        "form": form,
        "moved": moved,
        "seen": len(visit.register),
        "written": sentence(visit, recorded.event),
        "written_on": recorded.event.happened,
        "recorded": recorded,
        "stands": None if standing is None else sentence(visit, standing),
        "stands_on": standing.happened if standing else None,
        "corrected": standing is not recorded.event,
        "correction": visit.register.correction_of(number),
    }
    return visit.page("ropes/rope_correct.html", told, status)
