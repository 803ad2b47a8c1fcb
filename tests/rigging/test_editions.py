"""What other guides say of a pitch: kept beside what the route goes by, doubted where far apart, never ignored."""

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigging.any_route import CM, measures, pitches
from tethera.rigging import Anchor, Edition, Measure, Pitch, Route, read_route, rope_needs, write_route
from tethera.rigging.checks import route_findings
from tethera.rigging.estimate import depth_spread_m
from tethera.rigging.route import exactly

OWN = Pitch("Anvil", exactly(33.0), guide_rope=exactly(55.0), anchor_count=8)


def told(pitch: Pitch) -> list[str]:
    findings = [each for each in route_findings(Route("R", (pitch,))) if each.code == "guides-disagree"]
    assert all(each.where == pitch.name for each in findings)
    assert all(each.way_out == "Measure it there, or take the longer until then." for each in findings)
    return [each.message.replace("\xa0", " ") for each in findings]


def old_guide(**said: Any) -> Pitch:
    return replace(OWN, editions=(Edition("Old guide, 1987", **said),))


def test_guides_that_disagree_are_told_with_what_each_says() -> None:
    pitch = old_guide(depth=exactly(28.0), guide_rope=exactly(40.0), anchors=4)
    assert told(pitch) == [
        "Old guide, 1987 says ↓28 m instead of ↓33 m and (40 m) of rope instead of (55 m) and 4 anchors instead of 8."
    ]


@pytest.mark.parametrize(
    ("said", "doubted"),
    [
        ({"depth": exactly(36.7)}, True),  # 3.7 m, more than a tenth of 36.7 m
        ({"depth": exactly(36.6)}, False),
        ({"depth": Measure(20.0, 40.0)}, False),  # 33 m is one of them
        ({"depth": Measure(20.0, 25.0)}, True),
        ({"guide_rope": exactly(60.0)}, False),  # 5 m is the step guides give
        ({"guide_rope": exactly(60.5)}, True),
        ({"guide_rope": exactly(49.0)}, True),
        ({"guide_rope": Measure(45.0, 55.0)}, False),  # the longer is known to have sufficed
        ({"anchors": 10}, False),
        ({"anchors": 11}, True),
        ({"anchors": 5}, True),
        ({"note": "wet"}, False),
    ],
)
def test_guides_may_differ_by_so_much(said: dict[str, Any], doubted: bool) -> None:
    assert bool(told(old_guide(**said))) == doubted


def test_on_a_short_pitch_two_metres_are_allowed() -> None:
    short = replace(OWN, depth=exactly(5.0), guide_rope=None, anchor_count=None)
    assert told(replace(short, editions=(Edition("Old guide", exactly(7.0)),))) == []
    assert told(replace(short, editions=(Edition("Old guide", exactly(7.5)),))) == [
        "Old guide says ↓7.5 m instead of ↓5 m."
    ]


def test_guides_that_disagree_with_each_other_only_are_told_once() -> None:
    said = (Edition("Guide A, 1987", exactly(31.0)), Edition("Guide B, 2004", exactly(35.0)))
    assert told(replace(OWN, editions=said)) == ["Guide A, 1987 says ↓31 m, Guide B, 2004 ↓35 m."]
    assert told(replace(OWN, editions=said[:1])) == []


def test_ropes_of_other_guides_are_compared_where_the_route_goes_by_none() -> None:
    said = (
        Edition("Guide A", guide_rope=exactly(40.0)),
        Edition("Guide B", guide_rope=exactly(50.0)),
        Edition("Guide C", guide_rope=exactly(45.0)),
    )
    pitch = replace(OWN, guide_rope=None, editions=said)
    assert told(pitch) == ["Guide A says (40 m) of rope, Guide B (50 m) of rope."]


def test_the_depths_of_guides_are_taken_in_as_a_range_about_which_nothing_more_is_known() -> None:
    """28 to 33 m, all of it as likely: half of 5 m over the square root of 3, beside the spread of a survey."""
    alone = replace(OWN, depth_spread_m=0.5)
    both = replace(alone, editions=(Edition("Old guide", exactly(28.0)),))
    assert depth_spread_m(both) == pytest.approx(math.hypot(0.5, 2.5 / math.sqrt(3)))
    between = replace(both, editions=(*both.editions, Edition("Another", exactly(30.0))))
    assert depth_spread_m(between) == depth_spread_m(both)
    ranged = replace(alone, editions=(Edition("Old guide", Measure(28.0, 38.0)),))
    assert depth_spread_m(ranged) == pytest.approx(math.hypot(0.5, 5.0 / math.sqrt(3)))


@pytest.mark.parametrize("anchors", [(), (Anchor("backup"), Anchor("y-hang", along_m=2.0))])
def test_a_guide_that_agrees_or_gives_no_depth_changes_no_metre(anchors: tuple[Anchor, ...]) -> None:
    pitch = replace(OWN, anchors=anchors)
    agreeing = replace(pitch, editions=(Edition("A", exactly(33.0)), Edition("B", anchors=9, note="wet")))
    alone, both = (rope_needs(Route("R", (each,)))[0] for each in (pitch, agreeing))
    assert both == alone


@settings(deadline=None)
@given(pitches("Anvil"), st.lists(st.builds(Edition, source=st.just("Guide"), depth=measures() | CM.map(exactly))))
def test_other_guides_never_make_a_need_look_better_known(pitch: Pitch, said: list[Edition]) -> None:
    alone = replace(pitch, editions=())
    for more in range(len(said) + 1):
        now = replace(pitch, editions=tuple(said[:more]))
        assert depth_spread_m(now) >= depth_spread_m(alone)
        before, after = (rope_needs(Route("R", (each,)))[0] for each in (alone, now))
        assert after.sd_m >= before.sd_m - 1e-9
        assert after.mean_m == pytest.approx(before.mean_m)
        alone = now  # and one guide more never does


def test_what_guides_say_is_written_down_and_needs_its_source() -> None:
    route = Route("R", (old_guide(depth=Measure(28.0, 30.0), guide_rope=exactly(40.0), anchors=4, note="wet"),))
    assert read_route(write_route(route)).route == route
    assert '[[pitch.edition]]\nsource = "Old guide, 1987"\ndepth = "28 or 30 m"' in write_route(route)
