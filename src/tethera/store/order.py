"""The day from which an event counts, on the side of caution when the day is not known.

What makes a rope available counts from the first day it can mean, what takes it away from the last, but no later than
it was written down. The order of the log speaks in two cases: a length known to the month was measured no earlier than
one already written down, and a return known to the month comes after the one taking-out it can belong to.
"""

from collections.abc import Iterable
from datetime import date

from tethera.store.events import (
    Event,
    Found,
    Inspected,
    LeftRigged,
    Measured,
    Missed,
    Retired,
    Returned,
    SetAside,
    TakenOut,
    Used,
)


def counts_from(event: Event, written: date) -> date:
    """The day from which an event counts, by itself."""
    happened = event.happened
    if _takes_away(event):
        return max(happened.earliest, min(happened.latest, written))
    return happened.earliest


def _takes_away(event: Event) -> bool:
    if isinstance(event, Used | Returned):
        return event.fall or event.chemical is not None
    if isinstance(event, Inspected):
        return event.outcome != "fit"
    return isinstance(event, TakenOut | LeftRigged | SetAside | Missed | Retired)


def follows(event: Event) -> bool:
    """Whether the day of an event depends on what was written down before it."""
    known_to_the_day = event.happened.earliest == event.happened.latest
    return isinstance(event, Measured | Returned) and not known_to_the_day and not _takes_away(event)


def not_before(event: Event, earlier: Iterable[tuple[date, Event]]) -> date:
    """The day before which an event does not count, given what was written down before it, in order of happening."""
    if not follows(event):
        return date.min
    known = [(day, each) for day, each in earlier if day <= event.happened.latest]
    if isinstance(event, Measured):
        return max((day for day, each in known if isinstance(each, Measured)), default=date.min)
    return _taken_before(known)


def _taken_before(known: Iterable[tuple[date, Event]]) -> date:
    """The day of the one taking-out still open; none when the return could also belong to an earlier one."""
    taken, twice = date.min, False
    for day, each in known:
        if isinstance(each, TakenOut | LeftRigged):
            twice = twice or (isinstance(each, TakenOut) and taken > date.min)
            taken = day
        elif isinstance(each, Returned | Found):
            taken, twice = date.min, False
    return date.min if twice else taken
