"""A rope's length over time: each length with its band of doubt, and what the mark on its ends said meanwhile."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any

from tethera.labels.days import middle_of, span_of, spoken_date
from tethera.labels.figure import (
    BOLD,
    FINE,
    PLAIN,
    Area,
    Days,
    KeyEntry,
    Part,
    at_least,
    capsule_in,
    capsule_size,
    figure,
    free,
    key_lines,
    metres,
    words,
)
from tethera.labels.page import Primitive, Ring, Stroke

Facts = Mapping[str, Any]
_DOT = 5.0
_ROOM_FOR_A_NUMBER = 90.0
_PLOT_HEIGHT, _TOP, _LEFT, _RIGHT = 210.0, 30.0, 62.0, 30.0
_STEPS_CM = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
_SAID = {
    "measured": "measured",
    "label": "said by a label",
    "sheet": "said by the old sheet",
    "bought": "said by the reel",
    "cut": "cut to this length",
}


@dataclass(frozen=True, slots=True)
class _Point:
    """A length at its place on the drawing [px], with its fact."""

    fact: Facts
    x: float
    y: float

    @property
    def measured(self) -> bool:
        return bool(self.fact.get("source") == "measured")


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where days and lengths lie on the drawing."""

    days: Days
    low_cm: int
    high_cm: int
    step_cm: int

    def y(self, length_cm: float) -> float:
        return _TOP + (self.high_cm - length_cm) / (self.high_cm - self.low_cm) * _PLOT_HEIGHT

    @property
    def bottom(self) -> float:
        return _TOP + _PLOT_HEIGHT


def length_chart_svg(
    points: Sequence[Facts],
    marks: Sequence[Facts],
    today: date,
    *,
    rope: str = "",
    wide: int = 720,
    name: str = "length",
) -> str:
    """The lengths a rope has had, as a drawing `wide` px wide at its own size (340 for a telephone).

    A point is {date, length_cm, low_cm, high_cm, source}: the band may be None, source is measured, label, sheet,
    bought or cut. A mark is {date, length_m}, None for a mark that became void. Where the mark of today says more than
    the last length it has the class "hand". Without a point there is nothing to draw: the empty string.
    """
    ordered = sorted(points, key=lambda point: middle_of(point["date"]))
    if not ordered:
        return ""
    stands = sorted(marks, key=lambda mark: middle_of(mark["date"]))
    plot = _plot(ordered, stands, today, wide)
    placed = _placed(ordered, plot)
    steps, over = _mark_steps(stands, plot, today, ordered[-1]["length_cm"])
    whiskers = [line for point in placed for line in _whisker(point, plot)]
    numbers, taken = _numbers(placed, plot, [*steps, *whiskers], wide)
    axes, below = _axes(plot, today, wide, taken)
    key, bottom = key_lines(_key(ordered, stands), 4.0, wide - 4.0, below)
    parts = [
        Part("axes", axes),
        Part("doubt", whiskers),
        Part("mark-says accent", steps[:-1] if over else steps),
        Part("mark-says accent hand", steps[-1:] if over else []),
        Part("rope-length", _joined(placed)),
        Part("lengths", [Ring(point.x, point.y, _DOT, PLAIN, point.measured) for point in placed]),
        Part("numbers", numbers),
        Part("key", key),
    ]
    title = f"Length of {rope or 'the rope'} over time"
    return figure("length-chart", name, title, _told(ordered, stands, over), (wide, bottom), parts)


def length_rows(points: Sequence[Facts], marks: Sequence[Facts]) -> list[dict[str, Any]]:
    """The facts of the drawing for the table beneath it, in order of time.

    Each row is {date, words, length_cm, low_cm, high_cm, source}; a mark has the source "mark".

    >>> [row["words"] for row in length_rows([{"date": "2021", "length_cm": 3000, "source": "label"}], [])]
    ['said by a label']
    """
    rows = [
        {
            "date": point["date"],
            "words": _SAID.get(point.get("source") or "", "known"),
            "length_cm": point["length_cm"],
            "low_cm": point.get("low_cm"),
            "high_cm": point.get("high_cm"),
            "source": point.get("source") or "",
        }
        for point in points
    ]
    for mark in marks:
        void = mark.get("length_m") is None
        rows.append(
            {
                "date": mark["date"],
                "words": "the mark became void" if void else "marked",
                "length_cm": None if void else mark["length_m"] * 100,
                "low_cm": None,
                "high_cm": None,
                "source": "mark",
            }
        )
    return sorted(rows, key=lambda row: middle_of(row["date"]))


def _plot(points: Sequence[Facts], marks: Sequence[Facts], today: date, wide: int) -> _Plot:
    spans = [span_of(fact["date"]) for fact in (*points, *marks)]
    first = min(begins for begins, _ in spans).toordinal()
    last = max(today, max(middle for _, middle in spans)).toordinal()
    lengths = [mark["length_m"] * 100 for mark in marks if mark.get("length_m") is not None]
    for point in points:
        lengths += [point["length_cm"], *(point[end] for end in ("low_cm", "high_cm") if point.get(end) is not None)]
    low, high = min(lengths), max(lengths)
    spread = max(high - low, 100)
    step = next((step for step in _STEPS_CM if spread / step <= 5), _STEPS_CM[-1])
    low_cm = max(0, math.floor((low - 0.12 * spread) / step) * step)
    high_cm = max(math.ceil((high + 0.12 * spread) / step) * step, low_cm + 2 * step)
    return _Plot(Days(*at_least(first, last), _LEFT + 12, wide - _RIGHT), low_cm, high_cm, step)


def _placed(points: Sequence[Facts], plot: _Plot) -> list[_Point]:
    """Points of one day stand beside each other, so that none hides another."""
    placed: list[_Point] = []
    days = [middle_of(point["date"]) for point in points]
    for index, (point, day) in enumerate(zip(points, days, strict=True)):
        same, place = days.count(day), index - days.index(day)
        apart = min(2 * _DOT + 3, 120.0 / same)
        placed.append(_Point(point, plot.days.at(day) + (place - (same - 1) / 2) * apart, plot.y(point["length_cm"])))
    return placed


def _axes(plot: _Plot, today: date, wide: float, taken: Sequence[Area]) -> tuple[list[Primitive], float]:
    """Lines of equal length with their metres, the days below, and where they end [px]."""
    drawn: list[Primitive] = []
    right, bottom = wide - 8.0, plot.bottom
    now = plot.days.at(today.toordinal())
    for length_cm in range(plot.low_cm, plot.high_cm + 1, plot.step_cm):
        y = plot.y(length_cm)
        number = f"{length_cm / 100:g}" if length_cm < plot.high_cm else metres(length_cm)
        gaps = sorted((left, end) for left, top, end, foot in taken if top < y < foot)
        drawn += [Stroke(((begins, y), (ends, y)), 0.4) for begins, ends in _between(gaps, _LEFT, right)]
        drawn.append(words(_LEFT - 8, y + 5, number, at="end"))
    drawn.append(Stroke(((_LEFT, _TOP), (_LEFT, bottom), (right, bottom)), FINE))
    if plot.low_cm:  # the lengths do not begin at nought: the axis is broken
        drawn.append(Stroke(((_LEFT - 5, bottom + 4), (_LEFT + 5, bottom + 1)), FINE))
        drawn.append(Stroke(((_LEFT - 5, bottom + 8), (_LEFT + 5, bottom + 5)), FINE))
    gaps = sorted((top, foot) for left, top, end, foot in taken if left < now < end)
    drawn += [Stroke(((now, begins), (now, ends)), FINE, dashed=True) for begins, ends in _between(gaps, _TOP, bottom)]
    drawn += _days(plot, now, wide)
    return drawn, bottom + 36


def _between(gaps: Iterable[tuple[float, float]], start: float, end: float) -> Iterable[tuple[float, float]]:
    """What is left of a line once its gaps are taken out, in order."""
    for left, right in gaps:
        if left > start:
            yield start, left
        start = max(start, right)
    if end > start:
        yield start, end


def _days(plot: _Plot, now: float, wide: float) -> list[Primitive]:
    drawn: list[Primitive] = []
    right, bottom = wide - 8.0, plot.bottom
    label = words(min(now, right - 22), bottom + 24, "today", at="middle")
    taken = [label.box]
    drawn += [Stroke(((now, bottom), (now, bottom + 8)), FINE), label]
    for day, said in plot.days.ticks(82.0):
        x = plot.days.at(day)
        tick = words(x, bottom + 24, said, at="middle")
        drawn.append(Stroke(((x, bottom), (x, bottom + 6)), FINE))
        box = tick.box
        if free((box[0] - 6, box[1], box[2] + 6, box[3]), taken) and box[2] <= wide:
            drawn.append(tick)
            taken.append(box)
    return drawn


def _whisker(point: _Point, plot: _Plot) -> list[Primitive]:
    """The band a length may lie in, and the days its date may mean."""
    drawn: list[Primitive] = []
    low, high = point.fact.get("low_cm"), point.fact.get("high_cm")
    if low is not None and high is not None and high > low:
        for end in (plot.y(low), plot.y(high)):
            drawn.append(Stroke(((point.x - 4, end), (point.x + 4, end)), FINE))
            drawn += _line_off(point, (point.x, end))
    first, last = span_of(point.fact["date"])
    if last > first:
        for day in (first, last):
            drawn += _line_off(point, (plot.days.at(day.toordinal()), point.y))
    return drawn


def _line_off(point: _Point, to: tuple[float, float], weight: float = FINE) -> list[Primitive]:
    """A line from the rim of a dot or ring, so that a ring stays empty."""
    away = math.hypot(to[0] - point.x, to[1] - point.y)
    if away <= _DOT:
        return []
    share = _DOT / away
    rim = (point.x + (to[0] - point.x) * share, point.y + (to[1] - point.y) * share)
    return [Stroke((rim, to), weight)]


def _joined(points: Sequence[_Point]) -> list[Primitive]:
    drawn: list[Primitive] = []
    for one, other in pairwise(points):
        away = math.hypot(other.x - one.x, other.y - one.y)
        if away > 2 * _DOT:
            share = 1 - _DOT / away
            rim = (one.x + (other.x - one.x) * share, one.y + (other.y - one.y) * share)
            drawn += _line_off(one, rim, PLAIN)
    return drawn


def _mark_steps(marks: Sequence[Facts], plot: _Plot, today: date, last_cm: int) -> tuple[list[Primitive], bool]:
    """What the mark said from when to when, and whether today's says more than the rope has."""
    if not marks:
        return [], False
    drawn: list[Primitive] = []
    ends = [middle_of(mark["date"]) for mark in marks[1:]] + [max(float(today.toordinal()), plot.days.first)]
    before: float | None = None
    for mark, end in zip(marks, ends, strict=True):
        if mark.get("length_m") is None:
            before = None
            continue
        x, y = plot.days.at(middle_of(mark["date"])), plot.y(mark["length_m"] * 100)
        riser = ((x, before),) if before is not None and before != y else ()
        drawn.append(Stroke((*riser, (x, y), (max(plot.days.at(end), x + 4), y)), BOLD / 1.6, dashed=True))
        before = y
    stands = marks[-1].get("length_m")
    return drawn, stands is not None and stands * 100 > last_cm


def _numbers(
    points: Sequence[_Point], plot: _Plot, lines: Iterable[Primitive], wide: float
) -> tuple[list[Primitive], list[Area]]:
    """Lengths in capsules where there is room, and the room they take.

    The newest comes first, then the oldest, then the greatest changes.
    """
    taken: list[Area] = [(p.x - _DOT - 1, p.y - _DOT - 1, p.x + _DOT + 1, p.y + _DOT + 1) for p in points]
    for one, other in pairwise(points):
        taken += _boxes((one.x, one.y), (other.x, other.y))
    for line in lines:
        if isinstance(line, Stroke):
            taken += [box for start, end in pairwise(line.points) for box in _boxes(start, end)]
    drawn: list[Primitive] = []
    labels: list[Area] = []
    for point in _by_worth(points)[: max(3, int(wide / _ROOM_FOR_A_NUMBER))]:
        text = metres(point.fact["length_cm"])
        width, height = capsule_size(text)
        places = list(_beside(point, width, height))
        if point is points[-1]:  # the newest is always told: over the plot nothing is drawn
            places.append((min(max(point.x - width / 2, _LEFT + 5), wide - width - 3), 4.0))
        for left, top in places:
            area = (left - 2, top - 2, left + width + 2, top + height + 2)
            inside = area[0] > _LEFT + 2 and area[2] < wide and area[1] > 0 and area[3] < plot.bottom - 1
            if inside and free(area, taken):
                drawn += capsule_in(left, top, text)
                taken.append(area)
                labels.append(area)
                break
    return drawn, labels


def _by_worth(points: Sequence[_Point]) -> list[_Point]:
    changes = [abs(b.fact["length_cm"] - a.fact["length_cm"]) for a, b in pairwise(points)]
    inner = sorted(range(1, len(points) - 1), key=lambda i: -changes[i - 1])
    order = [len(points) - 1, 0, *inner] if len(points) > 1 else [0]
    return [points[i] for i in order]


def _beside(point: _Point, width: float, height: float) -> Iterable[tuple[float, float]]:
    for off in (11.0, 22.0):
        for shift in (0.5, 0.1, 0.9):
            yield point.x - shift * width, point.y - off - height
            yield point.x - shift * width, point.y + off
        for left in (point.x + 8, point.x - 8 - width):
            yield left, point.y - off + 2 - height
            yield left, point.y + off - 2
        yield point.x + off, point.y - height / 2
        yield point.x - off - width, point.y - height / 2


def _boxes(start: tuple[float, float], end: tuple[float, float]) -> Iterable[Area]:
    count = int(max(abs(end[0] - start[0]), abs(end[1] - start[1])) / 6) + 1
    for i in range(count + 1):
        x, y = start[0] + (end[0] - start[0]) * i / count, start[1] + (end[1] - start[1]) * i / count
        yield x - 2, y - 2, x + 2, y + 2


def _key(points: Sequence[Facts], marks: Sequence[Facts]) -> list[KeyEntry]:
    sources = {point.get("source") for point in points}
    entries = []
    if "measured" in sources:
        entries.append(KeyEntry("measured", 2 * _DOT, lambda x, y: [Ring(x + _DOT, y, _DOT, PLAIN, True)]))
    if sources - {"measured"}:
        meaning = "from paper or a cut" if "cut" in sources else "from paper"
        entries.append(KeyEntry(meaning, 2 * _DOT, lambda x, y: [Ring(x + _DOT, y, _DOT, PLAIN)]))
    if any(point.get("low_cm") is not None for point in points):
        entries.append(KeyEntry("may lie between", 9.0, _whisker_sign))
    if any(mark.get("length_m") is not None for mark in marks):
        entries.append(
            KeyEntry("its mark says", 34.0, lambda x, y: [Stroke(((x, y), (x + 34, y)), BOLD / 1.6, dashed=True)])
        )
    return entries


def _whisker_sign(x: float, y: float) -> list[Primitive]:
    ends = [Stroke(((x, end), (x + 8, end)), FINE) for end in (y - 9, y + 9)]
    return [Stroke(((x + 4, y - 9), (x + 4, y + 9)), FINE), *ends]


def _told(points: Sequence[Facts], marks: Sequence[Facts], over: bool) -> str:
    said = []
    for row in length_rows(points, marks):
        length = "" if row["length_cm"] is None else f": {metres(row['length_cm'])}"
        band = ""
        if row["low_cm"] is not None and row["high_cm"] is not None:
            band = f" ({row['low_cm'] / 100:g} to {row['high_cm'] / 100:g})"
        said.append(f"{spoken_date(row['date'])}, {row['words']}{length}{band}.")
    if over:
        said.append("The mark says more than the rope has: measure it and mark it again.")
    return " ".join(said)
