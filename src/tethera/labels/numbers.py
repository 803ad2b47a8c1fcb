"""Where an anchor's number stands in the drawing: beside its sign, clear of the other signs, numbers and the rope."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from tethera.labels.facts import AnchorFacts
from tethera.labels.page import Primitive, Stroke, Text

NUMBER_PT = 9.5
_SIGN_MM = 2.3
_STEP_MM = 0.8

Rectangle = tuple[float, float, float, float]


def number_labels(
    anchors: Sequence[AnchorFacts],
    places: Sequence[tuple[float, float]],
    head: tuple[float, float],
    rope: Iterable[Primitive],
) -> tuple[list[Primitive], tuple[bool, ...]]:
    """A number for each sign, above, right, left or below; False where none fits and a leader must do."""
    taken = [_sign_box(anchor, x, y) for anchor, (x, y) in zip(anchors, places, strict=True)]
    taken += [box for stroke in rope if isinstance(stroke, Stroke) for box in _along(stroke.points)]
    taken.append((head[0] - 30, head[1] - 0.3, head[0] - 0.6, head[1] + 1.9))
    placed: list[Primitive] = []
    found: list[bool] = []
    for anchor, (x, y) in zip(anchors, places, strict=True):
        label = next((text for text in _candidates(anchor.number, x, y) if not _touches(text.box, taken)), None)
        found.append(label is not None)
        if label is not None:
            placed.append(label)
            taken.append(label.box)
    return placed, tuple(found)


def _sign_box(anchor: AnchorFacts, x: float, y: float) -> Rectangle:
    if anchor.role == "y-hang":
        return x - 3.3, y - 3.7, x + 3.3, y + 0.6
    return x - _SIGN_MM, y - _SIGN_MM, x + _SIGN_MM, y + _SIGN_MM


def _along(points: Sequence[tuple[float, float]]) -> Iterable[Rectangle]:
    for (x0, y0), (x1, y1) in pairwise(points):
        steps = int(max(abs(x1 - x0), abs(y1 - y0)) / _STEP_MM) + 1
        for i in range(steps + 1):
            x, y = x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps
            yield x - 0.6, y - 0.6, x + 0.6, y + 0.6


def _candidates(number: str, x: float, y: float) -> Iterable[Text]:
    wide = Text(0, 0, number, NUMBER_PT, True).width
    middle = y + 1.2
    yield Text(x - wide / 2, y - 3.2, number, NUMBER_PT, True)
    yield Text(x + 3.7, middle, number, NUMBER_PT, True)
    yield Text(x - 3.4 - wide, middle, number, NUMBER_PT, True)
    yield Text(x - wide / 2, y - 4.7, number, NUMBER_PT, True)
    yield Text(x - wide / 2, y + 5.6, number, NUMBER_PT, True)
    yield Text(x + 3.7, y + 4.0, number, NUMBER_PT, True)


def _touches(box: Rectangle, taken: Iterable[Rectangle]) -> bool:
    left, top, right, bottom = box
    return any(left < r and right > x and top < b and bottom > y for x, y, r, b in taken)
