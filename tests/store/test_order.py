"""Days not known, corrections of corrections, inspections that decide nothing: always the side of caution."""

from datetime import UTC, datetime

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Corrected,
    Event,
    Fold,
    Inspected,
    LeftRigged,
    Measured,
    MemoryLog,
    Recorded,
    RecordedAsFound,
    Register,
    Returned,
    SetAside,
    TakenOut,
)


def on(text: str) -> PartialDate:
    return PartialDate.fromisoformat(text)


def written(day: int, event: Event) -> Recorded:
    return Recorded(event, datetime(2026, 11, day, 9, tzinfo=UTC))


READY = written(1, RecordedAsFound(rope="TV1", happened=on("2026-09-01"), length_cm=5000))
OUT = written(1, TakenOut(rope="TV1", happened=on("2026-10-01")))
BACK = written(10, Returned(rope="TV1", happened=on("2026-11-10"), clean=True, dry=True, checked=True))


@pytest.mark.parametrize(
    ("event", "state"),
    [
        (TakenOut(rope="TV1", happened=on("2026-11")), "out"),
        (LeftRigged(rope="TV1", happened=on("2026-11")), "rigged"),
    ],
)
def test_a_taking_out_known_to_the_month_may_come_after_the_return(event: Event, state: str) -> None:
    assert Fold([READY, OUT, BACK]).rope("TV1").state == "ready"
    assert Fold([READY, OUT, BACK, written(24, event)]).rope("TV1").state == state


def test_a_return_known_to_the_month_ends_the_one_taking_out_it_can_belong_to() -> None:
    out = written(20, TakenOut(rope="TV1", happened=on("2026-11")))
    back = written(24, Returned(rope="TV1", happened=on("2026-11"), clean=True, dry=True, checked=True))
    assert Fold([READY, out, back]).rope("TV1").state == "ready"
    # It may be the return from October, and the rope out since.
    assert Fold([READY, OUT, out, back]).rope("TV1").state == "out"


def test_a_measurement_known_to_the_month_comes_after_the_one_already_written_down() -> None:
    first = written(3, Measured(rope="TV1", happened=on("2026-11-03"), length_cm=4500))
    later = written(20, Measured(rope="TV1", happened=on("2026-11"), length_cm=3000))
    folded = Fold([READY, first, later])
    assert folded.rope("TV1").length_cm == 3000
    # With the first struck out, the other again counts from the first day it can mean.
    folded.extend([written(21, Corrected(happened=on("2026-11-21"), event=1, reason="another rope"))])
    assert folded.entries("TV1")[1].key[0] == on("2026-11-01").earliest


def test_an_exact_measurement_still_comes_after_one_known_to_the_month() -> None:
    vague = written(20, Measured(rope="TV1", happened=on("2026-11"), length_cm=4500))
    exact = written(21, Measured(rope="TV1", happened=on("2026-11-10"), length_cm=3000))
    assert Fold([READY, vague, exact]).rope("TV1").length_cm == 3000


@pytest.mark.parametrize("day", ["2026-11-02", "2026-11"])
def test_an_inspection_that_decides_nothing_leaves_the_rope_to_be_checked(day: str) -> None:
    look = Inspected(rope="TV1", happened=on(day), outcome="undecided", findings="sheath puffed at 12 m")
    state = Fold([READY, written(24, look)]).rope("TV1")
    assert (state.state, state.waits) == ("in preparation", ("check",))
    assert state.why_not == "in preparation: waits for check"
    fit = Inspected(rope="TV1", happened=on("2026-11-25"), outcome="fit")
    assert Fold([READY, written(24, look), written(25, fit)]).rope("TV1").state == "ready"


ASIDE = [
    READY,
    written(2, Bought(rope="TV2", happened=on("2026-09"), length_cm=4000)),
    written(2, SetAside(rope="TV1", happened=on("2026-11-02"), reason="core shot")),
]


def corrected(day: int, event: int, replacement: Event | None) -> Recorded:
    return written(
        day, Corrected(happened=on(f"2026-11-{day:02}"), event=event, replacement=replacement, reason="slip")
    )


def test_a_correction_that_struck_out_the_wrong_event_gives_it_back() -> None:
    other = Corrected(happened=on("2026-11-03"), event=1, replacement=None, reason="meant the other one")
    log = [*ASIDE, corrected(3, 2, None), corrected(4, 3, other)]
    folded = Fold(log)
    assert folded.rope("TV1").state == "set aside"
    assert (folded.stands(1), folded.ids()) == (None, ("TV1",))
    halves = Fold(log[:4])
    assert halves.rope("TV1").state == "ready"
    halves.extend(log[4:])
    assert halves.rope("TV1") == folded.rope("TV1")


def test_what_stands_in_place_of_a_correction_happened() -> None:
    aside = SetAside(rope="TV2", happened=on("2026-11-03"), reason="acid")
    folded = Fold([*ASIDE, corrected(3, 2, None), corrected(4, 3, aside)])
    assert (folded.rope("TV1").state, folded.rope("TV2").state) == ("set aside", "set aside")
    assert [each.number for each in folded.entries("TV2")] == [1, 3]


def test_a_correction_in_place_of_a_fact_is_applied() -> None:
    strike = Corrected(happened=on("2026-11-03"), event=1, replacement=None, reason="never came")
    assert Fold([*ASIDE, corrected(3, 2, strike)]).ids() == ("TV1",)


def test_a_correction_of_what_was_not_yet_written_changes_nothing_and_is_noticed() -> None:
    later = Corrected(happened=on("2026-11-03"), event=3, replacement=None, reason="itself")
    folded = Fold([*ASIDE, corrected(3, 1, None), corrected(4, 3, later)])
    assert (folded.lost_corrections, folded.stands(1)) == ([4], None)
    store = Register(MemoryLog([*ASIDE, corrected(3, 1, None)]))
    event = corrected(4, 3, later).event
    assert [each.code for each in store.record(event, recorded=BACK.recorded)] == ["no-such-event"]


def test_an_examination_gone_by_is_said_until_it_is_done() -> None:
    look = Inspected(rope="TV1", happened=on("2026-09-02"), outcome="fit", next_due=on("2026-10"))
    store = Register(MemoryLog([READY, written(2, look)]))
    on_day = datetime(2026, 11, 1, tzinfo=UTC).date()
    state = store.rope("TV1", on_day)
    assert state.why_not is None
    assert "inspection-due" in [each.code for each in state.findings]
    assert ("TV1", "inspect") in [(each.rope, each.what) for each in store.to_do(on_day)]
