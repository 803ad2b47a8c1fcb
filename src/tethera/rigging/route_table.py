"""A route as a table that somebody types into, cell by cell; and back, with each complaint at its cell.

The table is written as a route file, a cell on a line, and read as one: what a cell may say is what the file may say.
A cell that cannot be read counts as empty, a pitch that cannot be at all is left out, and the rest still stands.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tethera.basics import Finding
from tethera.rigging.route import Anchor, Edition, Measure, Pitch, Route, UnreadableRoute
from tethera.rigging.route_file import KEYS, read_route
from tethera.rigging.route_text import as_length, goes_on, quoted, quoted_list, write_route
from tethera.rigging.words import EXPECTED

#: Cells of each kind of row, in the order of a file. Rows below a pitch are kept under their own name.
_BELOW = {"anchor": "anchor", "edition": "edition"}
_MOST_COMPLAINTS = 200
Cells = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class CellError:
    """A cell that cannot be read: which pitch, which anchor or edition of it (counted from 0), and what is wrong."""

    pitch: int | None
    row: str
    number: int | None
    key: str
    message: str


@dataclass(frozen=True, slots=True)
class TableReading:
    """What the table says as far as it can be read; `places` are the table's rows of the route's pitches."""

    route: Route | None
    places: tuple[int, ...] = ()
    findings: tuple[Finding, ...] = ()
    errors: tuple[CellError, ...] = ()


@dataclass(slots=True)
class _Line:
    """One line of the file: its words, and the cell it came from."""

    words: str
    pitch: int | None = None
    row: str = "pitch"
    number: int | None = None
    key: str = ""
    head: bool = False


@dataclass(slots=True)
class _Written:
    lines: list[_Line] = field(default_factory=list)

    def text(self) -> str:
        return "\n".join(line.words for line in self.lines)

    def without(self, *, pitch: int, row: str = "pitch", number: int | None = None) -> None:
        """Take out a whole pitch, or one row below it."""
        gone = [
            line
            for line in self.lines
            if line.pitch == pitch and (row == "pitch" or (line.row == row and line.number == number))
        ]
        self.lines = [line for line in self.lines if line not in gone]


def route_from_table(table: Mapping[str, Any], *, before: Route | None = None, unit: str = "m") -> TableReading:
    """Read a table of {"name", "team", "notes", "pitches": [{key: text, …, "anchor": […], "edition": […]}, …]}.

    Keys are those of a route file (docs/routes.md), values what was typed; a bare number is in `unit` ("m" or "ft").
    `before` is the route as it was: what no cell holds (lengths for several pitches together, totals) stays.
    """
    written = _Written(list(_lines(table, unit)))
    rest = _rest_of(before)
    errors: list[CellError] = []
    for _ in range(_MOST_COMPLAINTS):
        if not any(line.words == "[[pitch]]" for line in written.lines):
            return TableReading(None, errors=tuple(errors))
        try:
            reading = read_route(f"{written.text()}\n{rest}", source="table")
        except UnreadableRoute as error:
            if error.line > len(written.lines):
                rest = ""  # pitches it speaks of are gone
                continue
            complaint = _complaint(written, error)
            if all(_cell(complaint) != _cell(each) for each in errors):
                errors.append(complaint)
            continue
        places = tuple(line.pitch for line in written.lines if line.words == "[[pitch]]" and line.pitch is not None)
        return TableReading(reading.route, places, reading.findings, tuple(errors))
    return TableReading(None, errors=tuple(errors))


def _complaint(written: _Written, error: UnreadableRoute) -> CellError:
    """What is wrong in which cell; the cell, or what cannot be without it, is left out from then on."""
    line = written.lines[error.line - 1]
    said = error.expected.removeprefix(f"{line.key}: ")
    key = line.key
    message = _in_a_table(said)
    if line.pitch is None:
        written.lines[error.line - 1] = _Line(f"name = {quoted('Route')}" if key in ("", "name") else "", key=key)
        return CellError(None, "route", None, key or "name", message)
    if line.head:
        key = {"pitch": "depth" if "depth" in said else "name", "anchor": "role", "edition": "source"}[line.row]
    if line.head or key == "name" or key in _WHOLE:
        written.without(pitch=line.pitch, row=line.row, number=line.number)
    else:
        written.lines = [each for each in written.lines if each is not line]
    return CellError(line.pitch, line.row, line.number, key, message)


def _cell(error: CellError) -> tuple[int | None, str, int | None, str]:
    return error.pitch, error.row, error.number, error.key


def _in_a_table(said: str) -> str:
    """The complaint of a file's reader as somebody at a table needs it: there are no keys and no quotes."""
    if "expected its depth" in said:
        return "Write its depth, or its traverse or anchors."
    plain = said.replace(f"expected {EXPECTED}", "write it as 22, 22.5 m or 72 ft")
    return plain[:1].upper() + plain[1:]


#: Without these a row says nothing.
_WHOLE = ("role", "source", "instead_of")


def _lines(table: Mapping[str, Any], unit: str) -> Sequence[_Line]:
    lines = [_Line(f"name = {quoted(_said(table, 'name') or 'Route')}", key="name")]
    if team := _said(table, "team"):
        lines.append(_Line(f"team = {_count(team)}", key="team"))
    if notes := tuple(each.strip() for each in str(table.get("notes") or "").splitlines() if each.strip()):
        lines.append(_Line(f"notes = {quoted_list(notes)}", key="notes"))
    for number, cells in enumerate(table.get("pitches", ())):
        lines.append(_Line("[[pitch]]", number, head=True))
        lines += _row(cells, "pitch", number, None, unit)
        for row in _BELOW:
            for place, below in enumerate(cells.get(row, ())):
                lines.append(_Line(f"[[pitch.{row}]]", number, row, place, head=True))
                lines += _row(below, row, number, place, unit)
    return lines


def _row(cells: Cells, row: str, pitch: int, number: int | None, unit: str) -> list[_Line]:
    lines = []
    for key, wanted in KEYS[row].items():
        if wanted.startswith("table") or not (said := _said(cells, key)):
            continue
        if wanted == "yes or no":
            value = "true" if said in ("true", "on", "1", "yes") else "false"
        elif wanted.startswith("length"):
            value = quoted(as_length(said, unit))
        elif wanted in ("count", "number"):
            value = _count(said)
        elif wanted == "names":
            split = said.splitlines() if key == "notes" else said.split(";")
            value = quoted_list(tuple(each.strip() for each in split if each.strip()))
        else:
            value = quoted(said)
        lines.append(_Line(f"{key} = {value}", pitch, row, number, key))
    return lines


def _said(cells: Cells, key: str) -> str:
    return str(cells.get(key) or "").strip()


def _count(said: str) -> str:
    """A number as a file writes it; anything else as words, which the file's reader then complains of."""
    plain = said.replace(",", ".")
    try:
        return repr(int(plain)) if plain.isascii() and plain.isdecimal() else repr(float(plain))
    except ValueError:
        return quoted(said)


def _rest_of(before: Route | None) -> str:
    """The lines of a route that no cell holds."""
    if before is None or not (before.together or before.stated_totals != type(before.stated_totals)()):
        return ""
    text = write_route(before)
    starts = [at for mark in ("\n[[together]]", "\n[totals]") if (at := text.find(mark)) >= 0]
    return text[min(starts) :] if starts else ""


def table_of(route: Route, unit: str = "m") -> dict[str, Any]:
    """The table of a route, each cell as somebody would type it; lengths in metres are bare numbers."""
    return {
        "name": route.name,
        "team": "" if route.team_size is None else str(route.team_size),
        "notes": "\n".join(route.notes),
        "pitches": [_pitch_cells(pitch) for pitch in route.pitches],
        "unit": unit,
    }


def _pitch_cells(pitch: Pitch) -> dict[str, Any]:
    cells = {
        "name": pitch.name,
        "depth": _measure(pitch.depth),
        "depth_known_by": pitch.depth_known_by,
        "depth_spread": _metres(pitch.depth_spread_m),
        "direction": pitch.direction,
        "traverse": _metres(pitch.traverse_m or None),
        "guide_rope": _measure(pitch.guide_rope),
        "anchors": _number(pitch.anchor_count),
        "rebelays": _number(pitch.rebelays),
        "deviations": _number(pitch.deviations),
        "naturals": _number(pitch.naturals),
        "to_next": _metres(pitch.to_next_m),
        "rope_goes_on": "" if pitch.rope_goes_on == goes_on(pitch.to_next_m) else str(pitch.rope_goes_on).lower(),
        "second_line": pitch.second_line or "",
        "instead_of": "; ".join(pitch.instead_of),
        "rope_above_floor": _metres(pitch.rope_above_floor_m or None),
        "min_diameter_mm": _number(pitch.min_diameter_mm),
        "max_g_per_m": _number(pitch.max_g_per_m),
        "notes": "\n".join(pitch.notes),
        "anchor": [_anchor_cells(each) for each in pitch.anchors],
        "edition": [_edition_cells(each) for each in pitch.editions],
    }
    flags = ("pull_through", "left_in_place", "type_a_only")
    return cells | {key: "true" if getattr(pitch, key) else "" for key in flags}


def _anchor_cells(anchor: Anchor) -> dict[str, str]:
    return {
        "role": anchor.role,
        "kind": anchor.kind,
        "along": _metres(anchor.along_m or None),
        "down": _metres(anchor.down_m or None),
        "bolts": "" if anchor.bolts == (2 if anchor.role == "y-hang" else 1) else str(anchor.bolts),
        "loop": _metres(anchor.loop_m),
        "leg": _metres(anchor.leg_m),
        "sling": _metres(anchor.sling_m),
        "rub": "true" if anchor.rub else "",
        "min_diameter_mm": _number(anchor.min_diameter_mm),
        "knot": anchor.knot or "",
        "note": anchor.note,
    }


def _edition_cells(edition: Edition) -> dict[str, str]:
    return {
        "source": edition.source,
        "depth": _measure(edition.depth),
        "guide_rope": _measure(edition.guide_rope),
        "anchors": _number(edition.anchors),
        "note": edition.note,
    }


def _measure(measure: Measure | None) -> str:
    if measure is None:
        return ""
    if measure.pieces:
        said = " + ".join(_metres(piece) for piece in measure.pieces)
    elif measure.high_m != measure.low_m:
        said = f"{_metres(measure.low_m)} or {_metres(measure.high_m)}"
    else:
        said = _metres(measure.low_m)
    # Only a bare number takes the reader's unit by itself.
    bare = not measure.about and not measure.pieces and measure.high_m == measure.low_m
    return said if bare else f"{'about ' if measure.about else ''}{said} m"


def _metres(metres: float | None) -> str:
    return "" if metres is None else f"{metres:.2f}".rstrip("0").rstrip(".")


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:g}"
