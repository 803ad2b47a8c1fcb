"""Lines under their own weight, against published references.

[1] code_aster, validation manual V6.02.114 (SSNL114), the elastic catenary after Irvine: span = H s / EA + 2 H / w
    asinh(w s / 2 H) for level ends. The formula was read there; the numbers below are that formula solved by scipy.
[2] MoorPy, tests/test_catenary.py, commit 30b7fc4, rows of indata and desired: x, z, L, EA, w -> H and V at the upper
    end. Row 8 as printed is not a solution (it leaves 1.2 m between the ends); ours must not give its numbers.
[3] engineeringskills.com, "Solving for max cable tension": span 10 m, sag 2 m, 981 N/m. The page gives the inputs and
    leaves the root to the reader.
[4] steelcalculator.app, "cable sag calculator", scenario A prints H = 1993.5 lbf for 200 ft, sag 25 ft, 10 lb/ft; the
    true root of its own equation is 2040.36 lbf. Ours must not give the printed one.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from tethera.rigging.traverse import elastic_catenary


def irvine_level_n(span: float, line: float, weight: float, stiffness_n: float) -> float:
    """Level pull of [1] for level ends [N]."""
    return float(
        brentq(
            lambda h: h * line / stiffness_n + 2 * h / weight * np.arcsinh(weight * line / 2 / h) - span,
            1e-6,
            stiffness_n,
            xtol=1e-12,
            rtol=1e-14,
        )
    )


@pytest.mark.parametrize(
    ("span", "line", "weight", "stiffness_n"),
    [(100.0, 102.0, 0.63743225, 27_529.0), (20.0, 20.5, 0.7, 20_000.0), (300.0, 298.0, 0.65, 28_019.0), (5, 9, 1, 9e4)],
)
def test_level_ends_agree_with_the_reference_formula(
    span: float, line: float, weight: float, stiffness_n: float
) -> None:
    hung = elastic_catenary(span, line, weight, stiffness_n / 1000)
    level = irvine_level_n(span, line, weight, stiffness_n)
    assert hung.level_kn * 1000 == pytest.approx(level, rel=1e-9)
    half = weight * line / 2
    sag = half * line / 4 / stiffness_n + level / weight * (np.hypot(1, half / level) - 1)
    assert hung.sag_m == pytest.approx(sag, rel=1e-9)


def test_a_hundred_metres_of_caving_rope() -> None:
    hung = elastic_catenary(100.0, 102.0, 0.065 * 9.80665, 27.529)
    assert hung.level_kn * 1000 == pytest.approx(85.3817, abs=1e-3)
    assert hung.sag_m == pytest.approx(9.4108, abs=1e-4)


def test_a_line_to_a_higher_end_as_moorpy_has_it() -> None:
    hung = elastic_catenary(400.0, 500.0, 200.0, 7.51e9, drop_m=-200.0)
    assert hung.level_kn * 1000 == pytest.approx(43694.58, rel=1e-5)
    assert hung.right_kn * 1000 == pytest.approx(77634.40, rel=1e-5)
    # Its lower end lifts the seabed's way: V = -22365.60 there is a line that hangs below its lower end.
    assert hung.left_kn * 1000 == pytest.approx(22365.60, rel=1e-5)


def test_sag_of_two_metres_on_ten() -> None:
    hung = elastic_catenary(10.0, 10.9972, 981.0, 1e8)
    assert hung.sag_m == pytest.approx(2.0, abs=2e-4)
    assert hung.level_kn * 1000 == pytest.approx(6434.01, rel=1e-4)


def test_a_printed_pull_that_is_too_low_is_not_ours() -> None:
    foot, pound = 0.3048, 4.4482216
    span, weight = 200 * foot, 10 * pound / foot
    line = brentq(lambda rope: elastic_catenary(span, rope, weight, 1e8).sag_m - 25 * foot, span * 1.001, span * 1.2)
    level = elastic_catenary(span, line, weight, 1e8).level_kn * 1000 / pound
    assert level == pytest.approx(2040.36, abs=0.05)
    assert abs(level - 1993.5) > 40
