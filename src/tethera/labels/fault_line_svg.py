"""A rope as one line to scale, with the places where something was found, numbered as in the list beside it."""

from collections.abc import Mapping, Sequence
from typing import Any

from tethera.labels.figure import BOLD, FINE, PLAIN, SMALL_PT, Part, capsule_in, capsule_size, figure, metres, words
from tethera.labels.page import THIN_SPACE, Primitive, Ring, Stroke, Text

Facts = Mapping[str, Any]
_RING, _LEVEL, _MARGIN = 12.0, 30.0, 16.0
_STEPS_M = (1, 2, 5, 10, 20, 50, 100, 200, 500)


def fault_line_svg(
    length_cm: int, faults: Sequence[Facts], *, rope: str = "", wide: int = 640, name: str = "faults"
) -> str:
    """The rope as a line `wide` px wide at its own size (340 for a telephone).

    A fault is {number, at_cm, what}: its number in the list, its place from the end the examination began with, and
    what it is. A place beyond the rope is drawn nowhere; the description says so.
    """
    start, end = _MARGIN, wide - _MARGIN
    placed = [(start + (end - start) * each["at_cm"] / length_cm, each) for each in _on(length_cm, faults)]
    levels = _levels([x for x, _ in placed])
    top = 8.0 + _RING
    line_y = top + _LEVEL * max([*levels, 0]) + _RING + 16
    drawn: list[Primitive] = []
    for (x, fault), level in zip(placed, levels, strict=True):
        drawn += _fault(x, line_y, line_y - _RING - 16 - _LEVEL * level, str(fault["number"]))
    ends = [Stroke(((x, line_y - 9), (x, line_y + 9)), PLAIN) for x in (start, end)]
    ticks, bottom = _ticks(length_cm, (start, end), line_y)
    text = metres(length_cm)
    width, height = capsule_size(text)
    parts = [
        Part("rope-line", [Stroke(((start, line_y), (end, line_y)), BOLD, role="rope"), *ends]),
        Part("ticks", ticks),
        Part("found", drawn),
        Part("length", capsule_in(end - width, bottom, text)),
    ]
    title = f"Where something was found along {rope or 'the rope'}"
    return figure("fault-line", name, title, _told(length_cm, faults), (wide, bottom + height + 4), parts)


def _on(length_cm: int, faults: Sequence[Facts]) -> list[Facts]:
    return sorted((each for each in faults if 0 <= each["at_cm"] <= length_cm), key=lambda each: int(each["at_cm"]))


def _levels(places: Sequence[float]) -> list[int]:
    """How high the number of each place stands, so that none covers another; places in order along the line."""
    last: list[float] = []
    found = []
    for x in places:
        level = next((at for at, before in enumerate(last) if x - before >= 2 * _RING + 4), len(last))
        last[level : level + 1] = [x]
        found.append(level)
    return found


def _fault(x: float, line_y: float, ring_y: float, number: str) -> list[Primitive]:
    """A bar across the rope, a stem up, and the number in its ring."""
    wide = Text(0, 0, number, SMALL_PT, True).width
    return [
        Stroke(((x, line_y - 11), (x, line_y + 11)), BOLD),
        Stroke(((x, line_y - 11), (x, ring_y + _RING)), FINE),
        Ring(x, ring_y, _RING, PLAIN),
        Text(x - wide / 2, ring_y + 5.3, number, SMALL_PT, True),
    ]


def _ticks(length_cm: int, span: tuple[float, float], line_y: float) -> tuple[list[Primitive], float]:
    """Metres along the rope from the end begun with, under the line, and where they end [px]."""
    start, end = span
    per_m = (end - start) * 100 / length_cm
    step = next((each for each in _STEPS_M if each * per_m >= 46), _STEPS_M[-1])
    drawn: list[Primitive] = []
    for metre in range(0, length_cm // 100 + 1, step):
        x = start + metre * per_m
        drawn.append(Stroke(((x, line_y + 8), (x, line_y + 14)), FINE))
        said = f"{metre}" if metre else f"0{THIN_SPACE}m"
        drawn.append(words(x, line_y + 30, said, at="middle" if metre else "start"))
    return drawn, line_y + 38


def _told(length_cm: int, faults: Sequence[Facts]) -> str:
    if not faults:
        return f"The rope has {metres(length_cm)}; nothing is noted at a place along it."
    said = [f"{each['number']}: {each['what']} at {metres(each['at_cm'])}" for each in faults]
    beyond = [each for each in faults if each["at_cm"] > length_cm]
    more = f" {len(beyond)} of these lie beyond its end." if beyond else ""
    return f"Along {metres(length_cm)} of rope, from the end begun with: {'; '.join(said)}.{more}"
