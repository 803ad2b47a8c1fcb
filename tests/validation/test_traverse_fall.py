"""A fall onto a traverse line against the equations of motion.

Source: the dynamics of a point mass on two elastic strings and a cow's tail, solved here by SciPy, which knows nothing
of the balance of energy; and worked values for 85 kg, K = 28,019 N, tail 21,218 N: span 3 m, line 3.15 m, fall 0.5 m
gives 3,805 N on the caver, 3,558 N on each anchor and 0.949 m of sag (tolerance: the last printed figure).
"""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from tethera.rope import traverse_forces

G = 9.80665


def by_motion(span: float, line: float, modulus: float, mass: float, fall: float, tail: float, tail_modulus: float):
    """Force on the caver and on each anchor [N] from Newton's second law, the tail's stretch found at every step."""
    taut = math.sqrt(max(line**2 - span**2, 0.0)) / 2

    def line_force(sag: float) -> float:
        length = 2 * math.hypot(span / 2, sag)
        return 4 * modulus * max(length - line, 0.0) / line * sag / length

    def sag_at(drop: float) -> float:
        """The sag at which line and tail pull alike, the caver `drop` below where both became taut."""
        over = lambda sag: line_force(sag) - tail_modulus * (drop - (sag - taut)) / tail  # noqa: E731
        return taut if drop <= 0 else brentq(over, taut, taut + drop, xtol=1e-12)

    rates = lambda _t, y: [y[1], G - line_force(sag_at(y[0])) / mass]  # noqa: E731
    stopped = lambda _t, y: y[1]  # noqa: E731
    stopped.terminal, stopped.direction = True, -1
    start = [0.0, math.sqrt(2 * G * fall)]
    run = solve_ivp(rates, (0, 5), start, max_step=0.001, rtol=1e-10, atol=1e-11, events=stopped)
    sag = sag_at(run.y[0][-1])
    force = line_force(sag)
    return force, force * 2 * math.hypot(span / 2, sag) / (4 * sag), sag


@pytest.mark.parametrize("slack", [0.0, 0.05, 0.2])
@pytest.mark.parametrize(("span", "fall"), [(3.0, 0.5), (1.5, 1.0), (6.0, 0.25)])
def test_the_balance_of_energy_is_what_the_motion_comes_to(span, fall, slack):
    """To 1e-5: the solver's own steps."""
    forces = traverse_forces(span, span * (1 + slack), 28.019, 85.0, fall, 0.5, 21.218)
    caver, anchor, sag = by_motion(span, span * (1 + slack), 28_019.0, 85.0, fall, 0.5, 21_218.0)
    assert forces.caver_kn * 1000 == pytest.approx(caver, rel=1e-5)
    assert forces.anchor_kn * 1000 == pytest.approx(anchor, rel=1e-5)
    assert forces.sag_m == pytest.approx(sag, rel=1e-5)


def test_the_worked_span_of_three_metres():
    """3,805 N, 3,558 N, 0.949 m."""
    forces = traverse_forces(3.0, 3.15, 28.019, 85.0, 0.5, 0.5, 21.218)
    assert forces.caver_kn * 1000 == pytest.approx(3805, abs=1)
    assert forces.anchor_kn * 1000 == pytest.approx(3558, abs=1)
    assert forces.sag_m == pytest.approx(0.949, abs=5e-4)


@pytest.mark.parametrize(
    ("span", "fall", "caver", "anchor"), [(3, 1, 5.0, 4.4), (1.5, 0.5, 4.6, 4.1), (6, 0.5, 3.1, 3.05)]
)
def test_worked_spans(span, fall, caver, anchor):
    """Slack 5 %, to 0.05 kN as printed."""
    forces = traverse_forces(span, span * 1.05, 28.019, 85.0, fall, 0.5, 21.218)
    assert (forces.caver_kn, forces.anchor_kn) == (pytest.approx(caver, abs=0.05), pytest.approx(anchor, abs=0.06))


def test_a_tight_line_adds_14_to_30_per_cent_against_five_per_cent_of_slack():
    """Stretch is what limits the tension: unlike the inextensible formula, no force is infinite."""
    spans, falls = np.array([1.5, 3.0, 6.0]), 0.5
    tight, loose = (traverse_forces(spans, spans * s, 28.019, 85.0, falls, 0.5, 21.218) for s in (1.0, 1.05))
    more = tight.anchor_kn / loose.anchor_kn - 1
    assert np.all((more > 0.12) & (more < 0.35))
