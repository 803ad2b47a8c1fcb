"""The calendar of what is due, as RFC 5545: at a secret address, without anybody's name."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from icalendar import Calendar, Event

from tethera.basics import PartialDate
from tethera.store import RopeState, leaves_on

_SHOWN = 12


@dataclass(frozen=True)
class Due:
    """Something on a day: what, which ropes, and until which day if it lasts.

    `since` are the days from which each rope waits for it, where those are past.
    """

    what: str
    title: str
    on: date
    ropes: tuple[str, ...]
    last: date | None = None
    since: tuple[date, ...] = ()


#: What waits from its day on until it is done, and what it is called once that day is past.
_OVERDUE = {
    "examine": "Examination overdue",
    "back": "Overdue, to come back",
    "leaves": "Past its age",
    "look": "Left rigged, to be looked at",
}


def due(ropes: Sequence[RopeState], age_limit_years: int | None, today: date) -> list[Due]:
    """Examinations, ropes to come back, trips and ropes that leave service, those of one day together.

    What is past its day and not done stands on today: nobody looks for it on the day that has gone.
    """
    found: dict[tuple[str, str, date, date | None], list[tuple[str, date]]] = {}

    def add(what: str, title: str, on: date, rope: str, last: date | None = None) -> None:
        if what in _OVERDUE and on < today:
            found.setdefault((f"{what}-overdue", _OVERDUE[what], today, None), []).append((rope, on))
        else:
            found.setdefault((what, title, on, last), []).append((rope, on))

    for rope in ropes:
        if rope.state == "retired":
            continue
        if rope.inspection_due is not None:
            add("examine", "Examination due", rope.inspection_due, rope.id)
        if rope.look_again is not None:
            add("look", "Left rigged: look at it", rope.look_again.latest, rope.id)
        if rope.out_since is not None and rope.out_until is not None:
            add("back", "Due back", rope.out_until.latest, rope.id)
        leaves = leaves_on(rope, age_limit_years)
        if leaves is not None:
            add("leaves", "Last day of service by age", leaves, rope.id)
        for booking in rope.bookings:
            add("trip", f"Trip {booking.trip}".strip(), booking.first_day, rope.id, booking.last_day)
    return [
        Due(what, title, on, tuple(rope for rope, _day in waits), last,
            tuple(day for _rope, day in waits) if what.endswith("-overdue") else ())
        for (what, title, on, last), waits in found.items()
    ]  # fmt: skip


def calendar(name: str, slug: str, host: str, dues: Iterable[Due], written: datetime) -> bytes:
    """The feed. Each entry keeps its UID for as long as it is about the same thing on the same day; what is overdue
    keeps it from day to day, so that it moves on and is there once."""
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
    day = "" if each.since else f"{each.on.isoformat()}-"
    entry.add("uid", f"{each.what}-{day}{plain_name(each.title)}-{slug}@{host}")
    entry.add("dtstamp", written.astimezone(UTC))
    entry.add("dtstart", each.on)
    # The end of an all-day entry is the day after its last.
    last = min(each.last or each.on, date.max - timedelta(days=1))
    entry.add("dtend", last + timedelta(days=1))
    entry.add("summary", f"{each.title}: {numbers}")
    told = [f"{rope} (was due {PartialDate.of(on).spoken()})" for rope, on in zip(each.ropes, each.since, strict=False)]
    entry.add("description", f"{each.title}: {', '.join(told or each.ropes)}")
    entry.add("transp", "TRANSPARENT")
    return entry


def plain_name(title: str) -> str:
    """Letters and digits of a title, for a UID.

    >>> plain_name("Trip Great Marrowgill")
    'trip-great-marrowgill'
    """
    return "-".join("".join(c if c.isalnum() else " " for c in title.lower()).split())
