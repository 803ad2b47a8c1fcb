"""What a kind of rope is expected to lose, and how long to buy: against SciPy, draws, and what must always hold."""

import doctest
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tethera.rope import (
    MeasuredShare,
    Shrinkage,
    foresee,
    length_left_m,
    length_to_buy_m,
    predictions,
    prior_for,
    prior_from_range,
    share_left_in_use,
    share_left_together,
)

NYLON = prior_from_range(0.05, 0.15, 0.8)
SHARES = st.lists(st.floats(0.6, 1.05), max_size=12)
CONFIDENCES = st.floats(0.5, 0.999)


def conjugate(prior: Shrinkage, shares: list[float]) -> tuple[float, float, float, float]:
    """The normal-inverse-gamma update in its usual four numbers, which the code under test does not use."""
    a, k, m = prior.freedom / 2, (prior.individual / prior.common) ** 2, prior.centre
    b = a * prior.individual**2
    y = np.log(shares)
    n, mean = len(y), float(np.mean(y))
    b += 0.5 * float(((y - mean) ** 2).sum()) + k * n * (mean - m) ** 2 / (2 * (k + n))
    return (k * m + n * mean) / (k + n), k + n, a + n / 2, b


@pytest.mark.parametrize(
    "shares", [[0.84], [0.9, 0.92, 0.95], [0.85, 0.85, 0.85, 0.85], list(np.linspace(0.8, 1.0, 30))]
)
def test_the_prediction_is_the_student_t_that_scipy_gives_for_the_conjugate_update(shares: list[float]) -> None:
    m, k, a, b = conjugate(NYLON, shares)
    reference = stats.t(2 * a, loc=m, scale=math.sqrt(b * (k + 1) / (a * k)))
    told = NYLON.after(shares)
    levels = np.array([0.001, 0.05, 0.5, 0.95, 0.999])
    assert told.quantile(levels) == pytest.approx(np.exp(reference.ppf(levels)), rel=1e-12)
    at = np.linspace(0.6, 1.1, 11)
    assert told.chance_below(at) == pytest.approx(reference.cdf(np.log(at)), rel=1e-9)
    assert told.density(at) == pytest.approx(reference.pdf(np.log(at)) / at, rel=1e-9)


def test_ropes_one_by_one_or_all_at_once_tell_the_same() -> None:
    shares = [0.9, 0.86, 0.93]
    step_by_step = NYLON
    for each in shares:
        step_by_step = step_by_step.after([each])
    at_once = NYLON.after(shares)
    for name in ("centre", "common", "individual", "freedom"):
        assert getattr(step_by_step, name) == pytest.approx(getattr(at_once, name), rel=1e-12)
    assert step_by_step.ropes == at_once.ropes == 3


def test_the_density_adds_up_to_one_even_where_the_spread_is_known_for_certain() -> None:
    at = np.linspace(0.4, 1.6, 20_001)
    for told in (NYLON, Shrinkage(-0.1, 0.02, 0.03, 5e8)):
        assert float(np.trapezoid(told.density(at), at)) == pytest.approx(1.0, abs=1e-3)


def test_the_range_behind_it_holds_as_many_ropes_as_it_says() -> None:
    low, high = NYLON.quantile([0.1, 0.9])
    assert (float(low), float(high)) == pytest.approx((0.85, 0.95), abs=1e-12)


def test_draws_have_the_quantiles_and_what_ropes_of_one_kind_have_in_common() -> None:
    drawn = NYLON.draws(200_000, ropes=2, seed=5)
    assert np.quantile(drawn[:, 0], [0.05, 0.5, 0.95]) == pytest.approx(NYLON.quantile([0.05, 0.5, 0.95]), abs=0.001)
    # Two parts in three of the variance are the kind's: tables/shrinkage.toml.
    assert np.corrcoef(np.log(drawn).T)[0, 1] == pytest.approx(2 / 3, abs=0.02)
    assert (NYLON.draws(5, 2, seed=1) == NYLON.draws(5, 2, seed=1)).all()
    assert (NYLON.draws(5, 2, seed=1) != NYLON.draws(5, 2, seed=2)).any()


@pytest.mark.parametrize(("ropes", "uses"), [(1, math.inf), (3, 0.0), (3, 30.0), (10, 0.0), (10, math.inf)])
def test_several_ropes_together_and_their_life_agree_with_draws(ropes: int, uses: float) -> None:
    share = share_left_together(NYLON, 0.95, ropes, uses)
    drawn = NYLON.draws(300_000, ropes, seed=8)
    lost = np.random.default_rng(9).beta(3.2, 60.0, size=drawn.shape) * -np.expm1(-uses / 60)
    assert float(((drawn * (1 - lost)).min(axis=1) >= share).mean()) == pytest.approx(0.95, abs=0.0016)  # 4 sd of draws


@pytest.mark.parametrize(("uses", "metres"), [(10, 120.9), (30, 122.7), (100, 126.5), (math.inf, 128.6)])
def test_a_hundred_metres_for_so_many_uses(uses: float, metres: float) -> None:
    """Worked out beforehand by drawing; the scale of 60 uses is a judgement."""
    assert float(length_to_buy_m(100.0, 0.95, NYLON, uses=uses)) == pytest.approx(metres, abs=0.1)


def test_a_washed_rope_is_labelled_ninety_per_cent_for_life() -> None:
    assert float(share_left_in_use(0.95)) == pytest.approx(1 - stats.beta(3.2, 60).ppf(0.95), rel=1e-9)
    assert 100 / float(share_left_in_use(0.95)) == pytest.approx(111.4, abs=0.05)
    assert float(share_left_in_use(0.95, uses=0)) == 1.0


@settings(max_examples=30, deadline=None)
@given(SHARES, CONFIDENCES, CONFIDENCES, st.integers(1, 12), st.sampled_from([0.0, 5.0, 200.0, math.inf]))
def test_more_confidence_more_ropes_and_more_uses_never_buy_less(
    shares: list[float], one: float, other: float, ropes: int, uses: float
) -> None:
    told = NYLON.after(shares)
    low, high = sorted((one, other))
    less = float(length_to_buy_m(40.0, low, told, ropes=ropes, uses=uses))
    more = float(length_to_buy_m(40.0, high, told, ropes=ropes, uses=uses))
    assert math.isfinite(less)
    assert math.isfinite(more)
    # 1e-4 is what the quadrature may be off by at its last digits.
    assert more >= less - 1e-4
    assert more >= float(length_to_buy_m(40.0, high, told)) - 1e-4
    assert float(length_to_buy_m(40.0, high, told, ropes=ropes + 1, uses=uses)) >= more - 1e-4


@settings(max_examples=100, deadline=None)
@given(SHARES, st.lists(st.floats(0.0, 0.2), min_size=12, max_size=12), st.floats(0.01, 2.0))
def test_whatever_was_measured_the_prediction_is_a_number(shares: list[float], sds: list[float], at: float) -> None:
    told = prior_for("polyester").after(shares, sds[: len(shares)])
    for value in (told.quantile(0.001), told.quantile(0.999), told.chance_below(at), told.density(at)):
        assert math.isfinite(float(value))
    assert 0 <= float(told.chance_below(at)) <= 1
    band = length_left_m(50.0, told)
    assert 0 < band.low <= band.likely <= band.high


@settings(max_examples=60, deadline=None)
@given(st.floats(0.7, 0.99), st.floats(0.001, 0.1))
def test_a_rope_that_shrank_more_never_foretells_that_others_shrink_less(share: float, more: float) -> None:
    assert NYLON.after([share - more]).typical < NYLON.after([share]).typical


def test_an_inexact_measurement_counts_for_less() -> None:
    exact, rough, useless = (NYLON.after([0.80], [sd]) for sd in (0.0, 0.03, 1.0))
    assert exact.typical < rough.typical < useless.typical < NYLON.typical


def test_a_kind_known_for_certain_stays_where_it_is() -> None:
    certain = Shrinkage(-0.1, 0.0, 0.02, 10.0)
    assert certain.after([0.95]).centre == pytest.approx(-0.1, abs=1e-9)
    assert share_left_together(certain, 0.95, 4) < share_left_together(certain, 0.95)


def test_arrays_of_lengths_come_back_as_arrays() -> None:
    bought = length_to_buy_m(np.array([[10.0, 20.0], [30.0, 40.0]]), 0.95, NYLON)
    assert bought.shape == (2, 2)
    assert bought[1, 1] == pytest.approx(4 * bought[0, 0])


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: prior_from_range(0.15, 0.05, 0.8), "from the least to the most"),
        (lambda: prior_from_range(0.05, 0.15, 1.0), "cover must lie between 0.1 and 0.99"),
        (lambda: NYLON.quantile(0.0), "level must lie between"),
        (lambda: NYLON.after([0.0]), "shares_left must lie between 0.2 and 2"),
        (lambda: NYLON.after([0.9, 0.8], [0.1]), "2 shares, 1 spreads"),
        (lambda: length_to_buy_m(float("nan"), 0.95, NYLON), "left_m must lie between"),
        (lambda: length_to_buy_m(40.0, 1.0, NYLON), "confidence must lie between 0.5 and 0.999"),
        (lambda: length_to_buy_m(40.0, 0.95, NYLON, ropes=0), "1 to 1,000 ropes"),
        (lambda: length_to_buy_m(40.0, 0.95, NYLON, uses=float("nan")), "uses must be 0 or more"),
        (lambda: NYLON.draws(0), "draws takes 1 to"),
    ],
)
def test_what_has_no_answer_says_the_range(call: object, told: str) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=told):
        call()


def test_what_one_rope_would_tell_is_what_it_tells_when_it_is_measured() -> None:
    told = foresee(100.0, 0.95, NYLON)
    for loss, metres in zip(told.losses, told.then_m, strict=True):
        assert metres == pytest.approx(float(length_to_buy_m(100.0, 0.95, NYLON.after([1 - loss]))), rel=1e-9)
    drawn = NYLON.draws(4000, 1, seed=3)[:, 0]
    after = np.array([float(length_to_buy_m(100.0, 0.95, NYLON.after([each]))) for each in drawn])
    assert told.middle_m == pytest.approx(float(np.median(after)), abs=0.2)
    assert told.chance_less == pytest.approx(float((after < told.now_m).mean()), abs=0.02)


def drawn_kinds(seed: int, kinds: int = 8, ropes: int = 5) -> tuple[np.ndarray, dict[str, list[MeasuredShare]]]:
    random = np.random.default_rng(seed)
    means = NYLON.centre + NYLON.common * random.standard_normal(kinds)
    found = {
        f"K{at}": [
            MeasuredShare(float(np.exp(mean + NYLON.individual * each))) for each in random.standard_normal(ropes)
        ]
        for at, mean in enumerate(means)
    }
    return means, found


def test_kinds_tell_of_each_other_only_once_three_have_two_ropes() -> None:
    _, found = drawn_kinds(1)
    two = {name: found[name] for name in ("K0", "K1")} | {f"S{at}": found[f"K{at}"][:1] for at in range(2, 6)}
    told = predictions(NYLON, two)
    assert not told.pooled
    assert told.other == NYLON
    assert told.kinds["K0"] == NYLON.after([each.share_left for each in found["K0"]])
    assert predictions(NYLON, two | {"K2": found["K2"][:2]}).pooled


def test_a_kind_leans_on_its_neighbours_the_more_the_fewer_ropes_it_has() -> None:
    _, found = drawn_kinds(2)
    outlying = [MeasuredShare(0.80)]
    told_one = predictions(NYLON, found | {"X": outlying})
    told_ten = predictions(NYLON, found | {"X": outlying * 10})
    assert 0.80 < told_ten.kinds["X"].typical < told_one.kinds["X"].typical < told_one.other.typical


def test_the_spreads_found_are_those_that_were_drawn_and_pooling_comes_nearer_than_each_kind_alone() -> None:
    alone, together, spreads = [], [], []
    for seed in range(40):
        means, found = drawn_kinds(seed, kinds=10, ropes=2)
        told = predictions(NYLON, found)
        spreads.append((told.between, told.individual))
        for at, mean in enumerate(means):
            shares = [each.share_left for each in found[f"K{at}"]]
            alone.append(float(np.mean(np.log(shares))) - mean)
            together.append(told.kinds[f"K{at}"].centre - mean)
    assert np.mean(spreads, axis=0) == pytest.approx([NYLON.common, NYLON.individual], rel=0.25)
    assert np.square(together).mean() < 0.95 * np.square(alone).mean()


def test_equal_ropes_of_three_kinds_still_leave_a_doubt() -> None:
    told = predictions(NYLON, {name: [MeasuredShare(0.9)] * 4 for name in "ABC"})
    assert told.kinds["A"].typical == pytest.approx(0.9, abs=0.005)
    assert 0.001 < told.kinds["A"].scale < NYLON.scale
    assert told.other.scale > told.kinds["A"].scale


def test_the_examples_of_the_manual_run_as_written() -> None:
    manual = Path(__file__).parents[2] / "docs" / "shrinkage.md"
    failed, tried = doctest.testfile(str(manual), module_relative=False)
    assert tried >= 12
    assert failed == 0
