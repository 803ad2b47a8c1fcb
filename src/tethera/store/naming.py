"""Which ropes an event names, and in what order ropes are named."""

from tethera.store.events import Corrected, Cut, Event, RopeEvent, Stocktaken
from tethera.store.happening import is_rope_id


def numbers_of(event: Event | None) -> tuple[str, ...]:
    """Every rope number an event writes, or a correction in the place of another."""
    while isinstance(event, Corrected):
        event = event.replacement
    return () if event is None else (*ropes_of(event), *born_by(event))


def ropes_of(event: Event) -> tuple[str, ...]:
    """The ropes in whose life it stands."""
    if isinstance(event, RopeEvent):
        return (event.rope,)
    seen = event.seen if isinstance(event, Stocktaken) else ()
    # A file of others may have seen what can be no rope's number, and so has no page.
    return tuple(each for each in dict.fromkeys(seen) if is_rope_id(each))


def born_by(event: Event) -> tuple[str, ...]:
    """The pieces a cut makes."""
    return tuple(dict.fromkeys(piece.rope for piece in event.into)) if isinstance(event, Cut) else ()


def by_number(rope: str) -> tuple[str, int, str]:
    """Sort key that puts TV9 before TV10.

    >>> sorted(["TV10", "TV9", "A1"], key=by_number)
    ['A1', 'TV9', 'TV10']
    """
    letters = rope.rstrip("0123456789")
    return (letters, int(rope[len(letters) :] or 0), rope)
