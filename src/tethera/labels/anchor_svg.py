"""What an anchor holds, drawn to one scale from the front: a Y-hang, deviations, a traverse line, with its forces."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from tethera.labels.figure import BOLD, FINE, PLAIN, TEXT_PT, Part, figure, words
from tethera.labels.page import THIN_SPACE, Primitive, Ring, Stroke, Text

Point = tuple[float, float]
_MARGIN, _TALL, _RING = 70.0, 330.0, 5.0
#: Length of the arrow of the load, as a share of the drawing's height.
_ARROW = 0.16


def anchor_svg(answer: Mapping[str, Any], *, wide: int = 640, name: str = "anchor") -> str:
    """The drawing of an answer (`AnchorAnswer.to_mapping`), `wide` px wide at its own size (340 for a telephone)."""
    kind, drawn = answer["kind"], answer["drawn"]
    shape = {"y": _y_hang, "deviation": _deviations, "traverse": _traverse}[kind](drawn)
    forces = [float(load["hanging_kn"]["likely"]) for load in answer["loads"]]
    at, tall = _placed(shape.points, wide)
    parts = [Part("rock", _rock(shape, at)), Part("rope", _ropes(shape, at)), Part("failed", _failed(shape, at))]
    parts += [Part("forces", _forces(shape, at, forces, float(answer["weight_kn"])))]
    told = "; ".join(f"{load['name']} {_kn(kn)}" for load, kn in zip(answer["loads"], forces, strict=True))
    return figure("anchor-drawing", name, shape.title, f"Hanging still: {told}.", (wide, tall), parts)


class _Shape:
    """Points in metres, z up: anchors, lines with the load that is on each, where the load hangs, where it would."""

    def __init__(self, title: str, anchors: Sequence[Point], lines: Sequence[tuple[Point, Point]], load: Point) -> None:
        self.title, self.anchors, self.lines, self.load = title, anchors, lines, load
        #: For each force of the answer its line, or None where the drawing shows none.
        self.where: list[tuple[Point, Point] | None] = list(lines)
        self.failed: list[tuple[Point, Point]] = []
        self.tilt = 0.0

    @property
    def points(self) -> list[Point]:
        """Everything that must be seen."""
        return [*self.anchors, *(end for line in (*self.lines, *self.failed) for end in line), self.load]


def _y_hang(drawn: Mapping[str, Any]) -> _Shape:
    anchors = [(float(x), float(z)) for x, _out, z in drawn["anchors"]]
    knot = (float(drawn["knot"][0]), float(drawn["knot"][2]))
    shape = _Shape("Y-hang from the front", anchors, [(each, knot) for each in anchors], knot)
    shape.tilt = math.radians(float(drawn.get("aside_deg") or 0.0))
    for failed in drawn.get("failed") or ():
        there = (float(failed["knot"][0]), float(failed["knot"][2]))
        shape.failed += [(each, there) for leg, each in enumerate(anchors) if leg != failed["leg"]]
    return shape


def _deviations(drawn: Mapping[str, Any]) -> _Shape:
    held = [(float(x), float(z)) for x, _out, z in drawn["deviations"]]
    points = [(float(x), float(z)) for x, _out, z in drawn["points"]]
    way = [(0.0, 0.0), *points]
    foot = (points[-1][0], points[-1][1] - max(1.0, 0.3 * abs(points[-1][1])))
    lines = [*zip(way, [*way[1:], foot], strict=True)]
    slings = list(zip(points, held, strict=True))
    shape = _Shape("Rope drawn aside by deviations", [(0.0, 0.0), *held], [*lines, *slings], foot)
    shape.where = [lines[0], *slings]
    return shape


def _traverse(drawn: Mapping[str, Any]) -> _Shape:
    near, far = (0.0, 0.0), (float(drawn["span_m"]), -float(drawn["drop_m"]))
    load = (float(drawn["load"][0]), float(drawn["load"][1]))
    shape = _Shape("Traverse line with a caver on it", [near, far], [(near, load), (load, far)], load)
    shape.where = [(near, load), (load, far), None]
    return shape


def _placed(points: Sequence[Point], wide: int) -> tuple[Any, float]:
    """From metres to the drawing, one scale both ways, z up; and how tall it becomes [px]."""
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(z for _, z in points), max(z for _, z in points)
    tall = _TALL * (1 - _ARROW)
    scale = min((wide - 2 * _MARGIN) / max(right - left, 0.2), tall / max(high - low, 0.2))
    shift = (wide - (right - left) * scale) / 2

    def at(point: Point) -> Point:
        return (shift + (point[0] - left) * scale, 34 + (high - point[1]) * scale)

    return at, 34 + max((high - low) * scale, 40.0) + _TALL * _ARROW + 30


def _rock(shape: _Shape, at: Any) -> list[Primitive]:
    return [Ring(at(each)[0], at(each)[1], _RING, PLAIN) for each in shape.anchors]


def _ropes(shape: _Shape, at: Any) -> list[Primitive]:
    return [Stroke((at(a), at(b)), BOLD if number < 8 else PLAIN) for number, (a, b) in enumerate(shape.lines)]


def _failed(shape: _Shape, at: Any) -> list[Primitive]:
    return [Stroke((at(a), at(b)), FINE, dashed=True) for a, b in shape.failed]


def _forces(shape: _Shape, at: Any, forces: Sequence[float], weight_kn: float) -> list[Primitive]:
    """A number beside each line, and the load as an arrow with its own."""
    drawn: list[Primitive] = []
    x, y = at(shape.load)
    long = _TALL * _ARROW
    tip = (x + long * math.sin(shape.tilt), y + long * math.cos(shape.tilt))
    drawn.append(Stroke(((x, y), tip), PLAIN))
    head = shape.tilt
    for side in (-1, 1):
        back = head + side * 0.4
        drawn.append(Stroke((tip, (tip[0] - 11 * math.sin(back), tip[1] - 11 * math.cos(back))), PLAIN))
    drawn.append(words(tip[0] + 8, tip[1] + 4, _kn(weight_kn), TEXT_PT))
    anchors = [at(each) for each in shape.anchors]
    centre = (sum(px for px, _ in anchors) / len(anchors), sum(py for _, py in anchors) / len(anchors))
    for kn, line in zip(forces, shape.where, strict=False):
        if line is not None:
            drawn.append(_beside(at(line[0]), at(line[1]), centre, _kn(kn)))
    return drawn


def _beside(a: Point, b: Point, centre: Point, text: str) -> Text:
    """Words beside the middle of a line, away from the middle of the anchors; beside a short one, at its end."""
    long = math.hypot(b[0] - a[0], b[1] - a[1]) or 1.0
    if long < 60:
        right = b[0] >= a[0]
        return words(b[0] + (14 if right else -14), b[1] + 5.5, text, TEXT_PT, at="start" if right else "end")
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    across = ((b[1] - a[1]) / long, -(b[0] - a[0]) / long)
    away = (middle[0] - centre[0]) * across[0] + (middle[1] - centre[1]) * across[1]
    across = across if away >= 0 else (-across[0], -across[1])
    far = 10 + 9 * abs(across[1])
    at = "middle" if abs(across[0]) < 0.25 else "end" if across[0] < 0 else "start"
    return words(middle[0] + far * across[0], middle[1] + far * across[1] + 5.5, text, TEXT_PT, at=at)


def _kn(kn: float) -> str:
    return f"{kn:.1f}{THIN_SPACE}kN"
