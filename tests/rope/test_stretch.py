"""How far a hanging rope stretches, and how much reaches a depth."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.rope import RopeSpecification, StretchLaw, hanging_stretch_m, min_natural_length_m, rebelay_slack_m

LAWS = st.builds(StretchLaw.from_en1891, st.floats(0.01, 0.05), st.sampled_from([0.5, 0.7, 1.0]))


def test_the_elongation_of_the_standard_comes_back_out_of_the_law():
    """E = (eps150 - eps50) / (1 + eps50), for both families."""
    for n in (0.7, 1.0):
        law = StretchLaw.from_en1891(0.035, n)
        low, high = law.strain(50 * 9.80665), law.strain(150 * 9.80665)
        assert (high - low) / (1 + low) == pytest.approx(0.035, rel=1e-12)


@given(LAWS, st.floats(0.0, 300.0))
def test_the_unloaded_foot_of_the_least_length_is_at_the_depth(law, depth):
    """Least length and its own stretch add up to the depth."""
    length = min_natural_length_m(depth, 0.065, law)
    assert length + hanging_stretch_m(length, 0.065, 0.0, law) == pytest.approx(depth, abs=1e-6)
    assert length <= depth + 1e-9


@given(LAWS, st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_a_longer_hang_never_needs_less_slack_in_the_loop(law, hang, more):
    """Contraction grows with the rope above."""
    shorter, longer = (rebelay_slack_m(h, 0.065, 85.0, 0.8, law) for h in (hang, hang + more))
    assert longer >= shorter >= 0.8


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 1e9])
def test_outside_its_range_a_formula_names_the_range(bad):
    """Never NaN, never a silent answer."""
    law = StretchLaw.from_en1891(0.035)
    with pytest.raises(ValueError, match=r"length_m must lie between 0 and 2000 m"):
        hanging_stretch_m(bad, 0.065, 85.0, law)
    with pytest.raises(ValueError, match=r"depth_m must lie between 0 and 2000 m"):
        min_natural_length_m(bad, 0.065, law)
    with pytest.raises(ValueError, match=r"hang_m must lie between"):
        rebelay_slack_m(bad, 0.065, 85.0, 0.8, law)
    with pytest.raises(ValueError, match=r"elongation must lie between 0.001 and 0.2 share"):
        RopeSpecification(0.065, bad)
