"""The strip that is wound round a rope's end, unrolled: x along the rope and y round it [mm].

Everything stands several times round, so that it is whole from wherever one looks: from one side a third of the way
round is seen (60 degrees either way), six copies lie a sixth apart, and none is higher than a sixth; wherever one
looks from, one of them lies whole within the third. QR codes stand as often as they fit with their blank margins.
A Code 128 is read along the rope: its bars go all the way round.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from tethera.basics import show_metres
from tethera.labels.codes import CODE_128_QUIET, QR_QUIET, QR_SIDE, code_128_bars, qr_runs
from tethera.labels.fonts import CAP_HEIGHT, MM_PER_POINT, printable, width_mm
from tethera.labels.mark import EndMark
from tethera.labels.page import THIN_SPACE, Blocks, Primitive, Stroke, Text
from tethera.rope import figure

What = Literal["length", "words", "qr", "code128", "code128-along"]
#: Height of a capital as a share of a copy; the rest keeps the copies apart.
_LENGTH, _NUMBER, _ONE, _ONE_OF_TWO = 0.8, 0.62, 0.45, 0.33
#: A capsule's round end takes this share of its height, with the room inside.
_ROUND_END = 0.36


@dataclass(frozen=True, slots=True)
class Item:
    """One thing on a strip: the lines it says, and where its copies stand [mm]."""

    what: What
    says: tuple[str, ...]
    x: float
    width: float
    height: float
    tops: tuple[float, ...]
    cap_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip as it is cut out [mm]: so long along the rope, once round it, and the edge that goes underneath."""

    mark: EndMark
    diameter_mm: float
    length_mm: float
    around_mm: float
    tab_mm: float
    items: tuple[Item, ...]
    laid_along: bool = False  # not wound: `around_mm` is then how long it is along the rope

    def primitives(self, left: float, top: float) -> Iterator[Primitive]:
        """What is printed on it, placed with its top left corner at (left, top) [mm]."""
        for item in self.items:
            for at in item.tops:
                yield from _draw(item, self.mark.rope, left + item.x, top + at)


def around_mm(diameter_mm: float) -> float:
    """Once round a rope with its tape [mm], `diameter_mm` over the tape; ValueError outside what can be lettered.

    >>> round(around_mm(9.3), 2)
    29.22
    """
    thinnest, thickest = _mm("thinnest"), _mm("thickest")
    if not thinnest <= diameter_mm <= thickest:
        raise ValueError(
            f"a strip is made for {thinnest:g} to {thickest:g} mm over the tape, not {diameter_mm:g} mm. "
            "Measure the diameter, and correct it."
        )
    return math.pi * diameter_mm


def sheet_strip(mark: EndMark, diameter_mm: float, longest_mm: float) -> Strip:
    """The strip for a sheet of paper, one piece; in short forms when it would be too long.

    ValueError says how long it would be when even these are longer than `longest_mm` [mm].
    """
    in_full = min(_mm("longest_in_full"), longest_mm)
    for short, most in ((False, in_full), (True, longest_mm)):
        strip = _in_one_piece(mark, diameter_mm, short)
        if strip.length_mm <= most:
            return strip
    raise ValueError(
        f"The strip for {mark.rope} would be {strip.length_mm:.0f} mm long, and the paper takes {longest_mm:.0f} mm. "
        "Give the store a shorter name for its marks."
    )


def tape_pieces(mark: EndMark, diameter_mm: float, tape_mm: int) -> tuple[Strip, ...]:
    """The pieces of tape for one end, wound side by side; the last, with the Code 128, is laid along the rope.

    ValueError says how wide a word is that does not go across the tape.
    """
    around = around_mm(diameter_mm)
    across = figure("labels", "strip", "printed_across", str(tape_mm)).value
    margin = (tape_mm - across) / 2
    turns: list[list[Item]] = []
    for item in (_fitted(each, mark, across) for each in _items(mark, around, short=True)):
        # Into the first turn that has room for it.
        turn = next((each for each in turns if _wide([*each, item]) <= across + 1e-9), None)
        if turn is None:
            turns.append(turn := [])
        turn.append(item)
    pieces = [_beside_each_other(turn, margin + (across - _wide(turn)) / 2) for turn in turns]
    wound = [Strip(mark, diameter_mm, tape_mm, around, _mm("goes_underneath"), each) for each in pieces]
    return (*wound, _code_along(mark, diameter_mm, tape_mm, across))


def _wide(items: Sequence[Item]) -> float:
    return sum(each.width for each in items) + _mm("gap_between_words") * (len(items) - 1)


def _beside_each_other(items: Iterable[Item], x: float) -> tuple[Item, ...]:
    """The items placed along the rope from `x` [mm] on."""
    placed = []
    for item in items:
        placed.append(replace(item, x=x))
        x += item.width + _mm("gap_between_words")
    return tuple(placed)


def _code_along(mark: EndMark, diameter_mm: float, tape_mm: int, across: float) -> Strip:
    """A Code 128 down the tape: its bars lie across it."""
    module = _mm("module")
    long = (code_128_bars(mark.rope)[1] + 2 * CODE_128_QUIET) * module
    bars = Item("code128-along", (mark.rope,), (tape_mm - across) / 2, across, long, (0.0,))
    return Strip(mark, diameter_mm, tape_mm, long, 0.0, (bars,), laid_along=True)


def _in_one_piece(mark: EndMark, diameter_mm: float, short: bool) -> Strip:
    around = around_mm(diameter_mm)
    placed = _beside_each_other((*_items(mark, around, short), _code_round(mark, around)), _mm("margin"))
    length = placed[-1].x + placed[-1].width + _mm("margin")
    return Strip(mark, diameter_mm, length, around, _mm("goes_underneath"), placed)


def _items(mark: EndMark, around: float, short: bool) -> Iterator[Item]:
    """What stands on a strip, from the rope's end inwards, before it is placed along it."""
    copies = int(_mm("copies_round"))
    pitch = around / copies
    height = pitch - _mm("gap_between_copies")
    tops = tuple(copy * pitch + (pitch - height) / 2 for copy in range(copies))

    def words(what: What, says: tuple[str, ...], share: float) -> Item:
        says = tuple(_printable(line, mark.rope) for line in says)
        cap = share * height
        wide = max(width_mm(line, _points(cap), what == "length" or len(says) == 1) for line in says)
        return Item(what, says, 0.0, wide + (2 * _ROUND_END * height if what == "length" else 0.0), height, tops, cap)

    metres = f"{show_metres(mark.length_m * 100)}{THIN_SPACE}m"
    yield words("length", (metres,), _LENGTH)
    yield words("words", (mark.rope,), _NUMBER)
    for block in _blocks(mark, short):
        yield words("words", block, _ONE if len(block) == 1 else _ONE_OF_TWO)
    yield from _qr_codes(mark.rope, around)


def _qr_codes(rope: str, around: float) -> Iterator[Item]:
    """Two columns of codes, one between the other's: but for the seam, one of them faces the camera wherever one looks.

    Only within some 20 degrees of the line of sight is a code read well from a round thing. Round the rope four
    modules lie between them; along it the gap between words is more than that.
    """
    side = QR_SIDE * _mm("module")
    codes = int(around / ((QR_SIDE + QR_QUIET) * _mm("module")))
    each = around / codes
    for first in (0.0, 0.5):
        tops = tuple((copy + first) * each + (each - side) / 2 for copy in range(codes))
        yield Item("qr", (rope,), 0.0, side, side, tuple(top for top in tops if top + side <= around))


def _blocks(mark: EndMark, short: bool) -> Iterator[tuple[str, ...]]:
    kind, since = (mark.kind_short, mark.since_short) if short else (mark.kind, mark.since)
    owner = mark.owner_short if short else mark.owner
    end = f"end {mark.end}" if mark.end else ""
    what = tuple(each for each in (kind, since) if each)
    whose = tuple(each for each in (owner, end) if each) if end else in_two(owner)
    yield from (each for each in (what, whose) if each)


def in_two(words: str) -> tuple[str, ...]:
    """Words on two lines, as even as they can be; on one when there is but one.

    >>> in_two("Ulvergarth Caving Club"), in_two("Ulvergarth"), in_two("")
    (('Ulvergarth', 'Caving Club'), ('Ulvergarth',), ())
    """
    each = words.split()
    ways = [(" ".join(each[:cut]), " ".join(each[cut:])) for cut in range(1, len(each))]
    return min(ways, key=lambda way: max(map(len, way))) if ways else tuple(each)


def _code_round(mark: EndMark, around: float) -> Item:
    """The Code 128, all the way round; its blank ends are within its width."""
    wide = (code_128_bars(mark.rope)[1] + 2 * CODE_128_QUIET) * _mm("module") - _mm("gap_between_words") - _mm("margin")
    return Item("code128", (mark.rope,), 0.0, wide, around, (0.0,))


def _fitted(item: Item, mark: EndMark, across: float) -> Item:
    """The same no wider than the tape, in smaller letters if need be."""
    if item.width <= across or not item.cap_mm:
        return item
    cap = item.cap_mm * across / item.width
    if cap < _mm("smallest_letters") and item.says == (mark.rope,) and not mark.rope.isdigit():
        digits = mark.rope.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
        halves = (mark.rope.removesuffix(digits), digits) if digits else (mark.rope[:5], mark.rope[5:])
        cap = _ONE_OF_TWO * item.height
        wide = max(width_mm(line, _points(cap), True) for line in halves)
        return _fitted(replace(item, says=halves, width=wide, cap_mm=cap), mark, across)
    if cap < _mm("smallest_letters"):
        needs = item.width * _mm("smallest_letters") / item.cap_mm
        raise ValueError(
            f"“{' '.join(item.says)}” of {mark.rope} is {needs:.0f} mm wide in the smallest letters, and the tape "
            f"takes {across:g} mm. Take a wider tape, or a sheet."
        )
    return replace(item, width=across, cap_mm=cap)


def _draw(item: Item, number: str, left: float, top: float) -> Iterable[Primitive]:
    module = _mm("module")
    match item.what:
        case "qr":
            squares = ((left + c * module, top + r * module, n * module, module) for c, r, n in qr_runs(number))
            return [Blocks(tuple(squares), "qr")]
        case "code128":
            blank = left + CODE_128_QUIET * module - _mm("gap_between_words")
            bars = ((blank + at * module, top, n * module, item.height) for at, n in code_128_bars(number)[0])
            return [Blocks(tuple(bars), "code128")]
        case "code128-along":
            first = top + CODE_128_QUIET * module
            bars = ((left, first + at * module, item.width, n * module) for at, n in code_128_bars(number)[0])
            return [Blocks(tuple(bars), "code128")]
    return _draw_words(item, left, top)


def _draw_words(item: Item, left: float, top: float) -> list[Primitive]:
    """Lines between the copy's top and its foot; a length within the round ends of a capsule."""
    each = item.height / len(item.says)
    bold = item.what == "length" or len(item.says) == 1
    drawn: list[Primitive] = []
    for line, words in enumerate(item.says):
        baseline = top + line * each + (each + item.cap_mm) / 2
        wide = width_mm(words, _points(item.cap_mm), bold)
        inside = (item.width - wide) / 2 if item.what == "length" else 0.0
        drawn.append(Text(left + inside, baseline, words, _points(item.cap_mm), bold))
    if item.what == "length":
        drawn += _round_ends(left, top, item)
    return drawn


def _round_ends(left: float, top: float, item: Item) -> list[Primitive]:
    """The two ends of a capsule, open above and below where there is no room for its sides."""
    weight = 0.09 * item.cap_mm
    # Scaled with the letters, where these were made smaller to fit.
    half = min(item.height, item.cap_mm / _LENGTH) / 2 - weight / 2
    middle, reach = top + item.height / 2, 0.55 * half
    turns = [math.radians(-80 + 10 * step) for step in range(17)]
    ends = []
    for at, way in ((left + weight / 2, -1), (left + item.width - weight / 2, 1)):
        centre = at - way * reach
        arc = tuple((centre + way * reach * math.cos(turn), middle + half * math.sin(turn)) for turn in turns)
        ends.append(Stroke(arc, weight))
    return list(ends)


def _printable(words: str, rope: str) -> str:
    try:
        return printable(words)
    except ValueError as error:
        raise ValueError(f"The strip for {rope} says “{words}”: {error}") from None


def _points(cap_mm: float) -> float:
    """The size [pt] whose capitals are so high [mm]."""
    return cap_mm / CAP_HEIGHT / MM_PER_POINT


def _mm(name: str) -> float:
    return figure("labels", "strip", name).value


def sizes_mm(pieces: Sequence[Strip]) -> tuple[float, float]:
    """How long the pieces of one end are side by side along the rope, and how far round they go [mm]."""
    along = sum(each.around_mm if each.laid_along else each.length_mm for each in pieces)
    return along, max(each.around_mm + each.tab_mm for each in pieces if not each.laid_along)
