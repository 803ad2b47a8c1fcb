"""Lengths as people write them, and the one place where a length is rounded.

Stored, cut or planned lengths are whole centimetres (int). A need is rounded up, a measured length down.
"""

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from tethera.basics.findings import Finding

Unit = Literal["m", "cm", "ft", "yd"]

#: Metres in a unit, exact by definition: international yard and pound agreement, 1959 (a yard is 0.9144 m).
METRES_IN: dict[Unit, Fraction] = {
    "m": Fraction(1),
    "cm": Fraction(1, 100),
    "ft": Fraction(3048, 10000),
    "yd": Fraction(9144, 10000),
}
_INCH_M = Fraction(254, 10000)

_UNIT_WORDS: dict[str, Unit] = {
    **dict.fromkeys(("m", "mtr", "mtrs", "metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("cm", "cms", "centimetre", "centimetres"), "cm"),
    **dict.fromkeys(("ft", "foot", "feet", "'"), "ft"),
    **dict.fromkeys(("yd", "yds", "yard", "yards"), "yd"),
}
_NUMBER = r"\d+(?:[.,]\d+)*"
_PLAIN = re.compile(rf"(?P<number>{_NUMBER})\s*(?P<unit>[a-z]+|')?\.?")
_FEET_INCHES = re.compile(rf"(?P<feet>\d+)\s*(?:'|ft|feet|foot)\s*(?P<inches>{_NUMBER})\s*(?:\"|''|in|ins|inch|inches)")
_METRES_CM = re.compile(r"(?P<metres>\d+)\s*m\s*(?P<cm>\d{1,2})(?:\s*cm)?")
#: Two lengths in one cell, each perhaps with its unit: 20m, 25m; 15m+20m. A bare 12,5 is a decimal.
_MAYBE_UNIT = r"\d\s*(?:[a-z]+\.?|['\"]+)?\s*"
_SEVERAL = re.compile(rf"{_MAYBE_UNIT}(?:\band\b|\+|,\s|(?<=[a-z'\".]),|;|&)\s*\d")
_CHOICE = re.compile(rf"{_MAYBE_UNIT}(?:/|-|–|\bor\b)\s*\d")
#: Guards a float that should be whole: 28.35 m * 100 is 2835.0000000000005.
_ROUNDING_SLACK_CM = 1e-6


def need_cm(length_m: float) -> int:
    """A length somebody needs [m], as whole centimetres, rounded up.

    >>> need_cm(28.351)
    2836
    >>> need_cm(28.35)
    2835
    """
    return math.ceil(_finite(length_m) * 100 - _ROUNDING_SLACK_CM)


def measured_cm(length_m: float) -> int:
    """A length somebody measured [m], as whole centimetres, rounded down.

    >>> measured_cm(28.359)
    2835
    """
    return math.floor(_finite(length_m) * 100 + _ROUNDING_SLACK_CM)


def label_m(length_cm: int, keeps_back_percent: int = 0) -> int:
    """Whole metres a mark may say of a measured length: so much less, rounded down, because a rope goes on shrinking.

    Parameters
    ----------
    length_cm : measured length [cm], at least 1 m after what is kept back
    keeps_back_percent : share kept back by the store's own rule [%], 0 to 30

    >>> label_m(2940), label_m(2940, 5), label_m(3000)
    (29, 27, 30)
    """
    if not 0 <= keeps_back_percent <= 30:
        raise ValueError(f"a label keeps back 0 to 30 %, not {keeps_back_percent}")
    whole = length_cm * (100 - keeps_back_percent) // 10_000
    if whole < 1:
        raise ValueError(f"{show_metres(length_cm)} m is too short for a mark in whole metres")
    return whole


def _finite(length_m: float) -> float:
    if not math.isfinite(length_m):
        raise ValueError(f"a length must be a finite number of metres, not {length_m}")
    return length_m


@dataclass(frozen=True, slots=True)
class LengthReading:
    """What a written length was understood to say: whole cm, or None with a finding that says why not."""

    length_cm: int | None
    findings: tuple[Finding, ...] = ()


def read_length(text: str, *, unit: Unit = "m", where: str = "length", need: bool = False) -> LengthReading:
    """Read a length as people write it; a bare number is in `unit`.

    Rounded down to whole centimetres as a measured length, or up when it is a need.
    What could mean two things comes back as None with a finding.

    >>> read_length("45 m").length_cm, read_length("148ft").length_cm, read_length("50 yd").length_cm
    (4500, 4511, 4572)
    >>> read_length("12,5m").length_cm, read_length("98' 6\\"").length_cm
    (1250, 3002)
    >>> read_length("30/40").length_cm is None
    True
    """
    words = _plain_words(text)
    if not words:
        return _doubt("length-missing", where, "No length is written.", "Measure the rope and write metres, as 45 m.")
    metres = _feet_and_inches(words)
    if metres is None and (match := _METRES_CM.fullmatch(words)):
        if len(match["cm"]) == 1 and "cm" not in words:
            return _doubt(
                "length-ambiguous",
                where,
                f"“{text.strip()}” could be centimetres or tenths of a metre.",
                f"Write {match['metres']}.{match['cm']} m or {match['metres']}.0{match['cm']} m.",
            )
        metres = Fraction(match["metres"]) + Fraction(match["cm"]) / 100
    if metres is None:
        read = _one_number(words, text, unit, where)
        if isinstance(read, Finding):
            return LengthReading(None, (read,))
        metres = read
    if metres <= 0:
        return _doubt("length-not-positive", where, f"“{text.strip()}” is no length of rope.", "Write more than 0 m.")
    if metres > 100_000:
        return _doubt("length-too-long", where, f"“{text.strip()}” is over 100 km.", "Check the number and its unit.")
    hundredths = metres * 100
    length_cm = math.ceil(hundredths) if need else math.floor(hundredths)
    if length_cm == 0:
        told = f"“{text.strip()}” is less than a centimetre."
        return _doubt("length-too-short", where, told, "Check the number and its unit.")
    return LengthReading(length_cm)


def _plain_words(text: str) -> str:
    words = text.strip().lower()
    for fancy, plain in (
        ("\u2019", "'"),
        ("\u2032", "'"),
        ("\u201d", '"'),
        ("\u2033", '"'),
        ("\u00a0", " "),
        ("\u2009", " "),
    ):
        words = words.replace(fancy, plain)
    return words


def _feet_and_inches(words: str) -> Fraction | None:
    match = _FEET_INCHES.fullmatch(words)
    if match is None or match["inches"].count(".") + match["inches"].count(",") > 1:
        return None
    return Fraction(match["feet"]) * METRES_IN["ft"] + Fraction(match["inches"].replace(",", ".")) * _INCH_M


def _one_number(words: str, text: str, unit: Unit, where: str) -> Fraction | Finding:
    match = _PLAIN.fullmatch(words)
    if match is None:
        return _no_number(words, text, where)
    written_unit = match["unit"]
    if written_unit is not None and written_unit not in _UNIT_WORDS:
        return Finding(
            "length-unit-unknown",
            where,
            f"“{written_unit}” is not a unit of length known here.",
            "Use m, cm, ft or yd.",
        )
    number = match["number"]
    marks = [c for c in number if c in ".,"]
    # 1,250 and 1.250 are a thousand to one reader and one and a quarter to another; 12,5 and 0.125 are not in doubt.
    thousand = re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", number)
    if len(marks) > 1 or (thousand and marks == [","]):
        return Finding(
            "length-ambiguous",
            where,
            f"“{text.strip()}” could be thousands or a decimal.",
            "Write the number without a thousands mark and with a point for decimals.",
        )
    return Fraction(number.replace(",", ".")) * METRES_IN[_UNIT_WORDS[written_unit] if written_unit else unit]


def _no_number(words: str, text: str, where: str) -> Finding:
    if _SEVERAL.search(words):
        told = f"“{text.strip()}” could be two ropes: split the row."
        return Finding("length-ambiguous", where, told, "Give each rope a row of its own, or pick one length.")
    if _CHOICE.search(words):
        told = f"“{text.strip()}” could be two ropes, a range or a choice."
        return Finding("length-ambiguous", where, told, "Split the row or pick one.")
    told = f"“{text.strip()}” is not a length that can be read."
    return Finding("length-unreadable", where, told, "Write a number and its unit, as 45 m, 148 ft or 50 yd.")


def _doubt(code: str, where: str, message: str, way_out: str) -> LengthReading:
    return LengthReading(None, (Finding(code, where, message, way_out),))


def whole_feet(length_cm: int) -> int:
    """A measured length in whole feet, rounded down.

    >>> whole_feet(2860), whole_feet(3048), whole_feet(3047)
    (93, 100, 99)
    """
    return int(Fraction(length_cm, 100) / METRES_IN["ft"])


def show_metres(length_cm: int) -> str:
    """Metres with the centimetres only when there are any.

    >>> show_metres(3000), show_metres(2835), show_metres(2830), show_metres(-150)
    ('30', '28.35', '28.3', '-1.5')
    """
    # The sign apart: divmod rounds down, and would make -1.5 m of -2 m and 50 cm.
    sign = "-" if length_cm < 0 else ""
    metres, centimetres = divmod(abs(length_cm), 100)
    return f"{sign}{metres}" if centimetres == 0 else f"{sign}{metres}.{centimetres:02d}".rstrip("0")
