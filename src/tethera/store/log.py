"""The one port of the store: a log of events that only grows."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from tethera.store.events import Event


@dataclass(frozen=True, slots=True)
class Recorded:
    """An event with the moment it was written down (with its time zone) and by which person's id.

    `previous` is the sum of the entry before it (see chain.py): the log sets it on writing; entries written before
    logs did so have none. It says where an entry stands, not what happened: two entries are equal without it.
    """

    event: Event
    recorded: datetime
    by: str | None = None
    previous: str | None = field(default=None, compare=False, repr=False)

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
        """Add all of the events or none, each with the sum of the one before; LogMovedOn unless the log is
        `expected_length` long."""
        ...
