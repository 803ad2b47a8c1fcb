"""What only a competent person may record: EN 365 keeps what is in doubt out of use until one confirms in writing."""

from collections.abc import Sequence

from tethera.store import events as e
from tethera.store.log import Recorded

COMPETENT_ONLY = (e.Inspected, e.Cleared)


def only_competent(event: e.Event, corrected: e.Event | None = None) -> bool:
    """Whether only a competent person may record this: an examination, a clearing, or a correction of one.

    `corrected` is the event that a correction speaks of. Where the log is at hand ask `needs_competent`, which also
    knows what earlier corrections made of that event.
    """
    if isinstance(event, e.Corrected):
        inner = event.replacement
        spoken_of = corrected is not None and only_competent(corrected)
        return spoken_of or (inner is not None and only_competent(inner))
    return isinstance(event, COMPETENT_ONLY)


def needs_competent(event: e.Event, log: Sequence[Recorded]) -> bool:
    """The same with everything a correction touches: all that its event ever was, and corrections of corrections.

    Striking out the correction that struck out an examination would declare that examination again.
    """
    if not isinstance(event, e.Corrected):
        return only_competent(event)
    if event.replacement is not None and needs_competent(event.replacement, log):
        return True
    if not 0 <= event.event < len(log):
        return False
    # What was written, and what each correction wrote in its place; a correction speaks only of what was before it.
    before = log[: event.event]
    if needs_competent(log[event.event].event, before):
        return True
    corrections = (each.event for each in log[event.event + 1 :] if isinstance(each.event, e.Corrected))
    written = (other for told in corrections for other in _in_place_of(event.event, told))
    return any(needs_competent(other, before) for other in written)


def _in_place_of(number: int, told: e.Event | None) -> Sequence[e.Event]:
    """What a correction, or one it puts in the place of another, writes instead of event `number`."""
    found = []
    while isinstance(told, e.Corrected):
        if told.event == number and told.replacement is not None:
            found.append(told.replacement)
        told = told.replacement
    return found
