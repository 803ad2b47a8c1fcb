"""What one cell of a store's old spreadsheet says: each reader gives a value and, where it may be wrong, why."""

import datetime
import re
from dataclasses import dataclass
from typing import Generic, TypeVar

from tethera.basics import Cell, Finding, PartialDate, Unit, read_date, read_length
from tethera.store.columns import is_length, words
from tethera.store.events import RopeType
from tethera.store.rules import limit

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
    if re.fullmatch(r"[\d.,]+", text) and unit_doubted:
        told = f"“{text}” has no unit, and other lengths here are in feet or yards."
        return Reading(None, (Finding("length-unit-missing", where, told, "Write its unit, or measure it."),))
    rough = re.fullmatch(r"(?:c\.?|ca\.?|about|approx\.?|~)\s*(.+)|(.+?)\s*(?:\?|ish|approx\.?|\(.*\))", text, re.I)
    if rough:
        reading = read_length(rough[1] or rough[2], unit=unit, where=where)
        if reading.length_cm is not None:
            told = f"“{text}” is not certain."
            return Reading(reading.length_cm, (Finding("length-rough", where, told, "Measure it."),))
    reading = read_length(text, unit=unit, where=where)
    found = reading.findings
    if reading.length_cm is not None and reading.length_cm > limit("longest_reel") * 100:
        told = f"“{text}” is longer than a reel usually is."
        doubt = (Finding("length-too-long", where, told, "Check the number and its unit, or measure it."),)
        # Without its unit it may be anything; with it, it is kept and doubted.
        return Reading(reading.length_cm if is_length(text) else None, doubt)
    return Reading(reading.length_cm, found)


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
