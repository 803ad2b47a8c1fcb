"""A short log, and the state or findings it gives."""

import dataclasses
import random
from collections.abc import Sequence
from datetime import UTC, date, datetime

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Chained,
    Cleared,
    Corrected,
    Cut,
    Described,
    Dried,
    Event,
    Fold,
    Found,
    Inspected,
    Marked,
    Measured,
    Missed,
    Piece,
    PutIntoService,
    Recorded,
    RecordedAsFound,
    Retired,
    Returned,
    RopeState,
    SetAside,
    Stocktaken,
    TakenOut,
    Used,
    Washed,
)
from tethera.store.rope_state import changed

WRITTEN = datetime(2026, 11, 25, 9, tzinfo=UTC)


def on(text: str) -> PartialDate:
    return PartialDate.fromisoformat(text)


def fold(*events: Event) -> Fold:
    return Fold(Recorded(each, WRITTEN) for each in events)


def codes(state: RopeState) -> list[str]:
    return [each.code for each in state.findings]


BOUGHT = Bought(rope="TV1", happened=on("2024-01"), length_cm=5000, diameter_mm=10.0, rope_type="A", batch="A24")
PREPARED: tuple[Event, ...] = (
    BOUGHT,
    Washed(rope="TV1", happened=on("2024-02-01")),
    Dried(rope="TV1", happened=on("2024-02-03")),
    Measured(rope="TV1", happened=on("2024-02-04"), length_cm=4612, counts_cm=(4612, 4615)),
    Marked(rope="TV1", happened=on("2024-02-04"), length_m=46),
    PutIntoService(rope="TV1", happened=on("2024-02-05")),
)


def test_the_quick_copy_of_a_state_is_the_plain_one() -> None:
    state = fold(*PREPARED).rope("TV1")
    assert changed(state, wear=7, notes=("dusty",)) == dataclasses.replace(state, wear=7, notes=("dusty",))
    assert (state.wear, state.notes) == (0, ())


def test_a_new_rope_waits_for_every_step() -> None:
    state = fold(BOUGHT).rope("TV1")
    assert state.state == "in preparation"
    assert state.waits == ("wash", "dry", "measure", "mark", "put into service")
    assert not state.usable


def test_a_rope_prepared_by_the_book_is_ready_and_nothing_is_doubted() -> None:
    state = fold(*PREPARED).rope("TV1")
    assert (state.state, state.length_cm, state.marked_m, state.findings) == ("ready", 4612, 46, ())
    assert state.why_not is None
    # 0.2 m + 0.5 % of 46.12 m = 0.4306 m
    assert state.length_sd_cm == pytest.approx(43.06)


def test_state_on_a_day_knows_nothing_of_later_days() -> None:
    assert fold(*PREPARED).rope("TV1", date(2024, 2, 3)).waits == ("measure", "mark", "put into service")


def test_what_comes_back_unwashed_and_unchecked_is_not_ready() -> None:
    log = (*PREPARED, TakenOut(rope="TV1", happened=on("2024-03-01")), Returned(rope="TV1", happened=on("2024-03-02")))
    state = fold(*log).rope("TV1")
    assert state.waits == ("wash", "dry", "check")
    assert state.wear == 1
    done = (
        Washed(rope="TV1", happened=on("2024-03-03")),
        Dried(rope="TV1", happened=on("2024-03-04")),
        Inspected(rope="TV1", happened=on("2024-03-05"), outcome="fit"),
    )
    assert fold(*log, *done).rope("TV1").state == "ready"


@pytest.mark.parametrize(
    "event",
    [
        Used(rope="TV1", happened=on("2024-03-01"), fall=True),
        Used(rope="TV1", happened=on("2024-03-01"), chemical="battery acid"),
        Returned(rope="TV1", happened=on("2024-03-01"), fall=True),
        Inspected(rope="TV1", happened=on("2024-03-01"), outcome="not fit", findings="flat spot at 12.4 m"),
    ],
)
def test_a_fall_a_chemical_or_a_bad_inspection_sets_the_rope_aside_at_once(event: Event) -> None:
    state = fold(*PREPARED, event).rope("TV1")
    assert state.state == "set aside"
    assert not state.usable


@pytest.mark.parametrize("word", ["no", "None", "-", "nothing", " n/a ", "No."])
def test_no_written_for_a_chemical_is_no_chemical(word: str) -> None:
    used = Used(rope="TV1", happened=on("2024-03-01"), chemical=word)
    back = Returned(rope="TV1", happened=on("2024-03-02"), clean=True, dry=True, checked=True, chemical=word)
    assert (used.chemical, back.chemical) == (None, None)
    assert fold(*PREPARED, used, back).rope("TV1").state == "ready"


def test_a_rope_set_aside_stays_so_until_it_is_cleared() -> None:
    aside = (*PREPARED, SetAside(rope="TV1", happened=on("2024-03-01"), reason="furry"))
    washed = (*aside, Washed(rope="TV1", happened=on("2024-03-02")), Dried(rope="TV1", happened=on("2024-03-03")))
    assert fold(*washed).rope("TV1").state == "set aside"
    cleared = Cleared(rope="TV1", happened=on("2024-03-04"), person="p1", findings="sheath only")
    assert fold(*washed, cleared).rope("TV1").state == "ready"


def test_one_more_reason_never_hides_the_one_for_which_a_rope_is_set_aside() -> None:
    unfit = Inspected(rope="TV1", happened=on("2024-03-01"), outcome="not fit", findings="core shows.")
    fall = Used(rope="TV1", happened=on("2024-03-02"), fall=True)
    again = SetAside(rope="TV1", happened=on("2024-03-03"), reason="core shows")
    furry = SetAside(rope="TV1", happened=on("2024-03-04"), reason="furry")
    state = fold(*PREPARED, unfit, fall, again, furry).rope("TV1")
    assert state.set_aside == "furry; a fall, 2 Mar 2024; not fit when inspected: core shows"
    assert state.found_unfit


def test_a_date_known_to_the_month_is_taken_on_the_side_of_caution() -> None:
    """Set aside some time in March, cleared on the 4th: perhaps it was set aside after that."""
    cleared = Cleared(rope="TV1", happened=on("2024-03-04"), person="p1", findings="sheath only")
    aside = SetAside(rope="TV1", happened=on("2024-03"), reason="furry")
    fall = Used(rope="TV1", happened=on("2024-03"), fall=True)
    assert fold(*PREPARED, cleared, aside).rope("TV1").state == "set aside"
    assert fold(*PREPARED, cleared, fall).rope("TV1").state == "set aside"


@pytest.mark.parametrize(
    "event",
    [
        SetAside(rope="TV1", happened=on("2026-03"), reason="furry"),
        Used(rope="TV1", happened=on("2026-03"), fall=True),
        Inspected(rope="TV1", happened=on("2026"), outcome="not fit"),
    ],
)
def test_a_clearing_written_down_later_answers_what_happened_in_its_own_month(event: Event) -> None:
    """Set aside some time in March, then written as cleared on 10 March: that can only be the order of the log."""
    cleared = Cleared(rope="TV1", happened=on("2026-03-10"), person="p1", findings="sheath only")
    state = fold(*PREPARED, event, cleared).rope("TV1")
    assert (state.set_aside, state.found_unfit, codes(state)) == (None, False, [])


def test_a_clearing_answers_neither_another_month_nor_another_reason() -> None:
    cleared = Cleared(rope="TV1", happened=on("2026-03-10"), person="p1", findings="sheath only")
    april = SetAside(rope="TV1", happened=on("2026-04"), reason="furry")
    state = fold(*PREPARED, april, cleared).rope("TV1")
    assert (state.set_aside, codes(state)) == ("furry", ["not-set-aside"])
    assert "counts from the last day" in state.findings[0].way_out
    march = SetAside(rope="TV1", happened=on("2026-03"), reason="furry")
    cut = SetAside(rope="TV1", happened=on("2026-03-20"), reason="cut sheath")
    assert fold(*PREPARED, march, cleared, cut).rope("TV1").set_aside == "cut sheath"


@pytest.mark.parametrize(
    "seen", [Found(rope="TV1", happened=on("2026-03-10")), Stocktaken(seen=("TV1",), happened=on("2026-03-10"))]
)
def test_a_rope_missed_some_time_in_march_and_found_in_march_is_there(seen: Event) -> None:
    state = fold(*PREPARED, Missed(rope="TV1", happened=on("2026-03")), seen).rope("TV1")
    assert (state.missing, state.waits, codes(state)) == (None, ("wash", "dry", "check"), [])


def test_a_return_written_down_later_ends_a_taking_out_of_its_own_month() -> None:
    taken = TakenOut(rope="TV1", happened=on("2026-03"))
    back = Returned(rope="TV1", happened=on("2026-03-10"), clean=True, dry=True, checked=True)
    state = fold(*PREPARED, taken, back).rope("TV1")
    assert (state.state, state.wear, codes(state)) == ("ready", 1, [])
    # Two taken out and one back: it may be out still.
    assert fold(*PREPARED, taken, taken, back).rope("TV1").state == "out"
    assert fold(*PREPARED, back, taken).rope("TV1").state == "out"


def test_a_rope_cut_twice_is_doubted_and_the_pieces_of_the_second_cut_are_kept_back() -> None:
    first = Cut(rope="TV1", happened=on("2024-05-01"), into=(Piece(rope="TV2", length_cm=3000),))
    second = Cut(rope="TV1", happened=on("2024-05-02"), into=(Piece(rope="TV4", length_cm=3000),))
    folded = fold(*PREPARED, first, second)
    (doubt,) = folded.rope("TV1").findings
    assert (doubt.code, doubt.message) == ("cut-twice", "It was already cut on 1 May 2024: correct one of them.")
    assert folded.rope("TV2").state == "in preparation"
    assert folded.rope("TV4").why_not == "retired: TV1 was already cut on 1 May 2024: correct one of the cuts"


def test_what_happens_to_a_cut_rope_belongs_to_a_piece() -> None:
    cut = Cut(rope="TV1", happened=on("2024-05-01"), into=(Piece(rope="TV2", length_cm=3000),))
    (doubt,) = fold(*PREPARED, cut, Washed(rope="TV1", happened=on("2024-06"))).rope("TV1").findings
    assert doubt.message == "Washed (Jun 2024) after it was cut on 1 May 2024."
    assert doubt.way_out == "Record it for the piece it happened to, or correct the cut."


def test_a_cut_before_the_rope_was_recorded_as_found_is_told_as_that() -> None:
    cut = Cut(rope="TV1", happened=on("2025-05-01"), into=(Piece(rope="TV2", length_cm=3000),))
    values = {"length_cm": 4000, "diameter_mm": 9.0, "rope_type": "B", "bought": on("2018")}
    old = RecordedAsFound(rope="TV1", happened=on("2026-01-10"), **values)  # type: ignore[arg-type]
    folded = fold(old, cut)
    (doubt,) = folded.rope("TV1").findings
    assert doubt.code == "cut-before-found"
    assert doubt.message == "It was cut on 1 May 2025, but recorded as found whole on 10 Jan 2026."
    piece = folded.rope("TV2")
    assert (piece.length_cm, piece.diameter_mm, piece.rope_type, piece.bought) == (3000, 9.0, "B", on("2018"))


def test_a_rope_found_again_waits_to_be_looked_over() -> None:
    gone = (*PREPARED, Missed(rope="TV1", happened=on("2025")))
    assert fold(*gone).rope("TV1").state == "missing"
    assert fold(*gone, Found(rope="TV1", happened=on("2026-01-05"))).rope("TV1").waits == ("wash", "dry", "check")
    assert fold(*gone, Stocktaken(seen=("TV1",), happened=on("2026-01-05"))).rope("TV1").missing is None


def test_the_day_of_writing_down_is_never_taken_for_the_age_of_a_rope() -> None:
    """Nobody knows how old it is: neither the record nor its first use here may make it young."""
    old = RecordedAsFound(rope="TV1", happened=on("2026-11-25"), length_cm=4000)
    state = fold(old, Used(rope="TV1", happened=on("2026-11-25"))).rope("TV1")
    assert (state.state, state.bought, state.since, state.first_used) == ("ready", None, None, None)


@pytest.mark.parametrize(
    ("condition", "why_not"),
    [
        ("retired", "retired before this record began"),
        ("set aside", "set aside before this record began (furry)"),
    ],
)
def test_why_a_rope_was_kept_back_before_this_record_does_not_repeat_its_row(condition: str, why_not: str) -> None:
    values = {"condition": condition, "written": ("10", "9mm", "1998"), "note": "furry"}
    old = RecordedAsFound(rope="TV1", happened=on("2026-11-25"), length_cm=4000, **values)  # type: ignore[arg-type]
    assert fold(old).rope("TV1").why_not == why_not


def test_pieces_inherit_age_use_and_specification_and_the_marks_are_void() -> None:
    log = (
        *PREPARED,
        Used(rope="TV1", happened=on("2024-04-01"), days=3),
        Cut(
            rope="TV1",
            happened=on("2024-05-01"),
            into=(Piece(rope="TV2", length_cm=3000), Piece(rope="TV3", length_cm=1600)),
        ),
    )
    folded = fold(*log)
    old, piece = folded.rope("TV1"), folded.rope("TV2")
    assert (old.state, old.retired) == ("retired", "cut into TV2 and TV3")
    assert (piece.parent, piece.wear, piece.batch, piece.rope_type, piece.bought) == (
        "TV1",
        3,
        "A24",
        "A",
        on("2024-01"),
    )
    assert (piece.marked_m, piece.waits) == (None, ("measure", "mark", "put into service"))
    assert [each.number for each in folded.entries("TV2")] == [0, 1, 2, 3, 4, 5, 6, 7]


def test_a_backdated_use_of_the_parent_reaches_the_pieces() -> None:
    cut = Cut(rope="TV1", happened=on("2024-05-01"), into=(Piece(rope="TV2", length_cm=3000),))
    folded = fold(*PREPARED, cut)
    assert folded.rope("TV2").wear == 0
    folded.extend([Recorded(Used(rope="TV1", happened=on("2024-04-01"), days=2), WRITTEN)])
    assert folded.rope("TV2").wear == 2


def test_what_kept_the_parent_from_use_keeps_the_pieces() -> None:
    aside = SetAside(rope="TV1", happened=on("2024-04-01"), reason="flat spot at 12.4 m")
    cut = Cut(rope="TV1", happened=on("2024-05-01"), into=(Piece(rope="TV2", length_cm=1200),))
    assert fold(*PREPARED, aside, cut).rope("TV2").state == "set aside"
    retired = Retired(rope="TV1", happened=on("2024-04-01"), reason="old")
    assert fold(*PREPARED, retired, cut).rope("TV2").state == "retired"


def test_pieces_longer_than_the_rope_are_doubted() -> None:
    into = (Piece(rope="TV2", length_cm=3000), Piece(rope="TV3", length_cm=1700))
    assert codes(fold(*PREPARED, Cut(rope="TV1", happened=on("2024-05-01"), into=into)).rope("TV1")) == [
        "pieces-too-long"
    ]


def test_ropes_cut_from_each_other_do_not_go_round_for_ever() -> None:
    folded = fold(
        Cut(rope="A", happened=on("2024"), into=(Piece(rope="B", length_cm=100),)),
        Cut(rope="B", happened=on("2024"), into=(Piece(rope="A", length_cm=100),)),
    )
    assert {folded.rope("A").state, folded.rope("B").state} == {"retired"}
    assert folded.entries("A")


@pytest.mark.parametrize(
    ("event", "code"),
    [
        (Measured(rope="TV1", happened=on("2024-06"), length_cm=4900), "longer-than-before"),
        (Measured(rope="TV1", happened=on("2024-06"), length_cm=3000), "much-shorter"),
        (Measured(rope="TV1", happened=on("2024-06"), length_cm=4600, counts_cm=(4600, 4700)), "counts-disagree"),
        (Returned(rope="TV1", happened=on("2024-06")), "never-taken"),
        (Found(rope="TV1", happened=on("2024-06")), "not-missing"),
        (Cleared(rope="TV1", happened=on("2024-06"), person="p1", findings="x"), "not-set-aside"),
        (BOUGHT, "number-twice"),
        (Measured(rope="TV1", happened=on("2024-06"), length_cm=50_001), "longer-than-a-reel"),
        (Described(rope="TV1", happened=on("2024-06"), year_made=2033), "made-later"),
        (Stocktaken(seen=("TV1",), happened=on("2023")), "unknown-rope"),
    ],
)
def test_odd_facts_are_kept_and_doubted(event: Event, code: str) -> None:
    assert code in codes(fold(*PREPARED, event).rope("TV1"))


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"bought": PartialDate(2033)}, "not-yet"),
        ({"first_used": PartialDate(2026, 12)}, "not-yet"),
        ({"year_made": 2027}, "made-later"),
        ({"length_cm": 100_000}, "longer-than-a-reel"),
    ],
)
def test_what_a_rope_as_found_cannot_well_be_is_doubted(more: dict[str, object], code: str) -> None:
    old = RecordedAsFound(rope="TV1", happened=on("2026-11-25"), **more)  # type: ignore[arg-type]
    assert codes(fold(old).rope("TV1")) == [code]


def test_leaving_out_the_first_wash_is_doubted() -> None:
    unwashed = [each for each in PREPARED if not isinstance(each, Washed | Dried)]
    assert codes(fold(*unwashed).rope("TV1")) == ["not-washed"]


def test_what_happens_after_retirement_is_doubted_and_changes_nothing() -> None:
    log = (*PREPARED, Retired(rope="TV1", happened=on("2024-04-01"), reason="worn"))
    state = fold(*log, TakenOut(rope="TV1", happened=on("2024-05-01"))).rope("TV1")
    assert (state.state, codes(state)) == ("retired", ["after-retirement"])


def test_a_correction_changes_the_state_and_the_log_keeps_what_was_written() -> None:
    wrong = Measured(rope="TV1", happened=on("2024-02-04"), length_cm=4162)
    right = Measured(rope="TV1", happened=on("2024-02-04"), length_cm=4612)
    folded = fold(
        BOUGHT, wrong, Corrected(happened=on("2024-03"), event=1, replacement=right, reason="two figures swapped")
    )
    assert folded.rope("TV1").length_cm == 4612
    entry = folded.entries("TV1")[1]
    assert (entry.corrected, entry.event, entry.recorded.event) == (True, right, wrong)


def test_a_correction_can_itself_be_struck_out() -> None:
    void = Corrected(happened=on("2024-03"), event=6, replacement=None, reason="it was another rope")
    log = (*PREPARED, Retired(rope="TV1", happened=on("2024-03"), reason="worn"), void)
    assert fold(*log).rope("TV1").state == "ready"
    back = Corrected(happened=on("2024-03"), event=7, replacement=None, reason="it was this one")
    assert fold(*log, back).rope("TV1").state == "retired"


def test_a_correction_of_what_never_was_is_noticed() -> None:
    assert fold(Corrected(happened=on("2024"), event=5, reason="?")).lost_corrections == [0]


_ROPES = st.sampled_from(["A1", "A2", "A3", "A4"])
_DATES = st.builds(
    lambda month, day, known: PartialDate(2024, *((month, day)[:known])),
    st.integers(1, 12),
    st.integers(1, 28),
    st.integers(0, 2),
)


def _event(kind: str, rope: str, happened: PartialDate, number: int) -> Event:
    match kind:
        case "bought":
            return Bought(rope=rope, happened=happened, length_cm=5000)
        case "found as":
            return RecordedAsFound(rope=rope, happened=happened, length_cm=4000)
        case "measured":
            return Measured(rope=rope, happened=happened, length_cm=4000 + number)
        case "cut":
            into = tuple(Piece(rope=each, length_cm=1000) for each in ("A2", "A3", "A4") if each > rope)
            return Cut(rope=rope, happened=happened, into=into)
        case "aside":
            return SetAside(rope=rope, happened=happened, reason=f"reason {number}")
        case "corrected":
            replacement = Used(rope=rope, happened=happened, days=number) if number % 2 else None
            return Corrected(happened=happened, event=number, replacement=replacement, reason="slip")
        case "cleared":
            return Cleared(rope=rope, happened=happened)
        case "found":
            return Found(rope=rope, happened=happened)
        case "stocktaken":
            return Stocktaken(seen=(rope,), happened=happened)
    plain = {"taken": TakenOut, "returned": Returned, "used": Used, "washed": Washed, "missed": Missed}
    return plain.get(kind, Chained)(rope=rope, happened=happened)


_EVENTS = st.lists(
    st.builds(
        _event,
        st.sampled_from(
            [
                "bought",
                "found as",
                "measured",
                "cut",
                "aside",
                "corrected",
                "stocktaken",
                "taken",
                "returned",
                "used",
                "washed",
                "missed",
                "cleared",
                "found",
            ]
        ),
        _ROPES,
        _DATES,
        st.integers(0, 12),
    ),
    max_size=16,
)


def _everything(folded: Fold) -> list[tuple[RopeState, list[int]]]:
    return [(folded.rope(each), [entry.number for entry in folded.entries(each)]) for each in folded.ids()]


@given(_EVENTS, st.integers(0, 16))
@settings(deadline=None)
def test_folding_two_halves_gives_what_folding_the_whole_gives(events: Sequence[Event], place: int) -> None:
    log = [Recorded(each, WRITTEN) for each in events]
    halves = Fold(log[:place])
    _everything(halves)  # so that the second half meets states already folded
    halves.extend(log[place:])
    assert _everything(halves) == _everything(Fold(log))


@given(_EVENTS, st.integers(0, 16))
@settings(deadline=None)
def test_what_is_tried_on_a_fork_changes_nothing_in_the_fold_nor_the_other_way_round(
    events: Sequence[Event], place: int
) -> None:
    log = [Recorded(each, WRITTEN) for each in events]
    whole = Fold(log[:place])
    before = _everything(whole)
    trial = whole.fork()
    trial.extend(log[place:])
    assert _everything(whole) == before
    assert whole.numbers_taken() == Fold(log[:place]).numbers_taken()
    whole.extend([*log[place:], *log[:place]])
    assert _everything(trial) == _everything(Fold(log))
    assert _everything(whole) == _everything(Fold([*log, *log[:place]]))


@given(_EVENTS, st.lists(st.tuples(st.integers(0, 20), st.integers(0, 3)), max_size=6))
@example([Bought(rope="A1", happened=PartialDate(2024), length_cm=5000)] * 2, [(0, 2), (2, 2)])
@settings(deadline=None)
def test_corrections_taken_in_one_by_one_stand_as_all_of_them_together(
    events: Sequence[Event], more: Sequence[tuple[int, int]]
) -> None:
    """The last correction that speaks of an event, and still stands, holds; worked out anew by the slow way."""
    folded = fold(*events)
    for target, what in more:
        replacement = (
            None,
            Described(rope="A1", happened=PartialDate(2024), diameter_mm=9.0),
            Corrected(happened=PartialDate(2024), event=target - 1, reason="slip"),
            Washed(rope="A2", happened=PartialDate(2024, 2)),
        )[what]
        if target < len(folded):
            told = Corrected(happened=PartialDate(2024, 7), event=target, reason="slip", replacement=replacement)
            folded.extend([Recorded(told, WRITTEN)])
            assert {n: folded.stands(n) for n in range(len(folded))} == _standing(folded)


def _standing(folded: Fold) -> dict[int, Event | None]:
    standing: dict[int, Event | None] = {}
    for number in reversed(range(len(folded))):
        written = folded.log_entry(number).event
        event = standing.setdefault(number, written)
        # One that spoke of nothing speaks again once it is put right.
        lost = number in folded.lost_corrections and event is written
        if isinstance(event, Corrected) and not lost and event.event not in standing:
            standing[event.event] = event.replacement
    return standing


@given(_EVENTS, st.randoms(use_true_random=False))
@settings(deadline=None)
def test_events_of_different_days_give_one_state_in_whatever_order_they_are_written(
    events: Sequence[Event], chance: random.Random
) -> None:
    days = {}
    for number, each in enumerate(each for each in events if not isinstance(each, Corrected)):
        days[number] = _on_day(each, number)
    shuffled = list(days.values())
    chance.shuffle(shuffled)
    straight, mixed = fold(*days.values()), fold(*shuffled)
    assert straight.ids() == mixed.ids()
    for each in straight.ids():
        assert straight.rope(each) == mixed.rope(each)


def _on_day(event: Event, number: int) -> Event:
    values = {**vars(event), "happened": PartialDate(2024, 1 + number // 28, 1 + number % 28)}
    return type(event)(**values)


@given(_EVENTS)
@settings(deadline=None)
def test_a_voided_event_is_as_if_it_had_never_been_written(events: Sequence[Event]) -> None:
    plain = [each for each in events if not isinstance(each, Corrected)]
    extra = Described(rope="A1", happened=PartialDate(2024, 6), diameter_mm=9.0)
    void = Corrected(happened=PartialDate(2024, 7), event=len(plain), reason="slip")
    with_void = fold(*plain, extra, void)
    assert [with_void.rope(each) for each in with_void.ids()] == [
        fold(*plain).rope(each) for each in fold(*plain).ids()
    ]
