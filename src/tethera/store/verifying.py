"""Whether a log is as it was recorded: its chain walked, and held against heads and copies that were kept elsewhere."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from tethera.store.chain import Break, Chain, Head
from tethera.store.events import RopeEvent, kind
from tethera.store.log import Recorded


@dataclass(frozen=True, slots=True)
class Held:
    """A head that was kept, and whether the log still has it; None where the log is too short to tell."""

    head: Head
    same: bool | None


@dataclass(frozen=True, slots=True)
class Verdict:
    """What came out. `troubles` are sentences, the first altered event first; `first` is its number, or None where
    the log is whole, or where not even that can be told from the heads given."""

    head: Head
    first: int | None
    troubles: tuple[str, ...]
    held: tuple[Held, ...]
    #: Events without a sum of their own: recorded before the record carried sums.
    without_sum: int

    @property
    def whole(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.troubles


def verify(log: Sequence[Recorded], heads: Sequence[Head] = (), copies: Sequence[Sequence[Recorded]] = ()) -> Verdict:
    """Walk the chain of a log and hold it against heads and whole copies that were kept elsewhere."""
    chain = Chain(head.length for head in heads).extend(log)
    held = tuple(Held(each, _same(each, chain)) for each in heads)
    found: list[tuple[int, str]] = []
    if chain.broken is not None:
        broken = _with_belongs(log, chain.broken)
        found.append((broken.first, _broken_words(log, broken)))
    for copy in copies:
        found += _against(log, copy)
    found += _heads_speak(log, held, told_closer=bool(found))
    found.sort(key=lambda each: each[0])
    first = found[0][0] if found else None
    return Verdict(chain.head, first, tuple(words for _, words in found), held, chain.without_sum)


def _same(head: Head, chain: Chain) -> bool | None:
    if head.length > chain.head.length:
        return None
    return head.is_of(Head(head.length, chain.sums[head.length]))


def _with_belongs(log: Sequence[Recorded], broken: Break) -> Break:
    """Whether a later event does follow where this one does not: then what stands between was put in or moved."""
    if log[broken.at].previous is None:
        return broken
    whole = Chain().extend(log[: broken.at]).head.sum
    before = Chain().extend(log[: broken.at - 1]).head.sum if broken.at else ""
    for number, each in enumerate(log[broken.at + 1 :], broken.at + 1):
        if each.previous == whole:
            return Break(broken.at, broken.at, number)
    # The event that stands before may itself be the one put in: then this one follows the one before that.
    put_in = broken.at - 1 == broken.first and broken.at > 0 and log[broken.at].previous == before
    return Break(broken.at - 1, broken.at, broken.at) if put_in else broken


def _broken_words(log: Sequence[Recorded], broken: Break) -> str:
    if broken.belongs is not None:
        which = said(log, broken.first)
        return f"{which} does not belong here, but event {broken.belongs} does: events were put in or moved."
    if log[broken.at].previous is None:
        return f"{said(log, broken.at)} carries no sum, although events before it do: it was put in."
    if broken.at == 0:
        return f"The beginning is not there: {said(log, 0, begins=False)} follows events that were taken out."
    if broken.first < broken.at - 1:
        return (
            f"One of the events {broken.first} to {broken.at - 1} is not as it was recorded, or events were taken out "
            f"among them. They carry no sums of their own; the sum that event {broken.at} carries covers them all."
        )
    return (
        f"{said(log, broken.first)} is not as it was recorded, or events that stood between it and event "
        f"{broken.at} were taken out."
    )


def _against(log: Sequence[Recorded], copy: Sequence[Recorded]) -> list[tuple[int, str]]:
    for number, (here, there) in enumerate(zip(log, copy, strict=False)):
        if here != there:
            return [(number, f"{said(log, number)} is not as in the copy, where it is {_what(there)}.")]
    if len(log) < len(copy):
        number = len(log)
        return [(number, f"Event {number} is not there ({_what(copy[number])}): the copy has {len(copy)} events.")]
    return []


def _heads_speak(log: Sequence[Recorded], held: Sequence[Held], *, told_closer: bool) -> list[tuple[int, str]]:
    """What the heads say: from which event on the log may be another than it was."""
    found = []
    short = [each.head for each in held if each.same is None]
    if short:
        most = max(head.length for head in short)
        gone = most - len(log)
        told = f"The record has {len(log)} events, and had {most}: {gone} {'was' if gone == 1 else 'were'} taken out."
        found.append((len(log), told))
    wrong = min((each.head.length for each in held if each.same is False), default=None)
    if wrong is not None:
        right = max((each.head.length for each in held if each.same and each.head.length < wrong), default=0)
        # Where the chain itself names the event, this comes after it.
        at = right if not told_closer else wrong
        until = f"{right} to {wrong - 1}" if wrong - 1 > right else str(right)
        what = "One of the events" if wrong - 1 > right else "Event"
        whole = "" if told_closer else " Its chain was written anew from there on: only a copy can say which it was."
        found.append((at, f"{what} {until} is not as it was when the head {_shown(wrong, held)} was noted.{whole}"))
    return found


def _shown(length: int, held: Sequence[Held]) -> str:
    head = next(each.head for each in held if each.head.length == length and each.same is False)
    return f"{head.length}: {head.sum[:8]}…"


def said(log: Sequence[Recorded], number: int, *, begins: bool = True) -> str:
    """An event by number, what it was, of which rope, its day, and when it was written down."""
    word = "Event" if begins else "event"
    return f"{word} {number} ({_what(log[number])})"


def _what(entry: Recorded) -> str:
    event = entry.event
    rope = f" {event.rope}" if isinstance(event, RopeEvent) else ""
    what = re.sub("-", " ", kind(event))
    return f"{what}{rope}, {event.happened.spoken()}, written down {entry.recorded.day} {entry.recorded:%b %Y}"
