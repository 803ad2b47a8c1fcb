"""Which rope is at which step, and since when."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.rope import chain_length_m, strands_to_fold
from tethera.store import Chained, Entry, RopeState, Spun
from tethera.web.accounts.visit import Visit
from tethera.web.paper.shown import lasting, moment, since
from tethera.web.preparation.steps import BY_WAIT, BY_WORD, Step

_WAITS = ("wash", "dry", "measure", "mark", "check", "put into service")


@dataclass(frozen=True)
class Row:
    """One rope: since when it waits for its next step, what was done on the way, how to fold it for the machine."""

    rope: RopeState
    since: str
    lately: str = ""
    strands: int = 0
    chain_m: str = ""

    @property
    def marked_cm(self) -> int:
        """What its mark says [cm]."""
        return (self.rope.marked_m or 0) * 100


@dataclass(frozen=True)
class Group:
    """The ropes that wait for the same step; `step` is None for measuring, which has a page of its own."""

    wait: str
    title: Promise | str
    rows: tuple[Row, ...]
    step: Step | None
    at_once: bool = False


def board(visit: Visit) -> list[Group]:
    """Every rope in preparation by its next step, and before them those whose marks are no longer true."""
    overstated = [rope for rope in visit.ropes if rope.state == "in preparation" and rope.marks_void]
    groups = []
    if overstated:
        rows = tuple(Row(rope, _marks_void_since(rope)) for rope in overstated)
        title = gettext_lazy("Marks no longer true")
        groups.append(Group("mark anew", title, rows, BY_WORD["marked"], at_once=True))
    shown = {rope.id for rope in overstated}
    waiting = [rope for rope in visit.ropes if rope.state == "in preparation" and rope.id not in shown]
    for wait in _WAITS:
        rows = tuple(row(visit, rope) for rope in waiting if rope.waits[0] == wait)
        if rows:
            step = BY_WAIT.get(wait)
            groups.append(Group(wait, step.title if step else gettext_lazy("To be measured"), rows, step))
    return groups


def _marks_void_since(rope: RopeState) -> str:
    if rope.mark_overstates:
        return _("measured {day}").format(day=since(rope.measured_on))
    return rope.marks_void


def row(visit: Visit, rope: RopeState) -> Row:
    """One rope as the board shows it."""
    entries = visit.register.events(rope.id)
    strands, chain = folding(rope)
    return Row(rope, waits_since(rope, entries), _lately(rope, entries), strands, chain)


def folding(rope: RopeState) -> tuple[int, str]:
    """Into how many strands to fold a rope, and about how many metres its chain then has; 0 where nobody knows."""
    if rope.length_cm is None:
        return 0, ""
    strands = strands_to_fold(rope.length_cm / 100)
    return strands, str(max(1, round(chain_length_m(rope.length_cm / 100, strands))))


def waits_since(rope: RopeState, entries: Sequence[Entry]) -> str:
    """Since when it waits: the moment where it was written down on the day and that is fresh; else for how long."""
    began = next((each for each in reversed(entries) if each.event.happened == rope.waits_since), None)
    if began is not None and rope.waits_since is not None:
        written = timezone.localtime(began.recorded.recorded)
        days_ago = (timezone.localdate() - written.date()).days
        if rope.waits_since.earliest == rope.waits_since.latest == written.date() and 0 <= days_ago <= 1:
            return _("since {moment}").format(moment=moment(written))
    return lasting(rope.waits_since)


def _lately(rope: RopeState, entries: Sequence[Entry]) -> str:
    """What was done since the rope began to wait, that changes no state."""
    if rope.waits_since is None or not rope.waits:
        return ""
    after = [each.event for each in entries if each.event.happened.latest >= rope.waits_since.earliest]
    if rope.waits[0] == "wash":
        chained = next((each for each in reversed(after) if isinstance(each, Chained)), None)
        if chained is None:
            return ""
        return _("chained") if chained.strands == 1 else _("chained in {n} strands").format(n=chained.strands)
    if rope.waits[0] == "dry" and any(isinstance(each, Spun) for each in after):
        return _("spun")
    return ""
