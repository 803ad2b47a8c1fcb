"""A table that runs over pages: each column wraps its words, and its head stands again on every page."""

from collections.abc import Sequence
from dataclasses import dataclass

from tethera.labels.flow import Flow
from tethera.labels.fonts import width_mm
from tethera.labels.page import MEDIUM, THIN, Stroke, Text, Token, break_lines, leading_mm, set_line, token_width

#: A row up to this high is not torn from one page to the next [mm].
_KEPT_WHOLE = 60.0
_HEAD_PT = 9.0
#: Lines stand a little wider than in a paragraph: what was corrected has a capsule under a capsule.
_OPENER = 1.08

#: Paragraphs of a cell.
Cell = Sequence[Sequence[Token]]


@dataclass(frozen=True, slots=True)
class Column:
    """A heading over words from `left` to `right` [mm], or with `numbers` under its right edge."""

    heading: str
    left: float
    right: float
    numbers: bool = False


class Table:
    """Rows under one head."""

    def __init__(self, flow: Flow, columns: Sequence[Column], size: float = 9.5) -> None:
        self.flow, self.columns, self.size = flow, columns, size
        #: Baseline of the first line of the newest row [mm].
        self.row_baseline = 0.0
        # The first row must find room under the head, or the head stands alone at the foot of a page.
        flow.need(leading_mm(_HEAD_PT) + 3 * leading_mm(size) + 4)
        self.head()

    def head(self) -> None:
        """The headings over a line."""
        self.flow.gap(1.5)
        baseline = self.flow.baseline(_HEAD_PT)
        for column in self.columns:
            wide = width_mm(column.heading, _HEAD_PT)
            at = column.right - wide if column.numbers else column.left
            self.flow.add(Text(at, baseline, column.heading, _HEAD_PT))
        self.flow.gap(leading_mm(_HEAD_PT) + 0.4)
        self.flow.rule(MEDIUM, 1.0)

    def row(self, cells: Sequence[Cell], *, under: Sequence[Token] = ()) -> int:
        """A row, `under` it words across all columns; a row too long for a page goes on under the head of the next.

        Returns the number of the page it begins on, from 0.
        """
        flow, lead = self.flow, leading_mm(self.size) * _OPENER
        broken = [
            [line for paragraph in cell for line in break_lines(paragraph, column.right - column.left, self.size)]
            for column, cell in zip(self.columns, cells, strict=True)
        ]
        last = break_lines(under, flow.paper.right - flow.paper.left, self.size)
        count = max(len(lines) for lines in broken)
        height = (count + len(last)) * lead + 2.0
        self._need(height if height <= _KEPT_WHOLE else 3 * lead)
        begins, self.row_baseline = len(flow.pages) - 1, flow.baseline(self.size)
        for number in range(count):
            self._need((1 + (len(last) if number == count - 1 else 0)) * lead)
            for column, lines in zip(self.columns, broken, strict=True):
                if number < len(lines):
                    self._line(column, lines[number])
            flow.gap(lead)
        for line in last:
            flow.add(*set_line(line, flow.paper.left, flow.baseline(self.size), self.size))
            flow.gap(lead)
        flow.gap(0.8)
        flow.add(Stroke(((flow.paper.left, flow.y), (flow.paper.right, flow.y)), THIN))
        flow.gap(1.2)
        return begins

    def _line(self, column: Column, line: Sequence[tuple[float, Token]]) -> None:
        at = column.left
        if column.numbers:
            offset, last = line[-1]
            at = column.right - offset - token_width(last, self.size)
        self.flow.add(*set_line(line, at, self.flow.baseline(self.size), self.size))

    def _need(self, height: float) -> None:
        if self.flow.need(height):
            self.head()
