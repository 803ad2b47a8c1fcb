"""Our own signs, line-drawn: told apart in black and white, wet, at half size."""

import math
from collections.abc import Callable

from tethera.labels.page import HEAVY, MEDIUM, THIN, Box, Primitive, Ring, Stroke

DOT_MM = 0.95
RING_MM = 1.35


def mark(x: float, baseline: float, size: float) -> list[Primitive]:
    """The mark: three ticks across a line, `size` mm wide (tethera is three)."""
    middle = baseline - 0.3 * size
    ticks = [
        Stroke(((x + (0.2 + 0.3 * i) * size - 0.05 * size, middle + 0.27 * size),
                (x + (0.2 + 0.3 * i) * size + 0.05 * size, middle - 0.27 * size)), HEAVY)
        for i in range(3)
    ]  # fmt: skip
    return [Stroke(((x, middle), (x + size, middle)), MEDIUM), *ticks]


def anchor(kind: str, x: float, y: float, bolts: int = 1) -> list[Primitive]:
    """What the rope hangs from: a dot is a bolt, a ring a natural, a barred ring a thread; two dots are two bolts."""
    if kind == "natural":
        return [Ring(x, y, RING_MM, 0.6)]
    if kind == "thread":
        return [Ring(x, y, RING_MM, 0.6), Stroke(((x - 2.3, y), (x + 2.3, y)), 0.6)]
    if kind != "bolt":
        cross = 0.9
        return [
            Stroke(((x - cross, y - cross), (x + cross, y + cross)), 0.6),
            Stroke(((x - cross, y + cross), (x + cross, y - cross)), 0.6),
        ]
    if bolts > 1:
        return [Ring(x - 1.25, y, DOT_MM, 0.0, True), Ring(x + 1.25, y, DOT_MM, 0.0, True)]
    return [Ring(x, y, DOT_MM, 0.0, True)]


def backup(x: float, y: float) -> list[Primitive]:
    """A square frame round the anchor that holds when the first one does not."""
    return [Box(x - 2.1, y - 2.1, 4.2, 4.2, 0.0, 0.35)]


def y_hang(kind: str, x: float, y: float, bolts: int = 2) -> list[Primitive]:
    """Two anchors and the V that brings the rope between them; the knot is at (x, y)."""
    return [
        Stroke(((x - 2.2, y - 2.6), (x, y), (x + 2.2, y - 2.6)), 0.6),
        *anchor(kind, x - 2.2, y - 2.6),
        *anchor(kind, x + 2.2, y - 2.6),
    ]


def loop(x: float, y: float) -> list[Primitive]:
    """The slack loop of a rebelay, hanging beside its anchor."""
    arc = tuple((x - 1.5 - 1.5 * math.cos(math.pi * i / 8), y + 2.6 * math.sin(math.pi * i / 8)) for i in range(9))
    return [Stroke(arc, 0.6)]


def sling(x: float, y: float, rope_x: float) -> list[Primitive]:
    """A deviation: the sling from its anchor to the rope, with a small eye where the rope runs through."""
    return [Stroke(((x, y), (rope_x, y)), 0.35), Ring(rope_x, y, 0.8, 0.35)]


def change(x: float, y: float) -> list[Primitive]:
    """Two bars across the rope: one rope ends here and the next begins."""
    return [Stroke(((x - 2.3, y + d), (x + 2.3, y + d)), 0.6) for d in (2.6, 3.9)]


def rub(x: float, y: float) -> list[Primitive]:
    """A toothed line beside the rope: it touches the wall here."""
    return [Stroke(tuple((x + 1.4 + (0.9 if i % 2 else 0.0), y + 1.0 + 0.8 * i) for i in range(6)), 0.35)]


def hatch(x0: float, x1: float, y: float) -> list[Primitive]:
    """Rock underfoot: a line with strokes under it."""
    strokes: list[Primitive] = [Stroke(((x0, y), (x1, y)), MEDIUM)]
    for i in range(int((x1 - x0) / 2.2)):
        strokes.append(Stroke(((x0 + 1.6 + 2.2 * i, y + 0.3), (x0 + 0.4 + 2.2 * i, y + 1.7)), THIN))
    return strokes


def sag(x0: float, y0: float, x1: float, y1: float, depth: float = 1.6, dashed: bool = False) -> list[Primitive]:
    """A rope along the wall, sagging between its anchors."""
    points = tuple(
        (x0 + (x1 - x0) * i / 8, y0 + (y1 - y0) * i / 8 + depth * 4 * (i / 8) * (1 - i / 8)) for i in range(9)
    )
    return [Stroke(points, HEAVY, dashed, role="rope")]


def state(word: str, x: float, y: float) -> list[Primitive]:
    """The sign of a rope's state, 6 mm wide, centred at (x, y): chained is washed and checked, coiled is not."""
    return _STATES[word](x, y)


def _chained(x: float, y: float) -> list[Primitive]:
    return [Box(x - 3 + 1.7 * i, y - 0.9, 2.6, 1.8, 0.9, 0.4) for i in range(3)]


def _coiled(x: float, y: float) -> list[Primitive]:
    return [Ring(x, y, 2.0, 0.4), Ring(x, y, 1.2, 0.4), Stroke(((x + 1.9, y + 0.6), (x + 3, y + 1.6)), 0.4)]


def _out(x: float, y: float) -> list[Primitive]:
    head = ((x + 3, y), (x + 1.5, y - 1), (x + 1.5, y + 1))
    return [
        Stroke(((x, y - 2), (x - 3, y - 2), (x - 3, y + 2), (x, y + 2)), 0.4),
        Stroke(((x - 1.8, y), (x + 1.8, y)), 0.4),
        Stroke(head, 0.0, fill=True),
    ]


def _rigged(x: float, y: float) -> list[Primitive]:
    return [Stroke(((x - 2.4, y - 1.8), (x + 2.4, y - 1.8)), 0.4), Ring(x, y - 1.8, 0.8, 0.0, True),
            Stroke(((x, y - 1.8), (x, y + 2.2)), HEAVY)]  # fmt: skip


def _set_aside(x: float, y: float) -> list[Primitive]:
    return [Ring(x, y, 2.1, 0.4), Stroke(((x - 0.6, y - 1), (x - 0.6, y + 1)), 0.5),
            Stroke(((x + 0.6, y - 1), (x + 0.6, y + 1)), 0.5)]  # fmt: skip


def _missing(x: float, y: float) -> list[Primitive]:
    gaps = [(math.cos(a), math.sin(a)) for a in (math.pi / 4 * i + 0.15 for i in range(8))]
    ends = [(math.cos(a), math.sin(a)) for a in (math.pi / 4 * i + 0.55 for i in range(8))]
    return [
        Stroke(((x + 2 * a, y + 2 * b), (x + 2 * c, y + 2 * d)), 0.4) for (a, b), (c, d) in zip(gaps, ends, strict=True)
    ]


def _retired(x: float, y: float) -> list[Primitive]:
    return [Stroke(((x - 3, y), (x - 0.7, y)), HEAVY), Stroke(((x + 0.7, y), (x + 3, y)), HEAVY),
            Stroke(((x - 0.9, y + 2), (x + 0.9, y - 2)), 0.4)]  # fmt: skip


_STATES: dict[str, Callable[[float, float], list[Primitive]]] = {
    "ready": _chained,
    "in preparation": _coiled,
    "out": _out,
    "rigged": _rigged,
    "set aside": _set_aside,
    "missing": _missing,
    "retired": _retired,
}
STATES = tuple(_STATES)
