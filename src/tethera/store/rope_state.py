"""What is known of one rope on one day: always worked out from what happened, never typed in."""

import functools
import tomllib
from dataclasses import dataclass, field
from datetime import date
from importlib import resources
from typing import TYPE_CHECKING, Literal

from tethera.basics import Finding, PartialDate, show_metres
from tethera.rope import RopeType, declared_within
from tethera.store.events import Booked

Wait = Literal["wash", "dry", "measure", "mark", "check", "put into service"]
#: Number in the log of a clearing, a finding again or a return of what nobody took, which of them, and when.
Answer = tuple[int, Literal["cleared", "found", "returned"], PartialDate]
#: Nine of ten lengths lie within so many standard deviations of the one known: 95 % point of the normal distribution.
_BAND = 1.645
#: Why a rope is retired or set aside that came so into this record.
BEFORE_RECORD = "before this record began"


@dataclass(frozen=True, slots=True)
class Booking:
    """Days for which a rope is promised; `number` is the place of the booked event in the log."""

    number: int
    first_day: date
    last_day: date
    person: str | None
    trip: str
    route: str = ""
    pitches: tuple[str, ...] = ()
    begins: str = ""
    ends: str = ""
    line: str = ""

    @classmethod
    def of(cls, number: int, event: Booked) -> "Booking":
        """The booking an event made."""
        where = (event.route, event.pitches, event.begins, event.ends, event.line)
        return cls(number, event.first_day, event.last_day, event.person, event.trip, *where)

    def overlaps(self, first_day: date, last_day: date) -> bool:
        """Whether any day is in both."""
        return self.first_day <= last_day and first_day <= self.last_day


@dataclass(frozen=True)
class RopeState:
    """One rope on one day. Lengths in whole cm; None is not known.

    `known_by` says how the length was got (measured, label, sheet, bought, cut) and `length_sd_cm` follows from it.
    `wear` counts days of use so far, those before a cut included. `waits` is what must be done before it is ready.
    `next_due` is what the last examination said, `inspection_due` what follows from it or from the store's interval.
    `doubted_cm` is what the last measurement said while that is in doubt, `length_doubt` why, in sentences; `length_cm`
    is then the lower one, which counts.
    `mark_too_long` says how its mark says more than it has, `mark_measured_false` whether that was measured; `given_to`
    is the owner it got after it was marked for another.
    `fit_beside_by` said last that it is fit; where a fault stood beside that, the doubt `fit-with-faults` stays.
    `as_found` is a rope older than this record: when it was first used is then not known from its first use here.
    `found_on` is when it was written down so.
    """

    id: str
    length_cm: int | None = None
    known_by: str = ""
    measured_on: PartialDate | None = None
    doubted_cm: int | None = None
    length_doubt: str = ""
    diameter_mm: float | None = None
    rope_type: str | None = None
    mass_g_per_m: float | None = None
    material: str | None = None
    product: str | None = None
    maker: str | None = None
    batch: str | None = None
    year_made: int | None = None
    owner: str | None = None
    age_limit_years: int | None = None
    supplier: str | None = None
    elongation_percent: float | None = None
    impact_force_kn: float | None = None
    bought: PartialDate | None = None
    since: PartialDate | None = None
    first_used: PartialDate | None = None
    wear: int = 0
    marked_m: int | None = None
    mark_words: str = ""
    mark_too_long: str = ""
    mark_measured_false: bool = False
    given_to: str = ""
    last_inspected: PartialDate | None = None
    next_due: PartialDate | None = None
    inspection_due: date | None = None
    parent: str | None = None
    children: tuple[str, ...] = ()
    bookings: tuple[Booking, ...] = ()
    waits: tuple[Wait, ...] = ("put into service",)
    waits_since: PartialDate | None = None
    retired: str | None = None
    missing: PartialDate | None = None
    set_aside: str | None = None
    rigged: str | None = None
    look_again: PartialDate | None = None
    out_since: PartialDate | None = None
    out_with: str | None = None
    out_until: PartialDate | None = None
    out_trip: str = ""
    notes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    over_age: str | None = None
    born: bool = False
    born_on: PartialDate | None = None
    as_found: bool = False
    found_on: PartialDate | None = None
    cut_on: PartialDate | None = None
    answers: tuple[Answer, ...] = field(default=(), compare=False, repr=False)
    washed: bool = False
    used_since_out: bool = False
    found_unfit: bool = False
    fit_beside_by: str | None = None

    @property
    def state(self) -> str:
        """In preparation, ready, out, rigged, set aside, missing or retired."""
        if self.retired is not None:
            return "retired"
        if self.missing is not None:
            return "missing"
        if self.set_aside is not None:
            return "set aside"
        if self.rigged is not None:
            return "rigged"
        if self.out_since is not None:
            return "out"
        return "in preparation" if self.waits else "ready"

    @property
    def fall_type(self) -> RopeType | None:
        """Its declared type as far as a fall is reckoned by it: no accessory cord."""
        match self.rope_type:
            case "A" | "B" | "dynamic" as declared:
                return declared
        return None

    @property
    def elongation(self) -> float | None:
        """Its declared elongation as a share of its length; None too where no formula takes it."""
        percent = self.elongation_percent
        return percent / 100 if percent is not None and declared_within("elongation_percent", percent) else None

    def fall_force_kn(self, as_type: RopeType | None = None) -> float | None:
        """Its declared impact force [kN], reckoned as of its own type or as `as_type`.

        None without its type, and as another: the types are dropped in different ways.
        """
        own = self.fall_type is not None and as_type in (None, self.fall_type)
        force = self.impact_force_kn if own else None
        return force if force is not None and declared_within("impact_force_kn", force) else None

    @property
    def length_sd_cm(self) -> float:
        """Standard deviation of the length [cm], by how it was got."""
        return 0.0 if self.length_cm is None else length_sd_cm(self.length_cm, self.known_by)

    @property
    def length_in_doubt(self) -> str:
        """Why its last measurement is in doubt, and what counts until it is counted again; empty where it is not."""
        if not self.length_doubt or self.length_cm is None:
            return ""
        return f"{self.length_doubt} Until it is counted again, {show_metres(self.length_cm)} m counts."

    @property
    def in_the_store(self) -> bool:
        """Whether it should hang on the racks: not out, rigged, missing or retired."""
        here = self.state in ("ready", "in preparation", "set aside")
        return here and not self.with_somebody and self.rigged is None

    @property
    def marks_void(self) -> str:
        """Why what stands on its ends no longer holds, so that both must be marked anew; empty where it does."""
        whose = f"it now belongs to {self.given_to}" if self.given_to else ""
        return "; ".join(each for each in (self.mark_too_long, whose) if each)

    @property
    def with_somebody(self) -> bool:
        """Whether somebody has it: it is out, or was taken while set aside, set aside while out, or retired so."""
        if self.retired is not None:
            return self.cut_on is None and self.out_since is not None
        return self.state in ("out", "set aside") and self.out_since is not None and self.rigged is None

    @property
    def mark_overstates(self) -> bool:
        """Whether the mark on its ends says more metres than it is known to have."""
        return self.marked_m is not None and self.length_cm is not None and self.marked_m * 100 > self.length_cm

    def is_late(self, on: date) -> bool:
        """Whether somebody has it and should have brought it back before this day."""
        return self.out_since is not None and self.out_until is not None and self.out_until.latest < on

    @property
    def usable(self) -> bool:
        """Whether a plan may use it."""
        return self.why_not is None

    @property
    def why_not(self) -> str | None:
        """Why no plan may use this rope, or None."""
        return (
            self._why_not_by_state()
            or self.over_age
            or ("its length is not known: measure it" if self.length_cm is None else None)
        )

    def _why_not_by_state(self) -> str | None:
        match self.state:
            case "ready":
                return None
            case "retired":
                return f"retired{'' if self.retired == BEFORE_RECORD else ':'} {self.retired}"
            case "missing":
                return "missing"
            case "set aside":
                before = (self.set_aside or "").startswith(BEFORE_RECORD)
                return f"set aside{'' if before else ':'} {self.set_aside}"
            case "rigged":
                return f"left rigged {self.rigged}".rstrip()
            case "out":
                since = self.out_since.spoken() if self.out_since else "an unknown day"
                return f"out since {since}"
        return f"in preparation: waits for {', '.join(self.waits)}"

    def booked_on(self, first_day: date, last_day: date) -> Booking | None:
        """The first booking that overlaps these days, both included."""
        return next((each for each in self.bookings if each.overlaps(first_day, last_day)), None)

    def why_not_on(self, first_day: date, last_day: date) -> str | None:
        """Why no plan for these days may use this rope, bookings included, or None."""
        booking = self.booked_on(first_day, last_day)
        if self.why_not is not None or booking is None:
            return self.why_not
        return f"booked {booking.first_day:%d %b %Y} to {booking.last_day:%d %b %Y} {booking.trip}".rstrip()

    def doubted(self, code: str, message: str, way_out: str) -> "RopeState":
        """The same rope with one finding more."""
        return changed(self, findings=(*self.findings, Finding(code, f"rope {self.id}", message, way_out)))


if TYPE_CHECKING:
    from dataclasses import replace

    changed = replace
else:

    def changed(state: RopeState, /, **told: object) -> RopeState:
        """dataclasses.replace for a RopeState, in a tenth of the time: a fold does little else."""
        twin = object.__new__(RopeState)
        object.__setattr__(twin, "__dict__", {**state.__dict__, **told})
        return twin


@functools.cache
def _spreads() -> dict[str, tuple[float, float]]:
    text = resources.files("tethera.store").joinpath("tables/length_spread.toml").read_text("utf-8")
    return {name: (row["metres"], row["share"]) for name, row in tomllib.loads(text).items()}


def length_sd_cm(length_cm: int, known_by: str) -> float:
    """Standard deviation of a length [cm] got by measuring, from a label, a sheet, a purchase or a cut.

    >>> length_sd_cm(4000, "measured")
    40.0
    """
    metres, share = _spreads()[known_by]
    return metres * 100 + share * length_cm


def length_band_cm(length_cm: int, known_by: str) -> tuple[int, int]:
    """Between which lengths [cm] nine of ten ropes lie whose length was got so; never below 0.

    >>> length_band_cm(4000, "measured")
    (3935, 4065)
    """
    give = int(_BAND * length_sd_cm(length_cm, known_by))
    return max(0, length_cm - give), length_cm + give
