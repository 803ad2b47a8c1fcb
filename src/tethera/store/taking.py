"""What speaks against taking a rope out for some days. Nothing here forbids it: who takes it is asked to look again."""

from collections.abc import Iterator
from datetime import date

from tethera.basics import PartialDate, show_metres, spoken_days
from tethera.store.rope_state import Booking, RopeState
from tethera.store.trips import same_trip


def speaks_against(
    state: RopeState, first_day: date, last_day: date | None, *, person: str | None = None, trip: str = ""
) -> tuple[str, ...]:
    """Each thing that speaks against taking the rope from `first_day` to `last_day`; nothing for a rope to be had.

    Without a last day nobody knows when it is back, so every booking from the first day on counts. A booking for the
    same person or the same trip is what the rope is taken for, and speaks against nothing.

    >>> speaks_against(RopeState("UG9", born=True, set_aside="flat spot"), date(2026, 11, 25), None)
    ('set aside: flat spot', 'its length is not known: measure it')
    """
    return tuple(dict.fromkeys(_against(state, first_day, last_day or date.max, person, trip)))


def _against(state: RopeState, first_day: date, last_day: date, person: str | None, trip: str) -> Iterator[str]:
    if not state.born:
        yield "nothing says where it came from"
    if state.why_not is not None:
        yield state.why_not
    if state.over_age is not None:
        yield state.over_age
    if state.state == "retired":
        return
    if state.length_cm is None:
        yield "its length is not known: measure it"
    elif state.mark_overstates:
        yield f"its mark says {state.marked_m} m but it has {show_metres(state.length_cm)} m"
    elif state.marks_void:
        yield f"its marks are void: {state.marks_void}"
    if state.inspection_due is not None and state.inspection_due < first_day:
        yield f"its examination was due {PartialDate.of(state.inspection_due).spoken()}"
    elif state.inspection_due is not None and state.inspection_due <= last_day < date.max:
        yield f"its examination falls due {PartialDate.of(state.inspection_due).spoken()}, before it is back"
    for booking in state.bookings:
        if booking.overlaps(first_day, last_day) and not _the_same(booking, person, trip):
            days = spoken_days(booking.first_day, booking.last_day)
            yield f"booked {days}{f', {booking.trip}' if booking.trip else ''}"


def _the_same(booking: Booking, person: str | None, trip: str) -> bool:
    if booking.trip and trip:
        return same_trip(booking.trip, trip)
    return booking.person is not None and booking.person == person
