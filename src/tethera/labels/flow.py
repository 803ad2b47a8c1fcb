"""Pages filled from the top: lines of tokens, rules and blocks, each page with its head and foot.

Margins of the sheet taken underground are 11 mm: a thumb's width to hold the page by.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tethera.labels import symbols
from tethera.labels.fonts import MM_PER_POINT, printable, width_mm
from tethera.labels.page import (
    HEAVY,
    MEDIUM,
    THIN,
    Page,
    Primitive,
    Stroke,
    Text,
    Token,
    break_lines,
    leading_mm,
    rich,
    set_line,
)


@dataclass(frozen=True, slots=True)
class Paper:
    """A side of paper and where its text may stand [mm]."""

    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float

    @property
    def under_head(self) -> float:
        """Where the first line goes on a side with a running head."""
        return self.top + 11


#: ISO 216. A4 goes into a folder: its left margin has room for the holes.
A5 = Paper(148.0, 210.0, 11.0, 137.0, 11.0, 196.0)
A4 = Paper(210.0, 297.0, 22.0, 196.0, 12.0, 271.0)
LEFT, RIGHT, TOP, BOTTOM, UNDER_HEAD = A5.left, A5.right, A5.top, A5.bottom, A5.under_head
#: Least room a heading asks for, so that it never stands alone at the foot of a side [mm].
HEADED = 30.0
BODY, NUMERAL, TITLE = 9.5, 13.0, 20.0


class Flow:
    """A pile of pages and the place [mm] where the next thing goes."""

    def __init__(self, running_head: str, paper: Paper = A5) -> None:
        self.running_head = printable(running_head)
        self.paper = paper
        self.pages: list[Page] = []
        self.y = paper.top
        self.turn()

    def turn(self) -> None:
        """Begin a new page."""
        self.pages.append(Page(self.paper.width, self.paper.height))
        self.y = self.paper.top
        self.head()

    def head(self) -> None:
        """What stands at the top of each page but the first."""
        if len(self.pages) > 1:
            left, right, top = self.paper.left, self.paper.right, self.paper.top
            words = fitted(self.running_head, right - left - 14, 11, bold=True)
            self.add(*symbols.mark(left, top + 4, 9), Text(left + 13, top + 4, words, 11, True))
            self.under_rule()

    def under_rule(self) -> None:
        """The rule under a running head, and the place of the first line."""
        at = self.paper.top + 7
        self.add(Stroke(((self.paper.left, at), (self.paper.right, at)), THIN))
        self.y = self.paper.under_head

    @property
    def room(self) -> float:
        """Height left on this page [mm]."""
        return self.paper.bottom - self.y

    def add(self, *primitives: Primitive) -> None:
        """Draw on the page begun last."""
        self.pages[-1].add(*primitives)

    def need(self, height: float) -> bool:
        """Turn the page unless `height` mm are left; True when it was turned."""
        if self.room >= height or self.y <= self.paper.under_head:
            return False
        self.turn()
        return True

    def gap(self, height: float) -> None:
        """Leave so much free [mm]."""
        self.y += height

    def rule(self, weight: float = MEDIUM, after: float = 2.5) -> None:
        """A line from margin to margin, and what is free after it [mm]."""
        self.add(Stroke(((self.paper.left, self.y), (self.paper.right, self.y)), weight))
        self.y += after

    def heading(self, words: str, keep: float = HEADED - 12) -> None:
        """A heading over a rule, kept with `keep` mm of what follows."""
        self.need(keep + 12)
        self.y += 7.5
        self.add(Text(self.paper.left, self.y, printable(words), NUMERAL, True))
        self.y += 2.2
        self.rule(HEAVY, 2.2)

    def say(
        self,
        tokens: Iterable[Token],
        size: float = BODY,
        *,
        x: float | None = None,
        right: float | None = None,
        bar: bool = False,
    ) -> None:
        """Tokens as a paragraph; with `bar` a heavy line stands in the margin beside what needs thought."""
        x = self.paper.left if x is None else x
        right = self.paper.right if right is None else right
        for line in break_lines(tokens, right - x - (3.0 if bar else 0.0), size):
            self.need(leading_mm(size))
            start = self.y
            self.add(*set_line(line, x + (3.0 if bar else 0.0), self.baseline(size), size))
            self.y += leading_mm(size)
            if bar:
                self.add(Stroke(((x + 0.6, start + 0.6), (x + 0.6, self.y + 0.4)), HEAVY))

    def say_words(self, words: str, size: float = BODY, x: float | None = None) -> None:
        """Free text, its lengths in capsules and its depths behind arrows."""
        self.say(rich(words), size, x=x)

    def baseline(self, size: float) -> float:
        """Baseline of a line of `size` points whose top is here."""
        return self.y + size * MM_PER_POINT * 1.06

    def finish(self, words: str, pages_word: str = "page") -> Sequence[Page]:
        """Number the pages and print `words` at the foot of each."""
        left, right, foot = self.paper.left, self.paper.right, self.paper.bottom + 2.5
        for number, page in enumerate(self.pages, 1):
            count = f"{pages_word} {number} of {len(self.pages)}"
            room = right - left - width_mm(count, 9) - 4
            page.add(
                Stroke(((left, foot), (right, foot)), THIN),
                Text(left, foot + 4.5, fitted(printable(words), room, 9), 9),
                Text(right - width_mm(count, 9), foot + 4.5, count, 9),
            )
        return self.pages


def fitted(words: str, width: float, size: float, *, bold: bool = False) -> str:
    """The words, or their beginning and an ellipsis when the line is too narrow for them (the whole is on page 1)."""
    if width_mm(words, size, bold) <= width:
        return words
    while words and width_mm(words + "…", size, bold) > width:
        words = words[:-1]
    return words.rstrip() + "…"


def title_block(flow: Flow, title: str, lines: Sequence[str]) -> None:
    """The head of the first page: the mark, the name as large as it goes, and the facts under it."""
    left, top = flow.paper.left, flow.paper.top
    flow.add(*symbols.mark(left, top + 8.2, 17))
    size = TITLE if width_mm(printable(title), TITLE, True) <= flow.paper.right - left - 23 else 15.0
    flow.y = top + 0.5
    flow.say(rich(title, bold=True), size, x=left + 23)
    flow.gap(0.8)
    for words in lines:
        if words:
            flow.say(rich(words), 10.5, x=left + 23)
    flow.y = max(flow.y + 2.2, top + 15)
    flow.rule(HEAVY, 0.0)
