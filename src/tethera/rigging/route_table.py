"""A route as a table that somebody types into, cell by cell; and back, with each complaint at its cell.

The table is written as a route file, a cell on a line, and read as one: what a cell may say is what the file may say.
A cell that cannot be read counts as empty, a pitch that cannot be at all is left out, and the rest still stands.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from tethera.basics import Finding
from tethera.rigging.checks import route_findings
from tethera.rigging.route import Route, UnreadableRoute
from tethera.rigging.route_cells import names_in, table_of
from tethera.rigging.route_file import KEYS, read_route
from tethera.rigging.route_text import as_length, finer_than_cm, quoted, quoted_list
from tethera.rigging.words import EXPECTED

#: Rows below a pitch, in the order of a file.
_BELOW = ("anchor", "edition")
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


def route_from_table(table: Mapping[str, Any], *, before: Route | None = None, unit: str | None = None) -> TableReading:
    """Read a table of {"name", "team", "notes", "pitches": [{key: text, …, "anchor": […], "edition": […]}, …]}.

    Keys are those of a route file (docs/routes.md), values what was typed; a bare number is in `unit` ("m" or "ft"),
    else in the unit the table names, else metres.
    `before` is the route as it was. What the table has no cell for stays as it was there: a key that is missing (an
    empty cell is not), lengths for several pitches together, totals. Only a yes or no that is missing is a no, since
    a page does not send a box that is not ticked.
    """
    unit = unit or str(table.get("unit") or "m")
    renamed = _renamed(table, before)
    written = _Written(list(_lines(_with_cells_of(table, before, renamed, unit), unit)))
    errors: list[CellError] = []
    for _ in range(_MOST_COMPLAINTS):
        if not any(line.words == "[[pitch]]" for line in written.lines):
            break
        try:
            route = read_route(written.text(), source="table").route
        except UnreadableRoute as error:
            complaint = _complaint(written, error)
            if all(_cell(complaint) != _cell(each) for each in errors):
                errors.append(complaint)
            continue
        places = tuple(line.pitch for line in written.lines if line.words == "[[pitch]]" and line.pitch is not None)
        route, lost = _with_the_rest(route, before, renamed)
        return TableReading(route, places, (*lost, *route_findings(route)), tuple(errors))
    return TableReading(None, errors=tuple(errors))


def _names(table: Mapping[str, Any]) -> list[str]:
    return [" ".join(_said(cells, "name").split()) for cells in table.get("pitches", ())]


def _renamed(table: Mapping[str, Any], before: Route | None) -> dict[str, str]:
    """Old names of pitches by their new ones: a new name where, at the same place, an old one is gone."""
    if before is None:
        return {}
    old, new = [pitch.name for pitch in before.pitches], _names(table)
    pairs = zip(old, new, strict=False)
    return {now: was for was, now in pairs if now and was not in new and now not in old}


def _with_cells_of(
    table: Mapping[str, Any], before: Route | None, renamed: Mapping[str, str], unit: str
) -> Mapping[str, Any]:
    """The table, with the cells it does not have taken from the route as it was."""
    if before is None:
        return table
    was = table_of(before, unit)
    by_name = {pitch["name"]: pitch for pitch in was["pitches"]}
    pitches = []
    for name, cells in zip(_names(table), table.get("pitches", ()), strict=True):
        old = by_name.get(renamed.get(name, name), {})
        full = _kept("pitch", cells, old)
        for row in _BELOW:
            below, above = full.get(row, ()), old.get(row, ())
            key = _WHOLE[row]
            if len(below) == len(above):  # else nobody knows which of them is which
                pairs = zip(below, above, strict=True)
                full[row] = [_kept(row, now, then if now.get(key) == then[key] else {}) for now, then in pairs]
        pitches.append(full)
    return {**{key: was[key] for key in ("name", "team", "notes")}, **table, "pitches": pitches}


def _kept(row: str, cells: Cells, old: Cells) -> dict[str, Any]:
    ticked = {key for key, wanted in KEYS[row].items() if wanted == "yes or no"} - {"rope_goes_on"}
    return {**{key: value for key, value in old.items() if key not in ticked}, **cells}


def _with_the_rest(route: Route, before: Route | None, renamed: Mapping[str, str]) -> tuple[Route, tuple[Finding, ...]]:
    """The route with what it says of several pitches together, and its totals; and what of it lost its pitches."""
    if before is None:
        return route, ()
    now_called = {was: now for now, was in renamed.items()}
    known = {pitch.name for pitch in route.pitches}
    kept, lost = [], []
    for group in before.together:
        group = replace(group, pitches=tuple(now_called.get(name, name) for name in group.pitches))
        if known.issuperset(group.pitches):
            kept.append(group)
            continue
        told = f"({group.guide_rope.high_m:g} m) of rope for {' and '.join(group.pitches)} together is left out."
        lost.append(
            Finding("together-left-out", "together", told, "One of them is not in the route; write their ropes singly.")
        )
    return replace(route, together=tuple(kept), stated_totals=before.stated_totals), tuple(lost)


def _complaint(written: _Written, error: UnreadableRoute) -> CellError:
    """What is wrong in which cell; the cell, or what cannot be without it, is left out from then on."""
    line = written.lines[error.line - 1]
    said = error.expected.removeprefix(f"{line.key}: ").removeprefix(f"{line.key}_m: ")
    key = line.key
    message = _in_a_table(said)
    if line.pitch is None:
        written.lines[error.line - 1] = _Line(f"name = {quoted('Route')}" if key in ("", "name") else "", key=key)
        return CellError(None, "route", None, key or "name", message)
    if line.head:
        key = _WHOLE[line.row] if line.row in _BELOW else "name" if "expected a name" in said else "depth"
    if line.head or key in ("name", "instead_of") or key == _WHOLE.get(line.row):
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
    if "expected a name" in said or "expected a source" in said:
        return "Write which guide it is." if "source" in said else "Give it a name."
    if "expected the role" in said:
        return "Choose what it does."
    if "expected a depth above 0" in said:
        return "Write a depth above 0 m, or its traverse or anchors."
    plain = said.replace(f"expected {EXPECTED}", "write it as 22, 22.5 m or 72 ft")
    return plain[:1].upper() + plain[1:]


#: Without these a row below a pitch says nothing.
_WHOLE = {"anchor": "role", "edition": "source"}


def _lines(table: Mapping[str, Any], unit: str) -> Sequence[_Line]:
    lines = [_Line(f"name = {quoted(_said(table, 'name') or 'Route')}", key="name")]
    if team := _said(table, "team"):
        lines.append(_Line(f"team = {_count(team)}", key="team"))
    if notes := tuple(each.strip() for each in str(table.get("notes") or "").splitlines() if each.strip()):
        lines.append(_Line(f"notes = {quoted_list(notes)}", key="notes"))
    known = _names(table)
    for number, cells in enumerate(table.get("pitches", ())):
        lines.append(_Line("[[pitch]]", number, head=True))
        lines += _row(cells, "pitch", number, None, unit, known)
        for row in _BELOW:
            for place, below in enumerate(cells.get(row, ())):
                lines.append(_Line(f"[[pitch.{row}]]", number, row, place, head=True))
                lines += _row(below, row, number, place, unit)
    return lines


def _row(cells: Cells, row: str, pitch: int, number: int | None, unit: str, known: Collection[str] = ()) -> list[_Line]:
    lines = []
    for key, wanted in KEYS[row].items():
        if wanted.startswith("table") or not (said := _said(cells, key)):
            continue
        name = key
        if wanted == "yes or no":
            value = "true" if said.casefold() in ("true", "on", "1", "yes") else "false"
        elif wanted.startswith("length"):
            fine = finer_than_cm(said, unit)
            name, value = (key, quoted(as_length(said, unit))) if fine is None else (f"{key}_m", repr(fine))
        elif wanted in ("count", "number"):
            value = _count(said)
        elif key == "notes":
            value = quoted_list(tuple(each.strip() for each in said.splitlines() if each.strip()))
        elif wanted == "names":
            value = quoted_list(names_in(said, known))
        else:
            value = quoted(said)
        lines.append(_Line(f"{name} = {value}", pitch, row, number, key))
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
