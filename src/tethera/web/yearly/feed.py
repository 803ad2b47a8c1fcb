"""The calendar of what is due, as RFC 5545: at a secret address, without anybody's name."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from icalendar import Calendar, Event

from tethera.store import RopeState, leaves_on

_SHOWN = 12


@dataclass(frozen=True)
class Due:
    """Something on a day: what, which ropes, and until which day if it lasts."""

    what: str
    title: str
    on: date
    ropes: tuple[str, ...]
    last: date | None = None


def due(ropes: Sequence[RopeState], age_limit_years: int | None) -> list[Due]:
    """Examinations, ropes to come back, trips and ropes that leave service, those of one day together."""
    found: dict[tuple[str, str, date, date | None], list[str]] = {}

    def add(what: str, title: str, on: date, rope: str, last: date | None = None) -> None:
        found.setdefault((what, title, on, last), []).append(rope)

    for rope in ropes:
        if rope.state == "retired":
            continue
        if rope.inspection_due is not None:
            add("examine", "Examine", rope.inspection_due, rope.id)
        if rope.out_since is not None and rope.out_until is not None:
            add("back", "Due back", rope.out_until.latest, rope.id)
        leaves = leaves_on(rope, age_limit_years)
        if leaves is not None:
            add("leaves", "Last day of service by age", leaves, rope.id)
        for booking in rope.bookings:
            add("trip", f"Trip {booking.trip}".strip(), booking.first_day, rope.id, booking.last_day)
    return [Due(what, title, on, tuple(numbers), last) for (what, title, on, last), numbers in found.items()]


def calendar(name: str, slug: str, host: str, dues: Iterable[Due], written: datetime) -> bytes:
    """The feed. Each entry keeps its UID for as long as it is about the same thing on the same day."""
    feed = Calendar()
    feed.add("prodid", "-//Tethera//tackle store//EN")
    feed.add("version", "2.0")
    feed.add("method", "PUBLISH")
    feed.add("x-wr-calname", name)
    feed.add("refresh-interval", timedelta(hours=12), parameters={"value": "DURATION"})
    for each in sorted(dues, key=lambda one: (one.on, one.what, one.title)):
        feed.add_component(_entry(each, slug, host, written))
    return bytes(feed.to_ical())


def _entry(each: Due, slug: str, host: str, written: datetime) -> Event:
    entry = Event()
    numbers = ", ".join(each.ropes[:_SHOWN]) + (
        f" and {len(each.ropes) - _SHOWN} more" if len(each.ropes) > _SHOWN else ""
    )
    entry.add("uid", f"{each.what}-{each.on.isoformat()}-{plain_name(each.title)}-{slug}@{host}")
    entry.add("dtstamp", written.astimezone(UTC))
    entry.add("dtstart", each.on)
    # The end of an all-day entry is the day after its last.
    last = min(each.last or each.on, date.max - timedelta(days=1))
    entry.add("dtend", last + timedelta(days=1))
    entry.add("summary", f"{each.title}: {numbers}")
    entry.add("description", f"{each.title}: {', '.join(each.ropes)}")
    entry.add("transp", "TRANSPARENT")
    return entry


def plain_name(title: str) -> str:
    """Letters and digits of a title, for a UID.

    >>> plain_name("Trip Great Marrowgill")
    'trip-great-marrowgill'
    """
    return "-".join("".join(c if c.isalnum() else " " for c in title.lower()).split())
