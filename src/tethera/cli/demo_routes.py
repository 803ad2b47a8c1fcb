"""The routes of the demo's store in its record, and what ropes told of one of them."""

from dataclasses import replace
from datetime import UTC, datetime
from importlib.resources.abc import Traversable
from typing import Any

from tethera.basics import PartialDate
from tethera.cli import places
from tethera.rigging import Route, read_route, write_route
from tethera.store import Event, Recorded, Returned, RouteWritten, TakenOut, Used, route_key

NAMES = ("short", "classic", "deep")


def write_down_routes(store: places.OpenStore, files: Traversable) -> None:
    """The three routes go into the record, one of them coarse first and then anchor by anchor; and two trips late."""
    texts = {name: (files / f"{name}.toml").read_text(encoding="utf-8") for name in NAMES}
    fine = read_route(texts["classic"], source="classic").route
    coarse = replace(fine, pitches=tuple(replace(p, anchors=(), anchor_count=p.count) for p in fine.pitches))
    first, second = PartialDate(2026, 11, 23), PartialDate(2026, 11, 24)
    routes = [(read_route(text, source=name).route, text) for name, text in texts.items() if name != "classic"]
    written = [_written(route, text, first, "from the guide") for route, text in routes]
    written.append(_written(coarse, write_route(coarse), first, "from the guide"))
    refined = _written(fine, texts["classic"], second, "bolted anew: anchor by anchor, the drops measured by laser")
    for hour, (by, events) in enumerate((("p1", written), ("p2", [refined]), ("p3", _two_trips()))):
        when = datetime(2026, 11, 24, 18 + hour, tzinfo=UTC)
        store.log.append(len(store.register), [Recorded(event, when, by) for event in events])


def _written(route: Route, text: str, when: PartialDate, note: str) -> Event:
    return RouteWritten(happened=when, key=route_key(route.name), text=text, note=note)


def _two_trips() -> list[Event]:
    """Two autumn trips to Sallowlamp Pot, written down late: what lay at the feet was looked at."""
    events: list[Event] = []
    for day, seen in ((10, (("UG24", "Candle", 510), ("UG41", "Snuffer", 210))), (31, (("UG24", "Candle", 470),))):
        when = PartialDate(2026, 10, day)
        for rope, pitch, left_over_cm in seen:
            hung: dict[str, Any] = {"rope": rope, "happened": when}
            where: dict[str, Any] = {"route": "Sallowlamp Pot", "pitch": pitch, "pitches": (pitch,)}
            events += [
                TakenOut(**hung, person="p3", trip="Sallowlamp Pot"),
                Used(**hung, **where, left_over_cm=left_over_cm),
                Returned(**hung, person="p3", clean=True, dry=True, checked=True),
            ]
    return events
