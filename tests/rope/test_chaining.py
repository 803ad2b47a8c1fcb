"""Folding and chaining, and what the first washes take."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.rope import chain_length_m, published_loss, strands_to_fold


@given(st.floats(0.5, 120.0))
def test_up_to_a_long_rope_the_chain_can_be_handled(length_m: float) -> None:
    assert chain_length_m(length_m, strands_to_fold(length_m)) <= 5.0


@given(st.floats(0.5, 500.0))
def test_no_rope_is_folded_more_often_than_it_needs(length_m: float) -> None:
    strands = strands_to_fold(length_m)
    assert strands in (1, 2, 4, 8)
    assert strands == 1 or chain_length_m(length_m, strands // 2) > 5.0


def test_a_whole_reel_is_folded_no_thicker_than_hands_can_loop() -> None:
    assert strands_to_fold(200.0) == 8
    assert chain_length_m(200.0, 8) == pytest.approx(8.33, abs=0.01)


def test_a_chain_is_a_third_of_what_is_folded() -> None:
    """Three runs of rope lie side by side."""
    assert chain_length_m(0.9, 1) == pytest.approx(0.3)


@pytest.mark.parametrize(("length_m", "strands"), [(0.0, 1), (-3.0, 2), (float("nan"), 1), (10.0, 0)])
def test_what_is_no_rope_has_no_chain(length_m: float, strands: int) -> None:
    with pytest.raises(ValueError, match="longer than 0 m"):
        chain_length_m(length_m, strands)


def test_the_first_washes_leave_between_a_sixth_less_and_nearly_all() -> None:
    """Figures read: 2 % for polyester, 16 % for machine-washed nylon."""
    assert published_loss().left_m(100.0) == pytest.approx((84.0, 98.0))
