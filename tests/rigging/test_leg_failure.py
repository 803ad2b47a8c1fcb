"""A leg fails: pendulum with the load in the knot, a fall with rope between knot and caver."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tethera.rigging.leg_failure import leg_failures
from tethera.rope import fall_modulus, impact_force_kn

MODULUS = fall_modulus("A")
WEIGHT = 0.0980665 * 10


def level_y(angle_deg: float) -> tuple[list[list[float]], list[float]]:
    leg = 1 / np.sin(np.radians(angle_deg / 2))
    return [[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]], [leg, leg]


@pytest.mark.parametrize(("angle", "drop", "peak"), [(60, 0.27, 1.27), (90, 0.41, 1.59), (120, 0.58, 2.0)])
def test_a_caver_in_the_knot_swings_as_a_pendulum(angle: float, drop: float, peak: float) -> None:
    """W (3 - 2 cos(A/2)) at the bottom, a drop of l - l cos(A/2) and a swing of half the width."""
    for failed in leg_failures(*level_y(angle), 100.0, MODULUS):
        assert failed.how == "swing"
        assert failed.drop_m == pytest.approx(drop, abs=0.005)
        assert failed.swing_m == pytest.approx(1.0, abs=1e-6)
        assert float(failed.peak_kn.high[0]) == pytest.approx(peak * WEIGHT, abs=0.006 * WEIGHT)
        assert float(failed.peak_kn.high[0]) == pytest.approx(
            WEIGHT * (3 - 2 * np.cos(np.radians(angle / 2))), rel=1e-6
        )


def test_a_pendulum_worked_out_step_by_step_pulls_no_harder() -> None:
    """The same swing integrated in small steps: the rope's pull W cos(a) + m v^2 / l never passes the closed form."""
    (failed, _), leg, angle, speed, most = leg_failures(*level_y(90.0), 100.0, MODULUS), 2**0.5, np.pi / 4, 0.0, 0.0
    g, step = 9.80665, 1e-5
    while angle > -np.pi / 4 * 0.99:
        speed -= g / leg * np.sin(angle) * step
        angle += speed * step
        most = max(most, 0.1 * g * np.cos(angle) + 0.1 * leg * speed**2)
    assert float(failed.peak_kn.high[0]) == pytest.approx(most, rel=1e-3)


def test_rope_below_the_knot_makes_it_a_fall_that_pulls_harder() -> None:
    in_the_knot, below = (leg_failures(*level_y(60.0), 100.0, MODULUS, below_m=z)[0] for z in (0.0, 3.0))
    assert below.how == "fall"
    # 2 m of leg and 3 m of rope, 1 m aside: taut at sqrt(24) below the anchor, from sqrt(3) + 3.
    assert below.free_fall_m == pytest.approx(24**0.5 - 3**0.5 - 3, abs=1e-6)
    assert float(below.peak_kn.high[0]) > float(in_the_knot.peak_kn.high[0])
    assert float(below.peak_kn.low[0]) <= float(impact_force_kn(100.0, below.free_fall_m / 5, MODULUS.kn.likely))


def test_of_three_legs_two_are_left_and_share_the_load() -> None:
    anchors = np.array([[-1.0, -0.5, 0.0], [1.0, -0.5, 0.0], [0.0, 1.0, 0.0]])
    legs = np.linalg.norm(anchors - [0.0, 0.0, -1.5], axis=1)
    failed = leg_failures(anchors, legs, 100.0, MODULUS)[2]
    # The two left hang in their own plane: a Y with half-width 1 m.
    down = np.sqrt(legs[0] ** 2 - 1)
    assert failed.after_kn == pytest.approx([WEIGHT * legs[0] / 2 / down] * 2, rel=1e-5)
    assert failed.swing_m == pytest.approx(0.5, abs=1e-6)
    # Round the line between them it is a pendulum of radius `down`; the pull is shared in the same way.
    peak = WEIGHT * (1 + 2 * (down - 1.5) / down) * legs[0] / 2 / down
    assert failed.peak_kn.high == pytest.approx([peak] * 2, rel=1e-5)


def test_a_slack_leg_that_must_take_over_makes_a_fall() -> None:
    anchors, legs = [[0.0, 0.0, 0.0], [0.3, 0.0, 0.0]], [0.5, 1.5]
    failed = leg_failures(anchors, legs, 85.0, MODULUS)[0]
    assert failed.how == "fall"
    assert failed.free_fall_m == pytest.approx((1.5**2 - 0.3**2) ** 0.5 - 0.5, abs=1e-6)


@given(st.floats(20.0, 150.0), st.floats(50.0, 200.0), st.floats(0.0, 50.0))
@settings(max_examples=40, deadline=None)
def test_the_band_is_in_order_and_no_leg_gets_less_than_the_load_at_rest(
    angle: float, mass: float, below: float
) -> None:
    for failed in leg_failures(*level_y(angle), mass, MODULUS, below_m=below):
        band = [float(np.asarray(each)[0]) for each in (failed.peak_kn.low, failed.peak_kn.likely, failed.peak_kn.high)]
        assert np.all(np.isfinite(band))
        assert band == sorted(band)
        assert band[2] >= float(failed.after_kn[0]) * (1 - 1e-9)
