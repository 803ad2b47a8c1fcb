"""Ropes that are doubled, pulled down and carried on."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.rigging import Pitch, Route, rope_lines, rope_needs
from tethera.rigging.route import exactly

PULLED = st.builds(
    Pitch,
    name=st.uuids().map(str),
    depth=st.floats(1.0, 60.0).map(exactly),
    depth_known_by=st.sampled_from(["guide", "survey", "laser", "tape"]),
    depth_spread_m=st.one_of(st.none(), st.floats(0.0, 8.0)),
    traverse_m=st.floats(0.0, 20.0),
    pull_through=st.just(True),
)


@given(st.lists(PULLED, min_size=2, max_size=4), st.floats(0.0, 4.0))
def test_one_rope_pulled_and_carried_on_suffices_for_each_of_its_pitches_at_every_margin(pitches, z):
    route = Route("R", tuple(pitches))
    needs = rope_needs(route)
    (line,) = rope_lines(route, longest_m=1000.0)
    assert {run.pitches for run in line.runs} >= {tuple(range(len(pitches)))}
    for run in line.runs:
        for number in run.pitches:
            assert run.mean_m + z * run.sd_m >= needs[number].mean_m + z * needs[number].sd_m - 1e-9


def test_the_pitch_known_worse_counts_though_another_is_longer():
    """A: 2 x 30 + 2 m by tape; B: 2 x 29 + 2 m, its depth known to 3 m, so the rope to 6 m: 60 + 1.645 x 6 > 69.8 m."""
    a = Pitch("A", exactly(30.0), depth_known_by="tape", pull_through=True)
    b = Pitch("B", exactly(29.0), depth_spread_m=3.0, pull_through=True)
    (line,) = rope_lines(Route("R", (a, b)), longest_m=500.0)
    both = next(run for run in line.runs if run.pitches == (0, 1))
    assert both.mean_m == pytest.approx(62.0)
    assert both.mean_m + 1.645 * both.sd_m > 69.8
