"""Which ropes a competent person should look at, why, and which of them first."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from tethera.store.limits import limit
from tethera.store.naming import by_number
from tethera.store.rope_state import RopeState

Why = Literal["set aside", "overdue", "check", "due soon", "never"]
_ORDER: tuple[Why, ...] = ("set aside", "overdue", "check", "due soon", "never")
#: What the fold writes first when a fall or a chemical set a rope aside.
_HURT = ("a fall", "a chemical")


@dataclass(frozen=True, slots=True)
class ToExamine:
    """A rope to be looked at; `days` until its examination is due, below zero: over it; None where none is due."""

    rope: RopeState
    why: Why
    days: int | None = None

    @property
    def hurt(self) -> bool:
        """Whether a fall or a chemical set it aside."""
        return _hurt_by(self.rope) is not None


def _hurt_by(rope: RopeState) -> str | None:
    """A fall or a chemical, where one of the reasons for which it is set aside says so."""
    reasons = (rope.set_aside or "").split("; ")
    return next((hurt for hurt in _HURT if any(each.startswith(hurt) for each in reasons)), None)


def due_soon_days() -> int:
    """How many days before its day an examination is due soon."""
    return round(limit("due_soon"))


def likely_reason(state: RopeState) -> str:
    """Why this rope is most likely examined, by what is known of it; whoever examines it says.

    >>> likely_reason(RopeState("UG1", set_aside="a fall, 3 May 2026")), likely_reason(RopeState("UG2", waits=()))
    ('after a fall', 'periodic')
    """
    if (hurt := _hurt_by(state)) is not None:
        return f"after {hurt}"
    if state.set_aside is not None:
        return "in doubt"
    if "put into service" in state.waits:
        return "before first use"
    return "back from a trip" if "check" in state.waits else "periodic"


def to_examine(ropes: Iterable[RopeState], on: date) -> tuple[ToExamine, ...]:
    """The ropes to be examined on a day, the most urgent first; each once, for the first reason that holds.

    After a fall or a chemical; otherwise set aside; over the day; back from a trip and unchecked; due within the days
    of `due_soon` in tables/doubts.toml; never examined. What is retired, missing or not in service yet is left out.
    """
    found = (each for each in (_why(rope, on) for rope in ropes) if each is not None)
    return tuple(sorted(found, key=_urgency))


def _urgency(each: ToExamine) -> tuple[object, ...]:
    days = each.days if each.days is not None else 10**6
    return (_ORDER.index(each.why), not each.hurt, days, by_number(each.rope.id))


def _why(rope: RopeState, on: date) -> ToExamine | None:
    if not rope.born or rope.state in ("retired", "missing"):
        return None
    days = None if rope.inspection_due is None else (rope.inspection_due - on).days
    if rope.set_aside is not None:
        return ToExamine(rope, "set aside", days)
    if days is not None and days < 0:
        return ToExamine(rope, "overdue", days)
    if rope.state == "in preparation" and "check" in rope.waits:
        return ToExamine(rope, "check", days)
    if days is not None and days <= due_soon_days():
        return ToExamine(rope, "due soon", days)
    if rope.last_inspected is None and "put into service" not in rope.waits:
        return ToExamine(rope, "never", days)
    return None
