"""A rope's life as its page shows it: sentences with lengths in capsules, who wrote them down, what was corrected."""

import functools
import re
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from tethera.basics import PartialDate
from tethera.store import (
    DocumentAttached,
    Event,
    LifeLine,
    Stocktaken,
    known_lengths,
    life,
    only_competent,
    spoken_event,
)
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit
from tethera.web.paper.shown import shown_length
from tethera.web.store.photos import is_photo

#: Around a length in a sentence; neither can be typed by accident.
_BEGIN, _END = "\ue000", "\ue001"
_MOST_IN_A_CHOICE = 40


@dataclass(frozen=True)
class ShownLine:
    """A line of the life as shown; `was` only where it was corrected, `photo` where the line hangs a photograph."""

    line: LifeLine
    words: SafeString
    was: SafeString | None
    may_correct: bool

    @property
    def photo(self) -> str:
        """The sum of the photograph this line hangs on the rope, or nothing."""
        event = self.line.event
        return event.sha256 if isinstance(event, DocumentAttached) and is_photo(event.sha256) else ""


@dataclass(frozen=True)
class ShownLength:
    """A length the rope was known to have from a day on; `how` is the word for how it was got."""

    happened: PartialDate
    length_cm: int
    how: str


def lines_of(visit: Visit, number: str) -> tuple[LifeLine, ...]:
    """The life, lengths between marks that `shown` turns into capsules."""
    return life(visit.register, number, visit.name, functools.partial(_between_marks, visit.units))


def _between_marks(units: str, cm: int) -> str:
    return f"{_BEGIN}{shown_length(cm, units)}{_END}"


def sentence(visit: Visit, event: Event) -> SafeString:
    """One event as the life tells it."""
    return shown(spoken_event(event, visit.name, functools.partial(_between_marks, visit.units)))


def shown(words: str) -> SafeString:
    """A sentence as HTML, its lengths in capsules."""
    text = escape(words)
    return mark_safe(re.sub(f"{_BEGIN}(.*?){_END}", r'<span class="capsule">\1</span>', text))


def plain(words: str) -> str:
    """A sentence as text."""
    return words.replace(_BEGIN, "(").replace(_END, ")")


def shown_lines(visit: Visit, lines: Sequence[LifeLine]) -> list[ShownLine]:
    """The life for the page, newest first."""
    return [
        ShownLine(
            each,
            shown(each.words),
            None if each.was is None or each.struck else shown(each.was),
            may_correct(visit, each),
        )
        for each in reversed(lines)
    ]


def may_correct(visit: Visit, line: LifeLine) -> bool:
    """Whether this visitor may correct a line: an examination or a clearing only a competent person."""
    event = line.event or visit.opened.log.read_so_far()[line.number].event
    return visit.may(May.INSPECT if only_competent(event) else May.KEEP)


def events_for_choice(visit: Visit, number: str) -> list[tuple[int, str]]:
    """The newest events of a rope, for a photograph to belong to one of them."""
    standing = [each for each in lines_of(visit, number) if not each.struck and each.rope == number]
    offered = [each for each in standing if not isinstance(each.event, DocumentAttached | Stocktaken)]
    return [
        (each.number, _short(f"{each.happened.spoken()}: {plain(each.words)}"))
        for each in reversed(offered[-_MOST_IN_A_CHOICE:])
    ]


def _short(words: str) -> str:
    return words if len(words) <= 80 else f"{words[:79]}…"


def shown_lengths(rope: str, lines: Sequence[LifeLine]) -> list[ShownLength]:
    """Every length this rope itself was known to have and every mark it bore, in order of happening."""
    how = {
        "bought": _("on the maker's label"),
        "sheet": _("by the old sheet"),
        "label": _("by its label"),
        "measured": _("measured"),
        "marked": _("marked on both ends"),
        "cut": _("when it was cut"),
    }
    return [ShownLength(each.happened, each.length_cm, how[each.source]) for each in known_lengths(rope, lines)]
