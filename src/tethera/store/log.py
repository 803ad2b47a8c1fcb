"""The one port of the store: a log of events that only grows."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from tethera.store.events import Event


@dataclass(frozen=True, slots=True)
class Recorded:
    """An event with the moment it was written down (with its time zone) and by which person's id."""

    event: Event
    recorded: datetime
    by: str | None = None

    def __post_init__(self) -> None:
        if self.recorded.tzinfo is None:
            raise ValueError("the moment of recording needs its time zone")


class LogMovedOn(Exception):
    """Somebody else recorded something in the meantime."""

    def __init__(self, expected: int, actual: int, about: str = "") -> None:
        super().__init__(
            about or f"The log has grown from {expected} to {actual} events since it was read. Look again, then repeat."
        )
        self.expected = expected
        self.actual = actual


class EventLog(Protocol):
    """What a log of events can do. An event is known by its place in the log, counted from 0."""

    def read(self) -> Sequence[Recorded]:
        """Every event, in the order they were recorded."""
        ...

    def append(self, expected_length: int, events: Sequence[Recorded]) -> None:
        """Add all of the events or none; LogMovedOn unless the log is `expected_length` long."""
        ...


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
        self._events.extend(events)
