"""The store as its keeper asks it: record what was done, look at the ropes, see what waits."""

import difflib
import re
from collections.abc import Callable, Collection, Iterator, Sequence
from datetime import date, datetime

from tethera.basics import Finding, PartialDate
from tethera.store.age import examination_due, with_age
from tethera.store.events import (
    Bought,
    Corrected,
    Event,
    Measured,
    RecordedAsFound,
    Stocktaken,
    StoreDescribed,
)
from tethera.store.log import EventLog, LogMovedOn, Recorded
from tethera.store.marks_true import mark_of_old_name
from tethera.store.rope_state import RopeState, changed
from tethera.store.rules import DECLARATIONS, Refused, missing, standing
from tethera.store.shrinkages import Known, Shrinkages, doubt_of
from tethera.store.state import Entry, Fold
from tethera.store.todo import Waiting, waiting
from tethera.store.told_at_once import told_at_once

#: Letters before a number in a store that never said its own.
DEFAULT_CODE = "R"
_TRIES = 50
#: Letters of a number that nobody knows which are said again.
_LONGEST_SAID = 40


class UnknownRope(Exception):
    """No rope has this number; the message names the nearest."""

    def __init__(self, rope: str, nearest: Sequence[str]) -> None:
        self.rope, self.nearest = rope, tuple(nearest)
        hint = f" The nearest are {', '.join(nearest)}." if nearest else " The store has no ropes yet."
        super().__init__(f"No rope has the number {rope}.{hint}")


class Register:
    """A store over any event log. It reads what others have recorded before each answer."""

    def __init__(self, log: EventLog) -> None:
        self._log = log
        self._fold = Fold()
        self._shrinkages = Shrinkages()

    def record(self, event: Event, *, recorded: datetime, by: str | None = None) -> tuple[Finding, ...]:
        """Record one event and give what must be doubted about it. Refused for a declaration that lacks something."""
        return self.record_all((event,), recorded=recorded, by=by)

    def record_all(
        self, events: Sequence[Event], *, recorded: datetime, by: str | None = None, seen: int | None = None
    ) -> tuple[Finding, ...]:
        """Record all of the events or none.

        Facts are tried again when somebody else has recorded meanwhile. A declaration, a booking or a new number is
        told (LogMovedOn) only if something happened to its rope. `seen` is the log's length when the person decided.
        """
        ropes = tuple(dict.fromkeys(e.rope for e in events if isinstance(e, (*DECLARATIONS, Bought, RecordedAsFound))))
        self._catch_up()
        if seen is not None and any(each.number >= seen for rope in ropes for each in self._fold.entries(rope)):
            raise self._moved(seen, ropes)
        ground = {rope: self._ground(rope) for rope in ropes}
        length = len(self._fold)
        for _ in range(_TRIES):
            if any(self._ground(rope) != ground[rope] for rope in ropes):
                raise self._moved(length, ropes)
            trial, findings = self._tried(events, recorded, by)
            try:
                self._log.append(len(self._fold), trial)
            except LogMovedOn:
                self._catch_up()
                continue
            self._catch_up()
            return findings
        raise LogMovedOn(length, len(self._fold))

    def record_new(
        self,
        count: int,
        build: Callable[[Sequence[str]], Sequence[Event]],
        *,
        recorded: datetime,
        by: str | None = None,
    ) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
        """Record events that need `count` new rope numbers; two keepers at once never get the same."""
        for _ in range(_TRIES):
            numbers = self.next_rope_ids(count)
            trial, findings = self._tried(build(numbers), recorded, by)
            try:
                self._log.append(len(self._fold), trial)
            except LogMovedOn:
                continue
            self._catch_up()
            return numbers, findings
        raise LogMovedOn(len(self._fold), len(self._log.read()))

    def _tried(
        self, events: Sequence[Event], recorded: datetime, by: str | None
    ) -> tuple[list[Recorded], tuple[Finding, ...]]:
        """The entries as they would be written, and the findings they bring; Refused stops them all."""
        trial = [Recorded(event, recorded, by) for event in events]
        after = self._fold.fork()
        for each in trial:
            if isinstance(each.event, DECLARATIONS):
                state = with_age(after.rope(each.event.rope), recorded.date(), self._age_limit())
                lacking = missing(state, each.event)
                if lacking:
                    raise Refused(each.event, lacking, final=state.retired is not None)
            after.extend((each,))
        return trial, (*told_at_once(self._fold, after, trial), *self._shrunk_astray(after, trial))

    def _shrunk_astray(self, after: Fold, trial: Sequence[Recorded]) -> tuple[Finding, ...]:
        """The doubts that ropes just counted bring by how much they shrank."""
        counted = {each.event.rope for each in trial if isinstance(each.event, Measured)}
        if not any(after.rope(rope).washed for rope in counted):
            return ()
        was = self._shrinkages.known(self._fold)
        now = self._shrinkages.known(after)
        told = {rope: doubt_of(after.rope(rope), now) for rope in sorted(counted)}
        return tuple(each for rope, each in told.items() if each and each != doubt_of(self._fold.rope(rope), was))

    def _ground(self, rope: str) -> tuple[int, ...]:
        return tuple(each.number for each in self._fold.entries(rope))

    def _moved(self, expected: int, ropes: Sequence[str]) -> LogMovedOn:
        told = f"Something else was recorded about {', '.join(ropes)} meanwhile. Look again, then repeat."
        return LogMovedOn(expected, len(self._fold), told)

    def _catch_up(self) -> None:
        self._fold.extend(self._log.read()[len(self._fold) :])

    def caught_up(self) -> Fold:
        """All that was recorded so far, folded: for many questions in a row, without reading the log for each."""
        self._catch_up()
        return self._fold

    def __len__(self) -> int:
        return len(self.caught_up())

    def store(self) -> StoreDescribed | None:
        """What the store said of itself."""
        self._catch_up()
        return self._fold.store()

    def store_rules(self) -> StoreDescribed:
        """What the store said of itself, or what holds until it does."""
        return self.store() or StoreDescribed(happened=PartialDate(1970), code=DEFAULT_CODE)

    def recall(
        self,
        *,
        maker: str | None = None,
        batch: str | None = None,
        product: str | None = None,
        year_made: int | None = None,
        on: date,
    ) -> tuple[str, ...]:
        """Every rope not retired of which all that is given was ever said, or of what it was cut from.

        Letters' case and blanks do not count. ValueError when nothing is given: that would recall the whole store.
        """
        wanted = {"maker": maker, "batch": batch, "product": product, "year_made": year_made}
        asked = {name: _plain(value) for name, value in wanted.items() if value}
        if not asked:
            raise ValueError("say a maker, a batch, a product or a year of manufacture")

        def matches(rope: str) -> bool:
            line = [self._fold.rope(each, on) for each in self._lineage(rope, on)]
            return all(any(_plain(getattr(each, name)) == value for each in line) for name, value in asked.items())

        return tuple(each.id for each in self.ropes(on) if each.retired is None and matches(each.id))

    def _age_limit(self) -> int | None:
        described = self._fold.store()
        return described.age_limit_years if described else None

    def next_rope_ids(self, count: int) -> tuple[str, ...]:
        """The next numbers: the store's letters and a number never used before. `record_new` makes them yours."""
        self._catch_up()
        described = self._fold.store()
        code = described.code if described else DEFAULT_CODE
        first = next_number(code, self._fold.numbers_taken())
        return tuple(f"{code}{number}" for number in range(first, first + count))

    def numbers_taken(self) -> set[str]:
        """Every number ever used."""
        self._catch_up()
        return self._fold.numbers_taken()

    def brought_in(self) -> tuple[RecordedAsFound, ...]:
        """Every rope recorded as found, as it stands: what an import need not bring again."""
        return tuple(each for each in self.as_it_stands() if isinstance(each, RecordedAsFound))

    def as_it_stands(self) -> Iterator[Event]:
        """What happened, as it stands after corrections and without them, in the order of the log."""
        self._catch_up()
        for number in range(len(self._fold)):
            event = self._fold.stands(number)
            if event is not None and not isinstance(event, Corrected):
                yield event

    def known(self, words: str) -> str | None:
        """The rope meant by "TV41", "tv 41" or, in a store with a code, "41"; None where there is no such rope."""
        self._catch_up()
        wanted = _as_typed(words)
        described = self._fold.store()
        ids = self._fold.ids()
        guesses = (wanted, f"{described.code if described else DEFAULT_CODE}{wanted.lstrip('0')}")
        return next((each for each in guesses if each in ids), None)

    def find(self, words: str) -> str:
        """The same; UnknownRope names the nearest."""
        known = self.known(words)
        if known is not None:
            return known
        ids = self._fold.ids()
        # A whole page pasted by mistake is near no number, and takes long to compare.
        wanted = _as_typed(words[:_LONGEST_SAID])
        tail = wanted.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
        nearest = difflib.get_close_matches(wanted, ids, 3, 0.5) or [each for each in ids if tail and tail in each][:3]
        raise UnknownRope(words if len(words) <= _LONGEST_SAID else f"{words[:_LONGEST_SAID]}…", nearest or ids[:3])

    def rope(self, rope: str, on: date) -> RopeState:
        """One rope at the end of a day; UnknownRope names the nearest numbers."""
        return self._given_out((self.find(rope),), on, by_shrinkage=True)[0]

    def ropes(self, on: date, *, by_shrinkage: bool = False) -> tuple[RopeState, ...]:
        """Every rope known of at the end of a day, retired ones too, by number.

        `by_shrinkage` adds the doubts that compare how ropes shrank, whose statistics take half a second to load.
        """
        self._catch_up()
        there = [each for each in self._fold.ids() if self._fold.existed(each, on)]
        return self._given_out(there, on, by_shrinkage=by_shrinkage)

    def due(self, on: date, until: date) -> tuple[RopeState, ...]:
        """Ropes that must be examined up to the day `until`, those overdue on the day `on` first."""
        due = [(each.inspection_due, each) for each in self.ropes(on) if each.inspection_due is not None]
        return tuple(each for day, each in sorted(due, key=lambda pair: pair[0]) if day <= until)

    def _given_out(self, ropes: Sequence[str], on: date, *, by_shrinkage: bool = False) -> tuple[RopeState, ...]:
        """Ropes with all that the day and the store's rules say of them."""
        described = self._fold.store()
        limit_years = described.age_limit_years if described else None
        months = described.inspection_months if described else None
        walked = self._last_stocktake(on)
        shrunk = self._shrinkages.known(self._fold) if by_shrinkage else None
        names = [each.event for each in self._fold.general() if isinstance(each.event, StoreDescribed)]
        found = []
        for rope in ropes:
            state = with_age(self._fold.rope(rope, on), on, limit_years)
            bookings = tuple(each for each in state.bookings if each.last_day >= on)
            state = changed(state, bookings=bookings, inspection_due=examination_due(state, months))
            more = standing(state, on)
            if described is not None and len(names) > 1:
                more = (*more, *mark_of_old_name(state, described, names))
            if shrunk is not None and (doubt := doubt_of(state, shrunk)) is not None:
                more = (*more, doubt)
            if walked is not None and self._not_seen(state, *walked):
                told = f"It was not seen at the stocktake of {walked[0].event.happened.spoken()}."
                way_out = "Look for it; record it as missed if it is gone."
                more = (*more, Finding("not-seen", f"rope {rope}", told, way_out))
            found.append(changed(state, findings=(*state.findings, *more)) if more else state)
        return tuple(found)

    def _last_stocktake(self, on: date) -> tuple[Entry, frozenset[str]] | None:
        """The last walk along the racks up to a day, and what was seen."""
        for entry in reversed(self._fold.general()):
            if isinstance(entry.event, Stocktaken) and entry.key[0] <= on:
                return entry, frozenset(entry.event.seen)
        return None

    def _not_seen(self, state: RopeState, walk: Entry, seen: frozenset[str]) -> bool:
        if state.id in seen or not state.in_the_store:
            return False
        entries = self._fold.entries(state.id)
        # Whatever happened to it since, somebody had it in hand.
        return bool(entries) and entries[0].key <= walk.key and entries[-1].key <= walk.key

    def events(self, rope: str) -> tuple[Entry, ...]:
        """A rope's life in order of happening, what its parent went through before the cut included."""
        return self._fold.entries(self.find(rope))

    def passage(self, rope: str) -> tuple[tuple[date, str], ...]:
        """The days from which a rope was in another state than before, and that state; those before a cut included."""
        self._catch_up()
        return tuple(self._fold.passage(self.find(rope)))

    def stands(self, number: int) -> Event | None:
        """An event by its place in the log, as it stands after corrections; None when it was struck out."""
        self._catch_up()
        return self._fold.stands(number)

    def shrinkages(self) -> Known:
        """What the store has measured of its ropes before and after their first washes."""
        self._catch_up()
        return self._shrinkages.known(self._fold)

    def stocktakes(self) -> tuple[Entry, ...]:
        """Every stocktake as it stands, the last first."""
        self._catch_up()
        return tuple(each for each in reversed(self._fold.general()) if isinstance(each.event, Stocktaken))

    def struck(self, rope: str) -> tuple[Entry, ...]:
        """What was written of a rope and then struck out."""
        self._catch_up()
        return self._fold.struck(rope)

    def correction_of(self, number: int) -> tuple[Corrected, Recorded] | None:
        """The correction that made an event stand as it stands, and how it was recorded; None where there is none."""
        self._catch_up()
        return self._fold.correction_of(number)

    def lineage(self, rope: str, on: date) -> tuple[str, ...]:
        """From the rope first bought down to this one."""
        return self._lineage(self.find(rope), on)

    def _lineage(self, rope: str, on: date) -> tuple[str, ...]:
        line = [rope]
        while (parent := self._fold.rope(line[0], on).parent) is not None and parent not in line:
            line.insert(0, parent)
        return tuple(line)

    def to_do(self, on: date) -> tuple[Waiting, ...]:
        """What waits: the next step of each rope in preparation, what is set aside, overdue, due or too old."""
        return tuple(waiting(self.ropes(on)))


def next_number(code: str, taken: Collection[str]) -> int:
    """The running number after the highest taken with these letters; a slip of six digits or more does not count.

    >>> next_number("TV", {"TV9", "TV10", "X40", "TV1234567"})
    11
    """
    pattern = re.compile(rf"{re.escape(code)}(\d{{1,5}})")
    return max((int(match[1]) for each in taken if (match := pattern.fullmatch(each))), default=0) + 1


def _as_typed(words: str) -> str:
    """A number as it was meant: without blanks, and without what a scanner puts before it to say which code it read.

    >>> _as_typed(" ug-41 "), _as_typed("]C0UG41"), _as_typed("]Q1UG41")  # identifiers of ISO/IEC 15424
    ('UG41', 'UG41', 'UG41')
    """
    return re.sub(r"[\s-]", "", re.sub(r"^\s*\][A-Za-z]\d", "", words)).upper()


def _plain(value: object) -> str:
    return re.sub(r"\s", "", str(value)).casefold()
