"""The labels of the whole-route elevation: each pitch's name, depth and ropes beside the drawing."""

from collections.abc import Sequence

from tethera.labels.drawing import Overview
from tethera.labels.facts import Facts, broken_at, extent_tokens, lengths_of, rope_tokens
from tethera.labels.page import THIN, Primitive, Stroke, Token, break_lines, leading_mm, rich, set_line, spread

LABEL_PT = 10.0
_GAP_MM = 1.6


def label_lines(sheet: Facts, pitch: Facts, width: float, tight: bool) -> list[list[tuple[float, Token]]]:
    """What stands beside a pitch, broken to `width` [mm]: the name and depth, then its ropes on a line of their own."""
    lengths = lengths_of(sheet)
    ropes = [token for rope in pitch.get("ropes") or () for token in rope_tokens(rope, lengths.get(rope))]
    if any(each.get("gone") for each in broken_at(sheet, pitch)):
        ropes += rich("no rope", bold=True)
    name = [*rich(pitch.get("name") or "no name", bold=True), *extent_tokens(pitch)]
    if tight:
        return break_lines([*name, *ropes], width, LABEL_PT)
    return break_lines(name, width, LABEL_PT) + break_lines(ropes, width, LABEL_PT)


def label_heights(sheet: Facts, pitches: Sequence[Facts], width: float, tight: bool) -> list[float]:
    """Height of each pitch's label [mm] with the gap under it."""
    return [len(label_lines(sheet, pitch, width, tight)) * leading_mm(LABEL_PT) + _GAP_MM for pitch in pitches]


def overview_labels(
    sheet: Facts,
    pitches: Sequence[Facts],
    drawn: Overview,
    column: tuple[float, float, float, float],
    tight: bool = False,
) -> tuple[list[Primitive], float]:
    """Labels in a column (left, right, top, bottom) [mm], each with a leader to its pitch, and where they end."""
    x, right, top, bottom = column
    blocks = [label_lines(sheet, pitch, right - x, tight) for pitch in pitches]
    heights = label_heights(sheet, pitches, right - x, tight)
    middles = [(head[1] + foot[1]) / 2 for head, foot in zip(drawn.heads, drawn.feet, strict=True)]
    tops = spread(middles, heights, top, bottom)
    placed: list[Primitive] = []
    for block, y, middle, foot in zip(blocks, tops, middles, drawn.feet, strict=True):
        lead = y + 0.5 * leading_mm(LABEL_PT)
        placed.append(Stroke(((foot[0] + 1.2, middle), (x - 5.0, lead), (x - 1.0, lead)), THIN, role="leader"))
        for index, line in enumerate(block):
            placed += set_line(line, x, y + leading_mm(LABEL_PT) * (index + 0.72), LABEL_PT)
    return placed, max((y + h for y, h in zip(tops, heights, strict=True)), default=top)
