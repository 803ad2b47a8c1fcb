"""One pitch on the sheet: its name and numbers, the drawing to scale, and its anchors beside the drawing."""

from tethera.labels.drawing import DIMENSION_MM, draw_pitch, pitch_height, scale_bar
from tethera.labels.facts import (
    AnchorFacts,
    Facts,
    anchors_of,
    broken_lines,
    extent_tokens,
    kit_words,
    lengths_of,
    metres_words,
    need_up,
    rope_tokens,
    rope_words,
)
from tethera.labels.flow import BODY, LEFT, RIGHT, Flow
from tethera.labels.fonts import width_mm
from tethera.labels.page import (
    MEDIUM,
    THIN,
    Stroke,
    Text,
    Token,
    break_lines,
    leading_mm,
    rich,
    set_line,
    spread,
)

FIELD, FIELD_WIDTH = LEFT + DIMENSION_MM, 38.0
_NUMBER, _LIST = 76.0, 83.0
_NUMBER_PT, _NAME_PT = 12.0, 15.0
_ROW_GAP = 1.5
#: The most a pitch may take of a page, so that its head and its kit stand on the same side [mm].
TALLEST, TWO_ON_A_SIDE = 118.0, 69.0

Lines = list[list[tuple[float, Token]]]


def pitch_block(flow: Flow, sheet: Facts, pitch: Facts, scale: float) -> None:
    """The pitch, kept on one side; anchors too many for the side go on overleaf as a list."""
    rows = [_anchor_lines(sheet, anchor) for anchor in anchors_of(pitch)] or [_coarse_lines(pitch)]
    heights = [len(row) * leading_mm(BODY) + _ROW_GAP for row in rows]
    drawn = pitch_height(pitch, scale)
    head = _head_lines(sheet, pitch)
    before = sum(max(1, len(break_lines(words, RIGHT - LEFT, size))) * leading_mm(size) for size, words in head) + 6.0
    flow.need(before + min(max(drawn, sum(heights) + 4), TALLEST) + 6 + 6)
    if not _has_bar(flow):
        _bar(flow, scale)
    _set_head(flow, head)
    room = flow.room - 4
    fit = _how_many(heights, max(room, drawn))
    _drawing(flow, pitch, rows[:fit], heights[:fit], scale)
    if fit < len(rows):
        flow.turn()
        _bar(flow, scale)
        _set_head(flow, [(_NAME_PT, rich(f"{pitch.get('name') or 'no name'}, anchors continued", bold=True))])
        _rest(flow, anchors_of(pitch)[fit:], rows[fit:], heights[fit:])
    _under(flow, sheet, pitch)
    flow.gap(3.0)


def _has_bar(flow: Flow) -> bool:
    return any(getattr(item, "role", "") == "scale bar" for item in flow.pages[-1].primitives)


def _bar(flow: Flow, scale: float) -> None:
    note = "depths to scale, crowded signs set apart"
    flow.add(*scale_bar(scale, LEFT, flow.y + 3.5, longest=30.0))
    flow.add(Text(RIGHT - width_mm(note, 9), flow.y + 3.5, note, 9))
    flow.gap(7.0)


def _how_many(heights: list[float], room: float) -> int:
    total = 0.0
    for index, height in enumerate(heights):
        total += height
        if total > room and index:
            return index
    return len(heights)


def _head_lines(sheet: Facts, pitch: Facts) -> list[tuple[float, list[Token]]]:
    """Name and depth; then the ropes and the need. (size [pt], tokens)."""
    lengths = lengths_of(sheet)
    name = [*rich(pitch.get("name") or "no name", bold=True), *extent_tokens(pitch)]
    names = list(pitch.get("ropes") or ())
    ropes = [token for rope in names for token in rope_tokens(rope, lengths.get(rope))]
    need = pitch.get("rope_needed_cm")
    if need is not None:
        length = lengths.get(names[0]) if len(names) == 1 else None
        words = Token("capsule", rope_words(need, up=need_up(need, length)))
        ropes += [*rich("takes" if ropes else "needs"), words]
    guide = pitch.get("guide_rope_cm")
    if guide is not None:
        ropes += [*rich("guide says"), Token("capsule", rope_words(guide))]
    return [(_NAME_PT, name), (11.5, ropes), *((11.5, line) for line in broken_lines(sheet, pitch))]


def _set_head(flow: Flow, head: list[tuple[float, list[Token]]]) -> None:
    flow.rule(MEDIUM, 0.8)
    for size, tokens in head:
        flow.say(tokens, size)
    flow.gap(0.6)


def _anchor_lines(sheet: Facts, anchor: AnchorFacts) -> Lines:
    """What stands beside an anchor: what it is, where it is, and the rope that begins there."""
    where = _where(anchor)
    what = rich(anchor.words + ("," if where else ""))
    lines = break_lines([*what, *where], RIGHT - _LIST, BODY)
    if len(lines) > 1:
        lines = break_lines(what, RIGHT - _LIST, BODY) + break_lines(where, RIGHT - _LIST, BODY)
    if anchor.rub:
        lines += break_lines(rich("rope rubs: protect it"), RIGHT - _LIST, BODY)
    if anchor.change:
        change = rich("change to" if anchor.rope else "change of rope")
        change += rope_tokens(anchor.rope, lengths_of(sheet).get(anchor.rope)) if anchor.rope else []
        lines += break_lines(change, RIGHT - _LIST, BODY)
    return lines + break_lines(rich(anchor.note), RIGHT - _LIST, BODY)


def _where(anchor: AnchorFacts) -> list[Token]:
    if not anchor.place_known:
        return rich("place not known")
    parts: list[list[Token]] = []
    if anchor.down_m:
        above = rich(f"{metres_words(-anchor.down_m)} above the head")
        parts.append(above if anchor.down_m < 0 else [Token("depth", metres_words(anchor.down_m))])
    if anchor.along_m:
        parts.append(rich(f"{metres_words(anchor.along_m)} along"))
    if anchor.sling_m is not None:
        parts.append(rich(f"sling {metres_words(anchor.sling_m)}"))
    comma = Token("word", ",", glued=True)
    return [token for part in parts for token in (*part, comma)][:-1]


def _coarse_lines(pitch: Facts) -> Lines:
    count = pitch.get("count_anchors")
    words = "anchors not known" if count is None else f"{count} anchor{'' if count == 1 else 's'}, places not known"
    return break_lines(rich(words), RIGHT - _LIST, BODY)


def _drawing(flow: Flow, pitch: Facts, rows: list[Lines], heights: list[float], scale: float) -> None:
    top = flow.y
    drawn = draw_pitch(pitch, FIELD, top, FIELD_WIDTH, scale)
    flow.add(*drawn.primitives)
    places = drawn.anchors or ((FIELD + 4.5, (top + drawn.bottom) / 2),)
    order = sorted(range(len(rows)), key=lambda index: places[index][1])
    wanted = [places[index][1] + heights[index] / 2 - 0.5 * leading_mm(BODY) for index in order]
    tops = spread(wanted, [heights[index] for index in order], top + 1.5, drawn.bottom)
    anchors = anchors_of(pitch)
    for index, y in zip(order, tops, strict=True):
        middle = y + 0.5 * leading_mm(BODY)
        if anchors:
            if not drawn.numbered[index]:
                _leader(flow, places[index], middle)
            _row(flow, anchors[index].number, rows[index], y)
        else:
            _row(flow, "", rows[index], y)
    ends = [y + heights[index] for index, y in zip(order, tops, strict=True)]
    flow.y = max([drawn.bottom, *ends]) + 1.0


def _leader(flow: Flow, place: tuple[float, float], middle: float) -> None:
    """A thin line from an anchor to its words, level at both ends."""
    start = min(place[0] + 2.6, FIELD + FIELD_WIDTH)
    elbow = FIELD + FIELD_WIDTH + 0.5
    points = ((start, place[1]), (max(elbow, start), place[1]), (_NUMBER - 4.0, middle), (_NUMBER - 1.2, middle))
    flow.add(Stroke(points, THIN, role="leader"))


def _row(flow: Flow, number: str, lines: Lines, y: float) -> None:
    baseline = y + leading_mm(BODY) * 0.72
    size = _NUMBER_PT if len(number) < 3 else BODY
    if number:
        flow.add(Text(_NUMBER, baseline, number[:4], size, True))
    for index, line in enumerate(lines):
        flow.add(*set_line(line, _LIST, baseline + index * leading_mm(BODY), BODY))


def _rest(flow: Flow, anchors: tuple[AnchorFacts, ...], rows: list[Lines], heights: list[float]) -> None:
    for anchor, row, height in zip(anchors, rows, heights, strict=True):
        flow.need(height)
        _row(flow, anchor.number, row, flow.y)
        flow.gap(height)


def _under(flow: Flow, sheet: Facts, pitch: Facts) -> None:
    """Kit, flags, notes and second lines, under the drawing and across the page."""
    known_by = pitch.get("depth_known_by")
    parts = [kit_words(pitch), *(pitch.get("flags") or ()), f"depth from {known_by}" if known_by else ""]
    words = "; ".join(part for part in parts if part)
    if words:
        flow.say_words(f"{words[0].upper()}{words[1:]}.")
    lengths = lengths_of(sheet)
    for line in pitch.get("lines") or ():
        tokens = rich("Second line:")
        if isinstance(line, str):
            tokens += rope_tokens(line, lengths.get(line))
        else:
            rope = line.get("rope") or line.get("name") or "no rope named"
            tokens += rope_tokens(rope, line.get("length_cm") or lengths.get(rope))
        flow.say(tokens)
    for note in pitch.get("notes") or ():
        flow.say(rich(note), bar=True)
