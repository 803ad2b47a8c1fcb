"""A plan: which ropes hang where, how good it provably is, or why it cannot be."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

#: Seconds left, given by the door; the core knows no clock.
Budget = Callable[[], float]
#: Told what is being done and how far it is: stage, best so far, bound.
Progress = Callable[[str, float | None, float | None], None]


def no_limit() -> float:
    """All the time in the world."""
    return 1e6


def silent(stage: str, best: float | None, bound: float | None) -> None:
    """Tell nobody."""


@dataclass(frozen=True, slots=True)
class Hang:
    """One run as planned: from place to place of a line, on one rope or on several joined, top first."""

    line: int
    begin: int
    end: int
    ropes: tuple[str, ...]
    need_cm: int
    changes: int
    pitches: tuple[int, ...] = ()

    @property
    def joins(self) -> int:
        """Joins in mid-drop."""
        return len(self.ropes) - 1


@dataclass(frozen=True, slots=True)
class Bounds:
    """Nothing can be better than this, each for plans as good in everything before it."""

    joins: int
    changes: int
    mass_g: int


@dataclass(frozen=True, slots=True)
class Shortfall:
    """Why a problem cannot be solved, or what would make it solvable; one plain statement with its numbers.

    `kind`: "leg" (one run that no free rope covers), "too-few" (fewer long ropes than any rigging needs), "pitches"
    (fewest pitches that stay unrigged), "buy" (cheapest new lengths), "free" (fewest booked ropes to free).
    """

    kind: Literal["leg", "too-few", "pitches", "buy", "free"]
    line: int | None = None
    begin: int | None = None
    end: int | None = None
    need_cm: int | None = None
    longest_cm: int | None = None
    nearest_rope: str | None = None
    needed: int | None = None
    free: int | None = None
    pitches: tuple[tuple[int, int], ...] = ()
    lengths_cm: tuple[int, ...] = ()
    ropes: tuple[str, ...] = ()
    type_a_only: bool = False
    min_diameter_tenths_mm: int = 0
    proven: bool = True


@dataclass(frozen=True)
class Plan:
    """The hangs of a plan and what they cost; or none, with the reasons.

    status : "optimal" (joins, changes and mass proven best), "feasible" (the best found in time), "impossible"
    (proven), "unknown" (nothing found in time)
    """

    status: Literal["optimal", "feasible", "impossible", "unknown"]
    hangs: tuple[Hang, ...] = ()
    joins: int = 0
    changes: int = 0
    mass_g: int = 0
    left_over_cm: int = 0
    wear: int = 0
    bounds: Bounds | None = None
    #: Stages proven best, in order of importance.
    proven: tuple[str, ...] = ()
    unmet: tuple[Shortfall, ...] = field(default=())

    @property
    def found(self) -> bool:
        """Whether there is something to carry out."""
        return self.status in ("optimal", "feasible")

    @property
    def gap(self) -> float:
        """How far the mass may be above the best, as a share of the mass."""
        if not self.found or self.bounds is None or self.mass_g == 0:
            return 0.0
        return max(0.0, (self.mass_g - self.bounds.mass_g) / self.mass_g)
