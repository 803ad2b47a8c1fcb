"""A reel as it is cut: one rope to scale, a stroke at every cut, each piece with its length."""

from collections.abc import Mapping, Sequence
from typing import Any

from tethera.labels.figure import BOLD, FINE, PLAIN, SMALL_PT, Part, capsule_in, capsule_size, figure, metres, words
from tethera.labels.page import Primitive, Stroke

_ROPE_Y, _LANE, _EDGE = 16.0, 30.0, 14.0


def reel_svg(reel: Mapping[str, Any], *, wide: int = 640, name: str = "reel") -> str:
    """The pieces of a reel in the order they are cut, `wide` px wide at its own size (340 for a telephone).

    `reel` is {length_cm, spans: [[from_cm, to_cm], …], off_cut_cm, gone: [[from_cm, to_cm], …]}: `gone` are damaged
    places that are cut out; it and `off_cut_cm` may be left out. Labels that would lie over each other go into lanes
    below, each led to its piece.
    """
    length = int(reel["length_cm"])
    spans = [(int(a), int(b)) for a, b in reel["spans"]]
    gone = [(int(a), int(b)) for a, b in reel.get("gone", ())]
    per_px = max(length, 1) / (wide - 2 * _EDGE)

    def at(cm: float) -> float:
        return _EDGE + cm / per_px

    ends = {0, length, *(end for span in spans for end in span)}
    rope: list[Primitive] = [Stroke(((at(a), _ROPE_Y), (at(b), _ROPE_Y)), 2 * BOLD, role="rope") for a, b in spans]
    rope += [Stroke(((at(cm), _ROPE_Y - 12), (at(cm), _ROPE_Y + 12)), PLAIN) for cm in sorted(ends)]
    rest: list[Primitive] = []
    for a, b in _rests(length, [*spans, *gone]):
        rest.append(Stroke(((at(a), _ROPE_Y), (at(b), _ROPE_Y)), FINE, dashed=True))
    for a, b in gone:
        rest += [
            Stroke(((at(a), _ROPE_Y - 8), (at(b), _ROPE_Y + 8)), PLAIN),
            Stroke(((at(a), _ROPE_Y + 8), (at(b), _ROPE_Y - 8)), PLAIN),
        ]
    labels, lanes = _labels([(at((a + b) / 2), metres(b - a)) for a, b in spans], float(wide))
    bottom = _ROPE_Y + 18 + _LANE * max(lanes, 1)
    off_cut = int(reel.get("off_cut_cm") or 0)
    told = ", ".join(metres(b - a) for a, b in spans) or "no piece"
    said = [f"Pieces in the order they are cut: {told}."]
    if off_cut:
        labels.append(words(wide - 2, bottom + 14, f"left over: {metres(off_cut)}", SMALL_PT, at="end"))
        said.append(f"Left over: {metres(off_cut)}.")
        bottom += 20
    said += [f"Cut out as damaged: {metres(b - a)} from {metres(a)} on." for a, b in gone]
    parts = [Part("rest", rest), Part("pieces", rope), Part("lengths", labels)]
    return figure("reel-chart", name, f"A reel of {metres(length)} as it is cut", " ".join(said), (wide, bottom), parts)


def _rests(length: int, taken: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    rests, at = [], 0
    for start, end in sorted(taken):
        if start > at:
            rests.append((at, start))
        at = max(at, end)
    return [*rests, (at, length)] if at < length else rests


def _labels(wanted: Sequence[tuple[float, str]], wide: float) -> tuple[list[Primitive], int]:
    """Each length in its capsule below its piece, in the first lane with room; and how many lanes that takes."""
    drawn: list[Primitive] = []
    filled: list[float] = []
    for middle, text in wanted:
        width, _ = capsule_size(text)
        left = min(max(middle - width / 2, 1.0), wide - width - 1.0)
        lane = next((n for n, end in enumerate(filled) if left > end + 4), len(filled))
        filled += [0.0] * (lane + 1 - len(filled))
        filled[lane] = left + width
        top = _ROPE_Y + 20 + lane * _LANE
        if lane:
            drawn.append(Stroke(((middle, _ROPE_Y + 6), (middle, top)), FINE))
        drawn += capsule_in(left, top, text)
    return drawn, len(filled)
