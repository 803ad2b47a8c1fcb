"""Routes as they were written down, version after version, and what ropes told about them afterwards.

The store keeps the words of a route and does not read them: what they mean is for `rigging`.
"""

import re
import unicodedata
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, datetime

from tethera.basics import PartialDate
from tethera.store.events import RoutePutAway, RouteWritten, Used
from tethera.store.state import Fold


@dataclass(frozen=True, slots=True)
class RouteVersion:
    """One writing of a route: the whole route file, who wrote it down and when; `number` is its place in the log."""

    number: int
    text: str
    happened: PartialDate
    recorded: datetime
    by: str | None
    note: str = ""


@dataclass(frozen=True, slots=True)
class WrittenRoute:
    """A route by its short name, its versions as recorded; `put_away` says why it is not offered."""

    key: str
    versions: tuple[RouteVersion, ...]
    put_away: str | None = None

    @property
    def newest(self) -> RouteVersion:
        """The version that holds."""
        return self.versions[-1]


@dataclass(frozen=True, slots=True)
class RopeSeen:
    """What a rope told about a pitch or several in a row: its length then [cm] and what was left over [cm]."""

    number: int
    rope: str
    use: Used
    length_cm: int
    known_by: str
    by: str | None


def written_routes(fold: Fold) -> tuple[WrittenRoute, ...]:
    """Every route ever written, by short name."""
    versions: dict[str, list[RouteVersion]] = {}
    put_away: dict[str, tuple[int, str]] = {}
    for entry in fold.general():
        event, recorded = entry.event, entry.recorded
        if isinstance(event, RouteWritten):
            version = RouteVersion(entry.number, event.text, event.happened, recorded.recorded, recorded.by, event.note)
            versions.setdefault(event.key, []).append(version)
        elif isinstance(event, RoutePutAway):
            put_away[event.key] = max(put_away.get(event.key, (-1, "")), (entry.number, event.reason))
    found = []
    for key in sorted(versions):
        ordered = tuple(sorted(versions[key], key=lambda each: each.number))
        last, reason = put_away.get(key, (-1, ""))
        # Written again after it was put away, it is offered again.
        found.append(WrittenRoute(key, ordered, reason if last > ordered[-1].number else None))
    return tuple(found)


def seen_on(fold: Fold, names: Collection[str]) -> tuple[RopeSeen, ...]:
    """What ropes told about a route that goes or went by these names, in order of happening.

    A use counts whose left-over is known and whose rope had a known length then.
    """
    wanted = {each.casefold() for each in names}
    return tuple(sorted(_seen(fold, wanted), key=lambda each: (each.use.happened.latest, each.number)))


def _seen(fold: Fold, wanted: set[str]) -> Iterator[RopeSeen]:
    for rope in fold.ids():
        for entry in fold.own_entries(rope):
            event = entry.event
            if not isinstance(event, Used) or event.left_over_cm is None or event.route.casefold() not in wanted:
                continue
            state = fold.rope(rope, event.happened.latest)
            # Counted or cut again in the days that the date may mean: the greater length asks for more rope.
            day_before = date.fromordinal(max(event.happened.earliest.toordinal() - 1, 1))
            before = fold.rope(rope, day_before)
            if (before.length_cm or 0) > (state.length_cm or 0):
                state = before
            if state.length_cm is not None:
                yield RopeSeen(entry.number, rope, event, state.length_cm, state.known_by, entry.recorded.by)


def route_key(name: str, taken: Collection[str] = ()) -> str:
    """A short name for a new route.

    >>> route_key("Cold Barrow Hole"), route_key("Großer Schacht!", {"grosser-schacht"}), route_key("—")
    ('cold-barrow-hole', 'grosser-schacht-2', 'route')
    """
    plain = unicodedata.normalize("NFKD", name.replace("ß", "ss")).encode("ascii", "ignore").decode().casefold()
    key = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:50].strip("-") or "route"
    again = 2
    whole = key
    while whole in taken:
        whole, again = f"{key}-{again}", again + 1
    return whole
