"""A whole store in one file: what such a file holds besides the events, and what bringing it back adds to a store.

The forms are in lines, table and sheets; docs/export.md says how each is laid out.
"""

import dataclasses
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tethera.store import chain
from tethera.store.chain import Head, head_of
from tethera.store.events import Corrected, Event
from tethera.store.log import Recorded
from tethera.store.verifying import verify

#: Raised when a form is laid out anew in a way that an older Tethera cannot read.
FORM = 2
#: Form 1 had no sums in its events and no head.
_FORMS_READ = (1, 2)
_LONGEST_ID, _LONGEST_NAME = 20, 200


class UnreadableExport(ValueError):
    """The file is not whole or not as it was exported; the message names the line or row and what was expected."""


class AnotherStore(ValueError):
    """What the file holds does not continue the store that is there; the message says from where on they differ."""


@dataclass(frozen=True)
class Exported:
    """Events in the order they were recorded, and whom each person's id means (None: the name was erased)."""

    events: tuple[Recorded, ...]
    names: Mapping[str, str | None]
    #: The head of the chain that the file itself tells.
    head: Head | None = dataclasses.field(default=None, compare=False)

    def in_words(self) -> str:
        """How much it is, as “142 events and 5 people”."""
        return f"{counted(len(self.events), 'event')} and {counted(len(self.names), 'person', 'people')}"


def head(events: Sequence[Recorded], names: Mapping[str, str | None], told: Head | None = None) -> dict[str, Any]:
    """What stands before the events: that it is an export, how many events follow, the head of their chain, the names.

    The head is that of the events, unless another is `told`, as by a file that was read.
    """
    first = {"tethera": "export", "form": FORM, "events": len(events)}
    return first | {"head": str(told or head_of(events)), "people": dict(names)}


def is_head(value: object) -> bool:
    """Whether a JSON value is meant as the head of an export rather than as an event."""
    return isinstance(value, Mapping) and "tethera" in value


def read_head(value: Mapping[str, Any]) -> tuple[int, dict[str, str | None], Head | None]:
    """The number of events that follow, the names, and the head of the chain; ValueError says what is wrong."""
    if value.get("tethera") != "export":
        raise ValueError(f"expected “tethera”: “export”, not {_cut(value.get('tethera'))}")
    if value.get("form") not in _FORMS_READ:
        raise ValueError(
            f"it is an export of form {_cut(value.get('form'))}; only form {FORM} is known: update Tethera"
        )
    count = value.get("events")
    if type(count) is not int or count < 0:
        raise ValueError(f"“events” should say how many events follow, not {_cut(count)}")
    told = value.get("head")
    if told is not None and not isinstance(told, str):
        raise ValueError(f"“head” should be the head of the chain as “142:3f9a…”, not {_cut(told)}")
    return count, read_names(value.get("people")), None if told is None else chain.read_head(told)


def check_chain(what: Exported) -> None:
    """UnreadableExport unless every event is as it was recorded, as far as the file's own chain and head tell."""
    verdict = verify(what.events, (what.head,) if what.head else ())
    if not verdict.whole:
        raise UnreadableExport(
            f"{verdict.troubles[0]} Nothing was brought in. What was recorded is put right with a correction, not in "
            "a file: put it back as it was, or export it again."
        )


def read_names(value: object) -> dict[str, str | None]:
    """Names by person id, None where one was erased; ValueError says what is wrong."""
    if not isinstance(value, Mapping):
        raise ValueError("“people” should be an object of names by person id")
    for person, name in value.items():
        if not person or len(person) > _LONGEST_ID:
            raise ValueError(f"a person's id has 1 to {_LONGEST_ID} letters, as p1; not {_cut(person)}")
        if name is not None and not (isinstance(name, str) and 0 < len(name) <= _LONGEST_NAME):
            raise ValueError(f"the name of {person} should be 1 to {_LONGEST_NAME} letters, or null if it was erased")
    return dict(value)


def _cut(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:60]}…"


def whole(count: int, events: Sequence[Recorded], what: str) -> None:
    """UnreadableExport unless there are as many events as the head says."""
    if len(events) != count:
        told = "It was cut short" if len(events) < count else "Something was put in"
        raise UnreadableExport(
            f"{what} says that {counted(count, 'event')} follow, and {len(events)} do. {told}: copy or export it again."
        )


def addition(have: Sequence[Recorded], names: Mapping[str, str | None], brought: Exported) -> Exported:
    """The events to add to those there are, and the names of everybody afterwards.

    A store may be empty, or hold the beginning of what is brought; AnotherStore otherwise. What the store has beyond
    the file stays. In an empty store the ids mean nothing yet: those of the file hold. An erased name stays erased.
    """
    for number, (here, there) in enumerate(zip(have, brought.events, strict=False)):
        if here != there:
            raise AnotherStore(
                f"The store holds {counted(len(have), 'event')}, and the file differs from event {number} on. "
                "Nothing was changed. Bring the file into a new, empty store: name its folder with --store."
            )
    both = names.keys() & brought.names.keys() if have else ()
    for person in sorted(both):
        here_name, there_name = names[person], brought.names[person]
        if here_name is not None and there_name is not None and here_name.casefold() != there_name.casefold():
            raise AnotherStore(
                f"In the store {person} is {here_name}, in the file {there_name}. Nothing was changed. "
                "Bring the file into a new, empty store: name its folder with --store."
            )
    erased = {person: None for person in both if names[person] is None or brought.names[person] is None}
    everybody = {**names, **brought.names, **erased}
    return Exported(brought.events[len(have) :], _without_gaps(everybody, brought.events))


def _without_gaps(names: Mapping[str, str | None], events: Sequence[Recorded]) -> dict[str, str | None]:
    """Names with every id that was ever given: an id that lacks its name must not be given to somebody else."""
    given = set(names)
    for each in events:
        given.update(person for person in (each.by, *_people_of(each.event)) if person)
    running = [int(match[1]) for person in given if (match := re.fullmatch(r"p(\d{1,6})", person))]
    given.update(f"p{number}" for number in range(1, max(running, default=0) + 1))
    lacking = sorted(given - names.keys(), key=lambda person: (len(person), person))
    return {**names, **dict.fromkeys(lacking)}


def _people_of(event: Event) -> Iterator[str]:
    replaced: Event | None = event
    while isinstance(replaced, Corrected):
        replaced = replaced.replacement
    if replaced is not None and any(field.name == "person" for field in dataclasses.fields(replaced)):
        yield from filter(None, (getattr(replaced, "person", None),))


def counted(count: int, what: str, many: str = "") -> str:
    """A number with its word.

    >>> counted(1, "event"), counted(3, "event"), counted(2, "person", "people")
    ('1 event', '3 events', '2 people')
    """
    return f"{count} {what}" if count == 1 else f"{count} {many or what + 's'}"
