"""The rarer sheets of a route's workbook: what other guides say, and lengths given for several pitches together."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from tethera.basics import Cell, Finding, cell_address
from tethera.rigging.checks import route_findings
from tethera.rigging.route import Route, RouteReading, Together
from tethera.rigging.route_cells import measure_cell, names_in, table_of
from tethera.rigging.route_table import route_from_table
from tethera.rigging.words import read_measure

#: Headings of the sheet of other guides, and what their cells are called in a table of a route.
GUIDE_HEADINGS = {
    "Pitch": "pitch",
    "Guide": "source",
    "Depth (m)": "depth",
    "Rope (m)": "guide_rope",
    "Anchors": "anchors",
    "Note": "note",
}
TOGETHER_HEADINGS = {"Pitches": "pitches", "Rope (m)": "guide_rope"}
_MOST_ROWS, _HEADING_ROWS, _LONGEST = 2000, 10, 1000


def guide_rows(route: Route) -> list[list[Cell]]:
    """The sheet of what other guides say, headings first; only headings where there is no other guide."""
    rows: list[list[Cell]] = [list(GUIDE_HEADINGS)]
    for pitch in table_of(route)["pitches"]:
        for each in pitch["edition"]:
            cells = {**each, "pitch": pitch["name"]}
            rows.append([cells[key] or None for key in GUIDE_HEADINGS.values()])
    return rows


def together_rows(route: Route) -> list[list[Cell]]:
    """The sheet of lengths for several pitches together, headings first; names are parted by semicolons."""
    rows: list[list[Cell]] = [list(TOGETHER_HEADINGS)]
    for each in route.together:
        rows.append(["; ".join(each.pitches), measure_cell(each.guide_rope, "m")])
    return rows


def with_guide_rows(reading: RouteReading, rows: Sequence[Sequence[Cell]], sheet: str) -> RouteReading:
    """The same route with what the sheet says other guides say; pitches it does not name keep theirs."""
    table = table_of(reading.route)
    names = _named(pitch.name for pitch in reading.route.pitches)
    found: list[Finding] = []
    told: dict[str, list[tuple[int, Mapping[str, str]]]] = {}
    for at, cells in _rows(rows, GUIDE_HEADINGS, ("pitch", "source"), sheet, found):
        name = names.get(cells["pitch"]) or names.get(cells["pitch"].casefold())
        if name is None or not cells.get("source"):
            what = f"“{cells['pitch'][:60]}” is no pitch of this route" if name is None else "The guide is not named"
            way_out = "Write the pitch as on the first sheet, and which guide says it."
            found.append(Finding("guide-left-out", f"{sheet}, row {at}", f"{what}; the row is left out.", way_out))
            continue
        told.setdefault(name, []).append((at, cells))
    for pitch in table["pitches"]:
        if pitch["name"] in told:
            pitch["edition"] = [dict(cells) for _, cells in told[pitch["name"]]]
    again = route_from_table(table, before=reading.route)
    for error in again.errors:
        name = "" if error.pitch is None else str(table["pitches"][error.pitch]["name"])
        at = told[name][error.number][0] if error.number is not None and name in told else 1
        where = f"{sheet}, row {at}"
        found.append(Finding("cell-unreadable", where, f"{name}: {error.message}", "Correct it, and bring it again."))
    if again.route is None:
        return RouteReading(reading.route, (*reading.findings, *found))
    before = set(route_findings(reading.route))
    kept = [each for each in reading.findings if each not in before]
    return RouteReading(again.route, (*kept, *found, *again.findings))


def with_together_rows(reading: RouteReading, rows: Sequence[Sequence[Cell]], sheet: str) -> RouteReading:
    """The same route with the lengths of the sheet for several pitches together, in the place of those it had."""
    route = reading.route
    found: list[Finding] = []
    groups: list[Together] = []
    names = _named(pitch.name for pitch in route.pitches)
    for at, cells in _rows(rows, TOGETHER_HEADINGS, ("pitches", "guide_rope"), sheet, found):
        try:
            groups.append(_together(cells, names))
        except ValueError as error:
            why, way_out = str(error), "Write the pitches with semicolons between, and one length for them all."
            found.append(Finding("together-left-out", f"{sheet}, row {at}", f"Left out: {why}.", way_out))
    return RouteReading(replace(route, together=tuple(groups)), (*reading.findings, *found))


def _together(cells: Mapping[str, str], names: Mapping[str, str]) -> Together:
    called = names_in(cells["pitches"], names)
    known = [names.get(each) or names.get(each.casefold()) for each in called]
    pitches = tuple(each for each in known if each)
    if len(set(pitches)) < 2 or None in known:
        raise ValueError(f"“{cells['pitches'][:80]}” does not name two or more pitches of this route")
    return Together(pitches, read_measure(cells["guide_rope"], unit="m"))


def _named(pitches: Iterable[str]) -> dict[str, str]:
    """Names by what somebody may write for them: exactly, or in other capitals."""
    known = tuple(pitches)
    return {name.casefold(): name for name in reversed(known)} | {name: name for name in known}


def _rows(
    rows: Sequence[Sequence[Cell]],
    headings: Mapping[str, str],
    needed: tuple[str, str],
    sheet: str,
    found: list[Finding],
) -> list[tuple[int, dict[str, str]]]:
    """The rows below the headings as words by what they mean, each with its number; what is odd is told."""
    plain = {_plain(heading): key for heading, key in headings.items()}
    for at, row in enumerate(rows[:_HEADING_ROWS], start=1):
        columns = {plain[word]: place for place, cell in enumerate(row) if (word := _plain(_words(cell))) in plain}
        if all(key in columns for key in needed):
            below = rows[at : at + _MOST_ROWS]
            if len(rows) > at + _MOST_ROWS:
                told = f"Only {_MOST_ROWS:,} rows were read."
                where = f"{sheet}, cell {cell_address(at + _MOST_ROWS, 0)}"
                found.append(Finding("rows-left-out", where, told, "Split the route."))
            read = [(n, _cells(each, columns)) for n, each in enumerate(below, start=at + 1)]
            return [(n, cells) for n, cells in read if any(cells.values())]
    if any(_words(cell) for row in rows for cell in row):
        told = f"{sheet} is not read: it has no headings {' and '.join(list(headings)[:2])}."
        found.append(Finding("sheet-left-out", sheet, told, "Head its columns as an exported route does."))
    return []


def _cells(row: Sequence[Cell], columns: Mapping[str, int]) -> dict[str, str]:
    return {key: _words(row[place]) if place < len(row) else "" for key, place in columns.items()}


def _plain(heading: str) -> str:
    return heading.casefold().removesuffix("(m)").strip()


def _words(cell: Cell) -> str:
    if isinstance(cell, float) and math.isfinite(cell):
        # As a spreadsheet shows it: 1.9999999999999716 is 2, not a centimetre less.
        cell = f"{cell:.4f}".rstrip("0").rstrip(".")
    return "" if cell is None else " ".join(str(cell).split())[:_LONGEST]
