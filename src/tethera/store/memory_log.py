"""A log that lasts as long as the program."""

from collections.abc import Sequence

from tethera.store.chain import head_of, linked
from tethera.store.log import LogMovedOn, Recorded


class MemoryLog:
    """A log that lasts as long as the program: for tests and for trying things out."""

    def __init__(self, events: Sequence[Recorded] = ()) -> None:
        self._events = list(events)

    def read(self) -> Sequence[Recorded]:
        """Every event so far."""
        return tuple(self._events)

    def append(self, expected_length: int, events: Sequence[Recorded]) -> None:
        """Add all of the events or none."""
        if len(self._events) != expected_length:
            raise LogMovedOn(expected_length, len(self._events))
        self._events.extend(linked(events, head_of(self._events).sum))
