"""Rope a pitch takes on a rope of its own."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.rigging import Anchor, KnotLengths, Measure, Pitch, Route, UnreadableKnots, little_left, rope_needs
from tethera.rigging.knots import KNOTS
from tethera.rigging.route import KINDS, exactly

DEPTHS = st.floats(1.0, 300.0)
ANCHORS = st.lists(
    st.builds(
        Anchor,
        role=st.sampled_from(["backup", "traverse", "y-hang", "rebelay", "hand-line"]),
        kind=st.sampled_from(KINDS),
        along_m=st.floats(0.0, 5.0),
        down_m=st.floats(0.0, 10.0),
    ),
    max_size=5,
)


def need(pitch, knots=None):
    return rope_needs(Route("R", (pitch,)), knots)[0]


def at(pitch, z=1.645):
    return need(pitch).at(z)


@given(DEPTHS, st.floats(0.0, 100.0), st.one_of(st.none(), st.integers(0, 20)))
def test_a_longer_pitch_known_coarsely_never_needs_less(depth, more, count):
    short, long = (at(Pitch("P", exactly(d), anchor_count=count)) for d in (depth, depth + more))
    assert long >= short


@given(ANCHORS, DEPTHS, st.floats(0.0, 100.0))
def test_a_longer_pitch_known_by_its_anchors_never_needs_less(anchors, below, more):
    top = sum(anchor.down_m for anchor in anchors)
    short, long = (at(Pitch("P", exactly(top + b), anchors=tuple(anchors))) for b in (below, below + more))
    assert long >= short


@given(DEPTHS, st.integers(0, 20), st.floats(-1.0, 4.0), st.floats(0.0, 2.0))
def test_more_confidence_never_needs_less(depth, count, z, more):
    pitch = Pitch("P", exactly(depth), anchor_count=count)
    assert at(pitch, z + more) >= at(pitch, z)


@given(DEPTHS, st.integers(0, 15), st.integers(1, 5))
def test_more_anchors_never_need_less(depth, count, more):
    assert at(Pitch("P", exactly(depth), anchor_count=count + more)) >= at(
        Pitch("P", exactly(depth), anchor_count=count)
    )


@given(ANCHORS, DEPTHS)
def test_one_more_rebelay_never_needs_less(anchors, below):
    """Put where the last anchor is, so that it changes nothing but its own knot and loop."""
    depth = exactly(sum(anchor.down_m for anchor in anchors) + below)
    more = (*anchors, Anchor("rebelay"))
    assert at(Pitch("P", depth, anchors=more)) > at(Pitch("P", depth, anchors=(*anchors, Anchor("backup"))))


@given(ANCHORS, DEPTHS)
def test_the_items_add_up_to_the_mean_and_each_has_a_source(anchors, below):
    depth = exactly(sum(anchor.down_m for anchor in anchors) + below)
    found = need(Pitch("P", depth, anchors=tuple(anchors)))
    assert sum(item.metres for item in found.items) == pytest.approx(found.mean_m)
    assert all(item.source for item in found.items)
    assert found.mean_m > depth.metres


@given(DEPTHS, st.one_of(st.none(), st.floats(1.0, 400.0)), st.one_of(st.none(), st.integers(0, 20)))
def test_the_mean_is_never_below_the_drop_with_its_tails(depth, guide, count):
    """0.3 m above, 1.0 m and a stopper of 0.3 m below (tables/metres.toml, tables/knots.toml)."""
    rope = None if guide is None else exactly(guide)
    found = need(Pitch("P", exactly(depth), guide_rope=rope, anchor_count=count))
    assert found.mean_m >= depth + 1.6 - 1e-9
    assert found.sd_m > 0


def test_the_worse_the_depth_is_known_the_more_rope_it_takes():
    pitches = [
        Pitch("P", exactly(60.0), depth_known_by=way, anchors=(Anchor("y-hang"),))
        for way in ("laser", "tape", "survey", "guide")
    ]
    needs = [at(pitch) for pitch in pitches]
    assert needs == sorted(needs)
    assert at(Pitch("P", Measure(55.0, 65.0), anchors=(Anchor("y-hang"),))) > needs[-1]


def test_a_long_traverse_takes_rope_of_its_own():
    """Two more bolts of traverse turned 38 m into 48 m on a published sheet."""
    plain = Pitch("P", exactly(21.0), anchor_count=8)
    longer = Pitch("P", exactly(21.0), anchor_count=10, traverse_m=25.0)
    assert 8.0 < need(longer).mean_m - need(plain).mean_m < 30.0


def test_a_doubled_rope_is_twice_the_drop_and_an_end_to_pull():
    found = need(Pitch("P", exactly(20.0), pull_through=True))
    assert found.mean_m == pytest.approx(2 * 20.0 + 2.0)


def test_the_stores_own_knots_replace_the_defaults():
    pitch = Pitch("P", exactly(20.0), anchors=(Anchor("backup"), Anchor("traverse", along_m=2.0)))
    measured = KnotLengths.default().with_measured({"butterfly": 0.30})
    assert need(pitch).mean_m - need(pitch, measured).mean_m == pytest.approx(0.50 - 0.30)
    assert any(item.source == "measured by the store" for item in need(pitch, measured).items)


@pytest.mark.parametrize(
    "text",
    ["butterfly = 44", "granny = 0.3", 'butterfly = "x"', "butterfly = nan", "butterfly =", "butterfly = inf",
     f"butterfly = {'9' * 400}", f"butterfly = {'9' * 5000}", f"butterfly = 0x{'f' * 5000}"],
)  # fmt: skip
def test_knot_lengths_that_cannot_be_are_refused_in_words(text):
    with pytest.raises(UnreadableKnots, match=r"metres|known are"):
        KnotLengths.from_toml(text)


def test_little_left_is_said_only_where_it_means_something():
    """Rope below 1.1 depth + 2 m, from 10 m of depth."""
    assert little_left("P", 28.0, 32.0) is not None
    assert little_left("P", 28.0, 33.0) is None
    assert little_left("P", 3.0, 5.0) is None


def test_a_depth_in_a_doubt_stands_behind_its_arrow_and_never_as_a_length_of_rope():
    """1.1 x 12 + 2 = 15.2 m; the space that holds a number to its unit keeps it out of a rope's capsule."""
    assert little_left("P", 12.0, 15.0).message == (
        "15 m of rope leaves little at the foot of a drop of ↓12\u00a0m: "
        "1.1 times the depth and 2\u00a0m more are 15.2 m."
    )


@given(DEPTHS, st.one_of(st.none(), st.floats(1.0, 100.0)), st.one_of(st.none(), st.integers(0, 20)), st.floats(0, 3))
def test_the_items_as_shown_and_the_margin_add_up_to_what_is_taken(depth, guide, count, z):
    """Each to the centimetre: what is shown under one another is what a reader adds up."""
    told = need(Pitch("P", exactly(depth), guide_rope=None if guide is None else exactly(guide), anchor_count=count))
    shown = told.account(z)
    assert sum(round(100 * metres) for _, metres in shown.items) == round(100 * shown.expected_m)
    assert round(100 * (shown.expected_m + shown.margin_m)) == round(100 * shown.takes_m) == told.at(z)
    assert all(abs(metres - item.metres) <= 0.01 + 1e-9 for item, metres in shown.items)


def test_a_guide_s_rope_that_is_not_believed_is_said_among_the_items():
    """12 m with a traverse of 4 m and its tails take more than the guide's 15 m."""
    items = need(Pitch("P", exactly(12.0), guide_rope=exactly(15.0), anchor_count=2, traverse_m=4.0)).items
    assert [item.metres for item in items if "guide's 15 m not weighed in" in item.what] == [0.0]


@given(DEPTHS, st.one_of(st.none(), st.integers(0, 20)), st.floats(0.0, 20.0), st.booleans(), st.floats(0.0, 3.0))
def test_no_band_of_a_pitch_begins_below_its_depth_and_tails(depth, count, traverse, pulled, z):
    """Tails of 0.3 and 1 m, and the stopper, come to the depth and its traverse (tables/metres.toml)."""
    pitch = Pitch("P", exactly(depth), anchor_count=count, traverse_m=0.0 if pulled else traverse, pull_through=pulled)
    told = need(pitch)
    low, high = told.band(z)
    assert low <= told.mean_m + 1e-9 <= high + 2e-9
    assert low >= min(told.mean_m, depth * (2 if pulled else 1) + (0.0 if pulled else traverse) + 1.3) - 1e-9


def test_every_knot_a_route_may_name_has_a_length():
    assert set(KNOTS) == set(KnotLengths.default().lengths)
