"""What is to be decided: which rope rigs which run of a route. Whole centimetres and grams throughout."""

from dataclasses import dataclass, field
from functools import cached_property


@dataclass(frozen=True, slots=True)
class RopeRule:
    """What a run asks of a rope beside its length.

    Parameters
    ----------
    min_diameter_tenths_mm : thinnest rope that may be used [0.1 mm]
    type_a_only : only low-stretch rope of type A (EN 1891)
    max_tenths_g_per_m : heaviest rope that may be used [0.1 g/m], or None
    """

    min_diameter_tenths_mm: int = 0
    type_a_only: bool = False
    max_tenths_g_per_m: int | None = None

    def accepts(self, rope: "StockRope") -> bool:
        """Whether the rope may be used, its length aside."""
        heavy = self.max_tenths_g_per_m is not None and rope.tenths_g_per_m > self.max_tenths_g_per_m
        thin = rope.diameter_tenths_mm < self.min_diameter_tenths_mm
        return not (heavy or thin or (self.type_a_only and rope.rope_type != "A"))


ANY_ROPE = RopeRule()


@dataclass(frozen=True, slots=True)
class StockRope:
    """A rope that may be taken.

    Parameters
    ----------
    length_cm, mass_g : of the whole rope: all of it is carried
    wear : use so far, any unit that adds up
    accuracy : how well its length is known: index into each run's `needs_cm`
    """

    rope: str
    length_cm: int
    mass_g: int
    diameter_tenths_mm: int = 0
    rope_type: str = ""
    tenths_g_per_m: int = 0
    wear: int = 0
    accuracy: int = 0


@dataclass(frozen=True, slots=True)
class Run:
    """One rope hung from one place to a later one.

    Parameters
    ----------
    begin, end : indices of places of the line, begin < end
    needs_cm : rope needed, for each accuracy of rope length in the stock
    changes : 1 when it ends inside a pitch, so that people change ropes there; 0 between pitches
    pitches : the pitches it serves (for pins)
    """

    begin: int
    end: int
    needs_cm: tuple[int, ...]
    rule: RopeRule = ANY_ROPE
    changes: int = 0
    pitches: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class KnottedRun:
    """A run whose one leg may hold joins in mid-drop.

    Parameters
    ----------
    leg : which leg of the line; only one knotted run of a leg can be used
    need_cm : rope needed if it were one rope
    above_cm, below_cm : shortest top and bottom rope: the join must hang inside the leg, clear of its anchors
    join_cm : rope each join takes, beside `need_cm`
    """

    leg: int
    begin: int
    end: int
    need_cm: int
    above_cm: int
    below_cm: int
    join_cm: int
    rule: RopeRule = ANY_ROPE
    changes: int = 0
    pitches: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """Places in order, from the first to the last, and the runs that may lie between them.

    Parameters
    ----------
    places : number of places; runs go from place 0 to place `places - 1`
    window : days [from, until) during which its ropes are away
    """

    name: str
    places: int
    runs: tuple[Run, ...]
    window: tuple[int, int] = (0, 1)
    knotted: tuple[KnottedRun, ...] = ()


@dataclass(frozen=True, slots=True)
class Pin:
    """A rope that must hang on a pitch of a line."""

    rope: str
    line: int
    pitch: int


@dataclass(frozen=True)
class PlanningProblem:
    """Lines to be rigged from one stock of ropes."""

    lines: tuple[Line, ...]
    stock: tuple[StockRope, ...]
    pins: tuple[Pin, ...] = ()
    #: Most ropes joined in one run: three joins are more than anybody wants to pass.
    most_ropes_in_a_run: int = 4
    rope_by_name: dict[str, StockRope] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        by_name = {rope.rope: rope for rope in self.stock}
        if len(by_name) != len(self.stock):
            raise ValueError("each rope of the stock must be named once")
        for line in self.lines:
            ends = [(run.begin, run.end) for run in line.runs] + [(run.begin, run.end) for run in line.knotted]
            if any(not 0 <= begin < end < line.places for begin, end in ends):
                raise ValueError(f"{line.name}: a run must go from one place to a later one")
        object.__setattr__(self, "rope_by_name", by_name)

    @cached_property
    def cliques(self) -> tuple[frozenset[int], ...]:
        """Largest sets of lines that are away together; a rope may serve one run in each set."""
        starts = sorted({line.window[0] for line in self.lines})
        sets = [
            frozenset(i for i, line in enumerate(self.lines) if line.window[0] <= day < line.window[1])
            for day in starts
        ]
        return tuple(
            s
            for i, s in enumerate(sets)
            if s and not any(s < other or (s == other and j < i) for j, other in enumerate(sets))
        )
