"""Who has what, what stays rigged, and the trips ahead."""

from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from django.utils.translation import gettext as _

from tethera.store import Booking, RopeState, by_number, trips_ahead
from tethera.store.trips import same_trip
from tethera.web.accounts.visit import Visit
from tethera.web.paper.shown import so_long


@dataclass(frozen=True)
class Out:
    """One rope that is out, and whether it should be back."""

    rope: RopeState
    late: bool

    @property
    def not_to_use(self) -> bool:
        """Whether it is set aside: nobody may use it, and somebody has it."""
        return self.rope.state == "set aside"


@dataclass(frozen=True)
class Holder:
    """Somebody and the ropes they have."""

    name: str
    rows: tuple[Out, ...]

    @property
    def total_cm(self) -> int:
        """Metres they have, where known [cm]."""
        return sum(each.rope.length_cm or 0 for each in self.rows)


@dataclass(frozen=True)
class Rigged:
    """A rope left in a cave, since when, and how long it has been ageing there."""

    rope: RopeState
    since: date | None
    underground: str


@dataclass(frozen=True)
class Trip:
    """A booking ahead with its ropes, and what fills in the form that takes them."""

    booking: Booking
    ropes: tuple[RopeState, ...]
    fills: str


def holders(visit: Visit) -> list[Holder]:
    """Who has what: those who have what nobody may use first, then those who are late, then by name."""
    by_person: dict[str | None, list[Out]] = {}
    for rope in visit.ropes:
        if rope.with_somebody:
            by_person.setdefault(rope.out_with, []).append(Out(rope, rope.is_late(visit.today)))
    found = [
        Holder(visit.name(person) or _("Nobody is named"), tuple(sorted(rows, key=_back_first)))
        for person, rows in by_person.items()
    ]
    return sorted(found, key=_holder_first)


def _holder_first(holder: Holder) -> tuple[object, ...]:
    not_to_use = any(row.not_to_use for row in holder.rows)
    return (not not_to_use, not any(row.late for row in holder.rows), holder.name.casefold())


def _back_first(row: Out) -> tuple[object, ...]:
    return (not row.not_to_use, row.rope.out_until.latest if row.rope.out_until else date.max, by_number(row.rope.id))


def rigged(visit: Visit) -> list[Rigged]:
    """The ropes left rigged, the longest underground first."""
    found = []
    for rope in visit.ropes:
        if rope.rigged is not None and rope.state in ("rigged", "set aside"):
            days = [day for day, state in visit.register.passage(rope.id) if state == "rigged"]
            since = days[-1] if days else None
            found.append(Rigged(rope, since, so_long((visit.today - since).days) if since else ""))
    return sorted(found, key=lambda each: (each.since or date.min, by_number(each.rope.id)))


def trips(visit: Visit) -> list[Trip]:
    """Bookings ahead, the ropes of a trip together, each with the address that fills in what is still to be taken."""
    return [
        Trip(booking, tuple(ropes), _fills(visit, booking, [each for each in ropes if not _taken(each, booking)]))
        for booking, ropes in trips_ahead(visit.ropes, visit.today)
    ]


def _taken(rope: RopeState, booking: Booking) -> bool:
    """Whether somebody has it for this very trip, or it hangs in a cave."""
    theirs = booking.person is not None and rope.out_with == booking.person
    for_it = same_trip(rope.out_trip, booking.trip) if booking.trip else theirs
    return rope.state == "rigged" or (rope.state == "out" and for_it)


def _fills(visit: Visit, booking: Booking, ropes: list[RopeState]) -> str:
    """What fills in the form; empty where every rope of it is gone already."""
    if not ropes:
        return ""
    told = {
        "take": " ".join(rope.id for rope in ropes),
        "person": visit.name(booking.person),
        "trip": booking.trip,
        "until": booking.last_day.isoformat(),
    }
    return urlencode({name: value for name, value in told.items() if value})
