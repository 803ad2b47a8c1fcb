"""A mark is an event, and what happens later can make it untrue: then a rope is not ready until it is marked anew."""

from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    Bought,
    Corrected,
    Cut,
    Described,
    Dried,
    Event,
    Marked,
    Measured,
    MemoryLog,
    Piece,
    PutIntoService,
    RecordedAsFound,
    Refused,
    Register,
    Retired,
    Returned,
    RopeState,
    StoreDescribed,
    TakenOut,
    Washed,
)

DAY = PartialDate(2026, 5, 1)
WRITTEN = datetime(2026, 11, 25, 9, tzinfo=UTC)
ON = date(2026, 11, 25)
WORDS = "UG1 · 9 mm · Ulvergarth Caving Club"


def register(*events: Event) -> Register:
    made = Register(MemoryLog())
    for event in events:
        made.record_all((event,), recorded=WRITTEN)
    return made


def after(*more: Event) -> RopeState:
    """A rope of 30.2 m, marked with 30 m and in service, and what happened then."""
    begun = (
        Bought(rope="UG1", happened=DAY, length_cm=3300),
        Washed(rope="UG1", happened=DAY),
        Dried(rope="UG1", happened=DAY),
        Measured(rope="UG1", happened=DAY, length_cm=3020),
        Marked(rope="UG1", happened=DAY, length_m=30, words=WORDS),
        PutIntoService(rope="UG1", happened=DAY),
    )
    return register(*begun, *more).rope("UG1", ON)


def measured(length_cm: int) -> Measured:
    return Measured(rope="UG1", happened=PartialDate(2026, 9), length_cm=length_cm)


def marked(length_m: int, words: str = WORDS) -> Marked:
    return Marked(rope="UG1", happened=PartialDate(2026, 10), length_m=length_m, words=words)


def test_a_true_mark_leaves_a_rope_ready() -> None:
    assert after().state == "ready"
    assert after(measured(3000)).state == "ready"
    assert after(measured(3015)).marks_void == ""


def test_measured_shorter_than_its_mark_a_rope_waits_for_new_marks() -> None:
    short = after(measured(2999))
    assert (short.state, short.waits) == ("in preparation", ("mark",))
    assert short.marks_void == "it was measured 29.99 m, shorter than its mark of 30 m"
    assert not short.usable
    assert after(measured(2999), marked(29)).state == "ready"


def test_new_marks_that_still_say_too_much_do_not_make_it_ready() -> None:
    assert after(measured(2850), marked(29)).waits == ("mark",)
    assert after(measured(2850), marked(29), marked(28)).state == "ready"


def test_a_mark_put_on_by_mistake_is_doubted_and_the_rope_waits() -> None:
    wrong = after(marked(32))
    assert wrong.state == "in preparation"
    assert "mark-overstates" in {each.code for each in wrong.findings}


def test_a_correction_that_shortens_it_makes_the_marks_void_too() -> None:
    begun = [
        RecordedAsFound(rope="UG1", happened=DAY, length_cm=3020, known_by="measured"),
        Marked(rope="UG1", happened=DAY, length_m=30),
    ]
    shorter = RecordedAsFound(rope="UG1", happened=DAY, length_cm=2850, known_by="measured")
    made = register(*begun, Corrected(happened=DAY, event=0, reason="misread", replacement=shorter))
    assert made.rope("UG1", ON).waits == ("mark",)


def test_what_an_old_label_says_is_what_its_ends_say_when_it_is_measured() -> None:
    old = RecordedAsFound(rope="UG1", happened=DAY, length_cm=4500, known_by="label")
    assert register(old).rope("UG1", ON).state == "ready"
    counted = register(old, measured(4320)).rope("UG1", ON)
    assert (counted.marked_m, counted.waits) == (45, ("mark",))


def test_a_change_of_owner_makes_the_marks_void() -> None:
    sold = after(Described(rope="UG1", happened=PartialDate(2026, 9), owner="Fellmoor Potholers"))
    assert (sold.state, sold.marks_void) == ("in preparation", "it now belongs to Fellmoor Potholers")
    assert {each.code for each in sold.findings} >= {"mark-void"}
    named = marked(30, "UG1 · 9 mm · Fellmoor Potholers")
    assert (
        after(Described(rope="UG1", happened=PartialDate(2026, 9), owner="Fellmoor Potholers"), named).state == "ready"
    )


def test_to_say_whose_it_always_was_changes_nothing() -> None:
    assert after(Described(rope="UG1", happened=PartialDate(2026, 9), owner="ulvergarth caving club")).state == "ready"


def test_what_else_is_said_of_a_rope_leaves_its_marks() -> None:
    assert after(Described(rope="UG1", happened=PartialDate(2026, 9), maker="Maker A")).state == "ready"


def test_both_pieces_of_a_cut_rope_wait_for_marks_of_their_own() -> None:
    cut = Cut(
        rope="UG1",
        happened=PartialDate(2026, 9),
        into=(Piece(rope="UG2", length_cm=1500), Piece(rope="UG3", length_cm=1400)),
    )
    made = register(
        *(RecordedAsFound(rope="UG1", happened=DAY, length_cm=3020), Marked(rope="UG1", happened=DAY, length_m=30), cut)
    )
    for piece in ("UG2", "UG3"):
        state = made.rope(piece, ON)
        assert "mark" in state.waits
        assert (state.marked_m, state.marks_void) == (None, "")


def test_a_rope_that_is_out_stays_out_and_today_still_says_so() -> None:
    made = register(
        RecordedAsFound(rope="UG1", happened=DAY, length_cm=3020, known_by="measured"),
        Marked(rope="UG1", happened=DAY, length_m=30),
        TakenOut(rope="UG1", happened=PartialDate(2026, 8)),
        measured(2850),
    )
    assert made.rope("UG1", ON).state == "out"
    assert "mark it anew" in {each.what for each in made.to_do(ON)}


def test_today_names_it_once_as_marks_to_be_made_anew() -> None:
    made = register(
        RecordedAsFound(rope="UG1", happened=DAY, length_cm=3020, known_by="measured"),
        Marked(rope="UG1", happened=DAY, length_m=30),
        measured(2850),
    )
    assert [each.what for each in made.to_do(ON) if "mark" in each.what] == ["mark it anew"]


def test_a_rope_with_void_marks_cannot_be_put_into_service() -> None:
    made = register(
        Bought(rope="UG1", happened=DAY, length_cm=3300, owner="Ulvergarth Caving Club"),
        Measured(rope="UG1", happened=DAY, length_cm=3020),
        Marked(rope="UG1", happened=DAY, length_m=30, words=WORDS),
        Described(rope="UG1", happened=PartialDate(2026, 9), owner="Fellmoor Potholers"),
    )
    with pytest.raises(Refused, match="marks are void, it now belongs to Fellmoor Potholers"):
        made.record_all((PutIntoService(rope="UG1", happened=PartialDate(2026, 10)),), recorded=WRITTEN)


def test_a_longer_count_afterwards_does_not_bring_back_marks_that_a_count_spoke_against() -> None:
    longer = [Measured(rope="UG1", happened=PartialDate(2026, month), length_cm=3020) for month in (10, 11)]
    # Said once the shorter count holds, said twice the longer does.
    assert after(measured(2850), longer[0]).mark_overstates
    twice = after(measured(2850), *longer)
    assert (twice.mark_overstates, twice.waits) == (False, ("mark",))
    assert twice.marks_void == "it was measured 28.5 m, shorter than its mark of 30 m"
    assert "mark-void" in {each.code for each in twice.findings}


def test_a_misread_count_that_is_corrected_brings_them_back() -> None:
    begun = (
        RecordedAsFound(rope="UG1", happened=DAY, length_cm=3020, known_by="measured"),
        Marked(rope="UG1", happened=DAY, length_m=30),
        measured(2050),
    )
    right = Corrected(happened=DAY, event=2, reason="misread", replacement=measured(3050))
    assert register(*begun).rope("UG1", ON).waits == ("mark",)
    assert register(*begun, right).rope("UG1", ON).state == "ready"


def test_marks_that_only_paper_speaks_against_hold_once_it_is_measured() -> None:
    begun = (
        RecordedAsFound(rope="UG1", happened=DAY, length_cm=3000, known_by="sheet"),
        Marked(rope="UG1", happened=PartialDate(2026, 6), length_m=31),
    )
    assert register(*begun).rope("UG1", ON).marks_void == "its mark says 31 m but it has 30 m"
    assert register(*begun, measured(3120)).rope("UG1", ON).state == "ready"
    assert register(*begun, measured(3080)).rope("UG1", ON).waits == ("mark",)


def owned(owner: str, month: int) -> Described:
    return Described(rope="UG1", happened=PartialDate(2026, month), owner=owner)


def test_a_new_owner_is_not_forgotten_over_a_shorter_length() -> None:
    both = after(owned("Fellmoor Potholers", 7), measured(2850))
    assert both.marks_void == (
        "it was measured 28.5 m, shorter than its mark of 30 m; it now belongs to Fellmoor Potholers"
    )


def test_a_rope_given_back_to_whom_its_ends_name_is_ready_again() -> None:
    assert after(owned("Fellmoor Potholers", 7), owned("Ulvergarth Caving Club", 8)).state == "ready"
    short = after(measured(2850), owned("Fellmoor Potholers", 9), owned("Ulvergarth Caving Club", 10))
    assert short.waits == ("mark",)


@pytest.mark.parametrize(
    ("words", "void"),
    [
        ("UG1 · 10 mm type A · in service Sep 2026 · Ulvergarth Caving Club", False),
        ("UG1 9mm A 09/2026 UCC", False),
        ("UG1 · 10.5 mm dynamic · in service 2022", False),
        ("UG1 end A", False),
        ("", False),
        ("UG1 9mm A 09/2026 FP", True),
        ("UG1 · 10 mm · Fellmoor Potholers", True),
    ],
)
def test_ends_are_void_for_an_owner_only_where_they_name_another(words: str, void: bool) -> None:
    begun = (
        RecordedAsFound(rope="UG1", happened=DAY, length_cm=3020, known_by="measured"),
        Marked(rope="UG1", happened=DAY, length_m=30, words=words),
        owned("Ulvergarth Caving Club", 9),
    )
    assert bool(register(*begun).rope("UG1", ON).marks_void) is void


def test_a_store_that_changes_its_name_holds_no_rope_back_and_says_which_ends_name_the_old_one() -> None:
    def named(month: int, owner: str, short: str = "") -> StoreDescribed:
        return StoreDescribed(happened=PartialDate(2026, month), code="UG", owner=owner, owner_short=short)

    def found(rope: str) -> RecordedAsFound:
        return RecordedAsFound(rope=rope, happened=DAY, length_cm=3020, known_by="measured")

    made = register(
        named(1, "Ulvergarth Caving Club"),
        *(found(each) for each in ("UG1", "UG2", "UG3", "UG4")),
        Marked(rope="UG1", happened=DAY, length_m=30, words="UG1 · 9 mm · Ulvergarth Caving Club"),
        Marked(rope="UG2", happened=DAY, length_m=30, words="UG2 · 9 mm · Fell Cavers"),
        Marked(rope="UG3", happened=DAY, length_m=30, words="UG3 · 9 mm"),
        Marked(rope="UG4", happened=DAY, length_m=30),
    )
    assert "mark-other-owner" not in {each.code for rope in made.ropes(ON) for each in rope.findings}
    made.record(named(9, "Fell Cavers", "FC"), recorded=WRITTEN)
    named_old = {rope.id for rope in made.ropes(ON) if "mark-other-owner" in {each.code for each in rope.findings}}
    assert named_old == {"UG1"}
    assert made.rope("UG1", ON).state == "ready"


def test_a_booked_rope_whose_marks_become_void_keeps_its_booking_and_says_so_at_once() -> None:
    begun = (
        RecordedAsFound(rope="UG1", happened=DAY, length_cm=3020, known_by="measured"),
        Marked(rope="UG1", happened=DAY, length_m=30),
        Booked(rope="UG1", happened=DAY, first_day=date(2026, 11, 28), last_day=date(2026, 11, 29), trip="Pewter Hole"),
    )
    made = register(*begun)
    told = made.record(measured(2850), recorded=WRITTEN)
    assert ("booked-mark-void", "It is booked 28 to 29 Nov 2026, Pewter Hole, but its marks are void.") in {
        (each.code, each.message) for each in told
    }
    assert [each.trip for each in made.rope("UG1", ON).bookings] == ["Pewter Hole"]
    late = made.rope("UG1", date(2026, 12, 1))
    assert "booked-mark-void" not in {each.code for each in late.findings}


def test_who_brings_back_a_rope_with_untrue_marks_is_told() -> None:
    made = register(
        RecordedAsFound(rope="UG1", happened=DAY, length_cm=3020, known_by="measured"),
        Marked(rope="UG1", happened=DAY, length_m=30),
        TakenOut(rope="UG1", happened=PartialDate(2026, 8)),
        measured(2850),
    )
    told = made.record(Returned(rope="UG1", happened=PartialDate(2026, 10)), recorded=WRITTEN)
    assert "mark-overstates" in {each.code for each in told}
    assert made.rope("UG1", ON).waits == ("wash", "dry", "mark", "check")


def test_what_a_new_owner_makes_void_is_told_at_once_and_only_once() -> None:
    made = register(
        RecordedAsFound(rope="UG1", happened=DAY, length_cm=3020, known_by="measured"),
        Marked(rope="UG1", happened=DAY, length_m=30, words=WORDS),
    )
    told = made.record(owned("Fellmoor Potholers", 9), recorded=WRITTEN)
    assert [each.code for each in told] == ["mark-void"]
    assert made.record(Described(rope="UG1", happened=PartialDate(2026, 10), maker="Maker A"), recorded=WRITTEN) == ()


def test_a_retired_rope_needs_no_marks() -> None:
    state = after(Retired(rope="UG1", happened=PartialDate(2026, 8), reason="worn"), measured(2850))
    assert (state.state, state.waits, state.marks_void) == ("retired", (), "")


lengths = st.integers(100, 9000)
whens = st.sampled_from([PartialDate(2026, month) for month in range(1, 12)])
happenings = st.one_of(
    st.builds(Measured, rope=st.just("UG1"), happened=whens, length_cm=lengths),
    st.builds(Marked, rope=st.just("UG1"), happened=whens, length_m=st.integers(1, 90)),
    st.builds(
        RecordedAsFound,
        rope=st.just("UG1"),
        happened=whens,
        length_cm=lengths,
        known_by=st.sampled_from(["label", "sheet", "measured"]),
    ),
    st.builds(Bought, rope=st.just("UG1"), happened=whens, length_cm=lengths),
    st.builds(Described, rope=st.just("UG1"), happened=whens, owner=st.sampled_from([None, "A", "B"])),
    st.builds(Washed, rope=st.just("UG1"), happened=whens),
    st.builds(Dried, rope=st.just("UG1"), happened=whens),
    st.builds(Returned, rope=st.just("UG1"), happened=whens, clean=st.just(True), dry=st.just(True)),
    st.builds(TakenOut, rope=st.just("UG1"), happened=whens),
)


@settings(deadline=None)
@given(st.lists(happenings, max_size=8))
def test_no_rope_that_may_be_planned_bears_a_mark_that_says_too_much(events: list[Event]) -> None:
    state = register(*events).rope("UG1", ON) if events else RopeState("UG1")
    assert not (state.usable and (state.marked_m or 0) * 100 > (state.length_cm or 0))
    assert not (state.usable and state.marks_void)
