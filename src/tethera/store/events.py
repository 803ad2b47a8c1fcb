"""Everything that can happen to a rope, as frozen dataclasses named for what was done.

An event is never edited. `happened` may be known only to a month or a year. Persons are ids: their names live beside
the log, so that a name can be erased. The meaning of each event and field is in docs/glossary.md.
"""

import re
from dataclasses import dataclass
from datetime import date
from typing import Literal

from tethera.basics import PartialDate

# Named as themselves: whoever asks for an event finds every one of them here.
from tethera.store.general_events import RoutePutAway as RoutePutAway
from tethera.store.general_events import RouteWritten as RouteWritten
from tethera.store.general_events import Stocktaken as Stocktaken
from tethera.store.general_events import StoreDescribed as StoreDescribed
from tethera.store.happening import Event as Event
from tethera.store.happening import RopeEvent as RopeEvent
from tethera.store.happening import check_rope_id as check_rope_id
from tethera.store.happening import positive

RopeType = Literal["A", "B", "dynamic", "cord"]
Condition = Literal["ready", "in preparation", "out", "rigged", "set aside", "missing", "retired"]
Outcome = Literal["fit", "not fit", "undecided"]


@dataclass(frozen=True, kw_only=True)
class Specified(RopeEvent):
    """What a rope is, as far as somebody declared it; None is not known. Type is declared, never inferred.

    `supplier` is who sold it and how to reach them, which EN 365 asks where the maker is not named.
    `elongation_percent` is E of EN 1891, from 50 to 150 kg; `impact_force_kn` is of its standard's drop test.
    """

    diameter_mm: float | None = None
    rope_type: RopeType | None = None
    material: str | None = None
    product: str | None = None
    maker: str | None = None
    batch: str | None = None
    year_made: int | None = None
    mass_g_per_m: float | None = None
    owner: str | None = None
    age_limit_years: int | None = None
    supplier: str | None = None
    elongation_percent: float | None = None
    impact_force_kn: float | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        positive(self, "diameter_mm", "mass_g_per_m", "age_limit_years", "elongation_percent", "impact_force_kn")


@dataclass(frozen=True, kw_only=True)
class Bought(Specified):
    """A reel or a piece came into the store, with the length on its label [cm]."""

    length_cm: int
    price_pence: int | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        positive(self, "length_cm")


@dataclass(frozen=True, kw_only=True)
class RecordedAsFound(Specified):
    """A rope older than this record, taken over as a spreadsheet or its label tells it."""

    length_cm: int | None = None
    known_by: Literal["sheet", "label", "measured"] = "sheet"
    condition: Condition = "ready"
    bought: PartialDate | None = None
    first_used: PartialDate | None = None
    written: tuple[str, ...] = ()
    source: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        positive(self, "length_cm")


@dataclass(frozen=True, kw_only=True)
class Described(Specified):
    """Somebody declared more of what a rope is; what is not given stays as it was."""


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One piece after a cut: its new number and its length [cm]."""

    rope: str
    length_cm: int

    def __post_init__(self) -> None:
        check_rope_id(self.rope)
        positive(self, "length_cm")


@dataclass(frozen=True, kw_only=True)
class Cut(RopeEvent):
    """A rope was cut. It ceases; the pieces are new ropes with its age, use, specification and history."""

    into: tuple[Piece, ...]
    reason: str = ""


@dataclass(frozen=True, kw_only=True)
class Chained(RopeEvent):
    """A rope was chained, after folding it into this many strands."""

    strands: int = 1


@dataclass(frozen=True, kw_only=True)
class Washed(RopeEvent):
    """A rope was washed or lay in a bath."""

    how: Literal["machine", "hand", "bath"] | None = None
    temperature_c: int | None = None
    soap: str | None = None


@dataclass(frozen=True, kw_only=True)
class Spun(RopeEvent):
    """A washed rope was spun; it is still damp."""


@dataclass(frozen=True, kw_only=True)
class Dried(RopeEvent):
    """A rope is dry."""


@dataclass(frozen=True, kw_only=True)
class Measured(RopeEvent):
    """A rope was counted off, slack and dry [cm, rounded down]; `counts_cm` are the counts it rests on."""

    length_cm: int
    counts_cm: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        super().__post_init__()
        positive(self, "length_cm")


@dataclass(frozen=True, kw_only=True)
class Weighed(RopeEvent):
    """A rope was weighed [g]."""

    mass_g: int
    dry: bool = True

    def __post_init__(self) -> None:
        super().__post_init__()
        positive(self, "mass_g")


@dataclass(frozen=True, kw_only=True)
class Marked(RopeEvent):
    """Both ends were marked with this length, in whole metres."""

    length_m: int
    words: str = ""


@dataclass(frozen=True, kw_only=True)
class PutIntoService(RopeEvent):
    """Declared: this rope may be taken. Refused when something is missing."""


@dataclass(frozen=True, kw_only=True)
class Booked(RopeEvent):
    """A rope was promised to somebody for these days, both included.

    Where it is to hang: `pitches` of `route`, from the place `begins` to the place `ends` where it is not the whole of
    them; `line` where it is not the rope one hangs on.
    """

    first_day: date
    last_day: date
    person: str | None = None
    trip: str = ""
    route: str = ""
    pitches: tuple[str, ...] = ()
    begins: str = ""
    ends: str = ""
    line: str = ""

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.last_day < self.first_day:
            raise ValueError(f"a booking cannot end ({self.last_day}) before it begins ({self.first_day})")


@dataclass(frozen=True, kw_only=True)
class BookingReleased(RopeEvent):
    """A booking was given back; `booking` is the number of the booked event, or None for all of the rope's."""

    booking: int | None = None


@dataclass(frozen=True, kw_only=True)
class TakenOut(RopeEvent):
    """Somebody took a rope out of the store."""

    person: str | None = None
    until: PartialDate | None = None
    trip: str = ""


@dataclass(frozen=True, kw_only=True)
class LeftRigged(RopeEvent):
    """A rope stays in a cave on purpose; somebody is to look at it again by `look_again`."""

    route: str = ""
    pitch: str = ""
    look_again: PartialDate | None = None


@dataclass(frozen=True, kw_only=True)
class Returned(RopeEvent):
    """A rope came back. What is not known to be clean, dry and checked waits for it."""

    person: str | None = None
    clean: bool = False
    dry: bool = False
    checked: bool = False
    fall: bool = False
    chemical: str | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        _no_chemical(self)


@dataclass(frozen=True, kw_only=True)
class Used(RopeEvent):
    """A rope rigged a pitch for some days; `left_over_cm` lay at the foot (below zero: so much short).

    `pitches` where it rigged several in a row, from the place `begins` to the place `ends` where these are not the
    head of the first and the foot of the last; `changed` is what is rigged otherwise than the route says.
    """

    route: str = ""
    pitch: str = ""
    days: int = 1
    left_over_cm: int | None = None
    pitches: tuple[str, ...] = ()
    begins: str = ""
    ends: str = ""
    line: str = ""
    changed: str = ""
    fall: bool = False
    chemical: str | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        _no_chemical(self)


@dataclass(frozen=True, kw_only=True)
class Inspected(RopeEvent):
    """A rope was examined (EN 365): why, what was found, by which competent person, when next."""

    reason: str = ""
    findings: str = ""
    outcome: Outcome = "undecided"
    person: str | None = None
    next_due: PartialDate | None = None


@dataclass(frozen=True, kw_only=True)
class SetAside(RopeEvent):
    """Nobody may take this rope until a competent person clears it."""

    reason: str


@dataclass(frozen=True, kw_only=True)
class Cleared(RopeEvent):
    """Declared by a competent person: the reason for setting the rope aside is answered."""

    person: str | None = None
    findings: str = ""


@dataclass(frozen=True, kw_only=True)
class Missed(RopeEvent):
    """A rope is not where it should be."""


@dataclass(frozen=True, kw_only=True)
class Found(RopeEvent):
    """A missing rope turned up."""

    place: str = ""


@dataclass(frozen=True, kw_only=True)
class Retired(RopeEvent):
    """A rope left service for good."""

    reason: str


@dataclass(frozen=True, kw_only=True)
class DocumentAttached(RopeEvent):
    """A photograph or paper belongs to this rope, kept beside the log under its SHA-256."""

    title: str
    sha256: str
    to_event: int | None = None


@dataclass(frozen=True, kw_only=True)
class Corrected(Event):
    """Event number `event` (counted from 0) was wrong: `replacement` is what happened, None that nothing did."""

    event: int
    reason: str
    replacement: Event | None = None


_ALL: tuple[type[Event], ...] = (
    *(StoreDescribed, Bought, RecordedAsFound, Described, Cut, Chained, Washed, Spun, Dried, Measured, Weighed),
    *(Marked, PutIntoService, Booked, BookingReleased, TakenOut, LeftRigged, Returned, Used, Inspected, SetAside),
    *(Cleared, Missed, Found, Retired, Stocktaken, DocumentAttached, RouteWritten, RoutePutAway, Corrected),
)


def kind(event: Event | type[Event]) -> str:
    """The word an event goes by in the log and at the terminal.

    >>> kind(PutIntoService), kind(Measured)
    ('put-into-service', 'measured')
    """
    named = event if isinstance(event, type) else type(event)
    return re.sub(r"(?<!^)([A-Z])", r"-\1", named.__name__).lower()


#: Every event by its word, in the order a rope usually meets them.
EVENT_KINDS: dict[str, type[Event]] = {kind(each): each for each in _ALL}


_NOTHING = frozenset({"", "no", "none", "nothing", "nil", "n", "na", "n/a", "false", "0", "-", "–", "—"})


def _no_chemical(event: Returned | Used) -> None:
    """Read "no" and its like as no chemical: a rope must not be set aside for the word."""
    if event.chemical is not None and event.chemical.strip().rstrip(".").casefold() in _NOTHING:
        object.__setattr__(event, "chemical", None)
