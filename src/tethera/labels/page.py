"""What a page is made of: lines, shapes and texts placed in millimetres from its top left corner.

One list of primitives has two renderers, `pdf.py` and `svg.py`, so that paper and screen cannot differ.
A length of rope and a depth are primitives of the text (`Token`), so that neither can be set as a bare number.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import zip_longest
from typing import Literal

from tethera.labels.fonts import MM_PER_POINT, printable, width_mm

#: Line weights [mm]: three, far enough apart to tell when wet (each twice the one before, as in ISO 128).
THIN, MEDIUM, HEAVY = 0.25, 0.5, 1.0
#: Between a number and its unit; the typeface has no thin space (U+2009), so the narrowest it has that never breaks.
THIN_SPACE = "\u00a0"
#: Ink above and below the baseline [em], the widest of the letters we set (hhea of the typeface, rounded).
ASCENT, DESCENT = 0.75, 0.24
#: A capsule's outline above and below the baseline [em].
CAPSULE_ABOVE, CAPSULE_BELOW, CAPSULE_PAD = 0.96, 0.30, 0.5
LEADING = 1.45


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points [mm]; `fill` makes it a black shape."""

    points: tuple[tuple[float, float], ...]
    weight: float = MEDIUM
    dashed: bool = False
    fill: bool = False
    role: str = ""


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle, or with `fill` a dot [mm]."""

    x: float
    y: float
    radius: float
    weight: float = MEDIUM
    fill: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with rounded corners [mm]; role "capsule" when it holds a length of rope."""

    x: float
    y: float
    width: float
    height: float
    radius: float = 0.0
    weight: float = MEDIUM
    role: str = ""
    paper: bool = False  # filled with the colour of the paper


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; x is its left edge and y its baseline [mm]."""

    x: float
    y: float
    words: str
    size: float
    bold: bool = False

    @property
    def width(self) -> float:
        """How wide it is set [mm]."""
        return width_mm(self.words, self.size, self.bold)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom [mm] of the ink."""
        em = self.size * MM_PER_POINT
        return self.x, self.y - ASCENT * em, self.x + self.width, self.y + DESCENT * em


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph as JPEG bytes, placed with its top left corner at (x, y) [mm]."""

    x: float
    y: float
    width: float
    height: float
    jpeg: bytes = field(repr=False)


@dataclass(frozen=True, slots=True)
class Blocks:
    """Black rectangles (left, top, width, height) [mm] that are one shape, so that no seam shows between them."""

    rectangles: tuple[tuple[float, float, float, float], ...]
    role: str = ""


Primitive = Stroke | Ring | Box | Text | Picture | Blocks


@dataclass(slots=True)
class Page:
    """A side of paper [mm]."""

    width: float = 148.0
    height: float = 210.0
    primitives: list[Primitive] = field(default_factory=list)

    def add(self, *primitives: Primitive) -> None:
        """Draw over what is there."""
        self.primitives.extend(primitives)


Kind = Literal["word", "bold", "capsule", "depth", "arrow"]


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of a line that is never broken: a word, a rope's number, a length in its capsule, a depth."""

    kind: Kind
    text: str = ""
    glued: bool = False  # no space before it, as a comma
    struck: bool = False  # written once and corrected since: a line goes through it


_PIECES = re.compile(
    r"(?P<doubted>\d[\d.]*\s*m)(?=\s\(\d[\d.]* to \d)"  # 30 m (28.5 to 31): the band keeps its own brackets
    r"|\(\s*(?P<capsule>\d[\d.]*\s*m)\s*\)"
    r"|↓\s*(?P<depth>\d[\d.]*\s*m\b)"
    r"|(?P<arrow>→)|(?P<bare>↓)"
)


def rich(text: str, bold: bool = False) -> list[Token]:
    """Tokens of a sentence: “(30 m)” in it becomes a capsule and “↓22 m” a depth.

    >>> [token.kind for token in rich("join (30 m) above ↓22 m")]
    ['word', 'capsule', 'word', 'depth']
    """
    tokens: list[Token] = []
    at = 0
    for match in _PIECES.finditer(text):
        tokens += _after(text, at, match.start(), bold)
        at = match.end()
        number = match["capsule"] or match["doubted"] or match["depth"]
        if number:
            number = re.sub(r"\s*m$", f"{THIN_SPACE}m", number)
            tokens.append(Token("depth" if match["depth"] else "capsule", number))
        else:
            tokens.append(Token("arrow" if match["arrow"] else "depth"))
    return tokens + _after(text, at, len(text), bold)


def _after(text: str, at: int, end: int, bold: bool) -> list[Token]:
    """Words after a number; a stop or comma stays with it."""
    words = _words(text[at:end], bold)
    if words and at and text[at] in ",.;:)":
        words[0] = replace(words[0], glued=True)
    return words


def _words(text: str, bold: bool) -> list[Token]:
    return [Token("bold" if bold else "word", word) for word in printable(text).split(" ") if word]


def token_width(token: Token, size: float) -> float:
    """Width of a token [mm] set at `size` [pt]."""
    em = size * MM_PER_POINT
    if token.kind == "arrow":
        return 1.1 * em
    width = width_mm(token.text, size, token.kind in ("bold", "capsule"))
    if token.kind == "capsule":
        return width + 2 * CAPSULE_PAD * em
    return width + (0.55 * em if token.kind == "depth" else 0.0)


def break_lines(tokens: Iterable[Token], width: float, size: float) -> list[list[tuple[float, Token]]]:
    """Lines of (x, token) no wider than `width` [mm]; a word wider than a line is cut where the line ends."""
    lines: list[list[tuple[float, Token]]] = [[]]
    x = 0.0
    fitting = list(_cut_to_fit(tokens, width, size))
    for token, after in zip_longest(fitting, fitting[1:]):
        wide = token_width(token, size)
        together = wide
        if after and token.kind == "bold" and after.kind == "capsule":  # a rope's number keeps its length beside it
            together += _gap_mm(token, after, size) + token_width(after, size)
        gap = _gap_mm(lines[-1][-1][1], token, size) if lines[-1] else 0.0
        if lines[-1] and x + gap + together > width + 1e-6:
            lines.append([])
            x = gap = 0.0
        lines[-1].append((x + gap, token))
        x += gap + wide
    return [line for line in lines if line]


def _gap_mm(before: Token, token: Token, size: float) -> float:
    """Room between two tokens [mm]: wider round the numbers, so that each stands for itself."""
    if token.glued:  # clear of a capsule's outline
        return 0.12 * size * MM_PER_POINT if before.kind == "capsule" else 0.0
    space = width_mm(" ", size, before.kind == "bold")
    if before.kind == "capsule" and token.kind == "bold":
        return 3.5 * space
    return 1.8 * space if {before.kind, token.kind} & {"capsule", "depth"} else space


def _cut_to_fit(tokens: Iterable[Token], width: float, size: float) -> Iterable[Token]:
    for token in tokens:
        rest = token
        while rest.kind in ("word", "bold") and len(rest.text) > 1 and token_width(rest, size) > width:
            fits = 1
            while fits < len(rest.text) and token_width(replace(rest, text=rest.text[: fits + 1]), size) <= width:
                fits += 1
            yield replace(rest, text=rest.text[:fits])
            rest = replace(rest, text=rest.text[fits:])
        yield rest


def leading_mm(size: float) -> float:
    """From one baseline to the next [mm]: room for capsules one under the other."""
    return size * MM_PER_POINT * LEADING


def set_line(line: Iterable[tuple[float, Token]], x: float, baseline: float, size: float) -> list[Primitive]:
    """A broken line, placed; neighbouring words are one text with its spaces, so that it can be searched and copied."""
    placed: list[Primitive] = []
    written: Token | None = None
    tokens = list(line)
    for offset, token in tokens:
        last = placed[-1] if placed else None
        if written and token.kind in ("word", "bold") and isinstance(last, Text) and not token.glued:
            last = placed[-1] = replace(last, words=last.words + " ")
        if written and token.kind == written.kind and isinstance(last, Text):
            placed[-1] = replace(last, words=last.words + token.text)
        else:
            placed += set_token(token, x + offset, baseline, size)
        written = token if token.kind in ("word", "bold") else None
    return placed + _strikes(tokens, x, baseline, size)


def _strikes(line: Sequence[tuple[float, Token]], x: float, baseline: float, size: float) -> list[Primitive]:
    """One line through each run of struck words."""
    runs: list[tuple[float, float]] = []
    following = False
    for offset, token in line:
        if token.struck:
            begins = runs.pop()[0] if following else offset
            runs.append((begins, offset + token_width(token, size)))
        following = token.struck
    y = baseline - 0.27 * size * MM_PER_POINT
    return [Stroke(((x + begins, y), (x + ends, y)), 0.3, role="struck") for begins, ends in runs]


def set_token(token: Token, x: float, baseline: float, size: float, weight: float = MEDIUM) -> list[Primitive]:
    """A token, placed with its left edge at x [mm]."""
    em = size * MM_PER_POINT
    if token.kind == "capsule":
        return capsule(token.text, x, baseline, size, weight=weight)
    if token.kind == "depth":
        return [
            *depth_arrow(x + 0.22 * em, baseline - 0.72 * em, baseline + 0.1 * em, 0.17 * em),
            *([Text(x + 0.55 * em, baseline, token.text, size)] if token.text else []),
        ]
    if token.kind == "arrow":
        y = baseline - 0.3 * em
        tip = x + 1.0 * em
        head = ((tip, y), (tip - 0.35 * em, y - 0.17 * em), (tip - 0.35 * em, y + 0.17 * em))
        return [Stroke(((x + 0.1 * em, y), (tip - 0.3 * em, y)), 0.3), Stroke(head, 0.0, fill=True)]
    return [Text(x, baseline, token.text, size, token.kind == "bold")]


def capsule(
    words: str, x: float, baseline: float, size: float, *, width: float | None = None, weight: float = MEDIUM
) -> list[Primitive]:
    """A length of rope in its capsule, right-aligned in it when `width` [mm] is more than it needs."""
    em = size * MM_PER_POINT
    inner = width_mm(words, size, True)
    wide = max(width or 0.0, inner + 2 * CAPSULE_PAD * em)
    height = (CAPSULE_ABOVE + CAPSULE_BELOW) * em
    return [
        Box(x, baseline - CAPSULE_ABOVE * em, wide, height, height / 2, weight, "capsule"),
        Text(x + wide - CAPSULE_PAD * em - inner, baseline, words, size, True),
    ]


def depth_arrow(x: float, top: float, bottom: float, half: float) -> list[Primitive]:
    """The sign of a depth in a line of text: a shaft with its head down [mm]."""
    head = ((x, bottom), (x - half, bottom - 2.2 * half), (x + half, bottom - 2.2 * half))
    return [Stroke(((x, top), (x, bottom - half)), 0.3), Stroke(head, 0.0, fill=True)]


def spread(wanted: Sequence[float], heights: Sequence[float], top: float, bottom: float) -> list[float]:
    """Tops [mm] of labels that would like to be centred at `wanted`, in that order, without overlapping.

    Pushed down where they would touch, then back up from `bottom`; they start at `top` when there is too little room
    and run past `bottom` rather than over each other.

    >>> spread([10.0, 11.0, 30.0], [4.0, 4.0, 4.0], 0.0, 40.0)
    [8.0, 12.0, 28.0]
    """
    tops: list[float] = []
    free = top
    for centre, height in zip(wanted, heights, strict=True):
        tops.append(max(centre - height / 2, free))
        free = tops[-1] + height
    limit = bottom
    for index in reversed(range(len(tops))):
        tops[index] = min(tops[index], limit - heights[index])
        limit = tops[index]
    free = top
    for index, height in enumerate(heights):
        tops[index] = max(tops[index], free)
        free = tops[index] + height
    return tops
