"""One step of the fold: what each event changes in the state of its rope. The doubts it raises are in rules.py."""

from collections.abc import Iterator
from dataclasses import fields, replace
from functools import singledispatch

from tethera.basics import Finding, PartialDate, show_metres
from tethera.store import events as e
from tethera.store.limits import limit
from tethera.store.marks_true import given, marked_anew, marks_still_true
from tethera.store.measuring import measured
from tethera.store.rope_state import BEFORE_RECORD, Answer, Booking, RopeState, Wait, changed
from tethera.store.rules import doubts
from tethera.store.waits import with_wait, without_wait

_NEW: tuple[Wait, ...] = ("wash", "dry", "measure", "mark", "put into service")
_SPECIFICATION = tuple(field.name for field in fields(e.Specified) if field.name not in {"rope", "happened", "note"})


def step(state: RopeState, event: e.Event, number: int) -> RopeState:
    """The rope after one more event, with what must be doubted about it."""
    found = doubts(state, event)
    after = marks_still_true(_apply(event, state, number))
    if after.waits != state.waits:
        after = changed(after, waits_since=event.happened)
    if event.note:
        after = changed(after, notes=(*after.notes, event.note))
    return changed(after, findings=(*after.findings, *found)) if found else after


def after_birth_by_cut(parent: RopeState, cut: e.Cut, child: str) -> RopeState:
    """A piece just cut: it has the age, use and specification of its parent, and what kept that from use keeps this."""
    length_cm = next(piece.length_cm for piece in cut.into if piece.rope == child)
    again = f"{parent.id} was already cut on {parent.cut_on.spoken()}: correct one of the cuts" if parent.cut_on else ""
    return changed(
        parent,
        id=child,
        length_cm=length_cm,
        known_by="cut",
        measured_on=None,
        doubted_cm=None,
        length_doubt="",
        parent=parent.id,
        children=(),
        bookings=(),
        marked_m=None,
        mark_words="",
        mark_too_long="",
        mark_measured_false=False,
        given_to="",
        notes=(),
        findings=(*_too_long_together(parent, cut, child), *_handed_down(parent, cut, child)),
        waits=with_wait(parent.waits, "measure", "mark", "put into service"),
        waits_since=cut.happened,
        missing=None,
        retired=again or parent.retired,
        cut_on=None,
        answers=(),
        born=True,
        born_on=cut.happened,
    )


def _too_long_together(parent: RopeState, cut: e.Cut, child: str) -> tuple[Finding, ...]:
    """A doubt on each piece until it is measured: one of them at least is shorter than was written."""
    total_cm = sum(piece.length_cm for piece in cut.into)
    if parent.length_cm is None or total_cm <= parent.length_cm:
        return ()
    told = (
        f"{parent.id} was cut into pieces of {show_metres(total_cm)} m together, more than the "
        f"{show_metres(parent.length_cm)} m it had."
    )
    return (Finding("pieces-too-long", f"rope {child}", told, "Measure this piece."),)


def _handed_down(parent: RopeState, cut: e.Cut, child: str) -> Iterator[Finding]:
    """What stays in doubt of a piece: how it was washed, and a fault beside “fit” unless a stretch was cut out."""
    left_out_cm = (parent.length_cm or 0) - sum(piece.length_cm for piece in cut.into)
    for each in parent.findings:
        if each.code == "washed-hot" or (
            each.code == "fit-with-faults" and left_out_cm < limit("damaged_stretch") * 100
        ):
            yield replace(each, where=f"rope {child}")


def _answer(state: RopeState, answer: Answer) -> RopeState:
    """Keep in mind that somebody cleared the rope, had it in hand or brought it back."""
    return changed(state, answers=(*state.answers, answer))


_DOUBTED_ANSWERS = {
    "cleared": ("not-set-aside", "Cleared"),
    "found": ("not-missing", "Found"),
    "returned": ("never-taken", "Returned"),
}


def _answered(state: RopeState, number: int, what: str, happened: PartialDate) -> RopeState | None:
    """The rope when what now happens to it was answered already; else None.

    Set aside in March, cleared on the 10th: by caution March counts from its last day. But when the dates can be in
    the order in which the two were written down, the clearing answers it; its doubt goes.
    """
    for answer, kind, when in state.answers:
        if answer > number and kind == what and when.latest >= happened.earliest:
            code, start = _DOUBTED_ANSWERS[kind]
            told = f"{start} {when.spoken()},"
            kept = tuple(each for each in state.findings if each.code != code or not each.message.startswith(told))
            # One return ends one taking-out; a clearing answers all that went before.
            left = tuple(each for each in state.answers if kind != "returned" or each[0] != answer)
            return changed(state, findings=kept, answers=left)
    return None


@singledispatch
def _apply(event: e.Event, state: RopeState, number: int) -> RopeState:
    """Chained, Spun, DocumentAttached and the like change nothing that decides."""
    return state


def _specified(event: e.Specified, state: RopeState) -> RopeState:
    told = {name: value for name in _SPECIFICATION if (value := getattr(event, name)) is not None}
    if event.owner:
        state = given(state, event.owner)
    return changed(state, **told)


def known_from(state: RopeState, found: e.RecordedAsFound | None) -> RopeState:
    """A rope cut before it was written down as found: what it was then written down to be, it was when it was cut."""
    if found is None:
        return state
    state = _specified(found, state)
    return changed(
        state,
        as_found=True,
        bought=found.bought or state.bought,
        first_used=found.first_used or state.first_used,
        since=state.since or found.first_used or found.bought,
    )


@_apply.register
def _(event: e.Described, state: RopeState, number: int) -> RopeState:
    return _specified(event, state)


@_apply.register
def _(event: e.Bought, state: RopeState, number: int) -> RopeState:
    state = _specified(event, state)
    if state.length_cm is None:
        state = changed(state, length_cm=event.length_cm, known_by="bought")
    if state.born:
        return state
    # What was done before the purchase, by the dates, still counts as done.
    steps: dict[Wait, bool] = {"wash": state.washed, "dry": state.washed, "measure": state.measured_on is not None}
    steps["mark"] = state.marked_m is not None
    done = [name for name, is_done in steps.items() if is_done]
    waits = without_wait(_NEW, *done) if state.since is None else state.waits
    return changed(state, waits=waits, bought=event.happened, born=True, born_on=event.happened)


@_apply.register
def _(event: e.RecordedAsFound, state: RopeState, number: int) -> RopeState:
    state = _specified(event, state)
    if event.length_cm is not None and state.measured_on is None:
        measured_on = event.happened if event.known_by == "measured" else None
        state = changed(state, length_cm=event.length_cm, known_by=event.known_by, measured_on=measured_on)
        if event.known_by == "label" and state.marked_m is None and event.length_cm >= 100:
            # What its ends say is all that is known of it: they say so still when it is measured.
            state = changed(state, marked_m=event.length_cm // 100)
    state = changed(
        state,
        born=True,
        as_found=True,
        found_on=state.found_on or event.happened,
        bought=event.bought or state.bought,
        first_used=event.first_used or state.first_used,
        # Never the day it was written down: a rope of unknown age would be young for its whole age limit.
        since=state.since or event.first_used or event.bought,
        waits=(),
        findings=tuple(each for each in state.findings if each.code != "unknown-rope"),
    )
    match event.condition:
        case "retired":
            return changed(state, retired=state.retired or BEFORE_RECORD)
        case "missing":
            return changed(state, missing=event.happened)
        case "out":
            return changed(state, out_since=event.happened)
        case "rigged":
            return changed(state, rigged="when recorded")
        case "set aside":
            return changed(state, set_aside=f"{BEFORE_RECORD} ({event.note})" if event.note else BEFORE_RECORD)
        case "in preparation":
            return changed(state, since=None, waits=_NEW)
    return state


@_apply.register
def _(event: e.Cut, state: RopeState, number: int) -> RopeState:
    children = tuple(piece.rope for piece in event.into if piece.rope != state.id)
    reason = f"cut into {' and '.join(children)}" if children else f"cut up {event.reason}".rstrip()
    cut_on = state.cut_on or event.happened
    return changed(
        state, retired=state.retired or reason, cut_on=cut_on, children=(*state.children, *children), marked_m=None
    )


@_apply.register
def _(event: e.Washed, state: RopeState, number: int) -> RopeState:
    return changed(state, washed=True, waits=with_wait(without_wait(state.waits, "wash"), "dry"))


@_apply.register
def _(event: e.Dried, state: RopeState, number: int) -> RopeState:
    return changed(state, waits=without_wait(state.waits, "dry") if "wash" not in state.waits else state.waits)


@_apply.register
def _(event: e.Measured, state: RopeState, number: int) -> RopeState:
    return measured(state, event)


@_apply.register
def _(event: e.Weighed, state: RopeState, number: int) -> RopeState:
    # A metre's weight is not learnt from a length that is in doubt.
    if not event.dry or state.length_cm is None or state.known_by != "measured" or state.length_doubt:
        return state
    return changed(state, mass_g_per_m=round(event.mass_g * 100 / state.length_cm, 1))


@_apply.register
def _(event: e.Marked, state: RopeState, number: int) -> RopeState:
    return marked_anew(state, event.length_m, event.words)


@_apply.register
def _(event: e.PutIntoService, state: RopeState, number: int) -> RopeState:
    # What a return left to do stays to be done; the steps of a new rope end here, those left out are doubted.
    waits: tuple[Wait, ...] = without_wait(state.waits, *_NEW) if "put into service" in state.waits else state.waits
    # A rope older than this record did not begin its service when it was put back into it.
    known = (state.first_used or state.bought) if state.as_found else None
    return changed(state, since=state.since or known or event.happened, waits=waits)


@_apply.register
def _(event: e.Booked, state: RopeState, number: int) -> RopeState:
    return changed(state, bookings=(*state.bookings, Booking.of(number, event)))


@_apply.register
def _(event: e.BookingReleased, state: RopeState, number: int) -> RopeState:
    kept = tuple(each for each in state.bookings if event.booking is not None and each.number != event.booking)
    return changed(state, bookings=kept)


@_apply.register
def _(event: e.TakenOut, state: RopeState, number: int) -> RopeState:
    if (back := _answered(state, number, "returned", event.happened)) is not None:
        return changed(back, wear=back.wear + (0 if back.used_since_out else 1))
    return changed(
        state,
        out_since=event.happened,
        out_with=event.person,
        out_until=event.until,
        out_trip=event.trip,
        rigged=None,
        look_again=None,
        missing=None,
        used_since_out=False,
    )


@_apply.register
def _(event: e.LeftRigged, state: RopeState, number: int) -> RopeState:
    if (back := _answered(state, number, "returned", event.happened)) is not None:
        return back
    place = ", ".join(each for each in (event.route, event.pitch) if each)
    return changed(
        state, rigged=f"in {place}" if place else "in a cave", look_again=event.look_again, out_trip="", missing=None
    )


@_apply.register
def _(event: e.Returned, state: RopeState, number: int) -> RopeState:
    todo: list[Wait] = []
    if not event.clean:
        todo += ["wash", "dry"]
    elif not event.dry:
        todo.append("dry")
    if not event.checked:
        todo.append("check")
    # A trip with no word of its use still wore the rope.
    unspoken = 1 if state.out_since is not None and not state.used_since_out else 0
    if state.out_since is None and state.rigged is None:
        state = _answer(state, (number, "returned", event.happened))
    state = changed(
        _back(state),
        waits=with_wait(state.waits, *todo),
        wear=state.wear + unspoken,
        # Retired while somebody had it, it is fetched back now.
        findings=tuple(each for each in state.findings if each.code != "retired-while-out"),
    )
    return _hurt(state, event, number)


def _back(state: RopeState) -> RopeState:
    return changed(
        state, out_since=None, out_with=None, out_until=None, out_trip="", rigged=None, look_again=None, missing=None
    )


def _set_aside(state: RopeState, why: str, **told: bool) -> RopeState:
    """One more reason never hides the one for which a rope is set aside already; the newest stands first."""
    before = state.set_aside or ""
    both = why if before in why else before if why in before else f"{why}; {before}"
    return changed(state, set_aside=both, **told)


def _hurt(state: RopeState, event: e.Used | e.Returned, number: int) -> RopeState:
    if not event.fall and not event.chemical:
        return state
    if (cleared := _answered(state, number, "cleared", event.happened)) is not None:
        return cleared
    chemical = f"a chemical ({event.chemical})" if event.chemical else ""
    why = " and ".join(each for each in ("a fall" if event.fall else "", chemical) if each)
    return _set_aside(state, f"{why}, {event.happened.spoken()}")


@_apply.register
def _(event: e.Used, state: RopeState, number: int) -> RopeState:
    state = changed(
        state,
        wear=state.wear + max(event.days, 0),
        first_used=state.first_used or (None if state.as_found else event.happened),
        used_since_out=True,
    )
    return _hurt(state, event, number)


@_apply.register
def _(event: e.Inspected, state: RopeState, number: int) -> RopeState:
    state = changed(state, last_inspected=event.happened, next_due=event.next_due or state.next_due)
    if event.next_due is None and state.next_due and state.next_due.latest <= event.happened.latest:
        state = changed(state, next_due=None)
    if event.outcome == "fit":
        return changed(
            state,
            waits=without_wait(state.waits, "check"),
            found_unfit=False,
            fit_beside_by=event.person,
            # Whoever finds it fit has looked; what that says anew in doubt is added by the rules.
            findings=tuple(each for each in state.findings if each.code not in ("fit-with-faults", "washed-hot")),
        )
    if event.outcome == "not fit":
        if (cleared := _answered(state, number, "cleared", event.happened)) is not None:
            return cleared
        why = f"not fit when inspected: {event.findings}".rstrip(": .")
        return _set_aside(state, why, found_unfit=True)
    # Whoever looked could not say that it is fit: it waits until somebody can.
    return changed(state, waits=with_wait(state.waits, "check"))


@_apply.register
def _(event: e.SetAside, state: RopeState, number: int) -> RopeState:
    cleared = _answered(state, number, "cleared", event.happened)
    return _set_aside(state, event.reason) if cleared is None else cleared


@_apply.register
def _(event: e.Cleared, state: RopeState, number: int) -> RopeState:
    return changed(_answer(state, (number, "cleared", event.happened)), set_aside=None, found_unfit=False)


@_apply.register
def _(event: e.Missed, state: RopeState, number: int) -> RopeState:
    found = _answered(state, number, "found", event.happened)
    return changed(state, missing=event.happened) if found is None else _in_hand_again(found)


def _in_hand_again(state: RopeState) -> RopeState:
    # Nobody knows what became of it meanwhile.
    return changed(_back(state), waits=with_wait(state.waits, "wash", "dry", "check"))


@_apply.register
def _(event: e.Found, state: RopeState, number: int) -> RopeState:
    return _in_hand_again(_answer(state, (number, "found", event.happened)))


@_apply.register
def _(event: e.Stocktaken, state: RopeState, number: int) -> RopeState:
    state = _answer(state, (number, "found", event.happened))
    return state if state.missing is None else _in_hand_again(state)


@_apply.register
def _(event: e.Retired, state: RopeState, number: int) -> RopeState:
    return changed(state, retired=state.retired or event.reason)
