"""The ropes in order of use, as a table: bag, number, length, need, left over, and where each hangs."""

from tethera.labels.facts import Facts, need_up, rope_words, said
from tethera.labels.flow import BODY, LEFT, RIGHT, Flow, fitted
from tethera.labels.fonts import MM_PER_POINT, printable, width_mm
from tethera.labels.page import (
    CAPSULE_PAD,
    MEDIUM,
    THIN,
    THIN_SPACE,
    Primitive,
    Stroke,
    Text,
    Token,
    break_lines,
    capsule,
    leading_mm,
    rich,
    set_token,
    token_width,
)

_ROPE_PT, _SMALL_PT = 14.0, 11.0
#: Left edge of the bag and of the rope's number, right edges of the three lengths [mm].
_BAG, _ROPE, _LENGTH, _NEEDS, _LEFT_OVER = LEFT, LEFT + 12, 84.0, 110.5, RIGHT


def rope_table(flow: Flow, ropes: list[Facts]) -> None:
    """The table, with its head repeated on each page it runs over."""
    if not ropes:
        flow.gap(2.0)
        flow.say_words("No ropes chosen yet: the needs of each pitch stand beside its drawing.", 10.5)
        return
    decimal = any((rope.get("length_cm") or 0) % 100 for rope in ropes)
    _table_head(flow)
    for rope in ropes:
        lines = break_lines(_where(rope), RIGHT - _ROPE, BODY)
        warned = sum(len(break_lines(words, RIGHT - _ROPE - 3, BODY)) for words in _warnings(rope))
        if flow.need(leading_mm(_ROPE_PT) + (len(lines) + warned) * leading_mm(BODY) + 3):
            _table_head(flow)
        _row(flow, rope, decimal)


def _table_head(flow: Flow) -> None:
    flow.gap(5.2)
    flow.add(Text(_BAG, flow.y, "Bag", 9), Text(_ROPE, flow.y, "Rope", 9))
    for words, right in (("Length", _LENGTH), ("Needed", _NEEDS), ("Left over", _LEFT_OVER)):
        flow.add(Text(right - 2.2 - width_mm(words, 9), flow.y, words, 9))
    flow.gap(1.6)
    flow.rule(MEDIUM, 1.2)


def _row(flow: Flow, rope: Facts, decimal: bool) -> None:
    baseline = flow.baseline(_ROPE_PT) + 0.4
    number = printable(rope.get("rope") or "no number")
    gone = rope.get("gone")
    # Nobody is to take a rope that is gone for one of this length: its number is struck out, what it had is left out.
    length = None if gone else rope.get("length_cm")
    room = _LENGTH - (0 if length is None else _capsule_width(length, decimal)) - 2 - _ROPE
    size = next((s for s in (_ROPE_PT, 12.0, 10.5) if width_mm(number, s, True) <= room), 9.5)
    flow.add(Text(_BAG, baseline, fitted(printable(str(rope.get("bag") or "–")), 10.5, 12), 12))
    flow.add(Text(_ROPE, baseline, fitted(number, room, size, bold=True), size, True))
    if gone:
        middle = baseline - 0.33 * size * MM_PER_POINT
        flow.add(Stroke(((_ROPE - 1, middle), (_ROPE + min(width_mm(number, size, True), room) + 1, middle)), MEDIUM))
    if length is not None:
        wide = _capsule_width(length, decimal)
        flow.add(*capsule(rope_words(length, decimal=decimal), _LENGTH - wide, baseline, _ROPE_PT, weight=0.6))
    flow.add(
        *_small(rope.get("need_cm"), _NEEDS, baseline, up=need_up(rope.get("need_cm") or 0, length)),
        *_left(None if gone else left_shown_cm(rope), baseline),
    )
    flow.gap(leading_mm(_ROPE_PT) + 0.8)
    flow.say(_where(rope), x=_ROPE)
    for words in _warnings(rope):
        flow.say(words, x=_ROPE, bar=True)
    flow.gap(0.8)
    flow.add(Stroke(((LEFT, flow.y), (RIGHT, flow.y)), THIN))
    flow.gap(0.8)


def _warnings(rope: Facts) -> list[list[Token]]:
    """That it is not to be taken, and what is to be minded of it."""
    gone = rope.get("gone")
    words = [said(f"Do not take it: {gone.rstrip('.')}.", bold=True)] if gone else []
    return [*words, *([said(rope["warning"])] if rope.get("warning") else [])]


def _capsule_width(length_cm: int, decimal: bool) -> float:
    return token_width(Token("capsule", rope_words(length_cm, decimal=decimal)), _ROPE_PT)


def _small(length_cm: int | None, right: float, baseline: float, *, up: bool = False) -> list[Primitive]:
    if length_cm is None:
        return [Text(right - 4.0, baseline, "–", _SMALL_PT)]
    words = rope_words(length_cm, up=up, decimal=True)
    wide = width_mm(words, _SMALL_PT, True) + 2 * CAPSULE_PAD * _SMALL_PT * MM_PER_POINT
    return capsule(words, right - wide, baseline, _SMALL_PT, weight=THIN)


def left_shown_cm(rope: Facts) -> int | None:
    """What is left over as it stands in the row: the length shown less the need shown, so never more than there is."""
    length, need = rope.get("length_cm"), rope.get("need_cm")
    left: int | None = rope.get("left_cm")
    if left is None or length is None or need is None or left != length - need:
        return left
    need_shown = -(-need // 10) if need_up(need, length) else need // 10
    return int(10 * (length // 10 - need_shown))


def _left(left_cm: int | None, baseline: float) -> list[Primitive]:
    if left_cm is None or left_cm >= 0:
        return _small(left_cm, _LEFT_OVER, baseline)
    short = Token("capsule", rope_words(-left_cm, up=True, decimal=True))
    at = _LEFT_OVER - token_width(short, _SMALL_PT)
    word = Token("bold", "short")
    return [
        *set_token(short, at, baseline, _SMALL_PT, 0.6),
        *set_token(word, at - token_width(word, 9) - 1.2, baseline, 9),
    ]


def _where(rope: Facts) -> list[Token]:
    """What it is and where it hangs: “10 mm A, head of First → foot of First”."""
    diameter = rope.get("diameter_mm")
    kind = rope.get("type")
    what = " ".join(
        ([f"{diameter:g}{THIN_SPACE}mm"] if diameter else [])
        + ([f"type {kind}" if len(kind) == 1 else kind] if kind else [])
    )
    tokens = rich(f"{what}," if what and rope.get("begins") else what)
    tokens += rich(rope.get("begins") or "")
    if rope.get("ends"):
        tokens += [Token("arrow"), *rich(rope["ends"])]
    if rope.get("joined_to"):
        tokens += [*rich("– joined to"), *rich(rope["joined_to"], bold=True)]
    return tokens
