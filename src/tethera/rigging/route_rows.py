"""A spreadsheet of pitches: one row a pitch, headings as people write them."""

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, time
from typing import TypeVar

from tethera.basics import Cell, Finding, Unit, cell_address
from tethera.rigging.checks import check_geometry, route_findings
from tethera.rigging.route import (
    DIRECTIONS,
    KNOWN_BY,
    Measure,
    Pitch,
    Route,
    RouteReading,
    Totals,
    UnreadableRoute,
    too_large,
)
from tethera.rigging.route_cells import names_in
from tethera.rigging.words import read_measure

#: Headings by what they mean; compared in lower case without unit and punctuation.
HEADINGS: dict[str, tuple[str, ...]] = {
    "name": ("pitch", "name", "pitch name", "where", "obstacle"),
    "depth": ("depth", "height", "drop", "length of pitch", "pitch depth", "pitch length", "vertical"),
    "guide_rope": ("rope", "rope length", "guide rope", "ropes", "rope needed", "rope to bring", "length of rope"),
    "anchors": ("anchors", "bolts", "anchor points", "hangers", "number of anchors", "belays", "rigging points"),
    "rebelays": ("rebelays", "rebelay"),
    "deviations": ("deviations", "deviation", "devs", "dev"),
    "traverse": ("traverse", "ledge", "traverse line"),
    "to_next": ("to next", "to next pitch", "passage", "distance to next"),
    "depth_known_by": ("depth known by", "depth by", "how measured", "source of depth"),
    "notes": ("notes", "note", "remarks", "comment", "comments", "rigging"),
    "depth_spread": ("depth may be out by",),
    "direction": ("direction",),
    "naturals": ("naturals", "natural anchors"),
    "rope_goes_on": ("rope goes on", "rope may go on"),
    "pull_through": ("pulled through", "pull through"),
    "left_in_place": ("left in place", "rope left in place"),
    "second_line": ("second line",),
    "instead_of": ("instead of",),
    "rope_above_floor": ("rope ends above the floor", "ends above the floor"),
    "min_diameter_mm": ("thinnest rope", "thinnest rope mm"),
    "max_g_per_m": ("heaviest rope", "heaviest rope g m"),
    "type_a_only": ("type a only",),
}
_YES, _NO = frozenset({"yes", "y", "true", "x", "1", "✓"}), frozenset({"", "no", "n", "false", "0", "-", "–"})
ChoiceT = TypeVar("ChoiceT", bound=str)
MOST_ROWS = 2000
#: Rows among which the headings are looked for: a title, a date and the like may stand above them.
HEADING_ROWS = 10
#: A pitch may be called All Saints; a row of totals may be called All pitches.
TOTAL_ROW = re.compile(
    r"\W*(?:grand )?totals?\b.*"
    r"|\W*(?:sum|all)(?:\W+(?:of|for|the|in|and|m|pitch(?:es)?|ropes?|depths?|anchors|metres))*\W*",
    re.IGNORECASE,
)


def read_route_rows(rows: Sequence[Sequence[Cell]], *, source: str = "sheet", name: str = "Route") -> RouteReading:
    """Read a table of pitches whose headings stand in one of the first ten rows.

    A cell that cannot be read is left empty with a finding at its address; a pitch whose depth cannot be read stays out
    of the route with a finding "pitch-left-out". Only a table without headings for pitch and depth, or without any
    pitch, is unreadable. A bare number is in the unit its heading names, else in metres.
    """
    at, columns, units = _headings(rows, source)
    found: list[Finding] = []
    pitches: list[Pitch] = []
    totals = Totals()
    for number, row in enumerate(rows[at + 1 : at + MOST_ROWS + 1], start=at + 2):
        cells = {key: row[column] for key, column in columns.items() if column < len(row) and not _empty(row[column])}
        if not cells:
            continue
        reader = _Row(number, cells, columns, units, found)
        title = reader.words("name")
        if TOTAL_ROW.fullmatch(title):
            totals = Totals(reader.measure("guide_rope"), reader.measure("depth"), reader.count("anchors"))
        elif pitch := _pitch(reader, title or f"Pitch {len(pitches) + 1}", pitches):
            pitches.append(pitch)
    if much := too_large([0] * len(pitches)):
        raise UnreadableRoute(at + 2, 1, f"{much}.", source=source, cell=f"A{at + 2}")
    if len(rows) > at + MOST_ROWS + 1:
        found.append(Finding("rows-left-out", source, f"Only {MOST_ROWS:,} rows were read.", "Split the table."))
    if not pitches:
        raise UnreadableRoute(at + 2, 1, "expected at least one row with a depth", source=source, cell=f"A{at + 2}")
    route = Route(name, tuple(pitches), stated_totals=totals)
    return RouteReading(route, (*found, *route_findings(route)))


def _empty(cell: Cell) -> bool:
    return cell is None or (isinstance(cell, str) and not cell.strip())


def _headings(rows: Sequence[Sequence[Cell]], source: str) -> tuple[int, dict[str, int], dict[str, Unit]]:
    """The row with the most known headings, a depth among them: its index, and the columns and units it names."""
    read = [(at, *_row_of_headings(row)) for at, row in enumerate(rows[:HEADING_ROWS])]
    read = [one for one in read if "depth" in one[1]]
    if not read:
        words = f"expected headings with Pitch, Depth, Rope, Anchors in one of the first {HEADING_ROWS} rows"
        raise UnreadableRoute(1, 1, words, source=source, cell="A1")
    return max(read, key=lambda one: len(one[1]))


def _row_of_headings(row: Sequence[Cell]) -> tuple[dict[str, int], dict[str, Unit]]:
    columns: dict[str, int] = {}
    units: dict[str, Unit] = {}
    for column, cell in enumerate(row):
        if not isinstance(cell, str):
            continue
        words = cell.strip().lower()[:80]
        unit = re.search(r"(?:\(|\[|\bin |,|_|\s)\s*(m|metres?|ft|feet)\.?\s*[)\]]?$", words)
        plain = re.sub(r"[^a-z]+", " ", words[: unit.start()] if unit else words).strip()
        meant = next((key for key, names in HEADINGS.items() if plain in names), None)
        if meant and meant not in columns:
            columns[meant] = column
            units[meant] = "ft" if unit and unit[1].startswith("f") else "m"
    return columns, units


class _Row:
    """One row: reads cells, and keeps a finding for each that cannot be read."""

    def __init__(
        self, number: int, cells: dict[str, Cell], columns: dict[str, int], units: dict[str, Unit], found: list[Finding]
    ) -> None:
        self.number, self.cells, self.columns, self.units, self.found = number, cells, columns, units, found

    def doubt(self, key: str, message: str, way_out: str) -> None:
        self.find("cell-unreadable", key, message, way_out)

    def find(self, code: str, key: str, message: str, way_out: str) -> None:
        where = f"cell {cell_address(self.number - 1, self.columns[key])}"
        self.found.append(Finding(code, where, message, way_out))

    def words(self, key: str) -> str:
        cell = self.cells.get(key)
        if isinstance(cell, float) and cell.is_integer():
            cell = int(cell)
        return "" if cell is None else " ".join(str(cell).split())[:1000]

    def measure(self, key: str) -> Measure | None:
        cell = self.cells.get(key)
        if cell is None:
            return None
        if isinstance(cell, bool | date | time):
            self.doubt(key, f"“{cell}” is no length.", "The cell may be formatted as a date; write metres.")
            return None
        try:
            words = f"{cell:.4f}" if isinstance(cell, float | int) else cell
            return read_measure(words, unit=self.units[key])
        except (ValueError, OverflowError) as error:
            what = str(error).partition("; expected")[0][:200]
            self.doubt(key, f"{what}.", "Write metres, as 22 m; until then it counts as not known.")
            return None

    def metres(self, key: str) -> float | None:
        measure = self.measure(key)
        return None if measure is None else measure.metres

    def count(self, key: str) -> int | None:
        words = self.words(key)
        if not words:
            return None
        numbers = re.fullmatch(r"[~≈]?\s*([0-9]{1,3}(?:\s*\+\s*[0-9]{1,3})*)\s*\??", words)
        if numbers is None:
            self.doubt(
                key,
                f"“{words[:60]}” is no number of {key}.",
                "Write a whole number; until then it counts as not known.",
            )
            return None
        return sum(int(part) for part in re.findall(r"[0-9]+", numbers[1]))

    def flag(self, key: str) -> bool:
        words = self.words(key).casefold()
        if words not in _YES and words not in _NO:
            self.doubt(key, f"“{words[:60]}” is neither yes nor no.", "Write yes or no; until then it counts as no.")
        return words in _YES

    def choice(self, key: str, choices: Sequence[ChoiceT], usual: ChoiceT) -> ChoiceT:
        words = self.words(key).casefold()
        if words and words not in choices:
            told = f"“{words[:60]}” is none of {', '.join(choices)}."
            self.doubt(key, told, f"Write one of them; until then it counts as {usual}.")
        return next((choice for choice in choices if choice == words), usual)

    def between(self, key: str, least: float, most: float) -> float | None:
        words = self.words(key).replace(",", ".")
        if not words:
            return None
        try:
            number = float(words)
        except ValueError:
            number = math.nan
        if not least <= number <= most:
            self.doubt(key, f"“{words[:60]}” is not from {least:g} to {most:g}.", "Until then it counts as not known.")
            return None
        return number


def _depth(row: _Row, title: str, traverse_m: float) -> Measure | None:
    """Depth of a pitch; None where the pitch must stay out of the route, which a finding then says."""
    written = "depth" in row.cells
    doubts = len(row.found)
    depth = row.measure("depth")
    if depth is not None and depth.high_m > 0:
        return depth
    if traverse_m and (depth is not None or not written):
        return Measure(0.0, 0.0)
    del row.found[doubts:]  # one finding that says what follows is enough
    why = "its depth is 0 m" if depth is not None else f"its depth {'could not be read' if written else 'is missing'}"
    row.find(
        "pitch-left-out", "depth", f"“{title[:80]}” is not in the route: {why}.", "Write its depth, then plan again."
    )
    return None


def _pitch(row: _Row, title: str, before: Sequence[Pitch]) -> Pitch | None:
    traverse = row.metres("traverse") or 0.0
    depth = _depth(row, title, traverse)
    if depth is None:
        return None
    taken = {pitch.name for pitch in before}
    name, again = title[:80].strip(), 2
    while name in taken:
        name, again = f"{title[:70].strip()} ({again})", again + 1
    pitch = Pitch(
        name=name,
        depth=depth,
        depth_known_by=next((way for way in KNOWN_BY if way == row.words("depth_known_by").lower()), "guide"),
        depth_spread_m=row.metres("depth_spread"),
        direction=row.choice("direction", DIRECTIONS, "down"),
        traverse_m=traverse,
        guide_rope=row.measure("guide_rope"),
        anchor_count=row.count("anchors"),
        rebelays=row.count("rebelays"),
        deviations=row.count("deviations"),
        naturals=row.count("naturals"),
        to_next_m=row.metres("to_next"),
        rope_goes_on=row.flag("rope_goes_on"),
        pull_through=row.flag("pull_through"),
        left_in_place=row.flag("left_in_place"),
        second_line=row.words("second_line") or None,
        instead_of=_instead_of(row, before),
        rope_above_floor_m=row.metres("rope_above_floor") or 0.0,
        min_diameter_mm=row.between("min_diameter_mm", 5, 20),
        type_a_only=row.flag("type_a_only"),
        max_g_per_m=row.between("max_g_per_m", 20, 200),
        notes=(row.words("notes"),) if row.words("notes") else (),
    )
    return _possible(row, pitch)


def _instead_of(row: _Row, before: Sequence[Pitch]) -> tuple[str, ...]:
    main = [pitch.name for pitch in before if not pitch.instead_of]
    names = names_in(row.words("instead_of"), main)
    for name in names:
        if name not in main:
            told = f"“{name[:60]}” is no pitch of the main way above this row."
            row.doubt("instead_of", told, "Write it as above; until then both are rigged.")
    return tuple(name for name in names if name in main)


def _possible(row: _Row, pitch: Pitch) -> Pitch:
    """The pitch without what cannot be; of two that exclude each other what takes more rope stays."""
    if pitch.rope_above_floor_m > pitch.depth.low_m:
        told = f"The rope cannot end {pitch.rope_above_floor_m:g} m above the floor of a drop of {pitch.depth_m:g} m."
        row.doubt("rope_above_floor", told, "Correct one of the two; until then it reaches the floor.")
        pitch = replace(pitch, rope_above_floor_m=0.0)
    if pitch.pull_through and pitch.left_in_place:
        told = "A rope left in place is not pulled through."
        row.doubt("left_in_place", told, "Write no for one of them; until then it is pulled through.")
        pitch = replace(pitch, left_in_place=False)
    if pitch.pull_through and pitch.direction == "up":
        told = "An up-climb cannot be pulled through."
        row.doubt("direction", told, "Correct one of the two; until then it counts as down.")
        pitch = replace(pitch, direction="down")
    assert check_geometry(pitch) is None  # nothing else in a row could be impossible
    return pitch
