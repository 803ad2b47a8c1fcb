"""Cells of sheets, as JSON: what a spreadsheet holds once it is unpacked."""

import csv
import io
import json
from datetime import UTC, datetime
from importlib import resources
from typing import Any

from tethera.basics import Cell, PartialDate
from tethera.rigging import (
    anchor_rows,
    guide_rows,
    read_route,
    read_route_rows,
    rigging_sheet,
    rope_needs,
    route_rows,
    together_rows,
    with_anchor_rows,
    with_guide_rows,
    with_together_rows,
    write_route,
)
from tethera.store import MEANINGS, ByHand, MemoryLog, Register, rows_to_events
from tethera.web.importing.workbook_child import cell_from_json

_DAY = PartialDate(2026, 11, 26)
_NOW = datetime(2026, 11, 26, 9, tzinfo=UTC)
_MOST_ROWS, _MOST_COLUMNS = 60, 30


def _cell(value: Any) -> Cell:
    """A cell as a workbook's reader gives it; of what could be none, nothing."""
    if isinstance(value, dict):
        try:
            return cell_from_json(value)
        except (ValueError, TypeError):
            return None
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode() or None
    # A cell holds no whole number of more than 15 figures.
    return value if isinstance(value, int | float) and abs(value) < 1e15 else None


def _rows(value: Any) -> list[tuple[Cell, ...]]:
    listed = value[:_MOST_ROWS] if isinstance(value, list) else []
    return [tuple(map(_cell, row[:_MOST_COLUMNS])) for row in listed if isinstance(row, list)]


def _object(data: bytes) -> dict[str, Any]:
    """The sheets; none where an input is not JSON any more."""
    try:
        value = json.loads(data)
    except (ValueError, RecursionError):
        return {}
    return value if isinstance(value, dict) else {}


def _demo(name: str) -> str:
    return (resources.files("tethera.cli") / "demo_data" / name).read_text("utf-8")


def ropes_seeds() -> tuple[bytes, ...]:
    """The demo's old spreadsheet, and a short one with dates in it and changes by hand."""
    old = list(csv.reader(io.StringIO(_demo("ropes.csv"))))
    short = [["Rope", "Length", "Bought", "State"], ["7", "45m", {"date": "2021-09-03"}, "ok"], ["8 and 9", 30.5, 2019]]
    by_hand = {"columns": {"1": "length in ft"}, "corrected": {"1,1": "44 m"}, "without": [2], "again": [1]}
    return tuple(json.dumps(each).encode() for each in ({"rows": old}, {"rows": short, "by_hand": by_hand}))


def read_ropes(data: bytes) -> None:
    """An old spreadsheet with what its keeper changed: what it becomes can be recorded, and is there."""
    value = _object(data)
    register = Register(MemoryLog())
    reading = rows_to_events(_rows(value.get("rows")), happened=_DAY, source="ropes.xlsx", by_hand=_by_hand(value))
    register.record_all(reading.events, recorded=_NOW, by="p1")
    register.ropes(_DAY.latest)
    register.to_do(_DAY.latest)
    # Brought in once more, it is known.
    again = {"taken": register.numbers_taken(), "brought": register.brought_in(), "known": register.ropes(_DAY.latest)}
    rows_to_events(_rows(value.get("rows")), happened=_DAY, source="ropes.xlsx", **again)


def _by_hand(value: dict[str, Any]) -> ByHand | None:
    told = value.get("by_hand")
    if not isinstance(told, dict):
        return None
    try:
        chosen = {int(place) % _MOST_COLUMNS: meaning for place, meaning in told.get("columns", {}).items()}
        return ByHand(
            columns={place: meaning for place, meaning in chosen.items() if meaning in ("", *MEANINGS)},
            corrected={_place(key): str(_cell(text) or "") for key, text in told.get("corrected", {}).items()},
            without=frozenset(int(each) for each in told.get("without", ())),
            again=tuple(int(each) for each in told.get("again", ())[:5]),
        )
    except (ValueError, TypeError, AttributeError, OverflowError):
        return None  # the pages check what a form sends before it becomes this


def _place(key: str) -> tuple[int, int]:
    row, _, place = key.partition(",")
    return int(row) % _MOST_ROWS, int(place) % _MOST_COLUMNS


_SHEETS = ("Anchors", "Other guides", "Together")


def route_seeds() -> tuple[bytes, ...]:
    """The demo's routes as the workbooks that the pages give out."""
    found = []
    for name in ("short", "classic", "deep"):
        route = read_route(_demo(f"{name}.toml")).route
        sheets = {"Pitches": route_rows(route), "Anchors": anchor_rows(route)}
        sheets |= {"Other guides": guide_rows(route), "Together": together_rows(route)}
        found.append(json.dumps(sheets).encode())
    plain = {"Pitches": [["Pitch", "Depth (m)", "Rope (m)"], ["Entrance", 22, 30], ["Ledge", "about 12", "15 + 10"]]}
    return (*found, json.dumps(plain).encode())


def read_route_cells(data: bytes) -> None:
    """A route as a workbook: read, reckoned, and written and read again it says the same."""
    value = _object(data)
    reading = read_route_rows(_rows(value.get("Pitches")), source="route.xlsx", name="Route")
    for name, read in zip(_SHEETS, (with_anchor_rows, with_guide_rows, with_together_rows), strict=True):
        if name in value:
            reading = read(reading, _rows(value[name]), name)
    rope_needs(reading.route)
    rigging_sheet(reading.route, ())
    assert read_route(write_route(reading.route)).route == reading.route, "written it says something else"
