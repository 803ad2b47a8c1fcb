"""The elevation: pitches to scale as placed primitives, each depth a dimension line, each rope a heavy line.

Vertical distances are always to scale. Signs (anchors, loops) keep their size, so that they can be read.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from tethera.labels import symbols
from tethera.labels.facts import AnchorFacts, Facts, along_m, anchors_of, drawn_depth_m, is_traverse, metres_words
from tethera.labels.fonts import MM_PER_POINT, width_mm
from tethera.labels.numbers import number_labels
from tethera.labels.page import HEAVY, MEDIUM, THIN, Box, Primitive, Stroke, Text

#: Steps of a scale within a decade; finer than ISO 5455's 1, 2, 5, for a larger drawing on a small page.
_STEPS = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 7.5)
_LARGEST_SCALE = 100
DIMENSION_PT = 13.0
#: Room left of the drawn field for a dimension line and its number [mm].
DIMENSION_MM = 21.0
_HEAD_PAD, _FOOT_PAD, _SIDE_PAD = 9.0, 3.5, 6.0
_NEAR_MM = 6.0
#: The shortest dimension line with its arrowheads inside [mm].
_INSIDE_MM = 7.0


def scale_for(metres: float, millimetres: float) -> float:
    """The largest scale 1:n at which `metres` fit into `millimetres`.

    >>> scale_for(45.0, 120.0), scale_for(3.0, 120.0)
    (400, 100)
    """
    decade = _LARGEST_SCALE
    while True:
        for step in _STEPS:
            if metres * 1000 / (step * decade) <= millimetres + 1e-9:
                return int(step * decade)
        decade *= 10


def scale_of_pitches(pitches: Iterable[Facts], width: float, height: float) -> float:
    """One scale for every pitch of a route, so that they can be compared by eye."""
    scale: float = _LARGEST_SCALE
    for pitch in pitches:
        left, right, top, bottom = _extent_m(pitch)
        room = (width - 2 * _SIDE_PAD, height - _HEAD_PAD - _FOOT_PAD)
        scale = max(scale, scale_for(right - left, room[0]), scale_for(bottom - top, room[1]))
    return scale


def _extent_m(pitch: Facts) -> tuple[float, float, float, float]:
    anchors = anchors_of(pitch)
    along = [0.0, *(anchor.along_m for anchor in anchors), *([along_m(pitch)] if is_traverse(pitch) else [])]
    down = [0.0, drawn_depth_m(pitch), *(anchor.down_m for anchor in anchors)]
    return min(along), max(along), min(down), max(down)


@dataclass(frozen=True, slots=True)
class PitchDrawing:
    """A pitch placed on a page [mm]: where each anchor came to lie, for its label, and the bottom of the drawing."""

    primitives: tuple[Primitive, ...]
    anchors: tuple[tuple[float, float], ...]
    numbered: tuple[bool, ...]  # whether the anchor's number found room beside its sign
    bottom: float


def pitch_height(pitch: Facts, scale: float) -> float:
    """Height of the drawn pitch [mm], with room for its signs."""
    _, _, top, bottom = _extent_m(pitch)
    inside = drawn_depth_m(pitch) * 1000 / scale >= _INSIDE_MM
    return (bottom - top) * 1000 / scale + _HEAD_PAD + (_FOOT_PAD if inside else 2 * _FOOT_PAD)


def draw_pitch(pitch: Facts, x: float, y: float, width: float, scale: float) -> PitchDrawing:
    """The pitch in a field `width` mm wide with its top left corner at (x, y); the dimension stands left of it.

    A traverse leads along only: it has no dimension, and the far side in place of a foot.
    """
    mm = 1000 / scale
    left, _, top, _ = _extent_m(pitch)
    head_x, head_y = x + _SIDE_PAD - left * mm, y + _HEAD_PAD - top * mm
    anchors = anchors_of(pitch)
    places = _set_apart([(head_x + a.along_m * mm, head_y + a.down_m * mm) for a in anchors], x + width - 4)
    foot_y = head_y + drawn_depth_m(pitch) * mm
    run = [(a, p) for a, p in zip(anchors, places, strict=True) if a.place_known or a.role]
    across = is_traverse(pitch)
    if across and not run:
        line, signs, last_x = _traverse_line(head_x, head_x + along_m(pitch) * mm, head_y)
    else:
        line, signs, last_x = _rope_and_signs(run, head_x, head_y, foot_y)
    numbers, labelled = number_labels(anchors, places, (head_x, head_y), line)
    primitives = [
        *symbols.hatch(x, head_x - 0.6, head_y),
        *symbols.hatch(last_x + 0.6 if across else max(x, last_x - 5), min(x + width, last_x + 9), foot_y),
        *line,
        *signs,
        *numbers,
        *([] if across else depth_dimension(pitch.get("depth_m"), x - 3.5, head_y, foot_y, x)),
    ]
    return PitchDrawing(tuple(primitives), tuple(places), labelled, y + pitch_height(pitch, scale))


def _set_apart(places: Sequence[tuple[float, float]], right: float) -> list[tuple[float, float]]:
    """Signs too near each other moved on along the wall, as far as the field allows; heights stay true."""
    apart: list[tuple[float, float]] = []
    for x, y in places:
        if apart and abs(y - apart[-1][1]) < _NEAR_MM / 2 and abs(x - apart[-1][0]) < _NEAR_MM:
            x = max(x, min(apart[-1][0] + _NEAR_MM, right))
        apart.append((x, y))
    return apart


def _traverse_line(x: float, end: float, y: float) -> tuple[list[Primitive], list[Primitive], float]:
    """A traverse of which only the metres are known: a line between two anchors of unknown kind."""
    return symbols.sag(x, y, end, y), [*symbols.anchor("anchor", x, y), *symbols.anchor("anchor", end, y)], end


def _rope_and_signs(
    run: Sequence[tuple[AnchorFacts, tuple[float, float]]], head_x: float, head_y: float, foot_y: float
) -> tuple[list[Primitive], list[Primitive], float]:
    line: list[Primitive] = []
    signs: list[Primitive] = []
    at = (head_x, head_y)
    holding = [place for anchor, place in run if anchor.role != "deviation"]
    started = False
    for index, (anchor, place) in enumerate(run):
        if anchor.role == "deviation":
            goal = next((p for a, p in run[index + 1 :] if a.role != "deviation"), (at[0], foot_y))
            eye = _deviated(anchor, place, at, goal)
            line.append(Stroke((at, eye), HEAVY, role="rope"))
            signs += symbols.sling(*place, eye[0]) + symbols.anchor(anchor.kind, *place, anchor.bolts)
            at = eye
            continue
        if started:
            line += _leg(anchor, at, place)
        signs += _sign(anchor, place)
        at, started = place, True
    last_x = holding[-1][0] if holding else head_x
    line.append(Stroke((at, (last_x, max(foot_y, at[1]))), HEAVY, role="drop"))
    if not run:
        signs += symbols.anchor("anchor", head_x, head_y)
    return line, signs, last_x


def _leg(anchor: AnchorFacts, start: tuple[float, float], end: tuple[float, float]) -> list[Primitive]:
    along = anchor.role != "rebelay" and abs(end[0] - start[0]) > abs(end[1] - start[1])
    if anchor.role in ("traverse", "hand-line") or along:
        return symbols.sag(*start, *end, dashed=anchor.role == "hand-line")
    return [Stroke((start, end), HEAVY, role="rope")]


def _deviated(
    anchor: AnchorFacts, place: tuple[float, float], start: tuple[float, float], goal: tuple[float, float]
) -> tuple[float, float]:
    """Where the rope runs through the sling's eye: short of the anchor, on the side the rope comes from."""
    drop = goal[1] - start[1]
    share = (place[1] - start[1]) / drop if abs(drop) > 1e-9 else 0.0
    straight = start[0] + (goal[0] - start[0]) * share
    side = -1.0 if place[0] >= straight else 1.0
    return place[0] + side * 3.0, place[1]


def _sign(anchor: AnchorFacts, place: tuple[float, float]) -> list[Primitive]:
    x, y = place
    if anchor.role == "y-hang":
        signs = symbols.y_hang(anchor.kind, x, y)
    else:
        signs = symbols.anchor(anchor.kind, x, y, anchor.bolts)
    if anchor.role == "backup":
        signs += symbols.backup(x, y)
    if anchor.role == "rebelay":
        signs += symbols.loop(x, y)
    if anchor.change:
        signs += symbols.change(x, y)
    if anchor.rub:
        signs += symbols.rub(x, y)
    return signs


def depth_dimension(depth_m: float | None, x: float, top: float, bottom: float, reach: float) -> list[Primitive]:
    """A vertical dimension (ISO 129): extension lines, arrowheads, the number left of the line.

    Where the heads do not fit between the lines they stand outside and point inwards.
    """
    em = DIMENSION_PT * MM_PER_POINT
    words = "?" if depth_m is None else metres_words(depth_m)
    middle = (top + bottom) / 2 + 0.34 * em
    inside = bottom - top >= _INSIDE_MM
    drawn: list[Primitive] = [
        *(Stroke(((x - 1.6, y), (reach, y)), THIN, role="extension") for y in (top, bottom)),
        Stroke(((x, top), (x, bottom)) if inside else ((x, top - 5), (x, bottom + 5)), 0.3, role="depth"),
        Text(x - 2.6 - width_mm(words, DIMENSION_PT), middle, words, DIMENSION_PT),
    ]
    for tip, away in ((top, 1.0), (bottom, -1.0)):
        tail = tip + (2.8 * away if inside else -2.8 * away)
        drawn.append(Stroke(((x, tip), (x - 0.85, tail), (x + 0.85, tail)), 0.0, fill=True, role="arrowhead"))
    return drawn


def scale_bar(scale: float, x: float, y: float, longest: float = 40.0) -> list[Primitive]:
    """A bar of a round number of metres, its ends ticked, y its baseline; the words beside it name the scale."""
    metres = _round_metres(longest * scale / 1000)
    length = metres * 1000 / scale
    half = length / 2
    words = f"{_bar_words(metres)}   1:{scale:g}"
    return [
        Box(x, y - 1.4, length, 1.4, 0.0, THIN, "scale bar"),
        Stroke(((x, y - 1.4), (x + half, y - 1.4), (x + half, y), (x, y)), 0.0, fill=True),
        Text(x + length + 1.8, y, words, 9),
    ]


def _bar_words(metres: float) -> str:
    return metres_words(metres)


def _round_metres(longest: float) -> float:
    best, decade = 1.0, 1.0
    while decade <= longest:
        best = max([step * decade for step in (1, 2, 5) if step * decade <= longest], default=best)
        decade *= 10
    return best


@dataclass(frozen=True, slots=True)
class Overview:
    """Several pitches one under another as they lie in the cave [mm]; `heads` and `feet` for their labels."""

    primitives: tuple[Primitive, ...]
    heads: tuple[tuple[float, float], ...]
    feet: tuple[tuple[float, float], ...]
    scale: float
    true_along: bool


def head_kind(pitch: Facts) -> str:
    """What the rope hangs from at the head, where it is listed; else an anchor that is not known."""
    return next((anchor.kind for anchor in anchors_of(pitch) if anchor.role != "deviation"), "anchor")


def draw_overview(pitches: Sequence[Facts], x: float, y: float, width: float, height: float) -> Overview:
    """The pitches in a field; when they spread too wide, depths keep the scale and the way along is drawn shorter."""
    tops = [float(pitch.get("top_m") or 0.0) for pitch in pitches]
    alongs = [float(pitch.get("x_m") or 0.0) for pitch in pitches]
    depths = [drawn_depth_m(pitch) * (-1 if pitch.get("direction") == "up" else 1) for pitch in pitches]
    shifts = [along_m(pitch) if is_traverse(pitch) or anchors_of(pitch) else 0.0 for pitch in pitches]
    ends = [top + depth for top, depth in zip(tops, depths, strict=True)]
    above, below = min([*tops, *ends], default=0.0), max([*tops, *ends], default=1.0)
    scale = scale_for(max(below - above, 1.0), height - 6)
    left = min(alongs, default=0.0)
    wide = max((a + s for a, s in zip(alongs, shifts, strict=True)), default=0.0) - left
    across = 1000 / max(scale, wide * 1000 / (width - 8)) if wide > 0 else 1000 / scale
    mm = 1000 / scale
    heads = [(x + 4 + (a - left) * across, y + 3 + (t - above) * mm) for a, t in zip(alongs, tops, strict=True)]
    feet = [
        (hx + shift * across, hy + depth * mm) for (hx, hy), shift, depth in zip(heads, shifts, depths, strict=True)
    ]
    drawn: list[Primitive] = []
    for foot, head in pairwise([p for pair in zip(heads, feet, strict=True) for p in pair][1:]):
        drawn.append(Stroke((foot, head), MEDIUM, role="passage"))
    drawn = drawn[::2]
    for pitch, head, foot in zip(pitches, heads, feet, strict=True):
        lip = (foot[0], head[1])
        drawn.append(Stroke((head, lip, foot) if lip != head else (head, foot), HEAVY, role="drop"))
        drawn.append(Stroke(((foot[0] - 1.6, foot[1]), (foot[0] + 1.6, foot[1])), MEDIUM))
        drawn += symbols.anchor(head_kind(pitch), *head)
    return Overview(tuple(drawn), tuple(heads), tuple(feet), scale, across > mm * 0.999)
