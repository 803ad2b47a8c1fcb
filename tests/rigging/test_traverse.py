"""Loaded spans: closed form, bridle and published worked values."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from tethera.rigging.equilibrium import NoRest
from tethera.rigging.traverse import elastic_catenary, running_load, tied_load

WEIGHT = 85 * 9.80665 / 1000


@pytest.mark.parametrize(
    ("slack", "share"), [(-0.01, 1.76), (0, 1.64), (0.005, 1.59), (0.02, 1.45), (0.05, 1.26), (0.1, 1.06), (0.2, 0.86)]
)
@pytest.mark.parametrize("span", [1.5, 5.0, 40.0])
def test_stretch_limits_what_a_tight_line_carries_whatever_the_span(slack: float, share: float, span: float) -> None:
    forces = running_load(span, span * (1 + slack), WEIGHT, 27.5)
    assert float(forces.left_kn) / WEIGHT == pytest.approx(share, abs=0.006)


def test_a_krab_in_the_middle_is_a_knot_in_the_middle() -> None:
    running, tied = running_load(5.0, 5.25, WEIGHT, 27.5), tied_load(5.0, 5.25, 0.5, WEIGHT, 27.5)
    assert float(tied.left_kn) == pytest.approx(float(running.left_kn), rel=1e-6)
    assert float(tied.sag_m) == pytest.approx(float(running.sag_m), rel=1e-6)


def test_a_taut_line_follows_the_cube_root() -> None:
    assert float(running_load(5.0, 5.0, WEIGHT, 27.5).left_kn) == pytest.approx(
        (WEIGHT**2 * 27.5 / 8) ** (1 / 3), rel=0.025
    )


def test_twice_the_load_at_the_ends_is_a_slope_of_14_5_degrees() -> None:
    """The rule of ahead4heights.com, library 6, "never above twice the load": its geometry."""
    span, stiff = 10.0, 1e5
    line = brentq(lambda rope: float(running_load(span, rope, 1.0, stiff).left_kn) - 2.0, span * 1.001, span * 1.2)
    forces = running_load(span, line, 1.0, stiff)
    assert float(forces.sag_m) / span == pytest.approx(0.1291, abs=1e-4)


def test_a_load_tied_off_the_middle_pulls_more_on_the_short_side() -> None:
    forces = tied_load(5.0, 5.25, 0.1, WEIGHT, 27.5)
    assert float(forces.left_kn) / WEIGHT == pytest.approx(1.06, abs=0.006)
    assert float(forces.right_kn) / WEIGHT == pytest.approx(0.46, abs=0.006)


def test_the_krab_rests_where_both_sides_slope_alike_and_the_rope_is_as_long_as_it_is() -> None:
    forces = running_load(6.0, 7.0, WEIGHT, 27.5, drop_m=1.5)
    left = np.hypot(forces.along_m, forces.sag_m)
    right = np.hypot(6.0 - forces.along_m, forces.sag_m - 1.5)
    assert float(left + right) == pytest.approx(float(7.0 * (1 + forces.left_kn / 27.5)), rel=1e-9)
    assert float(forces.sag_m / left + (forces.sag_m - 1.5) / right) == pytest.approx(
        float(WEIGHT / forces.left_kn), rel=1e-9
    )


def test_a_load_that_would_run_into_an_end_is_told() -> None:
    with pytest.raises(NoRest, match="runs into the lower end"):
        running_load(2.0, 2.7, WEIGHT, 1000.0, drop_m=5.0)


@given(st.floats(0.5, 100.0), st.floats(-0.05, 0.5), st.floats(0.05, 5.0), st.floats(5.0, 100.0))
@settings(max_examples=80, deadline=None)
def test_more_slack_never_pulls_harder(span: float, slack: float, load: float, stiff: float) -> None:
    forces = running_load(span, [span * (1 + slack), span * (1.05 + slack)], load, stiff)
    assert np.all(np.isfinite(forces.left_kn))
    assert float(forces.left_kn[0]) >= float(forces.left_kn[1]) >= load / 2 * (1 - 1e-12)


@given(st.floats(0.5, 200.0), st.floats(0.96, 3.0), st.floats(0.05, 10.0), st.floats(5.0, 1000.0), st.floats(-0.8, 0.8))
@settings(max_examples=80, deadline=None)
def test_a_hanging_line_carries_its_own_weight(
    span: float, slack: float, weight: float, stiff: float, tilt: float
) -> None:
    hung = elastic_catenary(span, span * slack, weight, stiff, drop_m=span * tilt)
    assert np.all(np.isfinite([hung.level_kn, hung.left_kn, hung.right_kn, hung.sag_m]))
    assert hung.left_kn + hung.right_kn == pytest.approx(weight * span * slack / 1000, rel=1e-9)
    assert hung.level_kn > 0


@pytest.mark.parametrize("line", [float("nan"), 3.0, 20.0])
def test_a_line_far_from_the_span_is_refused(line: float) -> None:
    with pytest.raises(ValueError, match="line_m"):
        running_load(5.0, line, WEIGHT, 27.5)
