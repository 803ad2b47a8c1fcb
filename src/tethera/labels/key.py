"""The key of the signs, printed on every sheet for the signs it uses: there is no standard one in the trade."""

from collections.abc import Callable, Sequence

from tethera.labels import symbols
from tethera.labels.facts import Facts, anchors_of, is_traverse
from tethera.labels.flow import BODY, LEFT, Flow
from tethera.labels.page import (
    HEAVY,
    MEDIUM,
    THIN_SPACE,
    Primitive,
    Stroke,
    Token,
    break_lines,
    capsule,
    leading_mm,
    rich,
    set_line,
    set_token,
)

_ROW, _SIGN, _COLUMN = 9.0, 13.0, 43.0
#: Height of the line with the two kinds of number [mm].
_NUMBERS = 8.5


def key(flow: Flow, pitches: Sequence[Facts]) -> None:
    """The signs drawn for these pitches in three columns, then the two kinds of number."""
    used = signs_of(pitches)
    signs = [sign for sign in SIGNS if sign[0] in used]
    rows = -(-len(signs) // 3)
    flow.heading("Key", keep=min(rows, 5) * _ROW)
    _grid(flow, signs, rows)
    flow.gap(3.0)
    flow.need(_NUMBERS)
    _numbers(flow)


def signs_of(pitches: Sequence[Facts]) -> set[str]:
    """Names of the signs drawn for these pitches, as the key names them."""
    used = {"head or foot"} if pitches else set()
    if len(pitches) > 1:
        used.add("way between pitches")
    for pitch in pitches:
        anchors = anchors_of(pitch)
        if not anchors or any(not anchor.place_known and not anchor.role for anchor in anchors):
            used.add("anchor not known")
        if is_traverse(pitch):
            used.add("traverse")
        for anchor in anchors:
            used |= {"anchor not known" if anchor.kind == "anchor" else anchor.kind, anchor.words_of_role}
            used |= {"two bolts"} if anchor.bolts > 1 and anchor.role != "y-hang" else set()
            used |= {"change of rope"} if anchor.change else set()
            used |= {"rope rubs"} if anchor.rub else set()
    return used


def _grid(flow: Flow, signs: Sequence[tuple[str, Callable[[float, float], list[Primitive]]]], rows: int) -> None:
    top = flow.y
    for index, (words, draw) in enumerate(signs):
        x = LEFT + _COLUMN * (index // rows)
        y = top + _ROW * (index % rows + 0.5)
        flow.add(*draw(x + _SIGN / 2 - 1, y))
        lines = break_lines(rich(words), _COLUMN - _SIGN - 1, BODY)
        first = y - (len(lines) - 1) * leading_mm(BODY) / 2 + 1.2
        for number, line in enumerate(lines):
            flow.add(*set_line(line, x + _SIGN, first + number * leading_mm(BODY), BODY))
    flow.y = top + rows * _ROW


def _numbers(flow: Flow) -> None:
    y = flow.y + _NUMBERS - 3.0
    flow.add(*capsule(f"30{THIN_SPACE}m", LEFT, y, 12))
    flow.add(*set_line(break_lines(rich("a length of rope"), 50, BODY)[0], LEFT + 17, y, BODY))
    flow.add(*set_token(Token("depth", f"22{THIN_SPACE}m"), LEFT + 62, y, 12))
    flow.add(*set_line(break_lines(rich("a depth, never rope"), 50, BODY)[0], LEFT + 78, y, BODY))
    flow.y = y + 3.0


def _drop(x: float, y: float, length: float = 3.6) -> Stroke:
    return Stroke(((x, y), (x, y + length)), HEAVY)


def _traverse(x: float, y: float) -> list[Primitive]:
    return [*symbols.anchor("bolt", x - 4, y - 0.8), *symbols.anchor("bolt", x + 4, y - 0.8),
            *symbols.sag(x - 4, y - 0.8, x + 4, y - 0.8)]  # fmt: skip


def _hand_line(x: float, y: float) -> list[Primitive]:
    return [*symbols.anchor("bolt", x - 4, y - 1.6), Stroke(((x - 4, y - 1.6), (x + 4.5, y + 1.6)), HEAVY, dashed=True)]


def _backup(x: float, y: float) -> list[Primitive]:
    return [*symbols.anchor("bolt", x, y), *symbols.backup(x, y)]


def _y_hang(x: float, y: float) -> list[Primitive]:
    return [_drop(x, y), *symbols.y_hang("bolt", x, y)]


def _rebelay(x: float, y: float) -> list[Primitive]:
    return [Stroke(((x, y - 3.6), (x, y + 3.6)), HEAVY), *symbols.anchor("bolt", x, y - 1), *symbols.loop(x, y - 1)]


def _deviation(x: float, y: float) -> list[Primitive]:
    rope = Stroke(((x - 3, y - 3.6), (x - 0.6, y), (x - 3, y + 3.6)), HEAVY)
    return [rope, *symbols.anchor("bolt", x + 2.6, y), *symbols.sling(x + 2.6, y, x - 0.6)]


def _change(x: float, y: float) -> list[Primitive]:
    return [Stroke(((x, y - 3.6), (x, y + 3.6)), HEAVY), *symbols.change(x, y - 3.2)]


def _rub(x: float, y: float) -> list[Primitive]:
    return [Stroke(((x, y - 3.6), (x, y + 3.6)), HEAVY), *symbols.rub(x, y - 3)]


def _foot(x: float, y: float) -> list[Primitive]:
    return symbols.hatch(x - 4.5, x + 4.5, y)


#: Each sign by its words, in the order of the key.
SIGNS: list[tuple[str, Callable[[float, float], list[Primitive]]]] = [
    ("bolt", lambda x, y: symbols.anchor("bolt", x, y)),
    ("two bolts", lambda x, y: symbols.anchor("bolt", x, y, 2)),
    ("natural", lambda x, y: symbols.anchor("natural", x, y)),
    ("thread", lambda x, y: symbols.anchor("thread", x, y)),
    ("anchor not known", lambda x, y: symbols.anchor("anchor", x, y)),
    ("backup", _backup),
    ("Y-hang", _y_hang),
    ("rebelay", _rebelay),
    ("deviation", _deviation),
    ("traverse", _traverse),
    ("hand-line", _hand_line),
    ("change of rope", _change),
    ("rope rubs", _rub),
    ("head or foot", _foot),
    ("way between pitches", lambda x, y: [Stroke(((x - 4.5, y - 1), (x + 4.5, y + 1)), MEDIUM)]),
]
