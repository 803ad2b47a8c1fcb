"""What the drawings of the store on a screen share: their frame, a line of days, a key, room for labels.

Units are pixels of the drawing at its own size. Classes and presentation attributes only: a strict content security
policy forbids inline styles. `currentColor` is the ink, so that a page for the night inverts them.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape
from typing import Any

from tethera.basics import PartialDate, show_metres
from tethera.labels.fonts import MM_PER_POINT
from tethera.labels.page import CAPSULE_ABOVE, CAPSULE_BELOW, CAPSULE_PAD, THIN_SPACE, Primitive, Text, capsule
from tethera.labels.svg import elements

#: Three weights of line [px], each twice the one before.
FINE, PLAIN, BOLD = 1.0, 2.0, 4.0
#: Sizes of type in points that come out as 15 and 16 px: widths of `page` are in millimetres of paper.
SMALL_PT, TEXT_PT = 15 / MM_PER_POINT, 16 / MM_PER_POINT
_DASH_PX = 3.2

#: Left, top, right, bottom [px].
Area = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Part:
    """What is drawn under one class name."""

    name: str
    drawn: Sequence[Primitive]


def figure(kind: str, name: str, title: str, told: str, size: tuple[float, float], parts: Iterable[Part]) -> str:
    """A drawing that names itself and says its facts in words; `name` keeps its ids apart on one page."""
    width, height = size
    inside = "".join(
        f'<g class="{part.name}" fill="none" stroke="currentColor">{"".join(elements(part.drawn, dash=_DASH_PX))}</g>'
        for part in parts
        if part.drawn
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{kind}" role="img" aria-labelledby="{name}-title" '
        f'aria-describedby="{name}-told" width="{width:g}" viewBox="0 0 {width:g} {height:g}" '
        f'stroke-linecap="round" stroke-linejoin="round">'
        f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-told">{escape(told)}</desc>{inside}</svg>\n'
    )


def words(x: float, baseline: float, text: str, size: float = SMALL_PT, *, at: str = "start") -> Text:
    """A line of words that starts, ends or is centred at x [px]."""
    wide = Text(0, 0, text, size).width
    return Text(x - {"start": 0.0, "middle": wide / 2, "end": wide}[at], baseline, text, size)


def metres(length_cm: int) -> str:
    """A length of rope in metres with its unit.

    >>> metres(2940)
    '29.4\\xa0m'
    """
    return f"{show_metres(length_cm)}{THIN_SPACE}m"


def capsule_size(text: str, size: float = SMALL_PT) -> tuple[float, float]:
    """Width and height of a length in its capsule [px]."""
    em = size * MM_PER_POINT
    return Text(0, 0, text, size, True).width + 2 * CAPSULE_PAD * em, (CAPSULE_ABOVE + CAPSULE_BELOW) * em


def capsule_in(left: float, top: float, text: str, size: float = SMALL_PT) -> list[Primitive]:
    """A length in its capsule with its top left corner here."""
    return capsule(text, left, top + CAPSULE_ABOVE * size * MM_PER_POINT, size, weight=1.5)


def free(area: Area, taken: Iterable[Area]) -> bool:
    """Whether nothing taken lies in the area."""
    left, top, right, bottom = area
    return not any(left < r and right > x and top < b and bottom > y for x, y, r, b in taken)


@dataclass(frozen=True, slots=True)
class Days:
    """A line of days: day numbers `first` to `last` lie at `start` to `end` [px]."""

    first: float
    last: float
    start: float
    end: float

    def at(self, day: float) -> float:
        """Where a day lies [px]."""
        return self.start + (day - self.first) / (self.last - self.first) * (self.end - self.start)

    def ticks(self, room: float) -> list[tuple[float, str]]:
        """Days to name, `room` px apart at least, each with its words: years, or months in a short life."""
        for step in (1, 3, 6, 12, 24, 60, 120, 240):
            named = self._every(step)
            if (
                len(named) < 2
                or (named[1][0] - named[0][0]) * (self.end - self.start) / (self.last - self.first) > room
            ):
                return named
        return []

    def _every(self, months: int) -> list[tuple[float, str]]:
        begins = date.fromordinal(max(math.floor(self.first), 1))
        count = begins.year * 12 + begins.month - 1
        count += -count % months
        named: list[tuple[float, str]] = []
        last = date.fromordinal(min(math.floor(self.last), date.max.toordinal()))
        while count <= last.year * 12 + last.month - 1:
            day = PartialDate(count // 12, count % 12 + 1)
            if day.earliest.toordinal() >= self.first:
                spoken = day.spoken() if not named else day.spoken().split()[0]
                named.append((float(day.earliest.toordinal()), str(day.year) if day.month == 1 else spoken))
            count += months
        return named


def at_least(first: float, last: float, days: float = 75.0) -> tuple[float, float]:
    """The days to show: never so few that no month begins in them."""
    return (first, last) if last - first >= days else (last - days, last)


@dataclass(frozen=True, slots=True)
class KeyEntry:
    """A sign `width` px wide, drawn from (x, middle of the line), and what it means."""

    meaning: str
    width: float
    sign: Any


def key_lines(entries: Sequence[KeyEntry], left: float, right: float, top: float) -> tuple[list[Primitive], float]:
    """The key in as many lines as it takes, and where it ends [px]."""
    drawn: list[Primitive] = []
    x, middle = left, top + 12.0
    for entry in entries:
        wide = entry.width + 8 + Text(0, 0, entry.meaning, SMALL_PT).width
        if x > left and x + wide > right:
            x, middle = left, middle + 26.0
        drawn += [*entry.sign(x, middle), words(x + entry.width + 8, middle + 5.2, entry.meaning)]
        x += wide + 24
    return drawn, middle + 14.0
