"""A route as a workbook of two sheets, its pitches and their anchors, that goes out and comes back."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tethera.basics import Cell, Finding, cell_address
from tethera.rigging.checks import route_findings
from tethera.rigging.route import Route, RouteReading, Totals, exactly
from tethera.rigging.route_cells import measure_cell, table_of
from tethera.rigging.route_file import KEYS
from tethera.rigging.route_table import CellError, route_from_table
from tethera.rigging.route_text import as_length

#: Headings of the sheet of anchors, and what their cells are called in a table of a route.
ANCHOR_HEADINGS = {
    "Pitch": "pitch",
    "Anchor": "number",
    "Role": "role",
    "Kind": "kind",
    "Along (m)": "along",
    "Down (m)": "down",
    "Bolts": "bolts",
    "Loop (m)": "loop",
    "Leg (m)": "leg",
    "Bolts apart (m)": "apart",
    "Sling (m)": "sling",
    "Rub": "rub",
    "Thinnest rope (mm)": "min_diameter_mm",
    "Knot": "knot",
    "Note": "note",
}
#: Headings of the sheet of pitches; `read_route_rows` knows each of them.
_PITCH_HEADINGS = {
    "Pitch": "name",
    "Depth (m)": "depth",
    "Rope (m)": "guide_rope",
    "Anchors": "anchors",
    "Rebelays": "rebelays",
    "Deviations": "deviations",
    "Traverse (m)": "traverse",
    "To next (m)": "to_next",
    "Depth known by": "depth_known_by",
    "Notes": "notes",
}
#: Columns for what few pitches have: left out where none of the route does.
_RARE_HEADINGS = {
    "Direction": "direction",
    "Rope goes on": "rope_goes_on",
    "Pulled through": "pull_through",
    "Left in place": "left_in_place",
    "Second line": "second_line",
    "Instead of": "instead_of",
    "Rope ends above the floor (m)": "rope_above_floor",
    "Depth may be out by (m)": "depth_spread",
    "Naturals": "naturals",
    "Thinnest rope (mm)": "min_diameter_mm",
    "Heaviest rope (g/m)": "max_g_per_m",
    "Type A only": "type_a_only",
}
_WORDS = frozenset({"name", "pitch", "notes", "note", "second_line", "instead_of"})
_YES = frozenset({"yes", "y", "true", "x", "1", "✓"})
_PLAIN_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_MOST_ROWS, _HEADING_ROWS, _LONGEST = 5000, 10, 1000
_UNIT = re.compile(r"\s*[(\[]\s*(m|metres?|ft|feet|mm)\.?\s*[)\]]\s*$", re.IGNORECASE)


def route_rows(route: Route) -> list[list[Cell]]:
    """The sheet of pitches, headings first, and last the totals where the route states any; `read_route_rows` reads it.

    Rows hold whole centimetres; anchors, other guides and lengths for several pitches have sheets of their own.
    """
    table = []
    for cells, pitch in zip(table_of(route)["pitches"], route.pitches, strict=True):
        # A row without a word on it is read as a rope that ends at the foot, whatever the passage.
        usual = {"rope_goes_on": "yes" if pitch.rope_goes_on else "", "direction": _unless(cells["direction"], "down")}
        flags = {key: "yes" if cells[key] else "" for key in ("pull_through", "left_in_place", "type_a_only")}
        if (
            not pitch.depth.high_m and not pitch.traverse_m
        ):  # a line known only by its anchors needs a length of its own
            along = round(sum(anchor.along_m for anchor in pitch.anchors), 6)
            usual["traverse"] = measure_cell(exactly(along), "m")
        table.append(cells | usual | flags)
    rare = {heading: key for heading, key in _RARE_HEADINGS.items() if any(cells[key] for cells in table)}
    headings = _PITCH_HEADINGS | rare
    totals = route.stated_totals
    if totals != Totals():
        stated = {
            "name": "Total",
            "depth": measure_cell(totals.depth, "m"),
            "guide_rope": measure_cell(totals.rope, "m"),
        }
        table.append(stated | {"anchors": "" if totals.anchors is None else str(totals.anchors)})
    return [list(headings), *([_cell(key, cells.get(key, "")) for key in headings.values()] for cells in table)]


def _unless(words: str, usual: str) -> str:
    return "" if words == usual else words


def anchor_rows(route: Route) -> list[list[Cell]]:
    """The sheet of anchors, headings first, numbered from the head of each pitch down."""
    rows: list[list[Cell]] = [list(ANCHOR_HEADINGS)]
    for pitch in table_of(route)["pitches"]:
        for number, anchor in enumerate(pitch["anchor"], start=1):
            cells = {**anchor, "pitch": pitch["name"], "number": str(number), "rub": "yes" if anchor["rub"] else ""}
            rows.append([_cell(key, cells[key]) for key in ANCHOR_HEADINGS.values()])
    return rows


def _cell(key: str, words: str) -> Cell:
    """A number where a number stands, so that a spreadsheet can reckon with it; names and notes stay words."""
    plain = words.replace("\n", "; ")
    if key not in _WORDS and _PLAIN_NUMBER.fullmatch(plain):
        return float(plain)
    return plain or None


def with_anchor_rows(reading: RouteReading, rows: Sequence[Sequence[Cell]], sheet: str = "Anchors") -> RouteReading:
    """The same route with the anchors of a sheet on its pitches, by the number of each where it has one.

    A pitch without a row keeps the anchors it has. What cannot be read is told with its cell, and nothing refused.
    """
    anchors = _Anchors(sheet)
    first = anchors.read_headings(rows)
    if first is None:
        return RouteReading(reading.route, (*reading.findings, *anchors.found))
    table = table_of(reading.route)
    known = {pitch["name"].casefold(): pitch["name"] for pitch in table["pitches"]}
    known |= {pitch["name"]: pitch["name"] for pitch in table["pitches"]}
    anchors.read_rows(rows[first:], first + 1, known)
    for pitch in table["pitches"]:
        if pitch["name"] in anchors.by_pitch:
            pitch["anchor"] = [row.cells for row in anchors.in_order(pitch["name"])]
    again = route_from_table(table, before=reading.route)
    for error in again.errors:
        anchors.complain(error, table)
    if again.route is None:
        return RouteReading(reading.route, (*reading.findings, *anchors.found))
    of_before = set(route_findings(reading.route))
    kept = [each for each in reading.findings if each not in of_before]
    return RouteReading(again.route, (*kept, *anchors.found, *again.findings))


@dataclass(frozen=True, slots=True)
class _Row:
    """A row of the sheet: which it is, counted from 1, the number of its anchor where it says one, its cells."""

    at: int
    number: int | None
    cells: Mapping[str, str]


@dataclass(slots=True)
class _Anchors:
    """The sheet as far as it is read: where its columns stand, its rows by pitch, what was odd."""

    sheet: str
    columns: dict[str, int] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    by_pitch: dict[str, list[_Row]] = field(default_factory=dict)
    found: list[Finding] = field(default_factory=list)

    def doubt(self, code: str, at: int, column: int, told: str, way_out: str) -> None:
        self.found.append(Finding(code, f"{self.sheet}, cell {cell_address(at - 1, column)}", told, way_out))

    def read_headings(self, rows: Sequence[Sequence[Cell]]) -> int | None:
        """Find the columns; the number of rows down to the headings, or None where there are none."""
        for at, row in enumerate(rows[:_HEADING_ROWS], start=1):
            columns, units, unknown = _headings(row)
            if {"pitch", "role"} <= columns.keys():
                self.columns, self.units = columns, units
                for column in unknown:
                    told = f"“{_words(row[column])[:60]}” is no heading of this sheet; its column is not read."
                    known = ", ".join(ANCHOR_HEADINGS)
                    self.doubt("column-left-out", at, column, told, f"Head it as one of {known}, if it is one of them.")
                return at
        if rows:
            told = f"{self.sheet} has no headings Pitch and Role."
            way_out = "Head its columns as an exported route does."
            self.found.append(Finding("anchors-left-out", self.sheet, told, way_out))
        return None

    def read_rows(self, rows: Sequence[Sequence[Cell]], at: int, known: Mapping[str, str]) -> None:
        for number, row in enumerate(rows[:_MOST_ROWS], start=at):
            cells = {key: _words(row[place]) for key, place in self.columns.items() if place < len(row)}
            if not any(cells.values()):
                continue
            called = cells.pop("pitch", "")
            pitch = known.get(called) or known.get(called.casefold())
            if pitch is None:
                told = f"“{called[:60]}” is no pitch of this route; its anchor is left out."
                way_out = "Write the name of its pitch as on the first sheet."
                self.doubt("anchor-left-out", number, self.columns["pitch"], told, way_out)
                continue
            self.by_pitch.setdefault(pitch, []).append(_Row(number, self._number(number, cells), self._typed(cells)))
        if len(rows) > _MOST_ROWS:
            told = f"Only {_MOST_ROWS:,} rows were read."
            self.found.append(Finding("rows-left-out", self.sheet, told, "Split the route."))

    def _number(self, at: int, cells: dict[str, str]) -> int | None:
        words = cells.pop("number", "")
        if words.isascii() and words.isdecimal() and len(words) < 5:
            return int(words)
        if words:
            told = f"“{words[:60]}” is no number of an anchor."
            way_out = "Number the anchors of a pitch from its head; until then they count in the order of the rows."
            self.doubt("cell-unreadable", at, self.columns["number"], told, way_out)
        return None

    def _typed(self, cells: Mapping[str, str]) -> dict[str, str]:
        lengths = {key: as_length(cells[key], unit) for key, unit in self.units.items() if cells.get(key)}
        rub = cells.get("rub", "").casefold()
        return {**cells, **lengths, "role": cells.get("role", "").casefold(), "rub": "true" if rub in _YES else ""}

    def in_order(self, pitch: str) -> list[_Row]:
        """By their numbers, where every row of the pitch has one."""
        rows = self.by_pitch[pitch]
        numbers = [row.number for row in rows if row.number is not None]
        return (
            [rows[at] for _, at in sorted(zip(numbers, range(len(rows)), strict=True))]
            if len(numbers) == len(rows)
            else rows
        )

    def complain(self, error: CellError, table: Mapping[str, Any]) -> None:
        """A cell that cannot be read, told where it stands on the sheet."""
        name = "" if error.pitch is None else str(table["pitches"][error.pitch]["name"])
        rows = self.in_order(name) if name in self.by_pitch else []
        at = rows[error.number].at if error.row == "anchor" and error.number is not None and rows else 1
        told = f"{name}: {error.message.rstrip('.')}."
        self.doubt("cell-unreadable", at, self.columns.get(error.key, 0), told, "Correct it, and bring it again.")


def _headings(row: Sequence[Cell]) -> tuple[dict[str, int], dict[str, str], list[int]]:
    """Where each column stands, the columns of lengths in feet, and the columns nobody knows."""
    plain = {_UNIT.sub("", heading).casefold(): key for heading, key in ANCHOR_HEADINGS.items()}
    columns: dict[str, int] = {}
    units: dict[str, str] = {}
    unknown: list[int] = []
    for column, cell in enumerate(row):
        words = _words(cell)
        key = plain.get(_UNIT.sub("", words).casefold().rstrip("."))
        if key is None or key in columns:
            unknown += [column] if words else []
            continue
        columns[key] = column
        unit = _UNIT.search(words)
        if unit and unit[1].lower().startswith("f") and KEYS["anchor"].get(key, "").startswith("length"):
            units[key] = "ft"
    return columns, units, unknown


def _words(cell: Cell) -> str:
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    return "" if cell is None else " ".join(str(cell).split())[:_LONGEST]
