"""Which ropes are to be examined first, and what a cut at a fault leaves."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.basics import PartialDate
from tethera.store import RopeState, pieces_without, to_examine

ON = date(2026, 11, 25)
LATELY = PartialDate(2026, 10, 1)


def rope(number: str, **more: object) -> RopeState:
    known = {"born": True, "waits": (), "length_cm": 3000, "last_inspected": LATELY}
    return RopeState(number, **(known | more))  # type: ignore[arg-type]


def test_a_fall_is_not_forgotten_behind_another_reason() -> None:
    found = to_examine([rope("UG1", set_aside="furry"), rope("UG2", set_aside="furry; a fall, 22 Nov 2026")], ON)
    assert [(each.rope.id, each.hurt) for each in found] == [("UG2", True), ("UG1", False)]


def test_the_most_urgent_comes_first() -> None:
    ropes = [
        rope("UG1", last_inspected=None),
        rope("UG2", inspection_due=date(2026, 12, 20)),
        rope("UG3", waits=("check",)),
        rope("UG4", inspection_due=date(2026, 11, 24)),
        rope("UG5", inspection_due=date(2026, 9, 1)),
        rope("UG6", set_aside="flat spot at 12.4 m"),
        rope("UG7", set_aside="a fall, 22 Nov 2026"),
        rope("UG8", set_aside="a chemical (battery acid), 20 Nov 2026", inspection_due=date(2026, 1, 1)),
    ]
    found = to_examine(ropes, ON)
    assert [(each.rope.id, each.why) for each in found] == [
        ("UG8", "set aside"), ("UG7", "set aside"), ("UG6", "set aside"), ("UG5", "overdue"), ("UG4", "overdue"),
        ("UG3", "check"), ("UG2", "due soon"), ("UG1", "never"),
    ]  # fmt: skip
    assert [each.hurt for each in found[:3]] == [True, True, False]
    assert found[4].days == -1


@pytest.mark.parametrize(
    "left_out",
    [
        rope("UG1"),
        rope("UG1", inspection_due=date(2026, 12, 26)),
        rope("UG1", set_aside="a fall", retired="worn"),
        rope("UG1", set_aside="a fall", missing=LATELY),
        rope("UG1", last_inspected=None, waits=("wash", "put into service")),
        RopeState("UG99"),
    ],
)
def test_what_needs_no_examination_is_left_out(left_out: RopeState) -> None:
    assert to_examine([left_out], ON) == ()


def test_due_today_and_in_thirty_days_is_due_soon() -> None:
    for day in (ON, date(2026, 12, 25)):
        assert [each.why for each in to_examine([rope("UG1", inspection_due=day)], ON)] == ["due soon"]


def test_a_cut_at_a_fault_leaves_whole_metres_without_the_damaged_stretch() -> None:
    # 30 cm go on either side: 12.1 and 17.3 m are left.
    assert pieces_without(3000, [1240]) == (1200, 1700)
    # 29.40 m: 16.7 m are left behind the fault.
    assert pieces_without(2940, [1240]) == (1200, 1600)


def test_two_faults_leave_three_pieces_and_near_the_end_only_one() -> None:
    assert pieces_without(6000, [4000, 1000]) == (900, 2900, 1900)
    assert pieces_without(3000, [2990]) == (2900,)
    assert pieces_without(3000, [1000, 1050]) == (900, 1900)
    assert pieces_without(150, [75]) == ()
    assert pieces_without(3000, [4000]) == (3000,)


@given(st.integers(1, 30_000), st.lists(st.integers(0, 30_000), max_size=6))
def test_pieces_are_whole_metres_and_never_more_than_the_rope(length_cm: int, places: list[int]) -> None:
    pieces = pieces_without(length_cm, places)
    assert sum(pieces) <= length_cm
    assert all(piece >= 100 and piece % 100 == 0 for piece in pieces)
    cuts = len({place for place in places if place <= length_cm})
    assert len(pieces) <= cuts + 1
