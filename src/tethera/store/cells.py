"""What one cell of a store's old spreadsheet says: each reader gives a value and, where it may be wrong, why."""

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from tethera.basics import Cell, Finding, PartialDate, Unit, read_date, read_length, show_metres
from tethera.store.columns import is_length
from tethera.store.events import RopeType
from tethera.store.length_columns import words
from tethera.store.limits import limit

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Reading(Generic[Value]):
    """A value, or None, with what is doubtful about it."""

    value: Value | None
    findings: tuple[Finding, ...] = ()


def length(cell: Cell, unit: Unit, unit_doubted: bool, where: str) -> Reading[int]:
    """Whole cm. A bare number in a column that also has feet or yards is not guessed at."""
    text = words(cell)
    if isinstance(cell, datetime.date | datetime.time):
        told = f"“{text}” is a date where a length was expected; a spreadsheet may have made it so."
        return Reading(None, (Finding("length-unreadable", where, told, "Measure the rope."),))
    rough = re.fullmatch(r"(?:c\.?|ca\.?|about|approx\.?|~)\s*(.+)|(.+?)\s*(?:\?|ish|approx\.?|(\(.*\)))", text, re.I)
    number = (rough[1] or rough[2]) if rough else text
    if re.fullmatch(r"[\d.,]+", number) and unit_doubted:
        told = f"“{text}” has no unit, and this sheet speaks of more than one, or of another than metres."
        return Reading(None, (Finding("length-unit-missing", where, told, "Write its unit, or measure it."),))
    if many := re.fullmatch(r"(\d+)\s*[x×*]\s*(\d[\d.,]*)", text, re.I):
        told = f"“{text}” could be {many[1]} ropes, or one that is {many[1]} mm thick."
        way_out = f"Write {many[1]} x {many[2]} m for {many[1]} ropes, or {many[2]} m for one."
        return Reading(None, (Finding("length-ambiguous", where, told, way_out),))
    if rough and re.search(r"\d", rough[3] or "") and not re.fullmatch(r"\((19|20)\d\d\)", rough[3]):
        told = f"“{text}” has a second number: it may be what is left, or the same in another unit."
        return Reading(None, (Finding("length-ambiguous", where, told, "Write the length it has now, or measure it."),))
    if rough:
        reading = read_length(number, unit=unit, where=where)
        if reading.length_cm is not None:
            told = f"“{text}” is not certain."
            return Reading(reading.length_cm, (Finding("length-rough", where, told, "Measure it."),))
    reading = read_length(text, unit=unit, where=where)
    found = reading.findings
    if reading.length_cm == 0:
        told = f"“{text}” is less than a centimetre."
        return Reading(None, (Finding("length-not-positive", where, told, "Check the number and its unit."),))
    if reading.length_cm is not None and reading.length_cm > limit("longest_reel") * 100:
        told = f"“{text}” is longer than a reel usually is."
        doubt = (Finding("length-too-long", where, told, "Check the number and its unit, or measure it."),)
        # Without its unit it may be anything; with it, it is kept and doubted.
        return Reading(reading.length_cm if is_length(text) else None, doubt)
    return Reading(reading.length_cm, found)


def is_bare(cell: Cell) -> bool:
    """Whether a length is written without its unit, also one of several, as 45, "~45" or "2 x 20"."""
    if isinstance(cell, bool | datetime.date | datetime.time):
        return False
    pattern = r"(?:(?:[2-9]|1\d)\s*[x×*]\s*|(?:c\.?|ca\.?|about|approx\.?|~)\s*)?\d[\d.,]*\s*(?:\?|ish)?"
    return re.fullmatch(pattern, words(cell), re.I) is not None


#: Above this "9 x 60" without a unit may be a rope of 9 mm as well as nine ropes.
_MOST_WITHOUT_UNIT = 6


def several(cell: Cell) -> tuple[int, Cell]:
    """How many ropes of one length a cell names, and that length.

    >>> several("2 x 30m"), several("3x20"), several("9 x 60"), several("45")
    ((2, '30m'), (3, '20'), (1, '9 x 60'), (1, '45'))
    """
    match = re.fullmatch(r"([2-9]|1\d)\s*[x×*]\s*(.+)", words(cell), re.I)
    if match is None:
        return 1, cell
    count, one = int(match[1]), match[2]
    bare = re.fullmatch(r"\d{1,3}([.,]\d{1,2})?", one) is not None and count <= _MOST_WITHOUT_UNIT
    return (count, one) if bare or is_length(one) else (1, cell)


#: Words of a cell that say no more than a state.
_OF_A_STATE = (
    r"ok|okay|good|very|excellent|fine|ready|fair|fit|pass(ed)?|as|new|brand|in|the|gear|tackle|store|hut|shed|use"
    r"|service|available|yes|y|active|no|n|x|true|false|0|1|none|never|nil|not|a|retired|scrapped|binned|missing|lost"
    r"|out|on|loan(ed)?|lent|rigged|left|set|aside|prep(aration)?|unused|wet|dry|dirty|damp|for|and|to|be"
)


def says_more(text: str) -> bool:
    """Whether a cell about a rope's state says more than a state: with whom it is out, where it lies, what is wrong.

    >>> says_more("out with Anna"), says_more("on loan"), says_more("Retired 2019"), says_more("✓")
    (True, False, True, False)
    """
    return any(not re.fullmatch(_OF_A_STATE, each) for each in re.findall(r"\w+", text.lower()))


def lines(cell: Cell) -> tuple[str, ...]:
    """The lines of a cell: each is a remark of its own."""
    return tuple(line for each in str("" if cell is None else cell).splitlines() if (line := words(each)))


def apart(remarks: Sequence[str]) -> str:
    """Remarks one after the other, each ending where it ends.

    >>> apart(("old but liked", "", "Corrected: A1."))
    'old but liked. Corrected: A1.'
    """
    told = [each for each in remarks if each]
    ended = [each if each.endswith((".", "!", "?", ";", ":", ",")) else f"{each}." for each in told[:-1]]
    return " ".join((*ended, *told[-1:]))


def agreed(readings: Sequence[Reading[int]], where: str) -> Reading[int]:
    """One length of a rope that has several columns of lengths: the shortest if they agree, else None."""
    if len(readings) == 1:
        return readings[0]
    values = [each.value for each in readings]
    known = [each for each in values if each is not None]
    if len(known) == len(values) and max(known) - min(known) <= limit("columns_agree") * max(known):
        return Reading(min(known), tuple(found for each in readings for found in each.findings))
    shown = " and ".join("none" if each is None else f"{show_metres(each)} m" for each in values)
    told = f"Its columns of lengths do not agree: {shown}."
    return Reading(None, (Finding("lengths-disagree", where, told, "Write which it has now, or measure it."),))


_NOW_M = (
    r"\b(?:now|only|down to|(?:cut|shortened|reduced)(?: (?:back|down))? to)\W{0,3}"
    r"(\d+(?:[.,]\d+)?)\s*(m|ft|feet|yds?)?\b"
    r"|\b(\d+(?:[.,]\d+)?)\s*(m|ft|feet|yds?|metres)?\s*(?:now|left|remain(?:s|ing))\b"
)


def shortened(length_cm: int, remark: str, unit: Unit, where: str) -> Finding | None:
    """A finding when a remark gives a shorter length, as “now 45 m”: which holds is not guessed at."""
    for match in re.finditer(_NOW_M, remark, re.I):
        text = f"{match[1] or match[3]} {match[2] or match[4] or ''}".strip()
        reading = read_length(text, unit=unit, where=where)
        if reading.length_cm is not None and reading.length_cm < length_cm:
            told = f"“{remark}” speaks of a shorter length."
            return Finding("length-in-remarks", where, told, "Write the length it has now, or measure it.")
    return None


def day(cell: Cell, where: str) -> Reading[PartialDate]:
    """A date as precise as it is written. What could be two days keeps only the year."""
    if isinstance(cell, datetime.date):
        return Reading(PartialDate(cell.year, cell.month, cell.day))
    if isinstance(cell, int | float) and 20_000 <= cell <= 60_000:
        # A spreadsheet's bare day number counts from 30 December 1899.
        meant = PartialDate.of(datetime.date(1899, 12, 30) + datetime.timedelta(days=int(cell)))
        told = f"“{words(cell)}” is taken for a spreadsheet's day number, {meant.spoken()}."
        return Reading(meant, (Finding("date-number", where, told, "Write the date as 2021-09-03."),))
    reading = read_date(words(cell), where=where)
    return Reading(reading.date, reading.findings)


@dataclass(frozen=True, slots=True)
class Specification:
    """Diameter [mm] and type, as far as a cell says."""

    diameter_mm: float | None = None
    rope_type: RopeType | None = None


_TYPES: tuple[tuple[str, RopeType], ...] = (
    (r"\bdyn(amic)?\b|\ben ?892\b", "dynamic"),
    (r"\b(accessory )?cord\b|\ben ?564\b", "cord"),
    (r"\btype ?b\b|(?<![\w-])b\b", "B"),
    (r"\btype ?a\b|(?<![\w-])a\b", "A"),
)


def specification(cell: Cell, where: str) -> Reading[Specification]:
    """Read "11mm A", "10.5 type A", "9mm dyn". The type is only what is written, never inferred from the diameter.

    >>> specification("10.5 type A", "C2").value
    Specification(diameter_mm=10.5, rope_type='A')
    """
    text = words(cell).lower()
    if not text:
        return Reading(Specification())
    found: list[Finding] = []
    diameters = re.findall(r"(\d{1,2}(?:[.,]\d{1,2})?)\s*mm\b", text) or re.findall(
        r"^(\d{1,2}(?:[.,]\d{1,2})?)\b", text
    )
    diameter = float(diameters[0].replace(",", ".")) if diameters else None
    if len(set(diameters)) > 1 or (diameter is not None and not 3 <= diameter <= 20):
        told = f"“{words(cell)}” is not one diameter of rope."
        found.append(Finding("diameter-unreadable", where, told, "Write one diameter in mm."))
        diameter = None
    types = [name for pattern, name in _TYPES if re.search(pattern, text)]
    if len(types) > 1 or (not types and re.search(r"static|low.?stretch|semi", text)):
        told = f"“{words(cell)}” does not say whether it is type A, type B, dynamic or cord."
        found.append(Finding("type-unclear", where, told, "Read its leaflet or its inner tape."))
    elif not diameters and not types:
        told = f"“{words(cell)}” is no diameter or type known here; it is kept as written."
        found.append(Finding("specification-unreadable", where, told, "Write it as 10mm A."))
    return Reading(Specification(diameter, types[0] if len(types) == 1 else None), tuple(found))
