"""What every event has, and what those of one rope have."""

import re
from dataclasses import dataclass

from tethera.basics import PartialDate

_ROPE_ID = re.compile(r"[A-Z0-9]{1,10}")


@dataclass(frozen=True, kw_only=True)
class Event:
    """Something that happened; `note` is what the keeper wanted to add."""

    happened: PartialDate
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class RopeEvent(Event):
    """Something that happened to one rope."""

    rope: str

    def __post_init__(self) -> None:
        check_rope_id(self.rope)


def is_rope_id(rope: str) -> bool:
    """Whether a text can be a rope's number."""
    return _ROPE_ID.fullmatch(rope) is not None


def check_rope_id(rope: str) -> None:
    """ValueError unless a rope number is at most 10 capitals or digits."""
    if not is_rope_id(rope):
        raise ValueError(f"a rope number is at most 10 capitals or digits, as TV41; not “{rope[:40]}”")


def positive(event: object, *names: str) -> None:
    """ValueError unless each of these fields is more than 0, where it is known."""
    for name in names:
        value = getattr(event, name)
        if value is not None and not 0 < value < 1e9:
            raise ValueError(f"{name} must be more than 0, not {value}")
