"""A route as a table that somebody types into, cell by cell; and back, with each complaint at its cell.

The table is written as a route file, a cell on a line, and read as one: what a cell may say is what the file may say.
A cell that cannot be read counts as empty, a pitch that cannot be at all is left out, and the rest still stands.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from tethera.basics import Finding
from tethera.rigging.checks import route_findings
from tethera.rigging.route import Route, too_large
from tethera.rigging.route_cells import names_in, table_of
from tethera.rigging.route_file import KEYS, read_route
from tethera.rigging.route_text import as_length, finer_than_cm, quoted, quoted_list
from tethera.rigging.table_faults import BELOW, PITCH, WHOLE, Line, readable_lines, text_of
from tethera.rigging.table_faults import CellError as CellError

Cells = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class TableReading:
    """What the table says as far as it can be read; `places` are the table's rows of the route's pitches."""

    route: Route | None
    places: tuple[int, ...] = ()
    findings: tuple[Finding, ...] = ()
    errors: tuple[CellError, ...] = ()


def route_from_table(table: Mapping[str, Any], *, before: Route | None = None, unit: str | None = None) -> TableReading:
    """Read a table of {"name", "team", "notes", "pitches": [{key: text, …, "anchor": […], "edition": […]}, …]}.

    Keys are those of a route file (docs/routes.md), values what was typed; a bare number is in `unit` ("m" or "ft"),
    else in the unit the table names, else metres.
    `before` is the route as it was. What the table has no cell for stays as it was there: a key that is missing (an
    empty cell is not), lengths for several pitches together, totals. Only a yes or no that is missing is a no, since
    a page does not send a box that is not ticked.
    """
    if much := too_large([sum(len(cells.get(row, ())) for row in BELOW) for cells in table.get("pitches", ())]):
        return TableReading(None, errors=(CellError(None, "route", None, "pitches", f"{much[:1].upper()}{much[1:]}."),))
    unit = unit or str(table.get("unit") or "m")
    renamed = _renamed(table, before)
    lines, errors = readable_lines(_lines(_with_cells_of(table, before, renamed, unit), unit))
    places = tuple(line.pitch for line in lines if line.words == PITCH and line.pitch is not None)
    if not places:
        return TableReading(None, errors=tuple(errors))
    route, lost = _with_the_rest(read_route(text_of(lines), source="table").route, before, renamed)
    unclear = _two_ropes_or_a_choice(table, {line.pitch for line in lines if line.key == "guide_rope"})
    return TableReading(route, places, (*lost, *unclear, *route_findings(route)), tuple(errors))


def _names(table: Mapping[str, Any]) -> list[str]:
    return [" ".join(_said(cells, "name").split()) for cells in table.get("pitches", ())]


def _two_ropes_or_a_choice(table: Mapping[str, Any], read: Collection[int | None]) -> Iterator[Finding]:
    """Guides' ropes written 30/40: read as a choice, though a guide may mean a rope of each."""
    for number, cells in enumerate(table.get("pitches", ())):
        said = _said(cells, "guide_rope")
        one, slash, other = (each.strip() for each in said.partition("/"))
        if slash and number in read:
            told = f"“{said}” could be two ropes or a choice; it is read as a choice, and the longer counts."
            way = f"Write {one} or {other} for a choice, {one} + {other} for two ropes."
            yield Finding("guide-rope-unclear", _said(cells, "name"), told, way)


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
        for row in BELOW:
            below, above = full.get(row, ()), old.get(row, ())
            key = WHOLE[row]
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


def _lines(table: Mapping[str, Any], unit: str) -> Sequence[Line]:
    lines = [Line(f"name = {quoted(_said(table, 'name') or 'Route')}", key="name")]
    if team := _said(table, "team"):
        lines.append(Line(f"team = {_count(team)}", key="team"))
    if notes := tuple(each.strip() for each in str(table.get("notes") or "").splitlines() if each.strip()):
        lines.append(Line(f"notes = {quoted_list(notes)}", key="notes"))
    known = _names(table)
    for number, cells in enumerate(table.get("pitches", ())):
        lines.append(Line(PITCH, number, head=True))
        lines += _row(cells, "pitch", number, None, unit, known)
        for row in BELOW:
            for place, below in enumerate(cells.get(row, ())):
                lines.append(Line(f"[[pitch.{row}]]", number, row, place, head=True))
                lines += _row(below, row, number, place, unit)
    return lines


def _row(cells: Cells, row: str, pitch: int, number: int | None, unit: str, known: Collection[str] = ()) -> list[Line]:
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
        lines.append(Line(f"{name} = {value}", pitch, row, number, key))
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
