"""Which entries name a person: every field of every event that can hold an id is known."""

from dataclasses import fields
from typing import get_type_hints

from tethera.store import EVENT_KINDS, Recorded
from tethera.store.people import WHO, names_person

#: Words that may be missing and are no person's id.
NO_PERSON = {"material", "product", "maker", "batch", "owner", "supplier", "soap", "chemical", "previous"}


def test_every_field_that_can_hold_a_person_is_looked_at() -> None:
    """A person may not be known, so the field is words or None. A new one goes into WHO, or above."""
    found = set()
    for cls in (*EVENT_KINDS.values(), Recorded):
        hints = get_type_hints(cls)
        found |= {each.name for each in fields(cls) if hints[each.name] == str | None}
    assert found == set(WHO) | NO_PERSON


def test_a_word_that_only_looks_like_an_id_names_nobody() -> None:
    assert not names_person({"what": "used", "by": "p1", "pitch": "p3", "note": "p3", "pitches": ["p3"]}, "p3")
    assert names_person({"what": "washed", "by": "p3"}, "p3")
    assert names_person({"what": "inspected", "by": "p1", "person": "p3"}, "p3")
    twice = {"what": "corrected", "by": "p1", "replacement": {"what": "washed"}}
    assert not names_person({"what": "corrected", "by": "p2", "replacement": twice}, "p3")
    assert names_person({"what": "corrected", "by": "p2", "replacement": twice}, "p1")
