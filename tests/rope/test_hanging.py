"""Where the foot of a hanging rope is, and what that does to the length to take."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from tethera.rope import (
    StretchLaw,
    ToeLaw,
    elasticity,
    foot_depth,
    hang,
    hanging_elongation_m,
    hanging_stretch_m,
    least_length_m,
    min_natural_length_m,
    reach,
    rebelay_loop_m,
    rebelay_slack_m,
    strain,
)

G = 9.80665
LAWS = st.one_of(
    st.builds(StretchLaw.from_en1891, st.floats(0.01, 0.05), st.sampled_from([0.5, 0.7, 1.0])),
    st.builds(ToeLaw, st.floats(1e4, 1e5), st.floats(0.0, 0.05), st.floats(50.0, 1000.0)),
)


@given(LAWS, st.floats(0.5, 300.0), st.floats(0.0, 200.0))
def test_the_gain_is_the_integral_of_the_strain_for_every_law(law, length, load):
    """SciPy's quadrature knows no closed form."""
    whole, _ = quad(lambda s: float(strain((load + 0.065 * s) * G, law)), 0.0, length)
    assert hanging_elongation_m(length, 0.065, load, law) == pytest.approx(whole, rel=1e-5, abs=1e-9)


@pytest.mark.parametrize("n", [0.7, 1.0])
def test_arrays_give_what_single_numbers_give(n):
    """One rope or many: the same numbers as the functions that planning uses."""
    law, lengths = StretchLaw.from_en1891(0.035, n), [5.0, 50.0, 150.0]
    assert hanging_elongation_m(lengths, 0.065, 85.0, law) == pytest.approx(
        [hanging_stretch_m(length, 0.065, 85.0, law) for length in lengths]
    )
    assert least_length_m(lengths, 0.065, 0.0, law) == pytest.approx(
        [min_natural_length_m(length, 0.065, law) for length in lengths]
    )


@given(LAWS, st.floats(1.0, 300.0), st.floats(0.0, 150.0), st.floats(0.0, 1.0))
def test_a_caver_at_the_foot_hangs_at_the_foot_and_higher_up_stretches_less(law, length, load, share):
    """At the foot it is the whole stretch; at the anchor the rope's own only."""
    ends = foot_depth(length, 0.065, load, [0.0, share * length, length], law)
    assert ends.foot_m[0] == pytest.approx(length + hanging_elongation_m(length, 0.065, 0.0, law))
    assert ends.foot_m[2] == pytest.approx(length + hanging_elongation_m(length, 0.065, load, law))
    assert ends.caver_m[2] == pytest.approx(ends.foot_m[2])
    assert np.all(np.diff(ends.foot_m) >= -1e-9)
    assert np.all(ends.caver_m <= ends.foot_m + 1e-9)


@given(LAWS, st.floats(0.0, 300.0), st.floats(0.0, 200.0))
def test_the_least_length_reaches_the_depth_and_no_further(law, depth, load):
    """Length and stretch add up."""
    length = least_length_m(depth, 0.065, load, law)
    assert length + hanging_elongation_m(length, 0.065, load, law) == pytest.approx(depth, abs=1e-7)


@given(st.floats(0.01, 0.1), st.floats(1.0, 300.0), st.booleans())
def test_bands_are_in_order_and_the_rope_to_take_never_springs_out_of_reach(elongation, depth, wet):
    """What to take reaches with nobody on it by every law; the shortest that touches under load does not."""
    found, hung = reach(depth, 0.065, 85.0, elongation, wet=wet), hang(depth, 0.065, 85.0, elongation, wet=wet)
    for band in (found.window_m, hung.unloaded_foot_m, hung.loaded_foot_m, hung.stretch_m, hung.recoil_m):
        assert band.low <= band.likely <= band.high
    assert found.touches_loaded_m < found.take_m <= depth
    taken = hang(found.take_m, 0.065, 85.0, elongation, wet=wet)
    assert taken.unloaded_foot_m.low >= depth - 1e-6
    assert hung.recoil_m.high == pytest.approx(hung.loaded_foot_m.high - hung.unloaded_foot_m.high)


def test_an_undeclared_elongation_widens_the_band_on_both_sides():
    """What the standard leaves holds what any rope of it may do."""
    unknown, known = hang(50.0, 0.065, 85.0), hang(50.0, 0.065, 85.0, 0.035)
    assert unknown.stretch_m.low < known.stretch_m.low
    assert unknown.stretch_m.high > known.stretch_m.high


def test_wet_rope_gives_more_at_the_far_end_and_never_less_at_the_near_one():
    """Heavier by 45 %, softer by up to a quarter."""
    dry, wet = hang(100.0, 0.065, 85.0, 0.035), hang(100.0, 0.065, 85.0, 0.035, wet=True)
    assert wet.stretch_m.low - dry.stretch_m.low == pytest.approx(0.052, abs=0.001)
    assert wet.stretch_m.high > 1.15 * dry.stretch_m.high


def test_the_loop_of_a_rebelay_is_a_band_round_what_planning_leaves():
    """Both ends are the functions of one law."""
    band = rebelay_loop_m(50.0, 0.065, 85.0, 0.8, 0.05)
    laws = elasticity(0.05)
    assert band.low == pytest.approx(rebelay_slack_m(50.0, 0.065, 85.0, 0.8, laws.least))
    assert band.high == pytest.approx(rebelay_slack_m(50.0, 0.065, 85.0, 0.8, laws.most))
    assert rebelay_loop_m(0.0, 0.065, 85.0, 0.8).high == pytest.approx(0.8)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 1e9])
def test_outside_its_range_every_function_names_the_range(bad):
    """Never NaN, in arrays neither."""
    law = StretchLaw.from_en1891(0.035)
    calls = {
        "length_m": lambda: hanging_elongation_m([10.0, bad], 0.065, 85.0, law),
        "load_kg": lambda: hanging_elongation_m(10.0, 0.065, bad, law),
        "mass_kg_per_m": lambda: hang(10.0, bad, 85.0),
        "depth_m": lambda: least_length_m(bad, 0.065, 0.0, law),
        "hang_m": lambda: rebelay_loop_m(bad, 0.065, 85.0, 0.8),
        "slack_after_m": lambda: rebelay_loop_m(10.0, 0.065, 85.0, bad),
        "tension_n": lambda: strain(bad, law),
        "caver_at_m": lambda: foot_depth(10.0, 0.065, 85.0, bad, law),
        "elongation": lambda: hang(10.0, 0.065, 85.0, bad),
    }
    for name, call in calls.items():
        with pytest.raises(ValueError, match=f"{name} must lie between .* and .*"):
            call()
    with pytest.raises(ValueError, match="nobody hangs below"):
        foot_depth(10.0, 0.065, 85.0, 11.0, law)
