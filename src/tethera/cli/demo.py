"""The whole job on an invented store: spreadsheet in, four years of record, two trips planned together, papers out."""

import argparse
import json
import shutil
from contextlib import suppress
from datetime import UTC, date, datetime
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from tethera.basics import PartialDate, read_workbook
from tethera.cli import places, plan_words, terminal
from tethera.cli.demo_routes import write_down_routes
from tethera.cli.errors import WrongInput
from tethera.cli.main import DONE
from tethera.cli.papers import packing_in_words, packing_mapping, write_packing, write_sheet
from tethera.cli.trips import Planned, file_name
from tethera.labels import NoMark, end_marks, strips_pdf
from tethera.planning import Choices, Trip, booked_where, plan_trip, taught_route
from tethera.rigging import RouteReading, read_route
from tethera.store import (
    Booked,
    Recorded,
    StoreDescribed,
    decode_recorded,
    rows_to_events,
    seen_on,
)

#: The store was taken over on this day, and the demo looks at it on that one; the trips are the weekend after next.
TAKEN_OVER, LOOKED_AT = date(2022, 11, 5), date(2026, 11, 25)
WEEKEND = (date(2026, 12, 5), date(2026, 12, 6))
CODE, OWNER, AGE_LIMIT_YEARS = "UG", "Ulvergarth Caving Club", 10
TRIPS = ("short", "classic")
#: Who leads them, and so has the ropes promised.
LEADERS = ("p3", "p6")
#: A folder made by the demo is known by this file, and only such a folder is made anew.
MADE_BY_DEMO = "made-by-tethera-demo.txt"


def run(words: argparse.Namespace) -> int:
    """Run the job to its end and say how to go on."""
    into = Path(words.into)
    store = _fresh_store(into)
    reading = _take_over(store)
    if not words.json:
        terminal.say(terminal.bold(f"1  The old spreadsheet, brought in on {TAKEN_OVER.day} {TAKEN_OVER:%b %Y}"))
        terminal.say(f"   {len(reading.events)} ropes, {len(reading.doubts)} cells in doubt, such as")
        for doubt in reading.doubts[:3]:
            terminal.say(
                terminal.paragraph(f"{doubt.address}: {doubt.finding.message}", indent="   ? ", hanging="     ")
            )
    _remember(store)
    write_down_routes(store, _files())
    if not words.json:
        terminal.say("\n" + terminal.bold(f"2  The store on {LOOKED_AT.day} {LOOKED_AT:%b %Y}"))
        terminal.say(_the_store(store))
    planned = _plan(store)
    if not words.json:
        terminal.say("\n" + terminal.bold("3  Two trips next weekend, planned together"))
        terminal.say(plan_words.in_words(planned))
    _book(planned)
    written = _write(planned, into)
    if words.json:
        print(json.dumps(plan_words.as_mapping(planned) | {"written": written}, indent=2, ensure_ascii=False))
        return DONE
    terminal.say("\n" + terminal.bold("4  Bags"))
    terminal.say("\n\n".join(packing_in_words(packing_mapping(planned, n, None)) for n in range(len(planned.trips))))
    terminal.say("\n" + terminal.bold("5  On paper"))
    terminal.say("\n".join(f"   {name}" for name in written))
    terminal.say("\n" + terminal.bold("How to go on"))
    terminal.say(_how_to_go_on(into))
    return DONE


def _files() -> Traversable:
    return resources.files("tethera.cli") / "demo_data"


def _fresh_store(into: Path) -> places.OpenStore:
    """An empty store in the folder; a store that the demo did not make is left alone."""
    folder, mark = into / "store", into / MADE_BY_DEMO
    if folder.exists():
        if not mark.is_file():
            raise WrongInput(f"{folder} is a store that the demo did not make. Choose another folder with --into.")
        shutil.rmtree(folder)
    into.mkdir(parents=True, exist_ok=True)
    mark.write_text("The demo makes this folder anew each time it is run: keep nothing here.\n", encoding="utf-8")
    for name in (*(f"{trip}.toml" for trip in (*TRIPS, "deep")), "ropes.csv"):
        (into / name).write_text((_files() / name).read_text(encoding="utf-8"), encoding="utf-8")
    store = places.open_store(str(folder), create=True)
    # The pages tell of every rope which pitches of these routes it would rig.
    (folder / "routes").mkdir()
    for trip in (*TRIPS, "deep"):
        shutil.copyfile(into / f"{trip}.toml", folder / "routes" / f"{trip}.toml")
    return store


def _take_over(store: places.OpenStore) -> Any:
    """The spreadsheet as the keeper found it, four years ago."""
    csv = (_files() / "ropes.csv").read_bytes()
    happened = PartialDate.of(TAKEN_OVER)
    reading = rows_to_events(
        read_workbook(csv, "ropes.csv")[0].rows, happened=happened, code=CODE, owner=OWNER, source="ropes.csv"
    )
    described = StoreDescribed(happened=happened, code=CODE, owner=OWNER, age_limit_years=AGE_LIMIT_YEARS)
    evening = datetime(TAKEN_OVER.year, TAKEN_OVER.month, TAKEN_OVER.day, 18, 0, tzinfo=UTC)
    store.register.record_all((described, *reading.events), recorded=evening, by="p1")
    (store.folder / places.PEOPLE_NAME).write_text(
        (_files() / "people.json").read_text(encoding="utf-8"), encoding="utf-8"
    )
    return reading


def _remember(store: places.OpenStore) -> None:
    """Four years of events, recorded as they were then."""
    text = (_files() / "history.jsonl").read_text(encoding="utf-8")
    history: list[Recorded] = [decode_recorded(json.loads(line)) for line in text.splitlines()]
    terminal.progress(f"writing {len(history)} events")
    store.log.append(len(store.register), history)
    terminal.progress_done()


def _the_store(store: places.OpenStore) -> str:
    ropes = store.register.ropes(LOOKED_AT)
    states: dict[str, int] = {}
    for rope in ropes:
        states[rope.state] = states.get(rope.state, 0) + 1
    counted = ", ".join(f"{count} {state}" for state, count in sorted(states.items(), key=lambda item: -item[1]))
    lines = [
        terminal.paragraph(f"{len(ropes)} ropes, {len(store.register)} events: {counted}.", indent="   ", hanging="   ")
    ]
    seen: set[str] = set()
    for rope in ropes:
        for finding in rope.findings:
            if finding.code not in seen and rope.state != "retired":
                seen.add(finding.code)
                lines.append(terminal.paragraph(str(finding), indent="   ? ", hanging="     "))
    return "\n".join(lines)


def _reading(store: places.OpenStore, name: str) -> RouteReading:
    """A route as its file says it and as the store's ropes told of it since."""
    reading = read_route((_files() / f"{name}.toml").read_text(encoding="utf-8"), source=name)
    route, _ = taught_route(reading.route, seen_on(store.register.caught_up(), {reading.route.name}))
    return RouteReading(route, reading.findings)


def _plan(store: places.OpenStore) -> Planned:
    readings = tuple(_reading(store, name) for name in TRIPS)
    trips = tuple(Trip(reading.route, *WEEKEND) for reading in readings)
    ropes = store.register.ropes(LOOKED_AT)
    try:
        plan = plan_trip(
            trips, ropes, Choices(), progress=lambda stage, best, bound: terminal.progress(f"choosing ropes: {stage}")
        )
    finally:
        terminal.progress_done()
    return Planned(store, readings, trips, plan, 95.0)


def _book(planned: Planned) -> None:
    """Promise the ropes of each trip to who leads it, as the keeper would that evening."""
    booked = [
        Booked(
            rope=use.rope,
            happened=PartialDate.of(LOOKED_AT),
            first_day=WEEKEND[0],
            last_day=WEEKEND[1],
            person=leader,
            trip=trip.route.name,
            route=trip.route.name,
            **booked_where(trip, use),
        )
        for number, (trip, leader) in enumerate(zip(planned.trips, LEADERS, strict=True))
        for use in {use.rope: use for use in reversed(planned.plan.uses) if use.trip_index == number}.values()
    ]
    evening = datetime(LOOKED_AT.year, LOOKED_AT.month, LOOKED_AT.day, 12, 0, tzinfo=UTC)
    planned.store.register.record_all(booked, recorded=evening, by="p1")


def _write(planned: Planned, into: Path) -> list[str]:
    """The papers of each trip, and the plan for machines."""
    written = []
    for number, trip in enumerate(planned.trips):
        terminal.progress(f"printing {trip.route.name}")
        name = file_name(trip.route.name)
        write_sheet(planned, number, into / f"{name}-rigging-sheet.pdf")
        write_packing(planned, number, None, into / f"{name}-packing-list.pdf")
        written += [str(into / f"{name}-rigging-sheet.pdf"), str(into / f"{name}-packing-list.pdf")]
    if marks := _marks(planned.store):
        (into / "marks.pdf").write_bytes(marks)
        written.append(str(into / "marks.pdf"))
    plan_file = into / "plan.json"
    plan_file.write_text(json.dumps(plan_words.as_mapping(planned), indent=2, ensure_ascii=False), encoding="utf-8")
    terminal.progress_done()
    return [*written, str(plan_file)]


def _marks(store: places.OpenStore) -> bytes:
    """Strips for both ends of every rope whose mark is missing or says more than it has; nothing where all are true."""
    rules = store.register.store_rules()
    needing = []
    for rope in store.register.ropes(LOOKED_AT):
        if rope.in_the_store and (rope.mark_overstates or "mark" in rope.waits):
            with suppress(NoMark):
                needing.append(end_marks(rope, rules, LOOKED_AT))
    return strips_pdf(needing, "a4") if needing else b""


def _how_to_go_on(into: Path) -> str:
    store = into / "store"
    return "\n".join(
        f"   {line}"
        for line in (
            ". .venv/bin/activate                 so that the shell finds tethera",
            f"export TETHERA_STORE={store}     the demo store for the commands below",
            "tethera serve --open                 the same store in the browser",
            "tethera ropes ready                  what may be taken",
            "tethera rope UG21                    a rope with a doubt, and its whole life",
            "tethera mark                         which ropes need a mark, and what it says",
            f"tethera needs {into / 'deep.toml'} --why     each leg and knot, with its source",
            f"tethera plan {into / 'deep.toml'} --on 2026-12-12 --leave 9",
            "tethera record washed UG18 how=hand",
            "tethera import your-ropes.xlsx --store my-store --code XY --dry-run",
        )
    )
