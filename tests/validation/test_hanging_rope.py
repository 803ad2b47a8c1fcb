"""Stretch and reach of a hanging rope: closed forms of a uniform linear elastic rope, and the integral itself.

Source of the model: a linear elastic string under its own weight and a load at its foot, as in any text on elastic
strings; values with K = 28,019 N, w = 0.065 kg/m, g = 9.80665 m/s2. The integrals are done by SciPy, which does not
know the closed forms. Tolerance 1e-4 m: the values are printed to four decimals.
"""

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from tethera.rope import StretchLaw, hanging_stretch_m, min_natural_length_m, rebelay_slack_m

G = 9.80665


def test_a_hundred_metres_under_a_caver_gain_3_0888_metres():
    """g L (M + w L / 2) / K with L = 100 m, M = 85 kg."""
    assert hanging_stretch_m(100.0, 0.065, 85.0, StretchLaw.linear(28_019.0)) == pytest.approx(3.0888, abs=1e-4)


def test_99_8865_metres_reach_a_hundred_unloaded():
    """(K / (g w)) (sqrt(1 + 2 g w D / K) - 1) with D = 100 m."""
    assert min_natural_length_m(100.0, 0.065, StretchLaw.linear(28_019.0)) == pytest.approx(99.8865, abs=1e-4)


@pytest.mark.parametrize("n", [0.5, 0.7, 1.0])
@pytest.mark.parametrize("length", [5.0, 30.0, 100.0, 300.0])
def test_the_closed_form_is_the_integral_of_the_strain(n, length):
    """Sum of strain over the rope, each metre under what hangs below it."""
    law = StretchLaw.from_en1891(0.035, n)
    for load in (0.0, 85.0):
        whole, _ = quad(lambda s, load=load: law.c * ((load + 0.065 * s) * G) ** law.n, 0.0, length)
        assert hanging_stretch_m(length, 0.065, load, law) == pytest.approx(whole, rel=1e-6)


@pytest.mark.parametrize("n", [0.7, 1.0])
def test_the_least_length_is_the_root_of_length_plus_stretch(n):
    """Found by bracketing, without the formula."""
    law = StretchLaw.from_en1891(0.05, n)
    for depth in (10.0, 100.0, 400.0):
        root = brentq(
            lambda length, depth=depth: length + quad(lambda s: law.c * (0.065 * s * G) ** law.n, 0, length)[0] - depth,
            0.0,
            depth,
            xtol=1e-10,
        )
        assert min_natural_length_m(depth, 0.065, law) == pytest.approx(root, abs=1e-6)


@pytest.mark.parametrize(
    ("hang", "linear", "soft"),
    [(10, 1.10, 1.23), (20, 1.39, 1.67), (30, 1.69, 2.11), (50, 2.30, 2.99), (80, 3.22, 4.33)],
)
def test_the_slack_of_a_loop_before_the_rope_above_contracts(hang, linear, soft):
    """Tabulated for E = 3.5 %, 85 kg, 0.8 m wanted after; tolerance 1 cm, as printed."""
    assert rebelay_slack_m(hang, 0.065, 85.0, 0.8, StretchLaw.from_en1891(0.035)) == pytest.approx(linear, abs=0.01)
    assert rebelay_slack_m(hang, 0.065, 85.0, 0.8, StretchLaw.from_en1891(0.035, 0.7)) == pytest.approx(soft, abs=0.01)
