"""What each year costs: a bar a year to one scale, with its pounds."""

from collections.abc import Mapping, Sequence
from typing import Any

from tethera.labels.figure import FINE, PLAIN, TEXT_PT, Part, figure, words
from tethera.labels.page import Primitive, Stroke, Text

_ROW, _TOP, _HIGH = 40.0, 8.0, 14.0


def costs_svg(bars: Sequence[Mapping[str, Any]], *, wide: int = 640, name: str = "costs") -> str:
    """Years as bars, `wide` px wide at its own size (340 for a telephone); a bar is {year, pence}.

    A year that costs nothing has no bar, and says so. Without a bar the empty string.
    """
    if not bars:
        return ""
    said = [str(bar["year"]) for bar in bars]
    told = [_told(int(bar["pence"])) for bar in bars]
    start = 16 + max(Text(0, 0, year, TEXT_PT, True).width for year in said)
    room = max(wide - start - 22 - max(Text(0, 0, each, TEXT_PT).width for each in told), 40.0)
    most = max(max(int(bar["pence"]) for bar in bars), 1)
    foot = _TOP + _ROW * len(bars)
    parts = [Part("base", [Stroke(((start, 4), (start, foot - 4)), FINE)])]
    for row, bar in enumerate(bars):
        middle = _TOP + (row + 0.5) * _ROW
        end = start + room * int(bar["pence"]) / most
        drawn: list[Primitive] = [Text(2, middle + 5.5, said[row], TEXT_PT, True)]
        if bar["pence"]:
            top, bottom = middle - _HIGH / 2, middle + _HIGH / 2
            drawn.append(Stroke(((start, top), (end, top), (end, bottom), (start, bottom)), PLAIN, fill=True))
        drawn.append(words(end + 10, middle + 5.5, told[row], TEXT_PT))
        parts.append(Part("year", drawn))
    sentence = " ".join(f"{year}: {each}." for year, each in zip(said, told, strict=True))
    return figure("costs-chart", name, "What each year costs", sentence, (wide, foot + _TOP), parts)


def _told(pence: int) -> str:
    return f"£{pence / 100:,.2f}".removesuffix(".00") if pence else "nothing"
