"""The solid that loses energy, against SciPy's solver, and the forces when little is known."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.stats import spearmanr

from tethera.rope import (
    Solid,
    Uncertain,
    ask_backup,
    ask_lanyard,
    ask_rebelay,
    ask_traverse,
    fall_modulus,
    force_chances,
    impact_force_kn,
    simulate_fall,
)
from tethera.rope.fall_chances import rank_correlation

G = 9.80665


def peak_by_scipy(mass: float, rope: float, fall: float, solid: Solid, slip: float = 0.0, body: float = math.inf):
    """Peak force [kN] by adaptive steps with a bound on them: an independent way through the same equations.

    The rope's own strain is found by a bracketing root at every call, not by the closed form.
    """
    k0, k1, tau = solid.k0_kn * 1000, solid.k1_kn * 1000, solid.tau_s

    def tension(x: float, q: float) -> float:
        def over(force: float) -> float:
            strain = (force + k1 * q) / (k0 + k1)
            give = 0.0 if math.isinf(body) else force / (body * 1000)
            return rope * strain + slip * (force / 6000) ** 2 + give - x

        return brentq(over, 0.0, 1e6, xtol=1e-9) if over(0.0) < 0 else 0.0

    def rates(_t: float, y: np.ndarray) -> list[float]:
        force = tension(y[0], y[2])
        return [y[1], G - force / mass, ((force + k1 * y[2]) / (k0 + k1) - y[2]) / tau]

    swing = math.pi * math.sqrt(mass * rope / k0) + 2 * math.sqrt(mass * slip / 6000) + 0.05
    stopped = lambda _t, y: y[1]  # noqa: E731
    stopped.terminal, stopped.direction = True, -1
    start = [0.0, math.sqrt(2 * G * fall), 0.0]
    run = solve_ivp(rates, (0, 4 * swing), start, max_step=swing / 800, rtol=1e-9, atol=1e-10, events=stopped)
    return max(tension(x, q) for x, q in zip(run.y[0], run.y[2], strict=True)) / 1000


@pytest.mark.parametrize("fall", [0.05, 0.5, 1.0])
@pytest.mark.parametrize(("slip", "body"), [(0.0, math.inf), (0.18, math.inf), (0.0, 100.0), (0.09, 100.0)])
@pytest.mark.parametrize("solid", [Solid.dynamic(), Solid.low_stretch(28.0)])
def test_the_peak_is_within_a_quarter_of_a_per_cent_of_a_fine_solution(fall, slip, body, solid):
    """Knots that slip and a body that gives included; half a metre of rope, 85 kg."""
    found = simulate_fall(85.0, 0.5, fall, solid, slip_m=slip, body_kn_per_m=body)
    assert found.force_kn == pytest.approx(peak_by_scipy(85.0, 0.5, fall, solid, slip, body), rel=0.0025)


@given(st.floats(40.0, 200.0), st.floats(0.2, 50.0), st.floats(0.0, 2.0), st.floats(5.0, 100.0))
@settings(max_examples=40)
def test_without_the_spring_that_relaxes_it_is_the_impact_equation(mass, rope, factor, k0):
    """K1 = 0, no knots, a steel weight."""
    run = simulate_fall(mass, rope, factor * rope, Solid(k0, 0.0, 0.157))
    assert run.force_kn == pytest.approx(impact_force_kn(mass, factor, k0), rel=5e-4)


def test_many_falls_at_once_are_the_falls_one_by_one():
    """Each lane stops by itself."""
    lengths, falls = np.array([0.3, 2.7, 20.0]), np.array([0.6, 1.0, 3.0])
    together = simulate_fall(80.0, lengths, falls, Solid.dynamic()).force_kn
    alone = [simulate_fall(80.0, a, b, Solid.dynamic()).force_kn for a, b in zip(lengths, falls, strict=True)]
    assert together == pytest.approx(alone, rel=1e-4)


def test_knots_and_body_make_it_gentler_and_more_steps_change_nothing():
    """Each gives way; 200 steps are enough."""
    plain = simulate_fall(85.0, 0.5, 0.5, Solid.dynamic())
    assert simulate_fall(85.0, 0.5, 0.5, Solid.dynamic(), slip_m=0.1).force_kn < plain.force_kn
    assert simulate_fall(85.0, 0.5, 0.5, Solid.dynamic(), body_kn_per_m=100.0).force_kn < plain.force_kn
    assert simulate_fall(85.0, 0.5, 0.5, Solid.dynamic(), steps=1000).force_kn == pytest.approx(plain.force_kn, 1e-3)


@pytest.mark.parametrize("bad", [math.nan, -1.0, 1e9])
def test_outside_its_range_the_solid_names_the_range(bad):
    """Never NaN."""
    for name, call in {
        "mass_kg": lambda: simulate_fall(bad, 1.0, 1.0, Solid.dynamic()),
        "rope_m": lambda: simulate_fall(80.0, bad, 1.0, Solid.dynamic()),
        "free_fall_m": lambda: simulate_fall(80.0, 1.0, bad, Solid.dynamic()),
        "k0_kn": lambda: simulate_fall(80.0, 1.0, 1.0, Solid(bad, 1.0, 0.1)),
        "tau_s": lambda: simulate_fall(80.0, 1.0, 1.0, Solid(10.0, 1.0, bad)),
        "slip_m": lambda: simulate_fall(80.0, 1.0, 1.0, Solid.dynamic(), slip_m=bad),
    }.items():
        with pytest.raises(ValueError, match=f"^{name} must lie between"):
            call()


def _six_metres(slack, mass, elongation):
    return impact_force_kn(mass, slack / (6 + slack), 100 * G / 1000 / elongation)


UNSURE = {"slack": Uncertain(0.8, 0.4), "mass": Uncertain(85.0, 10.0), "elongation": Uncertain(0.037, 0.006)}


def test_the_quantiles_of_a_fall_that_is_roughly_known():
    """6 m of rope, slack 0.8 m +- 0.4: 95 % stay under 4.2 kN, and slack matters most (100,000 plain draws)."""
    chances = force_chances(_six_metres, UNSURE)
    rng = np.random.default_rng(7)
    drawn = [rng.gamma((e.mean / e.sd) ** 2, e.sd**2 / e.mean, 100_000) for e in UNSURE.values()]
    forces = _six_metres(*drawn)
    assert chances.p95_kn == pytest.approx(np.quantile(forces, 0.95), rel=0.006)
    assert chances.p95_kn == pytest.approx(4.18, abs=0.02)
    assert chances.p05_kn == pytest.approx(np.quantile(forces, 0.05), rel=0.01)
    assert chances.sd_share == pytest.approx(0.17, abs=0.005)
    assert chances.chance_from_4_kn == pytest.approx(np.mean(forces >= 4), abs=0.005)
    assert dict(chances.ranking) == pytest.approx({"slack": 0.82, "mass": 0.44, "elongation": -0.29}, abs=0.01)
    assert [name for name, _ in chances.ranking] == ["slack", "mass", "elongation"]


def test_another_scrambling_moves_the_answer_by_less_than_half_a_per_cent():
    """4,096 points are enough for two figures."""
    ninety_fives = [force_chances(_six_metres, UNSURE, seed=seed).p95_kn for seed in range(8)]
    assert np.std(ninety_fives) / np.mean(ninety_fives) < 0.005
    assert force_chances(_six_metres, UNSURE, seed=3) == force_chances(_six_metres, UNSURE, seed=3)


def test_the_ranking_is_spearmans():
    """Against SciPy's; and nought, not NaN, for what never changes."""
    rng = np.random.default_rng(1)
    one, other = rng.normal(size=500), rng.normal(size=500)
    assert rank_correlation(one, one + other) == pytest.approx(spearmanr(one, one + other).statistic, abs=1e-9)
    known = force_chances(_six_metres, {**UNSURE, "slack": Uncertain(0.8, 0.0)})
    assert dict(known.ranking)["slack"] == 0.0
    with pytest.raises(ValueError, match="at least one"):
        force_chances(lambda: 1.0, {})


@pytest.mark.parametrize(
    "ask",
    [
        lambda **k: ask_backup(1.5, 0.8, 85.0, fall_modulus("A"), **k),
        lambda **k: ask_rebelay(5.0, 1.5, 85.0, fall_modulus("B"), **k),
        lambda **k: ask_lanyard(0.5, 0.0, 85.0, fall_modulus("dynamic"), **k),
        lambda **k: ask_traverse(3.0, 0.15, 85.0, fall_modulus("A"), fall_modulus("dynamic"), **k),
    ],
)
def test_a_fall_asked_whole_agrees_with_itself(ask):
    """The band at the slack asked is the answer; measuring the slack narrows what is likely."""
    guessed, measured = ask(known_by="guessed"), ask(known_by="measured")
    answer = guessed.answer()
    slack, band = guessed.against_slack()
    at = [np.interp(guessed.slack_m.mean, slack, each) for each in (band.low, band.likely, band.high)]
    assert at == pytest.approx([answer.force_kn.low, answer.force_kn.likely, answer.force_kn.high], rel=0.02)
    wide, narrow = guessed.chances(), measured.chances()
    assert narrow.p95_kn - narrow.p05_kn <= wide.p95_kn - wide.p05_kn + 0.05
    assert wide.p05_kn <= wide.p50_kn <= wide.p95_kn
    assert all(math.isfinite(rho) for _, rho in wide.ranking)
    assert answer.assumptions
