"""Ropes to be marked as the pages show them: what they may say, what they say now, and what stands in the way."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.basics import PartialDate
from tethera.labels import PAPERS, EndMark, Marking, NoMark, end_marks, strip_svg
from tethera.store import Marked, RopeState, by_number
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit

#: What the address and the forms call each paper, and what people call it.
PAPER_WORDS = {
    "a4": "A4",
    "letter": "Letter",
    "tape-12": "12 mm",
    "tape-18": "18 mm",
    "tape-24": "24 mm",
}
_PAPER = "marks-paper"


@dataclass(frozen=True)
class Row:
    """One rope: the mark that can be made, or why none can; and why its old one must come off."""

    rope: RopeState
    marking: Marking | None
    why: str = ""
    way_out: str = ""
    url: str = ""
    over_typed: str = ""
    over_wrong: str = ""
    svg: str = ""

    @property
    def not_printed(self) -> str:
        """Why no strip can be printed of it; empty where one can."""
        if self.marking is None:
            return f"{self.why} {self.way_out}"
        return self.over_wrong or ("" if self.marking.strip_mm is not None else self.marking.lacks)

    @property
    def new_m(self) -> int:
        """What its ends may say [whole m], in metres as they are lettered, whatever the reader counts in."""
        return self.marking.ends[0].length_m if self.marking else 0

    @property
    def says(self) -> str:
        """What a form was shown with: what is recorded must be the same, or somebody looks at the ends again.

        Not since when: what was lettered on the last of a month still holds on the first of the next.
        """
        if self.marking is None:
            return ""
        end = self.marking.ends[0]
        return " · ".join((f"{end.length_m} m", end.kind, end.owner, end.end))

    @property
    def ends(self) -> tuple[EndMark, ...]:
        """Each end once, where they say different things."""
        if self.marking is None:
            return ()
        return self.marking.ends if self.marking.ends[0].end else self.marking.ends[:1]


def needs_marks(rope: RopeState) -> bool:
    """Whether its ends bear no mark, or one that is not true any more, and it is there to be marked."""
    return rope.state in ("ready", "in preparation") and ("mark" in rope.waits or bool(rope.marks_void))


def in_hand(visit: Visit) -> list[RopeState]:
    """The ropes that wait for marks and nothing before them, those with void marks first."""
    due = [rope for rope in visit.ropes if needs_marks(rope) and not first(rope)]
    return sorted(due, key=lambda rope: (not rope.marks_void, by_number(rope.id)))


def not_yet(visit: Visit) -> list[RopeState]:
    """The ropes that need marks and cannot get them today, those with void marks first.

    They are to be washed, dried or measured before, or are not in the store; those elsewhere only with void marks.
    """
    waiting = [rope for rope in visit.ropes if needs_marks(rope) and first(rope)]
    away = [rope for rope in visit.ropes if rope.marks_void and rope.state in ("out", "rigged", "set aside", "missing")]
    return sorted((*waiting, *away), key=lambda rope: (not rope.marks_void, by_number(rope.id)))


def first(rope: RopeState) -> list[str]:
    """What is done before a rope is marked."""
    return [wait for wait in rope.waits if wait in ("wash", "dry", "measure")]


def rows(visit: Visit, ropes: Iterable[RopeState], paper: str, over: Mapping[str, str]) -> list[Row]:
    """Each rope as its row; `over` are diameters over the tape as they were typed."""
    return [_row(visit, rope, paper, over.get(rope.id, "")) for rope in ropes]


def with_strips(found: Iterable[Row], most: int) -> list[Row]:
    """The same rows, the first `most` that have a strip with it drawn: a strip is as long as a page of words."""
    drawn: list[Row] = []
    left = most
    for row in found:
        svg = _strip(row) if left else ""
        left -= bool(svg)
        drawn.append(replace(row, svg=svg))
    return drawn


def _strip(row: Row) -> str:
    if row.marking is None or row.marking.over_mm is None:
        return ""
    try:
        return strip_svg(row.marking.ends[0], row.marking.over_mm)
    except ValueError:
        # What goes on tape in several pieces may be too long for one on paper.
        return ""


def _row(visit: Visit, rope: RopeState, paper: str, typed: str) -> Row:
    try:
        ends = end_marks(rope, visit.rules, visit.today, owner=visit.store.name)
    except NoMark as none:
        return Row(rope, None, none.why, none.way_out, _way_out(visit, rope), typed)
    over_mm, wrong = read_mm(typed)
    marking = Marking.of(rope, ends, visit.rules.bands, paper, over_mm)
    return Row(rope, marking, over_typed=typed, over_wrong=wrong)


def _way_out(visit: Visit, rope: RopeState) -> str:
    if rope.retired is None and rope.known_by != "measured" and visit.may(May.PREPARE):
        return reverse("measure-rope", args=[visit.store.slug, rope.id])
    return ""


def read_mm(text: str) -> tuple[float | None, str]:
    """A diameter as it was typed, and what is wrong with it.

    >>> read_mm("10,5 mm"), read_mm("")
    ((10.5, ''), (None, ''))
    """
    words = text.strip().lower().removesuffix("mm").strip().replace(",", ".")
    if not words:
        return None, ""
    try:
        value = float(words)
    except ValueError:
        return None, _("“{text}” is no diameter. Write millimetres, as 10.5.").format(text=text[:20])
    if not 0 < value < 100:
        return None, _("“{text}” is no diameter of a rope. Write millimetres, as 10.5.").format(text=text[:20])
    return value, ""


def paper_of(visit: Visit, told: str | None) -> str:
    """The paper asked for, else the one used last on this device; ValueError for one nobody has."""
    if told and told not in PAPERS:
        known = ", ".join(PAPERS)
        raise ValueError(_("“{paper}” is no paper for marks. Known are {known}.").format(paper=told[:20], known=known))
    paper = told or visit.request.session.get(_PAPER, "")
    if paper not in PAPERS:
        return PAPERS[0]
    if told and visit.request.session.get(_PAPER) != paper:
        visit.request.session[_PAPER] = paper
    return paper


def marked(visit: Visit, marking: Marking) -> Marked:
    """That both ends carry it today."""
    end = marking.ends[0]
    return Marked(rope=marking.rope.id, happened=PartialDate.of(visit.today), length_m=end.length_m, words=end.words)
