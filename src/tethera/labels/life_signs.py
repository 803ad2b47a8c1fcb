"""The signs along the line of a rope's life, drawn from a place along it and how far aside; lying or hanging.

Told apart in black and white: by weight, by where the line runs, and by form.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from tethera.labels.figure import BOLD, FINE, PLAIN, KeyEntry
from tethera.labels.page import Blocks, Primitive, Ring, Stroke

#: From a place along the line and aside of it (below, or right) to x and y [px].
Turn = Callable[[float, float], tuple[float, float]]
Sign = Callable[[float, Turn], list[Primitive]]
#: How far the line lifts while a rope is out, and how far it hangs while it is rigged [px].
_LIFT, _BOW = 13.0, 11.0
#: How far aside of the line the sign of an examination stands [px].
LOOK_ASIDE = 31.0


def stretch(state: str, begins: float, ends: float, turn: Turn) -> list[Primitive]:
    """The line while a rope is in this state."""
    if state == "out":
        points = ((begins, 0.0), (begins, -_LIFT), (ends, -_LIFT), (ends, 0.0))
        up, top, down = (Stroke((turn(*a), turn(*b)), w, role="out")
                         for a, b, w in zip(points, points[1:], (FINE, BOLD, FINE), strict=False))  # fmt: skip
        return [up, top, down]
    if state == "rigged":
        steps = max(6, int((ends - begins) / 8))
        bow = [(begins + (ends - begins) * i / steps, _BOW * math.sin(math.pi * i / steps)) for i in range(steps + 1)]
        return [Stroke(tuple(turn(*point) for point in bow), BOLD, role="rigged")]
    if state == "set aside":
        bars = ((begins + 1.0, -8.0, 8.0), (max(ends - 1.0, begins + 3.0), -8.0, 8.0))
        return [Stroke((turn(at, up), turn(at, down)), PLAIN, role="set aside") for at, up, down in bars]
    if state == "missing":
        count = max(1, int((ends - begins) / 9))
        places = [begins + (ends - begins) * (i + 0.5) / count for i in range(count)]
        return [Ring(*turn(place, 0.0), 1.3, 0.0, True) for place in places]
    if state == "retired":
        return []
    weight = BOLD if state == "ready" else FINE
    return [Stroke((turn(begins, 0.0), turn(ends, 0.0)), weight, role=state)]


def wash(place: float, turn: Turn) -> list[Primitive]:
    """A stroke under the line, slanting as water runs."""
    return [Stroke((turn(place + 2.0, 13.0), turn(place - 2.0, 21.0)), 1.4, role="wash")]


def look(place: float, turn: Turn) -> list[Primitive]:
    """An examination: an eye, on its own stem under the line."""
    x, y = turn(place, LOOK_ASIDE)
    upper = [(x - 7 + i, y - 4.2 * math.sin(math.pi * i / 14)) for i in range(15)]
    lower = [(x + 7 - i, y + 4.2 * math.sin(math.pi * i / 14)) for i in range(15)]
    return [
        Stroke((turn(place, 5.0), turn(place, LOOK_ASIDE - 6)), 0.6),
        Stroke((*upper, *lower), 1.4, role="look"),
        Ring(x, y, 1.7, 0.0, True),
    ]


def knot(place: float, turn: Turn) -> list[Primitive]:
    """Where it was cut: a knot in the line, two rings one through the other."""
    return [Ring(*turn(place - 2.5, 0.0), 5.0, PLAIN), Ring(*turn(place + 2.5, 0.0), 5.0, PLAIN)]


def count_tick(place: float, turn: Turn) -> list[Primitive]:
    """A measurement: a tick across the line."""
    return [Stroke((turn(place, -7.0), turn(place, 7.0)), FINE)]


def beginning(place: float, turn: Turn) -> list[Primitive]:
    """The reel it came from: a ring with its hub."""
    x, y = turn(place - 9.0, 0.0)
    return [Ring(x, y, 9.0, PLAIN), Ring(x, y, 3.0, FINE)]


def end_stop(place: float, turn: Turn) -> list[Primitive]:
    """Retired or cut up: two slanting strokes, as through a rope."""
    return [
        Stroke((turn(place - 3 + shift, 13.0), turn(place + 5 + shift, -13.0)), PLAIN, role="end")
        for shift in (0.0, 6.0)
    ]


def going_on(place: float, turn: Turn) -> list[Primitive]:
    """It is still there: the line runs on in three dots."""
    return [Ring(*turn(place + 7 + 8 * i, 0.0), 1.8, 0.0, True) for i in range(3)]


def moved(item: Primitive, down: float) -> Primitive:
    """The same thing `down` px lower."""
    if isinstance(item, Stroke):
        return replace(item, points=tuple((x, y + down) for x, y in item.points))
    if isinstance(item, Blocks):
        return replace(item, rectangles=tuple((x, y + down, wide, tall) for x, y, wide, tall in item.rectangles))
    return replace(item, y=item.y + down)


def key(used: Iterable[str]) -> list[KeyEntry]:
    """What the signs of this drawing mean, in the order of the house."""
    there = set(used)
    entries = [KeyEntry(meaning, 34.0, _state_sign(state)) for state, meaning in _STATES if state in there]
    return entries + [KeyEntry(meaning, 18.0, _moment_sign(sign)) for kind, meaning, sign in _MOMENTS if kind in there]


def _state_sign(state: str) -> Callable[[float, float], list[Primitive]]:
    def sign(x: float, middle: float) -> list[Primitive]:
        down = {"out": 6.0, "rigged": -5.0}.get(state, 0.0)
        return stretch(state, x, x + 34.0, lambda along, aside: (along, middle + aside + down))

    return sign


def _moment_sign(
    draw: tuple[Callable[[float, Turn], list[Primitive]], float],
) -> Callable[[float, float], list[Primitive]]:
    def sign(x: float, middle: float) -> list[Primitive]:
        # Signs that stand under the line are lifted beside their words, without the stem.
        drawn = draw[0](x + 9.0, lambda along, aside: (along, middle + aside - draw[1]))
        return drawn[1:] if draw[0] is look else drawn

    return sign


_STATES: Sequence[tuple[str, str]] = (
    ("ready", "ready"),
    ("in preparation", "in preparation"),
    ("out", "out"),
    ("rigged", "rigged"),
    ("set aside", "set aside"),
    ("missing", "missing"),
)
_MOMENTS: Sequence[tuple[str, str, tuple[Sign, float]]] = (
    ("measured", "measured", (count_tick, 0.0)),
    ("washed", "washed", (wash, 17.0)),
    ("inspected", "examined", (look, LOOK_ASIDE)),
    ("cut", "cut", (knot, 0.0)),
)
