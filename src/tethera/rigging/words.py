"""Lengths as people write them in route files and pitch tables: ranges, sums and doubts besides plain numbers."""

import re

from tethera.basics import METRES_IN, Finding, Unit, read_length
from tethera.rigging.route import Measure
from tethera.rigging.route_text import plain_number

_UNITS = {
    "m": "m",
    "metres": "m",
    "metre": "m",
    "cm": "cm",
    "ft": "ft",
    "feet": "ft",
    "'": "ft",
    "yd": "yd",
    "yards": "yd",
}
_DOUBT = re.compile(r"^\s*(?:about|approx\.?|ca\.?|c\.|roughly|~|≈)\s*|\s*\?+\s*$", re.IGNORECASE)
_CHOICE = re.compile(r"\s+or\s+|\s+to\s+|\s*[–—]\s*|(?<=[\d\w'])\s*-\s*(?=\d)|\s*/\s*", re.IGNORECASE)
_ZERO = re.compile(r"0+(?:[.,]0+)?\s*(m|metres?|cm|ft|feet|yd|yards?)?")
_ENDING_UNIT = re.compile(r"[0-9]\s*(metres?|m|cm|ft|feet|'|yards?|yd)\s*$", re.IGNORECASE)
#: A sum of so many pieces, each written in metres to the centimetre, is never longer than the longest text.
LONGEST_TEXT, MOST_PIECES = 160, 12
#: Deeper than any known cave; a number beyond is a slip of the pen.
DEEPEST_M = 3000.0
EXPECTED = "a length with its unit, such as “22 m” or “150 ft”"


def read_measure(text: str, *, unit: Unit | None = None) -> Measure:
    """Read a length, a range ("10 or 15 m"), a sum ("30 + 20 m") or a doubt ("about 25 m", "25 m?").

    A number without a unit takes the one that follows it, else `unit`; where there is none, ValueError says so.

    >>> read_measure("10 or 15 m"), read_measure("30 + 20 m").pieces, read_measure("~25 m").about
    (Measure(low_m=10.0, high_m=15.0, about=False, pieces=()), (30.0, 20.0), True)
    >>> read_measure("22")
    Traceback (most recent call last):
    ...
    ValueError: the unit is missing in “22”; expected a length with its unit, such as “22 m” or “150 ft”
    """
    if len(text) > LONGEST_TEXT:
        raise ValueError(f"{len(text)} characters are too many; expected {EXPECTED}")
    words = text.strip()
    plain = _DOUBT.sub("", _DOUBT.sub("", words))
    about = plain != words
    ending = _ENDING_UNIT.search(plain)
    carried: str | None = _UNITS.get(ending[1].lower()) if ending else unit
    choices = _CHOICE.split(plain)
    if len(choices) > 2:
        raise ValueError(f"“{words}” is more than two choices; expected {EXPECTED}, or “10 or 15 m”")
    sums = [[_one(piece, carried, words) for piece in re.split(r"\s*\+\s*", choice)] for choice in choices]
    if max(len(pieces) for pieces in sums) > MOST_PIECES:
        raise ValueError(f"“{words[:40]}…” adds more than {MOST_PIECES} lengths; expected {EXPECTED}")
    totals = [round(sum(pieces), 2) for pieces in sums]  # whole centimetres add up to whole centimetres
    if max(totals) > DEEPEST_M:
        raise ValueError(f"“{words}” is over {DEEPEST_M:g} m; check the number and its unit")
    pieces = tuple(sums[0]) if len(sums) == 1 and len(sums[0]) > 1 else ()
    return Measure(min(totals), max(totals), about, pieces)


def _one(piece: str, unit: str | None, whole: str) -> float:
    words = piece.strip()
    if zero := _ZERO.fullmatch(words.lower()):
        if zero[1] is None and unit is None:
            raise ValueError(f"the unit is missing in “{whole}”; expected {EXPECTED}")
        return 0.0
    if re.fullmatch(r"[\d.,]+", words) and unit is None:
        raise ValueError(f"the unit is missing in “{whole}”; expected {EXPECTED}")
    if re.match(r"[-−]\s*\d", words):
        raise ValueError(f"“{whole}” is below 0 m; expected {EXPECTED}")
    try:
        reading = read_length(words, unit=_unit(unit))
    except (ValueError, OverflowError):
        raise ValueError(f"“{whole}” is not a length that can be read; expected {EXPECTED}") from None
    if reading.length_cm is None and reading.findings[0].code == "length-too-short":
        return 0.0  # no rope is so short, but a spread or a step of a route may be
    if reading.length_cm is None:
        raise ValueError(f"{_why_not(reading.findings[0], whole)}; expected {EXPECTED}")
    return reading.length_cm / 100


def _why_not(doubt: Finding, whole: str) -> str:
    """What is wrong with a length of a route; a rope's own doubts advise to measure the rope, which is no help here."""
    if doubt.code == "length-missing":
        return f"“{whole}” gives no number"
    if doubt.code == "length-ambiguous":
        return f"“{whole}” could mean two lengths"
    return doubt.message.rstrip(".") if doubt.code == "length-unit-unknown" else f"“{whole}” is no length"


def _unit(name: str | None) -> Unit:
    for unit in METRES_IN:
        if unit == name:
            return unit
    return "m"


def metres_words(metres: float) -> str:
    """Metres that are no rope's length: the space holds them together, and keeps them out of a rope's capsule."""
    return f"{plain_number(metres)}\u00a0m"


def depth_words(measure: Measure) -> str:
    """A depth as it stands in a sentence, with its arrow and all its words.

    >>> depth_words(Measure(22.0, 22.0, about=True)), depth_words(Measure(50.0, 50.0, pieces=(30.0, 20.0)))
    ('about ↓22\\xa0m', '↓30 + 20\\xa0m')
    """
    about, said = _parts_of(measure)
    return f"{about}↓{said}\u00a0m"


def down_words(depth_m: float) -> str:
    """A depth of so many metres as it stands in a sentence, with its arrow.

    >>> down_words(12.0)
    '↓12\\xa0m'
    """
    return f"↓{plain_number(depth_m)}\u00a0m"


def rope_words(measure: Measure) -> str:
    """A rope's length as it stands in a sentence, in round brackets with all its words.

    >>> rope_words(Measure(10.0, 15.0)), rope_words(Measure(30.0, 30.0))
    ('(10 or 15 m)', '(30 m)')
    """
    about, said = _parts_of(measure)
    return f"({about}{said} m)"


def _parts_of(measure: Measure) -> tuple[str, str]:
    ends = measure.pieces or ((measure.low_m,) if measure.low_m == measure.high_m else (measure.low_m, measure.high_m))
    joined = (" + " if measure.pieces else " or ").join(plain_number(each) for each in ends)
    return "about " if measure.about else "", joined
