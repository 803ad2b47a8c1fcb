"""Which columns of an old spreadsheet hold the length of a rope today, and in which unit.

Where two columns hold lengths the one that says now, left or current is read; else all of them, which must agree. A
unit is believed when one place names it: two units in a heading, or a note of feet above headings that name no unit,
leave bare numbers without a unit.
"""

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass

from tethera.basics import Cell, Unit

_UNITS: dict[str, Unit] = {
    **dict.fromkeys(("m", "mtr", "mtrs", "metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("cm", "cms", "centimetre", "centimetres", "centimeters"), "cm"),
    **dict.fromkeys(("feet", "ft", "foot"), "ft"),
    **dict.fromkeys(("yards", "yard", "yds", "yd"), "yd"),
}
_LENGTH = r"\b(lengths?|len|metres|meters|feet|yards|centimetres)\b"
_SHORT = (
    r"(m|cm|ft|now|left|remaining|current(ly)?|today|original(ly)?|new|actual|measured|(cut|shortened) to)( in)?"
    r"( (m|cm|ft|feet|metres|yards))?"
)
NOT_OF_A_ROPE = r"\b(service|life|tail|knot|notes?|remarks?|by|on|date|unit|check(ed)?)\b"
_NOW = r"\b(now|left|remaining|current(ly)?|today|present|actual|latest|(re)?measured|(cut|shortened) to)\b"
_OTHER_UNIT = r"\b(mm|km|ins|inch(es)?|fathoms?|miles?)\b"
#: A note about the whole sheet.
_NOTE = r"\b(all|lengths)\b"


@dataclass(frozen=True, slots=True)
class LengthColumn:
    """A column of lengths: the unit of its bare numbers, whether that is named, or doubted."""

    place: int
    unit: Unit = "m"
    unit_named: bool = False
    unit_doubted: bool = False


def words(cell: Cell) -> str:
    """A cell as the words its owner sees."""
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return " ".join(str(cell).split())


def length_places(rows: Sequence[Sequence[Cell]], heading_row: int | None, first: int | None) -> tuple[int, ...]:
    """Every column of lengths, given the one that was found first."""
    if first is None or heading_row is None:
        return () if first is None else (first,)
    headings, below = rows[heading_row], rows[heading_row + 1 :]
    places = {p for p, cell in enumerate(headings) if _of_length(_said(cell)) and _lengths(below, p)}
    if _heading(headings, first) != "size" or not places - {first}:
        places.add(first)
    else:
        places.discard(first)
    return tuple(sorted(places))


def length_columns(
    rows: Sequence[Sequence[Cell]], heading_row: int | None, places: Sequence[int]
) -> tuple[LengthColumn, ...]:
    """The columns to read: more than one when no heading says which is today's."""
    noted = _units_noted(rows, heading_row)
    said = {place: _heading(rows[heading_row], place) if heading_row is not None else "" for place in places}
    now = [place for place in places if re.search(_NOW, said[place])]
    return tuple(_column(place, said[place], noted) for place in now or places)


def _heading(headings: Sequence[Cell], place: int) -> str:
    """What stands over a column; the row of headings may end before it."""
    return _said(headings[place]) if place < len(headings) else ""


def _said(heading: Cell) -> str:
    return words(heading).lower() if isinstance(heading, str) else ""


def _of_length(heading: str) -> bool:
    plain = " ".join(re.sub(r"[^a-z]+", " ", heading).split())
    length = re.search(_LENGTH, plain) and not re.search(NOT_OF_A_ROPE, plain)
    return bool(length or re.fullmatch(_SHORT, plain))


def _lengths(rows: Sequence[Sequence[Cell]], place: int) -> bool:
    """Whether most cells of a column begin with a number and are no dates."""
    filled = [row[place] for row in rows if place < len(row) and words(row[place])]
    return sum(_is_numeric(cell) for cell in filled) > len(filled) / 2


def _is_numeric(cell: Cell) -> bool:
    plain = not isinstance(cell, bool | datetime.date | datetime.time)
    text = words(cell).lower()
    number = re.match(r"(c\.?|ca\.?|about|approx\.?|~)?\s*\d", text)
    return plain and number is not None and not re.search(r"\b(19|20)\d\d\b", text)


def _units(text: str) -> set[Unit]:
    return {_UNITS[each] for each in re.findall(r"[a-z]+", text) if each in _UNITS}


def _units_noted(rows: Sequence[Sequence[Cell]], heading_row: int | None) -> set[Unit]:
    """Units in words above the headings, and in notes about all lengths wherever they stand."""
    noted: set[Unit] = set()
    for number, row in enumerate(rows):
        for cell in row:
            text = cell.lower() if isinstance(cell, str) else ""
            above = heading_row is not None and number < heading_row
            if number != heading_row and (above or re.search(_NOTE, text)):
                noted |= _units(re.sub(r"\bm\b", " ", text))
    return noted


def _column(place: int, heading: str, noted: set[Unit]) -> LengthColumn:
    named = _units(heading)
    unit = next(iter(named)) if len(named) == 1 else "m"
    if len(named) > 1 or not noted <= {unit} or re.search(_OTHER_UNIT, heading):
        return LengthColumn(place, unit, unit_doubted=True)
    return LengthColumn(place, unit, unit_named=bool(named or noted))
