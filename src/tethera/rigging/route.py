"""A route as somebody knows it: pitches in order, each described as finely or as coarsely as known.

Lengths are metres (float); a length that may be a range or a doubt is a `Measure`.
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Literal, get_args

from tethera.basics import Finding

Kind = Literal["bolt", "natural", "thread"]
Role = Literal["backup", "traverse", "y-hang", "rebelay", "deviation", "hand-line"]
KnownBy = Literal["guide", "survey", "laser", "tape"]
Direction = Literal["down", "up"]
KINDS: tuple[Kind, ...] = get_args(Kind)
ROLES: tuple[Role, ...] = get_args(Role)
KNOWN_BY: tuple[KnownBy, ...] = get_args(KnownBy)
DIRECTIONS: tuple[Direction, ...] = get_args(Direction)
#: Roles at which one rope may end and the next begin.
CHANGE_ROLES: frozenset[Role] = frozenset({"traverse", "y-hang", "rebelay"})
#: More than any route has (our choice, no source): all of it is drawn and reckoned anew while somebody types.
MOST_PITCHES, MOST_ROWS_A_PITCH, MOST_ROWS = 200, 100, 2000


def too_large(rows: Sequence[int]) -> str | None:
    """What is too much about a route with so many anchors and other guides on each of its pitches, or None.

    >>> too_large([3, 101])
    'pitch 2 has 101 anchors and other guides; at most 100 are read'
    """
    if len(rows) > MOST_PITCHES:
        return f"the route has {len(rows):,} pitches; at most {MOST_PITCHES} are read. Split it into two routes"
    for number, count in enumerate(rows, start=1):
        if count > MOST_ROWS_A_PITCH:
            return f"pitch {number} has {count:,} anchors and other guides; at most {MOST_ROWS_A_PITCH} are read"
    if sum(rows) > MOST_ROWS:
        told = f"the route has {sum(rows):,} anchors and other guides; at most {MOST_ROWS:,} are read"
        return f"{told}. Split it into two routes"
    return None


@dataclass(frozen=True, slots=True)
class Measure:
    """A length as written: one number, a range or choice ("10 or 15 m"), a sum ("30 + 20 m"), perhaps in doubt.

    >>> Measure(10, 15).metres, Measure(50, 50, pieces=(30, 20)).metres
    (12.5, 50.0)
    """

    low_m: float
    high_m: float
    about: bool = False
    pieces: tuple[float, ...] = ()

    @property
    def metres(self) -> float:
        """Middle of the range [m]."""
        return (self.low_m + self.high_m) / 2

    @property
    def half_range_m(self) -> float:
        """Half the range [m]; 0 for one number."""
        return (self.high_m - self.low_m) / 2


def _sum(measure: Measure | None) -> str:
    return "" if measure is None else " + ".join(f"{piece:g}" for piece in measure.pieces) + " m"


def exactly(metres: float) -> Measure:
    """A length that is one number."""
    return Measure(metres, metres)


@dataclass(frozen=True, slots=True)
class Anchor:
    """One anchor: what it is (kind), what it does (role), and where it lies from the one before.

    Parameters
    ----------
    along_m : horizontal metres from the anchor before (the pitch head for the first); for a deviation, how far
        it pulls the rope aside
    down_m : metres down from the anchor before; negative is up
    bolts : attachment points at this anchor; a Y-hang has two
    loop_m : slack wished here once the rope above is unloaded; None takes the default of a rebelay
    leg_m : length of each leg of a Y-hang; None takes the default
    apart_m : how far apart the two bolts of a Y-hang are; with `leg_m` it tells the angle
    sling_m : length of the sling the rope hangs from, if any
    """

    role: Role
    kind: Kind = "bolt"
    along_m: float = 0.0
    down_m: float = 0.0
    bolts: int = 1
    loop_m: float | None = None
    leg_m: float | None = None
    sling_m: float | None = None
    rub: bool = False
    min_diameter_mm: float | None = None
    knot: str | None = None
    note: str = ""
    apart_m: float | None = None

    def __post_init__(self) -> None:
        if self.role == "y-hang" and self.bolts < 2:
            object.__setattr__(self, "bolts", 2)

    @property
    def y_angle_deg(self) -> float | None:
        """Angle between two equal legs [degrees]; None where it is not known, or the legs are too short to meet.

        >>> round(Anchor("y-hang", leg_m=0.7, apart_m=0.7).y_angle_deg or 0)
        60
        """
        if self.leg_m is None or self.apart_m is None or self.bolts != 2 or self.apart_m >= 2 * self.leg_m:
            return None
        return math.degrees(2 * math.asin(self.apart_m / (2 * self.leg_m)))


@dataclass(frozen=True, slots=True)
class Edition:
    """What another guide, or another edition of it, says of a pitch; kept beside what the route goes by."""

    source: str
    depth: Measure | None = None
    guide_rope: Measure | None = None
    anchors: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Learnt:
    """What trips taught about a pitch: so much more rope than reckoned [m], and the spread left of it [-].

    Worked out from what was left over, never written in a route file. `trips` counts the days of them.
    """

    more_m: float
    spread_share: float
    trips: int


@dataclass(frozen=True, slots=True)
class Pitch:
    """One pitch: a drop, an up-climb, a traverse line, or several drops written together.

    Parameters
    ----------
    depth : height of the drop (of the climb, where direction is up); 0 m for a pure traverse line
    depth_known_by : how the depth was got; sets its spread unless depth_spread_m says it
    traverse_m : horizontal metres of traverse line before the head, where no anchors are listed
    guide_rope : length the guide says to bring
    anchor_count : number of anchors where they are known only by number; None is unknown
    anchors : the anchors one by one, where known so
    to_next_m : passage from this foot to the next head; None is unknown
    rope_goes_on : whether the rope may run on over that passage
    instead_of : names of the pitches this one replaces ("or")
    editions : what other guides say of it
    learnt : what trips taught about it
    """

    name: str
    depth: Measure
    depth_known_by: KnownBy = "guide"
    depth_spread_m: float | None = None
    direction: Direction = "down"
    traverse_m: float = 0.0
    guide_rope: Measure | None = None
    anchor_count: int | None = None
    rebelays: int | None = None
    deviations: int | None = None
    naturals: int | None = None
    anchors: tuple[Anchor, ...] = ()
    to_next_m: float | None = None
    rope_goes_on: bool = False
    pull_through: bool = False
    left_in_place: bool = False
    second_line: str | None = None
    instead_of: tuple[str, ...] = ()
    rope_above_floor_m: float = 0.0
    min_diameter_mm: float | None = None
    type_a_only: bool = False
    max_g_per_m: float | None = None
    notes: tuple[str, ...] = ()
    editions: tuple[Edition, ...] = ()
    learnt: Learnt | None = None

    @property
    def depth_m(self) -> float:
        """Middle of what the depth may be [m]."""
        return self.depth.metres

    @property
    def guide_rope_m(self) -> float | None:
        """The guide's length; of a choice the longer one, because it is known to have sufficed [m]."""
        return None if self.guide_rope is None else self.guide_rope.high_m

    @property
    def by_anchors(self) -> bool:
        """Whether the pitch is known anchor by anchor."""
        return bool(self.anchors)

    @property
    def count(self) -> int | None:
        """Attachment points, deviations included; None where nobody said [-]."""
        return sum(anchor.bolts for anchor in self.anchors) if self.anchors else self.anchor_count

    @property
    def flags(self) -> tuple[str, ...]:
        """What makes this pitch different, in words for the sheet."""
        words = {
            "up-climb": self.direction == "up",
            "pull-through": self.pull_through,
            "left in place": self.left_in_place,
            f"second line: {self.second_line}": self.second_line is not None,
            f"or, instead of {', '.join(self.instead_of)}": bool(self.instead_of),
            f"rope ends {self.rope_above_floor_m:g} m above the floor": self.rope_above_floor_m > 0,
            "type A only": self.type_a_only,
            "depth in doubt": self.depth.about,
            f"drops of {_sum(self.depth)}": bool(self.depth.pieces),
            f"guide joins {_sum(self.guide_rope)}": self.guide_rope is not None and bool(self.guide_rope.pieces),
        }
        return tuple(word for word, holds in words.items() if holds)


@dataclass(frozen=True, slots=True)
class Together:
    """Pitches for which the sheet gives one length of rope ("20, or 40 m for both")."""

    pitches: tuple[str, ...]
    guide_rope: Measure


@dataclass(frozen=True, slots=True)
class Totals:
    """Totals as the sheet states them, kept to be checked against its rows."""

    rope: Measure | None = None
    depth: Measure | None = None
    anchors: int | None = None


@dataclass(frozen=True, slots=True)
class Route:
    """Pitches in the order they are met on the way in."""

    name: str
    pitches: tuple[Pitch, ...]
    team_size: int | None = None
    notes: tuple[str, ...] = ()
    together: tuple[Together, ...] = ()
    stated_totals: Totals = field(default_factory=Totals)

    def pitch(self, name: str) -> Pitch:
        """The pitch of that name; KeyError names those there are."""
        for pitch in self.pitches:
            if pitch.name == name:
                return pitch
        raise KeyError(f"no pitch “{name}”; there are {', '.join(p.name for p in self.pitches)}")


@dataclass(frozen=True, slots=True)
class RouteReading:
    """A route with the doubts met while reading it."""

    route: Route
    findings: tuple[Finding, ...] = ()


class UnreadableRoute(Exception):
    """The words could not be read: where (line and column from 1), and what was expected there."""

    def __init__(
        self, line: int, column: int, expected: str, *, source: str = "route", cell: str | None = None
    ) -> None:
        self.line, self.column, self.expected, self.source, self.cell = line, column, expected, source, cell
        at = f"cell {cell}" if cell else f"line {line}, column {column}"
        self.message = f"{source}, {at}: {expected}"
        super().__init__(self.message)


def chain_of(route: Route) -> Sequence[Pitch]:
    """The pitches of the main way: those that replace no other."""
    return [pitch for pitch in route.pitches if not pitch.instead_of]


def in_a_choice(pitches: Sequence[Pitch]) -> frozenset[str]:
    """Names of the pitches of which only one way is rigged: those that replace others, and those replaced."""
    replaced = {name for pitch in pitches for name in pitch.instead_of}
    return frozenset(replaced | {pitch.name for pitch in pitches if pitch.instead_of})


def rigged_pitches(route: Route, served: Collection[str]) -> frozenset[str]:
    """Names of the pitches rigged when ropes serve these pitches.

    Every pitch outside a choice is on the way, and so is one with a rope left in place. Of a choice only the ways
    served count, once any way of it is served; until then all of them may be.
    """
    choices: list[set[str]] = []
    for pitch in route.pitches:
        if pitch.instead_of:
            group = {pitch.name, *pitch.instead_of}
            touching = [other for other in choices if other & group]
            choices = [other for other in choices if not other & group] + [group.union(*touching)]
    settled = {name for choice in choices if choice & set(served) for name in choice}
    return frozenset(p.name for p in route.pitches if p.name in served or p.left_in_place or p.name not in settled)
