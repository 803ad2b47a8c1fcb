"""A route as a workbook of two sheets, its pitches and their anchors, that goes out and comes back whole."""

from collections.abc import Mapping, Sequence
from typing import Any

from tethera.basics import Cell, Finding, cell_address
from tethera.rigging.route import Route, RouteReading
from tethera.rigging.route_cells import table_of
from tethera.rigging.route_table import route_from_table

#: Headings of the sheet of anchors, and what their cells are called in a table of a route.
ANCHOR_HEADINGS = {
    "Pitch": "pitch",
    "Role": "role",
    "Kind": "kind",
    "Along (m)": "along",
    "Down (m)": "down",
    "Bolts": "bolts",
    "Loop (m)": "loop",
    "Leg (m)": "leg",
    "Sling (m)": "sling",
    "Rub": "rub",
    "Thinnest rope (mm)": "min_diameter_mm",
    "Knot": "knot",
    "Note": "note",
}
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
_MOST_ROWS = 5000


def route_rows(route: Route) -> list[list[Cell]]:
    """The sheet of pitches, headings first; `read_route_rows` reads it."""
    rows: list[list[Cell]] = [list(_PITCH_HEADINGS)]
    for pitch in table_of(route)["pitches"]:
        rows.append([_cell(pitch[key]) for key in _PITCH_HEADINGS.values()])
    return rows


def anchor_rows(route: Route) -> list[list[Cell]]:
    """The sheet of anchors, headings first, from the head of each pitch down."""
    rows: list[list[Cell]] = [list(ANCHOR_HEADINGS)]
    for pitch in table_of(route)["pitches"]:
        for anchor in pitch["anchor"]:
            cells = {**anchor, "pitch": pitch["name"], "rub": "yes" if anchor["rub"] else ""}
            rows.append([_cell(cells[key]) for key in ANCHOR_HEADINGS.values()])
    return rows


def _cell(words: str) -> Cell:
    """A number where it is one, so that a spreadsheet can reckon with it; words else; nothing where nothing is said."""
    plain = words.replace("\n", "; ")
    try:
        return float(plain) if plain and plain.replace(".", "", 1).replace("-", "", 1).isdigit() else plain or None
    except ValueError:
        return plain


def with_anchor_rows(reading: RouteReading, rows: Sequence[Sequence[Cell]], sheet: str = "Anchors") -> RouteReading:
    """The same route with the anchors of a sheet on its pitches; what cannot be read is told with its cell."""
    if not rows:
        return reading
    columns = {
        ANCHOR_HEADINGS[heading]: place
        for place, cell in enumerate(rows[0])
        if (heading := " ".join(str(cell or "").split())) in ANCHOR_HEADINGS
    }
    found: list[Finding] = []
    if not {"pitch", "role"} <= columns.keys():
        told = f"{sheet} has no headings Pitch and Role."
        found.append(Finding("anchors-left-out", sheet, told, "Head its columns as an exported route does."))
        return RouteReading(reading.route, (*reading.findings, *found))
    table = table_of(reading.route)
    by_name = {str(pitch["name"]).casefold(): pitch for pitch in table["pitches"]}
    places: dict[tuple[str, int], int] = {}
    for number, row in enumerate(rows[1:_MOST_ROWS], start=2):
        cells = {key: _words(row[place]) for key, place in columns.items() if place < len(row)}
        if not any(cells.values()):
            continue
        pitch = by_name.get(cells["pitch"].casefold())
        if pitch is None:
            where = f"{sheet}, cell {cell_address(number - 1, columns['pitch'])}"
            told = f"“{cells['pitch'][:60]}” is no pitch of this route."
            found.append(Finding("anchor-left-out", where, told, "Write the name of its pitch as on the first sheet."))
            continue
        places[str(pitch["name"]), len(pitch["anchor"])] = number
        pitch["anchor"].append(
            {**cells, "rub": "true" if cells.get("rub", "").casefold() in ("yes", "true", "1") else ""}
        )
    return _read(reading, table, places, columns, sheet, found)


def _read(
    reading: RouteReading,
    table: Mapping[str, Any],
    places: Mapping[tuple[str, int], int],
    columns: Mapping[str, int],
    sheet: str,
    found: list[Finding],
) -> RouteReading:
    again = route_from_table(table, before=reading.route)
    for error in again.errors:
        name = "" if error.pitch is None else str(table["pitches"][error.pitch]["name"])
        number = places.get((name, error.number or 0), 1)
        where = f"{sheet}, cell {cell_address(number - 1, columns.get(error.key, 0))}"
        found.append(Finding("cell-unreadable", where, f"{name}: {error.message}.", "Correct it, and bring it again."))
    return RouteReading(again.route or reading.route, (*again.findings, *reading.findings, *found))


def _words(cell: Cell) -> str:
    if isinstance(cell, float) and cell.is_integer():
        cell = int(cell)
    return "" if cell is None else " ".join(str(cell).split())[:200]
