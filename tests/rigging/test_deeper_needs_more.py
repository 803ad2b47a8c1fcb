"""A deeper pitch never needs less: along a dense grid of depths, with and without a guide's rope."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.rigging import Anchor, Measure, Pitch, Route, rope_needs
from tethera.rigging.estimate import estimate_coarse
from tethera.rigging.route import exactly

GUIDES = (None, *range(10, 201, 5), 33, 72)
COUNTS = (None, *range(1, 21))
RANGES, FLAGS = st.floats(0.0, 10.0), st.booleans()
DEPTHS = tuple(3 + 0.5 * k for k in range(295))


@pytest.mark.parametrize("guide", GUIDES)
def test_half_a_metre_deeper_never_needs_less(guide):
    """Depths of 3 to 150 m; at the mean and at 95 %, hence at every margin between."""
    rope = None if guide is None else exactly(float(guide))
    for count in COUNTS:
        found = [estimate_coarse(Pitch("P", exactly(d), guide_rope=rope, anchor_count=count)) for d in DEPTHS]
        for (depth, a), (_, b) in itertools.pairwise(zip(DEPTHS, found, strict=True)):
            assert b.mean_m >= a.mean_m - 1e-9, (depth, count)
            assert b.mean_m + 1.645 * b.sd_m >= a.mean_m + 1.645 * a.sd_m - 1e-9, (depth, count)


@given(
    st.floats(3.0, 150.0),
    st.floats(0.0, 3.0),
    st.builds(lambda low, range_m, about: Measure(low, low + range_m, about), st.floats(5.0, 200.0), RANGES, FLAGS),
    st.one_of(st.none(), st.integers(0, 20)),
    st.floats(0.0, 20.0),
    FLAGS,
    st.floats(0.0, 4.0),
)
def test_deeper_never_needs_less_whatever_is_doubted(depth, more, guide, count, traverse, about, z):
    short, long = (
        rope_needs(
            Route("R", (Pitch("P", Measure(d, d, about), guide_rope=guide, anchor_count=count, traverse_m=traverse),))
        )[0]
        for d in (depth, depth + more)
    )
    assert long.mean_m + z * long.sd_m >= short.mean_m + z * short.sd_m - 1e-9


def test_44_and_45_metres_with_a_guide_of_100():
    """Once 100.98 m and 99.76 m at 95 %."""
    at = [
        rope_needs(Route("R", (Pitch("P", exactly(depth), guide_rope=exactly(100.0)),)))[0].at(1.645)
        for depth in (44.0, 45.0)
    ]
    assert at == sorted(at)


def test_a_hang_out_along_the_ledge_needs_no_less_for_lying_deeper():
    """4 m along, the leg below unchanged: 1.9 m down once took 0.6 m more than 2.0 m down."""
    means = [
        rope_needs(
            Route("R", (Pitch("P", exactly(30.0 + down), anchors=(Anchor("y-hang", along_m=4.0, down_m=down),)),))
        )[0].mean_m
        for down in (step / 10 for step in range(100))
    ]
    assert means == sorted(means)
    steps = [b - a for a, b in itertools.pairwise(means[:30])]
    assert max(steps) < 0.21  # no jump either: 0.1 m deeper takes 0.1 m of drop and of leg each at most
