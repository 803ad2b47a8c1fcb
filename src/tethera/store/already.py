"""What a sheet brings that a store has already: the very rows of an earlier import, and ropes that look known."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from tethera.basics import PartialDate
from tethera.store.events import RecordedAsFound
from tethera.store.rope_state import RopeState

_Row = tuple[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """A row that an earlier import made into these ropes."""

    ropes: tuple[str, ...]
    on: PartialDate

    def in_words(self) -> str:
        """When, and as what.

        >>> BroughtIn(("TV1", "TV2"), PartialDate(2026, 11, 25)).in_words()
        'already brought in on 25 Nov 2026 as TV1, TV2'
        """
        return f"already brought in on {self.on.spoken()} as {', '.join(self.ropes)}"


class Already:
    """Rows and ropes of a store, each of which can be met once: two equal ropes are two."""

    def __init__(self, brought: Iterable[RecordedAsFound] = (), known: Iterable[RopeState] = ()) -> None:
        rows: dict[tuple[str, tuple[str, ...]], list[RecordedAsFound]] = defaultdict(list)
        self._alike: dict[str, set[tuple[object, ...]]] = defaultdict(set)
        for event in brought:
            rows[event.source, event.written].append(event)
            self._alike[event.rope].add(_facts(event))
        for state in known:
            self._alike[state.id].add(_facts(state))
        self._rows: dict[_Row, list[BroughtIn]] = defaultdict(list)
        for (source, written), events in rows.items():
            row = BroughtIn(tuple(each.rope for each in events), events[0].happened)
            self._rows[_file(source), written].append(row)

    def row(self, source: str, written: tuple[str, ...]) -> BroughtIn | None:
        """The row of the same file with the very same cells; where it stood in the file is no matter."""
        rows = self._rows.get((_file(source), written))
        if not rows:
            return None
        row = rows.pop(0)
        for rope in row.ropes:
            self._alike.pop(rope, None)
        return row

    def rope(self, event: RecordedAsFound) -> str | None:
        """A known rope of the same length, kind and date."""
        if event.length_cm is None or not (event.diameter_mm or event.rope_type or event.bought):
            return None
        rope = next((rope for rope, facts in self._alike.items() if _facts(event) in facts), None)
        if rope is not None:
            del self._alike[rope]
        return rope


def _facts(rope: RecordedAsFound | RopeState) -> tuple[object, ...]:
    return (rope.length_cm, rope.diameter_mm, rope.rope_type, rope.bought)


def _file(source: str) -> str:
    return source.rpartition(", row ")[0] or source
