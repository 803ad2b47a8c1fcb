"""Ropes to be marked as the pages show them: what they may say, what they say now, and what stands in the way."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.labels import PAPERS, EndMark, Marking, NoMark, end_marks, strip_svg
from tethera.store import RopeState, by_number
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

    @property
    def old_cm(self) -> int:
        """What its ends say now [cm]; 0 where they say nothing."""
        return (self.rope.marked_m or 0) * 100

    @property
    def new_cm(self) -> int:
        """What they may say [cm]."""
        return self.marking.ends[0].length_m * 100 if self.marking else 0

    @property
    def can_be_printed(self) -> bool:
        """Whether a strip can be made."""
        return self.marking is not None and self.marking.strip_mm is not None

    @property
    def ends(self) -> tuple[EndMark, ...]:
        """Each end once, where they say different things."""
        if self.marking is None:
            return ()
        return self.marking.ends if self.marking.ends[0].end else self.marking.ends[:1]

    @property
    def svg(self) -> str:
        """The strip unrolled."""
        marking = self.marking
        if marking is None or marking.over_mm is None:
            return ""
        try:
            return strip_svg(marking.ends[0], marking.over_mm)
        except ValueError:
            return ""


def needs_marks(rope: RopeState) -> bool:
    """Whether its ends bear no mark, or one that is not true any more, and it is there to be marked."""
    return rope.state in ("ready", "in preparation") and ("mark" in rope.waits or bool(rope.marks_void))


def in_hand(visit: Visit) -> list[RopeState]:
    """The ropes that wait for marks and nothing before them, those with void marks first."""
    due = [rope for rope in visit.ropes if needs_marks(rope) and not {"wash", "dry", "measure"} & set(rope.waits)]
    return sorted(due, key=lambda rope: (not rope.marks_void, by_number(rope.id)))


def rows(visit: Visit, ropes: Iterable[RopeState], paper: str, over: dict[str, str]) -> list[Row]:
    """Each rope as its row; `over` are diameters over the tape as they were typed."""
    return [_row(visit, rope, paper, over.get(rope.id, "")) for rope in ropes]


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
    """The paper asked for, else the one used last on this device."""
    paper = told or visit.request.session.get(_PAPER, "")
    if paper not in PAPERS:
        return PAPERS[0]
    if told and visit.request.session.get(_PAPER) != paper:
        visit.request.session[_PAPER] = paper
    return paper


def marked_words(marking: Marking) -> str:
    """What the record keeps of a mark beside its length."""
    return marking.ends[0].words


def without_twins(ropes: Sequence[str]) -> list[str]:
    """Each number once, as they came."""
    return list(dict.fromkeys(ropes))
