"""What only a competent person may record, however it is dressed."""

from datetime import UTC, datetime

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    EVENT_KINDS,
    Cleared,
    Corrected,
    Event,
    Inspected,
    Measured,
    Recorded,
    SetAside,
    Washed,
    kind,
    needs_competent,
    only_competent,
)

DAY = PartialDate(2026, 5, 3)
WASHED = Washed(rope="TV1", happened=DAY)
EXAMINED = Inspected(rope="TV1", happened=DAY, outcome="fit", person="p2", findings="none")


def corrected(number: int, replacement: Event | None = None) -> Corrected:
    return Corrected(happened=DAY, event=number, reason="slip", replacement=replacement)


def log(*events: Event) -> list[Recorded]:
    return [Recorded(each, datetime(2026, 11, 25, tzinfo=UTC)) for each in events]


def test_only_examinations_and_clearings_are_a_competent_persons_by_themselves() -> None:
    alone = {kind(Inspected), kind(Cleared)}
    assert alone <= EVENT_KINDS.keys()
    aside, measured = (
        SetAside(rope="TV1", happened=DAY, reason="a fall"),
        Measured(rope="TV1", happened=DAY, length_cm=10),
    )
    assert [only_competent(each) for each in (EXAMINED, Cleared(rope="TV1", happened=DAY))] == [True, True]
    assert [only_competent(each) for each in (WASHED, aside, measured)] == [False, False, False]


def test_a_correction_is_theirs_by_what_it_corrects_and_by_what_it_writes() -> None:
    assert only_competent(corrected(0), EXAMINED)
    assert only_competent(corrected(0, EXAMINED), WASHED)
    assert only_competent(corrected(1), corrected(0, EXAMINED))
    assert not only_competent(corrected(0, WASHED), WASHED)
    assert not only_competent(corrected(0))


@pytest.mark.parametrize(
    ("before", "event", "theirs"),
    [
        ((WASHED,), corrected(0), False),
        ((WASHED,), corrected(0, EXAMINED), True),
        ((EXAMINED,), corrected(0), True),
        # Striking out the correction that struck out an examination declares it again.
        ((EXAMINED, corrected(0)), corrected(1), True),
        ((EXAMINED, corrected(0), corrected(1)), corrected(2), True),
        # What was a wash when it was written, and was then corrected to be an examination.
        ((WASHED, corrected(0, EXAMINED)), corrected(0), True),
        ((WASHED, corrected(0, EXAMINED)), corrected(1, corrected(0)), True),
        # A correction inside a correction, of an examination.
        ((EXAMINED, WASHED, corrected(1)), corrected(2, corrected(0)), True),
        ((WASHED, WASHED, corrected(1), corrected(2, corrected(0, EXAMINED))), corrected(0), True),
        ((WASHED, WASHED, corrected(1)), corrected(2), False),
        # Of nothing, or of itself: it does nothing, and is doubted elsewhere.
        ((WASHED,), corrected(7), False),
        ((EXAMINED,), corrected(-1), False),
    ],
)
def test_whatever_an_event_ever_was_counts(before: tuple[Event, ...], event: Corrected, theirs: bool) -> None:
    assert needs_competent(event, log(*before)) is theirs
