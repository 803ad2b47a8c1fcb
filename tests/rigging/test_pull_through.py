"""Ropes that are doubled, pulled down and carried on."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.rigging import Anchor, Pitch, Route, explain_run, read_route, rope_lines, rope_needs
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


def items(pitch):
    return {item.what: item for item in rope_needs(Route("R", (pitch,)))[0].items}


def test_the_way_to_the_hang_is_doubled_too_and_said_item_by_item():
    """2 x 20 m of drop, 2 x 15 m of traverse and 2 x 2 m along to the hang with 15 % of slack, 2 m to pull."""
    hang = (Anchor("y-hang", along_m=2.0),)
    found = items(Pitch("P", exactly(20.0), traverse_m=15.0, anchors=hang, pull_through=True))
    assert {what: round(item.metres, 2) for what, item in found.items()} == {
        "doubled rope along the traverse": 34.5,
        "doubled rope along to y-hang 1": 4.6,
        "doubled rope over the drop": 40.0,
        "both ends on the floor, one to pull": 2.0,
    }
    assert all(item.source for item in found.values())


def test_a_way_up_to_the_hang_and_a_deviation_are_doubled_too():
    """1 m up and down again, twice; 1 m aside in the middle of 20 m: 2 x 2 x (sqrt(10² + 1²) - 10) m."""
    up = items(Pitch("P", exactly(20.0), anchors=(Anchor("y-hang", down_m=-1.0),), pull_through=True))
    assert up["doubled rope up to y-hang 1 and down again"].metres == pytest.approx(4.0)
    aside = (Anchor("y-hang"), Anchor("deviation", along_m=1.0, down_m=10.0))
    found = items(Pitch("P", exactly(20.0), anchors=aside, pull_through=True))
    assert found["doubled rope, detour over deviation 2"].metres == pytest.approx(4 * (101**0.5 - 10))


@pytest.mark.parametrize(("words", "metres"), [("pull cord", 22.0), ("Cord to pull", 22.0), ("teaching line", 42.0)])
def test_a_pull_cord_hangs_once_and_any_other_second_line_is_pulled_down_too(words, metres):
    """20 m once or twice and 2 m to pull; the rope itself stays doubled."""
    route = Route("R", (Pitch("P", exactly(20.0), pull_through=True, second_line=words),))
    main, second = rope_lines(route, longest_m=500.0)
    assert [run.mean_m for run in (*main.runs, *second.runs)] == pytest.approx([42.0, metres])
    assert sum(item.metres for item in explain_run(route, second, second.runs[0])) == pytest.approx(metres)


def test_a_rebelay_on_a_rope_to_be_pulled_is_doubted():
    text = (
        'name = "R"\n[[pitch]]\nname = "P"\ndepth = "20 m"\npull_through = true\n[[pitch.anchor]]\nrole = "rebelay"\n'
    )
    assert [finding.code for finding in read_route(text + 'down = "5 m"\n').findings] == ["pull-through-rebelay"]
