"""Trips at the terminal: choose ropes, print the rigging sheet, pack the bags."""

import argparse
import json
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tethera.cli import places, plan_words, terminal
from tethera.cli.errors import WrongInput
from tethera.cli.main import CANNOT, DONE
from tethera.cli.places import OpenStore
from tethera.cli.routes import knots_of, load_known
from tethera.planning import Choices, Trip, TripPlan, plan_trip
from tethera.rigging import RouteReading


@dataclass(frozen=True)
class Planned:
    """What planning, the sheet and the bags all start from."""

    store: OpenStore
    readings: tuple[RouteReading, ...]
    trips: tuple[Trip, ...]
    plan: TripPlan
    confidence_percent: float


def plan(words: argparse.Namespace) -> int:
    """Choose the ropes for one or several trips."""
    planned = plan_for(words)
    if words.json:
        print(json.dumps(plan_words.as_mapping(planned), indent=2, ensure_ascii=False))
    else:
        terminal.say(plan_words.in_words(planned))
    return DONE if planned.plan.found else CANNOT


def sheet(words: argparse.Namespace) -> int:
    """Print the rigging sheet of each trip."""
    from tethera.cli.papers import sheet_mapping, write_sheet

    planned = plan_for(words)
    if not planned.plan.found:
        terminal.say(plan_words.in_words(planned))
        return CANNOT
    if words.json:
        sheets = [sheet_mapping(planned, number) for number in range(len(planned.trips))]
        print(json.dumps(sheets, indent=2, ensure_ascii=False))
        return DONE
    return _write_each(words, planned, write_sheet, "rigging sheet")


def bags(words: argparse.Namespace) -> int:
    """Pack the bags of each trip and print the packing list."""
    from tethera.cli.papers import packing_in_words, packing_mapping, write_packing

    planned = plan_for(words)
    if not planned.plan.found:
        terminal.say(plan_words.in_words(planned))
        return CANNOT
    lists = [packing_mapping(planned, number, words.party) for number in range(len(planned.trips))]
    if words.json:
        print(json.dumps(lists, indent=2, ensure_ascii=False))
        return DONE
    terminal.say("\n\n".join(packing_in_words(each) for each in lists))
    if words.out:
        return _write_each(
            words,
            planned,
            lambda chosen, number, path: write_packing(chosen, number, words.party, path),
            "packing list",
        )
    terminal.say("\nOn paper:  --out bags.pdf")
    return DONE


def _write_each(
    words: argparse.Namespace, planned: Planned, write: Callable[[Planned, int, Path], None], what: str
) -> int:
    """One PDF a trip; with several trips the route's name goes into the file's."""
    for number, trip in enumerate(planned.trips):
        own = f"{file_name(trip.route.name)}-{what.replace(' ', '-')}.pdf"
        path = Path(words.out or own)
        if words.out and len(planned.trips) > 1:
            path = path.with_stem(f"{path.stem}-{file_name(trip.route.name)}")
        write(planned, number, path)
        terminal.say(f"{trip.route.name}: {what} written to {path}")
    return DONE


def file_name(words: str) -> str:
    """A name for a file.

    >>> file_name("Hollow Moon Shaft")
    'hollow-moon-shaft'
    """
    return "-".join("".join(c if c.isalnum() else " " for c in words.casefold()).split()) or "trip"


def plan_for(words: argparse.Namespace) -> Planned:
    """Read the routes, look at the store, choose the ropes."""
    confidence = words.confidence / 100
    if not 0.5 <= confidence < 1:
        raise WrongInput(f"--confidence: write 50 to 99.99 percent, not {words.confidence:g}.")
    if not words.limit > 0:
        raise WrongInput(f"--limit: write seconds above 0, not {words.limit:g}.")
    if words.party is not None and words.party < 1:
        raise WrongInput(f"--party: a party has at least one caver, not {words.party}.")
    store, knots = places.open_store(words.store), knots_of(words.store)
    readings = tuple(load_known(route, store, knots) for route in words.routes)
    days = _days(words.on or [], len(readings))
    trips = tuple(Trip(r.route, *day) for r, day in zip(readings, days, strict=True))
    on = min((trip.begins for trip in trips if trip.begins), default=places.today())
    until = time.monotonic() + words.limit
    chosen = Choices(take=tuple(words.take), leave=tuple(words.leave), confidence=confidence, prefer=words.prefer)
    try:
        found = plan_trip(
            trips,
            store.register.ropes(on),
            chosen,
            knots=knots,
            shrinkages=store.register.shrinkages,
            seconds=lambda: until - time.monotonic(),
            progress=_tell_progress,
        )
    finally:
        terminal.progress_done()
    return Planned(store, readings, trips, found, words.confidence)


def _tell_progress(stage: str, best: float | None, bound: float | None) -> None:
    so_far = "" if best is None else f", {best / 1000:.1f} kg so far"
    terminal.progress(f"{stage}{so_far}   (Ctrl-C: take the best so far)")


def _days(written: Sequence[str], count: int) -> list[tuple[date | None, date | None]]:
    """Days of each trip, from one --on for all or one each."""
    if len(written) not in (0, 1, count):
        raise WrongInput(f"--on: {len(written)} days for {count} routes. Give one for all, or one for each route.")
    days: list[tuple[date | None, date | None]] = [_day(each) for each in written]
    return days * count if len(days) == 1 else days or [(None, None)] * count


def _day(written: str) -> tuple[date, date]:
    first, _, last = written.partition("/")
    try:
        begins, ends = date.fromisoformat(first), date.fromisoformat(last or first)
    except ValueError:
        raise WrongInput(f"--on: “{written}” is not a day. Write 2026-12-05, or 2026-12-05/2026-12-06.") from None
    if ends < begins:
        raise WrongInput(f"--on: {written} ends before it begins.")
    return begins, ends
