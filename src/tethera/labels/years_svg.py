"""Metres that leave service each year: one rope a year, as long as what goes, with its metres and how many ropes."""

from collections.abc import Mapping, Sequence
from typing import Any

from tethera.labels.figure import (
    BOLD,
    FINE,
    TEXT_PT,
    Part,
    figure,
    words,
)
from tethera.labels.page import Primitive, Stroke, Text

Facts = Mapping[str, Any]
_ROW, _TOP = 44.0, 8.0


def years_svg(bars: Sequence[Facts], *, wide: int = 640, name: str = "years") -> str:
    """Years as lines to one scale, `wide` px wide at its own size (340 for a telephone).

    A bar is {year, length_cm, ropes, hand}: `ropes` their number or None; `hand` marks what needs a hand now. A year
    nothing leaves has no line, and says so. Without a bar the empty string.
    """
    if not bars:
        return ""
    said = [str(bar["year"]) for bar in bars]
    start = 16 + max(Text(0, 0, year, TEXT_PT, True).width for year in said)
    room = wide - start - 12 - max(_beside_width(bar) for bar in bars)
    longest = max(max(int(bar["length_cm"]) for bar in bars), 1)
    parts = [Part("base", [Stroke(((start, 4), (start, _TOP + _ROW * len(bars) - 4)), FINE)])]
    for row, bar in enumerate(bars):
        middle = _TOP + (row + 0.5) * _ROW
        end = start + max(room, 40.0) * int(bar["length_cm"]) / longest
        drawn = [Text(2, middle + 5.5, said[row], TEXT_PT, True), *_rope(bar, start, end, middle)]
        parts.append(Part("year hand" if bar.get("hand") else "year", drawn))
    told = " ".join(f"{bar['year']}: {_told(bar)}." for bar in bars)
    return figure(
        "years-chart", name, "Metres that leave service each year", told, (wide, _TOP * 2 + _ROW * len(bars)), parts
    )


def _rope(bar: Facts, start: float, end: float, middle: float) -> list[Primitive]:
    """A line to scale with a stop at its end, then its metres and the number of ropes: a total wears no capsule."""
    if not bar["length_cm"]:
        return [words(start + 10, middle + 5.5, "none", TEXT_PT)]
    return [
        Stroke(((start + BOLD, middle), (max(end - BOLD, start + BOLD + 0.1), middle)), 2 * BOLD, role="rope"),
        Stroke(((end, middle - 10), (end, middle + 10)), FINE),
        words(end + 10, middle + 5.5, _told(bar), TEXT_PT),
    ]


def _beside_width(bar: Facts) -> float:
    return 10 + float(Text(0, 0, _told(bar), TEXT_PT).width)


def _ropes(bar: Facts) -> str:
    count = bar.get("ropes")
    return "" if count is None else f"{count} rope{'' if count == 1 else 's'}"


def _told(bar: Facts) -> str:
    if not bar["length_cm"]:
        return "none"
    return ", ".join(part for part in (f"{int(bar['length_cm']) // 100} m", _ropes(bar)) if part)
