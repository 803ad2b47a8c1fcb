"""A rope's whole life in sentences, with what was first written where it was corrected."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from tethera.basics import PartialDate, show_metres
from tethera.store.events import Bought, Cut, Event, Marked, Measured, RecordedAsFound, RopeEvent
from tethera.store.register import Register
from tethera.store.spoken import spoken_event
from tethera.store.state import Entry, Fold


@dataclass(frozen=True, slots=True)
class LifeLine:
    """One thing that happened to a rope.

    `event` is it as it stands, None when it did not happen to this rope after all. `was` are the words first recorded,
    where a correction changed or struck them, and `first` is that event; `reason` is then the correction's, with who
    made it (`corrected_by`) and when. `rope` is the rope it happened to: before a cut, that is the parent.
    """

    number: int
    rope: str
    event: Event | None
    happened: PartialDate
    words: str
    recorded: datetime
    by: str | None
    first: Event | None = None
    was: str | None = None
    was_happened: PartialDate | None = None
    reason: str | None = None
    corrected: datetime | None = None
    corrected_by: str | None = None

    @property
    def struck(self) -> bool:
        """Whether it did not happen after all."""
        return self.event is None


@dataclass(frozen=True, slots=True)
class KnownLength:
    """A length [cm] that a rope was known to have, or that its mark said, from a day on; `source` is how it was got."""

    happened: PartialDate
    length_cm: int
    source: Literal["bought", "sheet", "label", "measured", "cut", "marked"]


def known_lengths(rope: str, lines: Iterable[LifeLine]) -> list[KnownLength]:
    """Every length this rope itself was known to have, and every mark it bore, in order of happening."""
    found: list[KnownLength] = []
    for line in lines:
        match line.event:
            case Bought(rope=who, length_cm=cm) if who == rope:
                found.append(KnownLength(line.happened, cm, "bought"))
            case RecordedAsFound(rope=who, length_cm=int() as cm, known_by=how) if who == rope:
                found.append(KnownLength(line.happened, cm, how))
            case Measured(rope=who, length_cm=cm) if who == rope:
                found.append(KnownLength(line.happened, cm, "measured"))
            case Marked(rope=who, length_m=metres) if who == rope:
                found.append(KnownLength(line.happened, metres * 100, "marked"))
            case Cut(into=pieces):
                mine = (piece.length_cm for piece in pieces if piece.rope == rope)
                found += [KnownLength(line.happened, cm, "cut") for cm in mine]
    return found


def life(
    register: Register,
    rope: str,
    name: Callable[[str], str],
    length: Callable[[int], str] = lambda cm: f"({show_metres(cm)} m)",
) -> tuple[LifeLine, ...]:
    """Everything that happened to a rope in order of happening; what was struck out stands at its first date.

    `name` says what to call a person by id, `length` how a rope length is written.
    """
    rope, fold = register.find(rope), register.caught_up()
    struck = [_line(fold, rope, each, name, length, stands=False) for each in fold.struck(rope)]
    return tuple(_placed([_line(fold, rope, each, name, length) for each in fold.entries(rope)], struck))


def _placed(lines: list[LifeLine], struck: list[LifeLine]) -> list[LifeLine]:
    """The life in the order of the fold, with each line struck out after what happened before it."""
    for line in struck:
        after = [i for i, each in enumerate(lines) if each.happened.earliest <= line.happened.earliest]
        lines.insert(after[-1] + 1 if after else 0, line)
    return lines


def _line(
    fold: Fold,
    rope: str,
    entry: Entry,
    name: Callable[[str], str],
    length: Callable[[int], str],
    *,
    stands: bool = True,
) -> LifeLine:
    standing = fold.stands(entry.number) if stands else None
    first, shown = entry.recorded.event, standing or entry.recorded.event
    correction = fold.correction_of(entry.number)
    line = LifeLine(
        entry.number,
        shown.rope if isinstance(shown, RopeEvent) else rope,
        standing,
        shown.happened,
        spoken_event(shown, name, length),
        entry.recorded.recorded,
        entry.recorded.by,
    )
    if correction is None:
        return line
    told, recorded = correction
    return replace(
        line,
        first=first,
        was=spoken_event(first, name, length),
        was_happened=first.happened,
        reason=told.reason,
        corrected=recorded.recorded,
        corrected_by=recorded.by,
    )
