"""What is told to whoever records something: the doubts it brings, about every rope it speaks of."""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

from tethera.basics import Finding, spoken_days
from tethera.store import events as e
from tethera.store.log import Recorded
from tethera.store.naming import by_number
from tethera.store.order import counts_from
from tethera.store.rope_state import RopeState
from tethera.store.rules import standing
from tethera.store.state import Fold

#: Whoever does these has the rope in hand: a mark that is not true can be mended at once.
_IN_HAND = (e.Marked, e.Measured, e.Returned)
#: Clocks of two machines that record in one store differ by as much without harm.
_CLOCKS_DIFFER = timedelta(minutes=5)
#: In these states no trip can have a rope; a rope that is out or being washed may well be back in time.
_TAKEN_AWAY = ("set aside", "missing", "retired")
_OF_MARKS = ("mark-overstates", "mark-void", "booked-mark-void")


def told_at_once(before: Fold, after: Fold, trial: Sequence[Recorded]) -> tuple[Finding, ...]:
    """The findings that these entries bring, given all that was recorded before them and with them."""
    ropes = {rope for each in trial for rope in _mentioned(before, after, each.event, len(after))}
    in_hand = {each.event.rope for each in trial if isinstance(each.event, _IN_HAND)}
    on = trial[-1].recorded.date() if trial else None
    found: list[Finding] = []
    for rope in sorted(ropes, key=by_number):
        was, state = before.rope(rope), after.rope(rope)
        found += (Counter(state.findings) - Counter(was.findings)).elements()
        if on is not None:
            found += _promised(was, state, on)
            known = () if rope in in_hand else standing(was, on)
            found += [each for each in standing(state, on) if each.code in _OF_MARKS and each not in known]
    found += [f for each in trial for f in _not_yet(each)]
    found += [
        Finding("no-such-event", f"event {number}", "There is no such event to correct.", "Check its number.")
        for number in after.lost_corrections
        if number >= len(before)
    ]
    return (*found, *_clock_put_back(before, trial))


def _promised(was: RopeState, state: RopeState, on: date) -> Iterator[Finding]:
    """Each trip ahead that counted on a rope which nobody may take any more."""
    if state.state == was.state or state.state not in _TAKEN_AWAY or was.state in _TAKEN_AWAY:
        return
    for booking in was.bookings:
        if booking.last_day >= on:
            days = spoken_days(booking.first_day, booking.last_day)
            told = f"It was booked {days}{f', {booking.trip}' if booking.trip else ''}."
            yield Finding("booked-no-more", f"rope {was.id}", told, "Choose another rope for that trip.")


def _clock_put_back(before: Fold, trial: Sequence[Recorded]) -> Iterator[Finding]:
    """Nothing is lost by it, entries keep their order; but a day left empty would be the wrong one."""
    if not len(before) or not trial:
        return
    now, last = trial[0].recorded, before.log_entry(len(before) - 1).recorded
    if last - now <= _CLOCKS_DIFFER:
        return
    told = (
        f"By the clock of this machine it is {_moment(now)}, but the entry before this one was recorded on "
        f"{_moment(last.astimezone(now.tzinfo))}."
    )
    way_out = "It stands after that entry all the same. Set the clock; until then, write the day with all you record."
    yield Finding("clock-put-back", "the clock", told, way_out)


def _moment(moment: datetime) -> str:
    return f"{moment.day} {moment:%B %Y at %H:%M}"


def _mentioned(before: Fold, after: Fold, event: e.Event, below: int) -> Iterator[str]:
    """Every rope an event speaks of; a correction speaks of those of what it corrects and of what it puts there.

    `below` is a number that only earlier events have: no correction speaks of what was written after it.
    """
    if isinstance(event, e.Corrected):
        if event.replacement is not None:
            yield from _mentioned(before, after, event.replacement, below)
        if 0 <= event.event < below:
            yield from _mentioned(before, after, after.log_entry(event.event).event, event.event)
            stood = before.stands(event.event) if event.event < len(before) else None
            if stood is not None:
                yield from _mentioned(before, after, stood, event.event)
    elif isinstance(event, e.Stocktaken):
        yield from event.seen
    elif isinstance(event, e.RopeEvent):
        yield event.rope
        if isinstance(event, e.Cut):
            yield from (piece.rope for piece in event.into)


def _not_yet(recorded: Recorded) -> tuple[Finding, ...]:
    written = recorded.recorded.date()
    if counts_from(recorded.event, written) <= written:
        return ()
    told = f"{recorded.event.happened.spoken()} has not come yet."
    where = f"rope {recorded.event.rope}" if isinstance(recorded.event, e.RopeEvent) else "the store"
    return (Finding("not-yet", where, told, "Check the date."),)
