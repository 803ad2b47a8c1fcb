"""Two counts agree, or a third decides."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.basics import PartialDate
from tethera.store import Measured, RopeState
from tethera.store.counts import agree_cm, settle
from tethera.store.rules import doubts

COUNT = st.integers(1, 50_000)


def test_two_that_agree_give_the_lower() -> None:
    settled = settle([3000, 3010])
    assert (settled.length_cm, settled.rests_on, settled.agreed, settled.said) == (3000, (3000, 3010), True, "")


def test_a_metre_apart_is_no_length_yet_and_the_lower_is_kept() -> None:
    settled = settle([3000, 2900])
    assert (settled.length_cm, settled.agreed) == (2900, False)
    assert "no two agree" in settled.said


@pytest.mark.parametrize(
    ("counts", "length", "which"),
    [
        ([2900, 3000, 3005], 3000, "the second and the third agree"),
        ([3000, 2900, 2995], 2995, "the first and the third agree"),
        # Both neighbours of the middle one agree with it: the nearer pair counts, on a tie the lower.
        ([3000, 3010, 3020], 3000, "the first and the second agree"),
    ],
)
def test_a_third_decides_and_it_is_said_which_agree(counts: list[int], length: int, which: str) -> None:
    settled = settle(counts)
    assert (settled.length_cm, settled.agreed) == (length, True)
    assert which in settled.said


def test_one_count_stands_alone() -> None:
    assert settle([2940]).length_cm == 2940
    assert not settle([2940]).agreed


@given(st.lists(COUNT, min_size=1, max_size=5))
def test_the_length_is_a_count_and_never_above_the_lower_of_those_it_rests_on(counts: list[int]) -> None:
    settled = settle(counts)
    assert settled.length_cm == min(settled.rests_on)
    assert set(settled.rests_on) <= set(counts)


@given(st.lists(COUNT, min_size=2, max_size=5))
def test_what_is_settled_raises_no_doubt_about_the_counts_and_what_is_not_does(counts: list[int]) -> None:
    settled = settle(counts)
    day = PartialDate(2026, 11, 1)
    event = Measured(rope="UG1", happened=day, length_cm=settled.length_cm, counts_cm=settled.rests_on)
    found = {each.code for each in doubts(RopeState("UG1"), event)}
    assert ("counts-disagree" in found) is not settled.agreed


@pytest.mark.parametrize("counts", [[], [0], [3000, -1], [1, 2, 3, 4, 5, 6]])
def test_what_is_no_count_is_told(counts: list[int]) -> None:
    with pytest.raises(ValueError, match="counts"):
        settle(counts)


def test_counts_may_lie_ten_centimetres_apart() -> None:
    """tables/doubts.toml, counts_agree: 0.1 m."""
    assert agree_cm() == 10
