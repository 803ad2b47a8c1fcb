"""What happened to each rope, folded into its state.

Events are taken in order of happening; order.py says from which day one counts whose day is not known. Ties keep the
order of the log. Folding is incremental: a new event at the end of a rope's life costs one
step; a backdated event or a correction folds that rope and the pieces cut from it again.
"""

import bisect
import heapq
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from tethera.store.events import (
    Bought,
    Corrected,
    Cut,
    Event,
    RecordedAsFound,
    RopeEvent,
    StoreDescribed,
)
from tethera.store.log import Recorded
from tethera.store.naming import born_by, by_number, numbers_of, ropes_of
from tethera.store.order import counts_from, follows, not_before
from tethera.store.rope_state import RopeState
from tethera.store.steps import after_birth_by_cut, known_from, step

Key = tuple[date, int]


@dataclass(frozen=True, slots=True)
class Entry:
    """An event at its place in the log: as it stands after corrections, and as it was first recorded."""

    number: int
    event: Event
    recorded: Recorded
    not_before: date = date.min

    @property
    def corrected(self) -> bool:
        """Whether the event now stands otherwise than it was recorded."""
        return self.event is not self.recorded.event

    @property
    def key(self) -> Key:
        """Where it stands in order of happening."""
        return (max(counts_from(self.event, self.recorded.recorded.date()), self.not_before), self.number)


class Fold:
    """The state of every rope, folded from a growing log."""

    def __init__(self, log: Iterable[Recorded] = ()) -> None:
        self._log: list[Recorded] = []
        self._corrections: list[int] = []
        self._standing: dict[int, Event | None] = {}
        self._by_rope: dict[str, list[Entry]] = {}
        self._keys: dict[str, list[Key]] = {}
        self._births: dict[str, list[Entry]] = {}
        self._cuts: dict[str, list[Entry]] = {}
        self._general: list[Entry] = []
        self._folded: dict[str, RopeState] = {}
        self._taken: set[str] = set()
        #: Ropes whose lists no other fold has in hand: those of any other are copied before they change.
        self._own: set[str] = set()
        self._ids: tuple[str, ...] | None = None
        self.lost_corrections: list[int] = []
        self.extend(log)

    def __len__(self) -> int:
        return len(self._log)

    def fork(self) -> "Fold":
        """The same fold, to try out what more events would give; what neither changes is kept once for both."""
        twin = Fold()
        twin._log = list(self._log)
        twin._corrections, twin._standing = list(self._corrections), dict(self._standing)
        twin._by_rope, twin._keys = dict(self._by_rope), dict(self._keys)
        twin._births, twin._cuts = dict(self._births), dict(self._cuts)
        twin._general, twin._folded = list(self._general), dict(self._folded)
        twin._taken, twin._ids = set(self._taken), self._ids
        twin.lost_corrections = list(self.lost_corrections)
        self._own = set()
        return twin

    def _make_own(self, *ropes: str) -> None:
        """Copy the lists of these ropes, unless they are this fold's alone."""
        for rope in ropes:
            if rope not in self._own:
                self._own.add(rope)
                kept: tuple[dict[str, list[Any]], ...] = (self._by_rope, self._keys, self._births, self._cuts)
                for lists in kept:
                    if rope in lists:
                        lists[rope] = list(lists[rope])

    def extend(self, log: Iterable[Recorded]) -> None:
        """Take in the next events of the log."""
        for recorded in log:
            number = len(self._log)
            self._log.append(recorded)
            self._taken.update(numbers_of(recorded.event))
            if isinstance(recorded.event, Corrected):
                self._correct(number, recorded.event)
            else:
                self._insert(Entry(number, recorded.event, recorded))

    def _correct(self, number: int, event: Corrected) -> None:
        if not _speaks_of_before(number, event):
            self.lost_corrections.append(number)
            return
        self._corrections.append(number)
        before, target = self._standing, self._log[event.event].event
        plain = not any(isinstance(each, Corrected) for each in (target, before.get(event.event), event.replacement))
        # The usual case: no correction speaks of another, so no more than what this one speaks of can change.
        self._standing = {**before, event.event: event.replacement} if plain else self._all_standing()
        speaks_of = {event.event} if plain else before.keys() | self._standing.keys()
        raw = {each: self._log[each].event for each in speaks_of}
        changed = [n for n in sorted(raw) if before.get(n, raw[n]) is not self._standing.get(n, raw[n])]
        old = [Entry(n, was, self._log[n]) for n in changed if (was := before.get(n, raw[n])) is not None]
        new = [Entry(n, now, self._log[n]) for n in changed if (now := self.stands(n)) is not None]
        for entry in old:
            self._remove(entry)
        for entry in new:
            self._insert(entry)
        for rope in {rope for entry in (*old, *new) for rope in ropes_of(entry.event)}:
            self._order_anew(rope)

    def _all_standing(self) -> dict[int, Event | None]:
        """Every event that a correction changed, as it stands.

        A correction speaks only of what was written before it, so the last of them stands as it is; a corrected
        correction changes what it now speaks of, and no longer what it spoke of first.
        """
        standing: dict[int, Event | None] = {}
        to_do = [-number for number in self._corrections]
        heapq.heapify(to_do)
        while to_do:
            number = -heapq.heappop(to_do)
            event = standing.get(number, self._log[number].event)
            if isinstance(event, Corrected) and event.event not in standing:
                standing[event.event] = event.replacement
                if isinstance(event.replacement, Corrected) and event.event not in self._corrections:
                    heapq.heappush(to_do, -event.event)
        return standing

    def stands(self, number: int) -> Event | None:
        """Event `number` as it stands after corrections; None when it was struck out."""
        return self._standing.get(number, self._log[number].event)

    def struck(self, rope: str) -> tuple[Entry, ...]:
        """What was written of a rope, or before a cut of what it was cut from, and is no longer so; as it was written.

        Struck out, or corrected to have happened to another rope.
        """
        gone: dict[int, Entry] = {}
        for each, before in self._descent(rope):
            for number, stands in self._standing.items():
                entry = Entry(number, self._log[number].event, self._log[number])
                lost = each in numbers_of(entry.event) and (stands is None or each not in numbers_of(stands))
                if lost and not isinstance(entry.event, Corrected) and (before is None or entry.key < before):
                    gone[number] = entry
        return tuple(gone[number] for number in sorted(gone))

    def _descent(self, rope: str) -> Iterator[tuple[str, Key | None]]:
        """A rope and what it was cut from, each with the cut that ended it on the way to this rope."""
        before: Key | None = None
        seen: frozenset[str] = frozenset()
        yield rope, None
        while (birth := self._cut_from(rope, seen)) is not None:
            assert isinstance(birth.event, Cut)
            seen, rope, before = seen | {rope}, birth.event.rope, min(before or birth.key, birth.key)
            yield rope, before

    def correction_of(self, number: int) -> tuple[Corrected, Recorded] | None:
        """The correction by which an event stands as it stands, as it stands itself, and as it was recorded."""
        if number not in self._standing:
            return None
        for correction in reversed(self._corrections):
            event = self.stands(correction)
            if isinstance(event, Corrected) and event.event == number:
                return event, self._log[correction]
        return None

    def _order_anew(self, rope: str) -> None:
        """Put what depends on the day of an earlier event of the rope where it now belongs, first written first."""
        for entry in sorted(self._by_rope.get(rope, ()), key=lambda each: each.number):
            if follows(entry.event) and entry.not_before != self._not_before(entry):
                self._remove(entry)
                self._insert(entry)

    def _not_before(self, entry: Entry) -> date:
        if not follows(entry.event) or not isinstance(entry.event, RopeEvent):
            return date.min
        rope = entry.event.rope
        known = zip(self._keys.get(rope, ()), self._by_rope.get(rope, ()), strict=True)
        return not_before(entry.event, ((day, each.event) for (day, n), each in known if n < entry.number))

    def _insert(self, entry: Entry) -> None:
        if isinstance(entry.event, Corrected):
            return
        if (day := self._not_before(entry)) != entry.not_before:
            entry = replace(entry, not_before=day)
        self._make_own(*ropes_of(entry.event), *born_by(entry.event))
        if isinstance(entry.event, Cut):
            self._cuts.setdefault(entry.event.rope, []).append(entry)
        for rope in ropes_of(entry.event):
            if rope not in self._keys:
                self._keys[rope], self._by_rope[rope], self._ids = [], [], None
            keys, entries = self._keys[rope], self._by_rope[rope]
            place = bisect.bisect(keys, entry.key)
            keys.insert(place, entry.key)
            entries.insert(place, entry)
            # The usual case: the newest event of a rope already folded is one step.
            folded = self._folded.get(rope)
            if place == len(keys) - 1 and folded is not None and not isinstance(entry.event, Bought | RecordedAsFound):
                self._folded[rope] = step(folded, entry.event, entry.number)
            else:
                self._forget(rope)
        for child in born_by(entry.event):
            if child not in self._births:
                self._births[child], self._ids = [], None
            bisect.insort(self._births[child], entry, key=lambda each: each.key)
            self._forget(child)
        if not isinstance(entry.event, RopeEvent):
            bisect.insort(self._general, entry, key=lambda each: each.key)

    def _remove(self, entry: Entry) -> None:
        if isinstance(entry.event, Corrected):
            return
        self._make_own(*ropes_of(entry.event), *born_by(entry.event))
        for rope in ropes_of(entry.event):
            place = next(at for at, each in enumerate(self._by_rope[rope]) if each.number == entry.number)
            del self._keys[rope][place], self._by_rope[rope][place]
            if not self._keys[rope]:
                del self._keys[rope], self._by_rope[rope]
                self._ids = None
            self._forget(rope)
        for child in born_by(entry.event):
            self._births[child] = [each for each in self._births[child] if each.number != entry.number]
            if not self._births[child]:
                del self._births[child]
                self._ids = None
            self._forget(child)
        self._general = [each for each in self._general if each.number != entry.number]
        if isinstance(entry.event, Cut):
            # Only after its pieces have been forgotten.
            self._cuts[entry.event.rope] = [e for e in self._cuts[entry.event.rope] if e.number != entry.number]

    def _forget(self, rope: str, seen: frozenset[str] = frozenset()) -> None:
        self._folded.pop(rope, None)
        for entry in self._cuts.get(rope, ()):
            for child in born_by(entry.event):
                if child not in seen:
                    self._forget(child, seen | {rope, child})

    def ids(self) -> tuple[str, ...]:
        """Every rope number the standing events speak of."""
        if self._ids is None:
            self._ids = tuple(sorted(self._by_rope.keys() | self._births.keys(), key=by_number))
        return self._ids

    def entries(self, rope: str) -> tuple[Entry, ...]:
        """What happened to a rope, in order of happening, its parent's life before the cut included."""
        return tuple(self._history(rope, None, frozenset()))

    def own_entries(self, rope: str) -> Sequence[Entry]:
        """What happened to a rope under its own number, in order of happening."""
        return self._by_rope.get(rope, ())

    def general(self) -> Sequence[Entry]:
        """What happened to the store as a whole, in order of happening."""
        return tuple(self._general)

    def log_entry(self, number: int) -> Recorded:
        """The event as it was recorded."""
        return self._log[number]

    def _history(self, rope: str, before: Key | None, seen: frozenset[str]) -> Iterator[Entry]:
        birth = self._cut_from(rope, seen)
        if birth is not None:
            assert isinstance(birth.event, Cut)
            yield from self._history(birth.event.rope, birth.key, seen | {rope})
            yield birth
        yield from (each for each in self._by_rope.get(rope, ()) if before is None or each.key < before)

    def _cut_from(self, rope: str, seen: frozenset[str]) -> Entry | None:
        first = next(iter(self._births.get(rope, ())), None)
        bought = any(isinstance(each.event, Bought | RecordedAsFound) for each in self._by_rope.get(rope, ()))
        if first is None or bought or not isinstance(first.event, Cut) or first.event.rope in seen | {rope}:
            return None
        return first

    def rope(self, rope: str, on: date | None = None) -> RopeState:
        """State of a rope at the end of a day, or after all that is recorded."""
        if on is None or not self._keys.get(rope) or self._last(rope) <= on:
            if rope not in self._folded:
                self._folded[rope] = self._fold(rope, None, frozenset())
            return self._folded[rope]
        return self._fold(rope, (on, len(self._log)), frozenset())

    def _last(self, rope: str) -> date:
        return self._keys[rope][-1][0]

    def existed(self, rope: str, on: date) -> bool:
        """Whether anything is known of a rope up to the end of a day."""
        births = self._births.get(rope, ())
        return any(each.key[0] <= on for each in (*births, *self._by_rope.get(rope, ())))

    def _fold(self, rope: str, before: Key | None, seen: frozenset[str]) -> RopeState:
        state = self._begun(rope, before, seen)
        for entry in self._by_rope.get(rope, ()):
            if before is not None and entry.key >= before:
                break
            state = step(state, entry.event, entry.number)
        return state

    def _begun(self, rope: str, before: Key | None, seen: frozenset[str]) -> RopeState:
        """The rope before anything of its own happened to it."""
        birth = self._cut_from(rope, seen)
        state = RopeState(rope)
        if birth is not None and (before is None or birth.key < before):
            assert isinstance(birth.event, Cut)
            parent = self._fold(birth.event.rope, birth.key, seen | {rope})
            if not parent.born:
                found = (each.event for each in self._by_rope.get(parent.id, ()))
                parent = known_from(parent, next((e for e in found if isinstance(e, RecordedAsFound)), None))
            state = after_birth_by_cut(parent, birth.event, rope)
        for other in self._births.get(rope, ()):
            if other is not birth and (before is None or other.key < before):
                state = state.doubted(
                    "number-twice",
                    "Its number was given to a piece of another rope as well.",
                    "Correct the cut, giving the piece a number of its own.",
                )
        return state

    def passage(self, rope: str) -> Iterator[tuple[date, str]]:
        """The days from which a rope was in another state than before, and that state; those before a cut included."""
        last = ""
        for day, state in self._passed(rope, None, frozenset()):
            if state.state != last and state.born:
                last = state.state
                yield day, last

    def _passed(self, rope: str, before: Key | None, seen: frozenset[str]) -> Iterator[tuple[date, RopeState]]:
        birth = self._cut_from(rope, seen)
        state = self._begun(rope, before, seen)
        if birth is not None:
            assert isinstance(birth.event, Cut)
            yield from self._passed(birth.event.rope, birth.key, seen | {rope})
            yield birth.key[0], state
        for entry in self._by_rope.get(rope, ()):
            if before is not None and entry.key >= before:
                break
            state = step(state, entry.event, entry.number)
            yield entry.key[0], state

    def store(self) -> StoreDescribed | None:
        """The last description of the store."""
        described = [each.event for each in self._general if isinstance(each.event, StoreDescribed)]
        return described[-1] if described else None

    def numbers_taken(self) -> set[str]:
        """Every rope number ever written, struck out or not: a number is never given twice."""
        return set(self._taken)


def _speaks_of_before(number: int, event: Event | None) -> bool:
    """Whether a correction, and any correction it puts in place of another, speaks of what was written before it."""
    while isinstance(event, Corrected):
        if not 0 <= event.event < number:
            return False
        number, event = event.event, event.replacement
    return True
