"""What trips teach about the rope a pitch takes."""

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tethera.planning import Choices, Trip, plan_trip
from tethera.rigging import (
    Anchor,
    KnotLengths,
    Learnt,
    Pitch,
    Route,
    Seen,
    explain_run,
    learn,
    read_route,
    rope_lines,
    rope_needs,
    seen_of,
    with_learnt,
)
from tethera.rigging.estimate import least_rope_m
from tethera.rigging.learning import rigged_sd_m
from tethera.rigging.parts import step_shares, steps_of
from tethera.rigging.route import exactly
from tethera.store import RopeState

COARSE = Pitch("Barrow", exactly(30.0), anchor_count=4, to_next_m=5.0, rope_goes_on=True)
CLOSE = Pitch(
    "Well",
    exactly(40.0),
    depth_known_by="survey",
    anchors=(Anchor("backup"), Anchor("y-hang", along_m=2.0), Anchor("rebelay", down_m=15.0)),
    to_next_m=5.0,
    rope_goes_on=True,
)
GUIDED = Pitch("Last", exactly(18.0), guide_rope=exactly(25.0))
ROUTE = Route("Lantern Pot", (COARSE, CLOSE, GUIDED))
NEEDS = {need.pitch: need for need in rope_needs(ROUTE)}
NAMES = ("Barrow", "Well", "Last")
SOUND = settings(max_examples=60, deadline=None)
#: What trips may say, in spreads of the need from its mean, and how well.
ONE = st.tuples(st.sampled_from(NAMES), st.floats(-2.0, 3.0), st.floats(0.05, 2.0))
SOME = st.lists(ONE, max_size=5)


def seen(pitch, metres, sd=0.4, when="May 2031", rope="TV1", **more):
    """A rope on one pitch or on several."""
    return Seen(rope, when, (pitch,) if isinstance(pitch, str) else pitch, metres, sd, **more)


def drawn(told):
    """Ropes from drawn spreads: each on one pitch."""
    return [
        seen(name, NEEDS[name].mean_m + spreads * NEEDS[name].sd_m, sd, f"trip {n}")
        for n, (name, spreads, sd) in enumerate(told)
    ]


def of(pitch, ropes, route=ROUTE):
    """What was learnt of one pitch."""
    return next(each for each in learn(route, ropes) if each.pitch == pitch)


def test_without_trips_nothing_is_learnt():
    for each in learn(ROUTE, []):
        assert (each.after_m, each.after_sd_m) == (each.before_m, each.before_sd_m)
        assert [source.share for source in each.weighed] == [1.0]
    assert with_learnt(ROUTE, learn(ROUTE, [])) == ROUTE


def test_the_first_source_says_where_the_need_is_from():
    assert [each.weighed[0].what for each in learn(ROUTE, [])] == [
        "published sheets",
        "geometry",
        "guide and published sheets",
    ]


@SOUND
@given(SOME, ONE)
def test_one_more_trip_never_widens_the_spread_unless_the_sources_contradict_each_other(told, more):
    before, after = (learn(ROUTE, drawn(each)) for each in (told, [*told, more]))
    for fewer, greater in zip(before, after, strict=True):
        if greater.scatter <= 1 and not greater.at_odds:
            assert greater.after_sd_m <= fewer.after_sd_m + 1e-9
            assert greater.after_sd_m <= greater.before_sd_m


@SOUND
@given(SOME)
def test_the_order_of_trips_does_not_matter(told):
    ropes = drawn(told)
    for there, back in zip(learn(ROUTE, ropes), learn(ROUTE, ropes[::-1]), strict=True):
        assert there.after_m == pytest.approx(back.after_m)
        assert there.after_sd_m == pytest.approx(back.after_sd_m)


@SOUND
@given(st.sampled_from(NAMES), st.floats(0.05, 3.0), st.integers(1, 6))
def test_a_rope_that_took_just_the_mean_never_moves_it(name, sd, times):
    found = of(name, [seen(name, NEEDS[name].mean_m, sd)] * times)
    assert found.after_m == pytest.approx(NEEDS[name].mean_m)
    assert found.scatter == 1


@SOUND
@given(st.sampled_from(NAMES), st.floats(-0.9, 20.0), st.floats(0.05, 3.0), st.integers(1, 30))
def test_the_mean_moves_towards_the_ropes_and_never_beyond_and_more_so_with_every_trip(name, off, sd, times):
    before = NEEDS[name].mean_m
    assume(before + off > least_rope_m(ROUTE.pitch(name)))
    once, again = (of(name, [seen(name, before + off, sd)] * count).after_m for count in (times, times + 1))
    low, high = sorted((before, before + off))
    assert low - 1e-9 <= once <= high + 1e-9
    assert abs(again - before) >= abs(once - before) - 1e-9


def test_many_trips_that_agree_are_believed():
    found = of("Barrow", [seen("Barrow", 44.0, when=f"trip {n}") for n in range(300)])
    assert found.after_m == pytest.approx(44.0, abs=0.02)
    assert found.after_sd_m == pytest.approx(rigged_sd_m(found.before_m), rel=0.01)


def test_one_rope_is_weighed_by_one_over_square_spread():
    """By hand: noise of 0.4 m and of rigging hypot(0.02 x need, 0.3) m."""
    need = NEEDS["Barrow"]
    noise = 0.4**2 + (0.02 * need.mean_m) ** 2 + 0.3**2
    weight = need.sd_m**2 / (need.sd_m**2 + noise)
    found = of("Barrow", [seen("Barrow", 38.0)])
    assert found.after_m == pytest.approx(need.mean_m + weight * (38.0 - need.mean_m))
    assert [source.share for source in found.weighed] == pytest.approx([1 - weight, weight])
    assert found.weighed[1].what == "TV1, May 2031"
    assert (found.weighed[1].says_m, found.weighed[1].sd_m) == pytest.approx((38.0, math.sqrt(noise)))
    left = math.sqrt(noise * weight)
    rigged = math.hypot(0.02 * need.mean_m, 0.3)
    assert found.after_sd_m == pytest.approx(math.hypot(left * found.scatter, rigged))


@SOUND
@given(SOME, st.lists(st.tuples(st.floats(-1.0, 2.0), st.floats(0.1, 1.0)), max_size=3))
def test_the_shares_add_up_to_one_and_give_the_answer_also_where_a_rope_was_on_two_pitches(told, shared):
    both = NEEDS["Barrow"].mean_m + NEEDS["Well"].mean_m
    ropes = drawn(told) + [seen(("Barrow", "Well"), both + 8 * off, sd) for off, sd in shared]
    for each in learn(ROUTE, ropes):
        assert sum(source.share for source in each.weighed) == pytest.approx(1.0)
        weighed = sum(source.share * source.says_m for source in each.weighed)
        assert each.after_m == pytest.approx(max(weighed, least_rope_m(ROUTE.pitch(each.pitch))), abs=1e-6)


def test_a_rope_over_two_pitches_tells_most_of_the_one_known_worse():
    line = rope_lines(ROUTE, longest_m=500.0)[0]
    run = next(run for run in line.runs if run.pitches == (0, 1) and line.places[run.end].anchor is None)
    barrow, well, last = learn(ROUTE, [seen(("Barrow", "Well"), run.mean_m + 5.0)])
    moved = [each.after_m - each.before_m for each in (barrow, well)]
    assert moved[0] / moved[1] == pytest.approx(barrow.before_sd_m**2 / well.before_sd_m**2)
    assert 0 < sum(moved) < 5.0
    assert last.after_m == last.before_m
    assert barrow.weighed[1].what == "TV1, May 2031, shared with Well"


def test_a_rope_on_a_part_of_a_pitch_tells_of_that_part_only():
    steps = steps_of(CLOSE, KnotLengths.default())
    upper, lower = step_shares(steps)
    assert upper + lower == pytest.approx(1.0)
    assert sum(part.metres for part in (*steps[1].parts, *steps[1].ending)) == pytest.approx(
        lower * NEEDS["Well"].mean_m
    )
    line = rope_lines(ROUTE, longest_m=500.0)[0]
    run = next(r for r in line.runs if line.places[r.begin].anchor == 3 and r.pitches == (1,))
    part = of("Well", [seen("Well", run.mean_m + 1.0, begins="rebelay 3 of Well")])
    whole = of("Well", [seen("Well", NEEDS["Well"].mean_m + 1.0)])
    assert 0 < part.after_m - part.before_m < 1.0 / lower
    assert part.weighed[1].share < whole.weighed[1].share
    often = [seen("Well", run.mean_m + 1.0, begins="rebelay 3 of Well", when=str(n)) for n in range(300)]
    (line,) = rope_lines(with_learnt(ROUTE, learn(ROUTE, often)), longest_m=500.0)
    again = next(r for r in line.runs if line.places[r.begin].anchor == 3 and r.pitches == (1,))
    assert again.mean_m == pytest.approx(run.mean_m + 1.0, abs=0.02)
    assert part.weighed[1].what == "TV1, May 2031, a part of this pitch"


def test_ropes_that_contradict_each_other_widen_the_spread_and_the_odd_one_is_named():
    agree = of("Barrow", [seen("Barrow", 36.0, rope=f"TV{n}") for n in range(4)])
    ropes = [seen("Barrow", metres, rope=f"TV{n}") for n, metres in enumerate((36.0, 36.2, 35.8, 48.0))]
    found = of("Barrow", ropes)
    assert found.at_odds
    assert found.after_sd_m > agree.after_sd_m
    (doubt,) = [each for each in found.findings if each.code == "rope-at-odds"]
    assert doubt.message.startswith("TV3 (May 2031) took 48.0 m of rope on Barrow")


def test_trips_that_agree_but_not_with_the_route_are_believed_and_the_route_is_doubted():
    found = of("Well", [seen("Well", NEEDS["Well"].mean_m + 9.0, when=f"trip {n}") for n in range(8)])
    assert "trips-at-odds" in {each.code for each in found.findings}
    assert found.after_m > found.before_m + 7.0


def test_a_rope_far_from_geometry_asks_for_more_margin_not_less():
    """It lowers the mean as its weight says, and widens the spread by as much as it contradicts."""
    need = NEEDS["Well"]
    found = of("Well", [seen("Well", need.mean_m - 8.0)])
    assert found.at_odds
    assert found.after_sd_m > found.before_sd_m


@SOUND
@given(st.sampled_from(NAMES), st.floats(0.1, 60.0), st.integers(1, 20))
def test_a_need_never_falls_below_the_drop_with_its_tails(name, metres, times):
    found = of(name, [seen(name, metres)] * times)
    assert found.after_m >= least_rope_m(ROUTE.pitch(name)) - 1e-9


@SOUND
@given(SOME)
def test_the_route_then_takes_what_was_learnt_alone_and_in_runs(told):
    learnt = learn(ROUTE, drawn(told))
    taught = with_learnt(ROUTE, learnt)
    for need, each in zip(rope_needs(taught), learnt, strict=True):
        assert need.mean_m == pytest.approx(each.after_m, abs=1e-9)
        assert need.sd_m == pytest.approx(each.after_sd_m, abs=1e-9)
        assert sum(item.metres for item in need.items) == pytest.approx(need.mean_m)
    (line,) = rope_lines(taught, longest_m=500.0)
    before = {(run.begin, run.end): run for run in rope_lines(ROUTE, longest_m=500.0)[0].runs}
    for run in line.runs:
        heads = {line.places[run.begin].anchor, line.places[run.end].anchor} == {None}
        if heads:
            more = sum(learnt[number].after_m - learnt[number].before_m for number in run.pitches)
            assert run.mean_m - before[run.begin, run.end].mean_m == pytest.approx(more)
            if len(run.pitches) == 1:
                assert run.sd_m == pytest.approx(learnt[run.pitches[0]].after_sd_m)
        assert sum(item.metres for item in explain_run(taught, line, run)) == pytest.approx(run.mean_m)


@SOUND
@given(st.floats(0.05, 1.0))
def test_a_part_of_a_pitch_gets_no_surer_than_the_whole_pitch_did(share):
    taught = replace(ROUTE, pitches=(COARSE, replace(CLOSE, learnt=Learnt(0.0, share, 3)), GUIDED))
    (line,), (old,) = rope_lines(taught, longest_m=500.0), rope_lines(ROUTE, longest_m=500.0)
    for run, before in zip(line.runs, old.runs, strict=True):
        assert share * before.sd_m - 1e-9 <= run.sd_m <= before.sd_m + 1e-9
    parts = [(r, b) for r, b in zip(line.runs, old.runs, strict=True) if r.pitches == (1,)]
    whole = max(parts, key=lambda pair: pair[0].mean_m)
    assert all(run.sd_m / before.sd_m >= whole[0].sd_m / whole[1].sd_m - 1e-9 for run, before in parts)


def test_the_account_says_what_trips_added():
    taught = with_learnt(ROUTE, learn(ROUTE, [seen("Well", 50.0, when=f"trip {n}") for n in range(3)]))
    items = rope_needs(taught)[1].items
    told = [item for item in items if item.what == "as rigged on 3 trips"]
    assert {item.source for item in told} == {"what was left over on those trips"}
    assert sum(item.metres for item in told) == pytest.approx(taught.pitches[1].learnt.more_m)


def test_what_was_learnt_before_is_forgotten_when_learning_anew():
    ropes = [seen("Barrow", 40.0)]
    assert learn(with_learnt(ROUTE, learn(ROUTE, ropes)), ropes) == learn(ROUTE, ropes)


@pytest.mark.parametrize(
    ("rope", "code"),
    [
        (seen("Nowhere", 30.0), "rope-on-unknown-pitch"),
        (seen((), 30.0), "rope-tells-nothing"),
        (seen("Well", 30.0, begins="rebelay 9 of Well"), "rope-place-unknown"),
        (seen(("Barrow", "Last"), 70.0), "rope-runs-otherwise"),
        (seen("Well", 30.0, line="teaching line on Well"), "rope-tells-nothing"),
        (seen("Well", 30.0, ends="join in mid-drop"), "rope-tells-nothing"),
    ],
)
def test_what_tells_nothing_of_the_route_is_told_back_and_left_out(rope, code):
    learnt = learn(ROUTE, [rope])
    assert [finding.code for each in learnt for finding in each.findings] == [code]
    assert learnt[0].findings[0].where == "rope TV1"
    assert all(each.after_m == each.before_m for each in learnt)


@pytest.mark.parametrize("more", [{"pull_through": True}, {"left_in_place": True}])
def test_nothing_is_learnt_of_a_rope_pulled_down_or_left(more):
    route = Route("R", (replace(COARSE, **more), CLOSE))
    learnt = learn(route, [seen("Barrow", 99.0)])
    assert learnt[0].findings[0].code == "rope-tells-nothing"
    assert with_learnt(route, learnt) == route


def test_a_second_line_stays_as_it_was():
    route = Route("R", (replace(CLOSE, second_line="teaching line"),))
    taught = with_learnt(route, learn(route, [seen("Well", 55.0)]))
    (main, other), (old_main, old) = (rope_lines(each, longest_m=500.0) for each in (taught, route))
    assert other == old
    assert main != old_main


def test_places_are_known_by_their_labels_in_a_plan(routes):
    """Every run of the examples is found again by the words a plan has for its ends, and a whole pitch counts as 1."""
    for route in routes.values():
        learnable = [line for line in rope_lines(route, longest_m=500.0) if line.name.startswith("main")]
        for line in learnable:
            for run in line.runs:
                pitches = tuple(route.pitches[number].name for number in run.pitches)
                if any(route.pitches[number].pull_through for number in run.pitches):
                    continue
                ends = line.places[run.begin].label, line.places[run.end].label
                rope = seen(pitches, run.mean_m, begins=ends[0], ends=ends[1])
                learnt = learn(route, [rope])
                assert [f for each in learnt for f in each.findings] == []
                assert sum(each.trips for each in learnt) == len(pitches)
                assert all(each.after_m == pytest.approx(each.before_m) for each in learnt)


def test_what_was_left_over_or_short_gives_what_was_taken():
    assert seen_of("TV7", "May 2031", 4000, 5.0, -150, ["Barrow"]).taken_m == 41.5
    assert seen_of("TV7", "May 2031", 4000, 5.0, 100, ["Barrow"]).sd_m == pytest.approx(math.hypot(0.05, 0.4, 0.1))
    assert seen_of("TV7", "May 2031", 4000, 5.0, 1000, ["Barrow"]).sd_m > 1.0


def test_plans_with_what_was_learnt_stand_before_the_judge():
    """A plan that fails its check raises; ten trips that took 6 m more make the plan carry longer ropes."""
    ropes = [
        RopeState(f"TV{n}", 100 * metres, "measured", diameter_mm=10.0, rope_type="A", mass_g_per_m=65.0, waits=())
        for n, metres in enumerate(range(24, 90, 3))
    ]
    told = [seen(p, NEEDS[p].mean_m + 6.0, when=f"{n}") for p, n in itertools.product(NAMES, range(10))]
    taught = with_learnt(ROUTE, learn(ROUTE, told))
    wanted = Choices(compare=(), mid_drop_joins=False, confidence=None)
    plain, learnt = (plan_trip([Trip(route)], ropes, wanted) for route in (ROUTE, taught))
    assert plain.found
    assert learnt.found
    assert learnt.mass_g > plain.mass_g


def test_learning_from_two_hundred_ropes_is_done_at_once():
    text = 'name = "Long"\n' + "".join(
        f'[[pitch]]\nname = "P{n}"\ndepth = "20 m"\nanchors = 4\nto_next = "5 m"\n' for n in range(20)
    )
    route = read_route(text).route
    told = [seen((f"P{n % 19}", f"P{n % 19 + 1}"), 70.0, when=str(n)) for n in range(200)]
    assert {each.trips for each in learn(route, told)[1:-1]} <= {20, 21, 22}


def test_the_example_of_the_manual_is_what_learning_gives():
    from pathlib import Path

    text = (Path(__file__).resolve().parents[2] / "docs" / "needs.md").read_text(encoding="utf-8")
    five = Pitch("Five", exactly(22.0), anchor_count=4)
    route = Route("Five pitches", (five,))
    rope = seen_of("TV7", "May 2031", 4000, 5.0, 400, ["Five"])
    (found,) = learn(route, [rope])
    high = rope_needs(with_learnt(route, [found]))[0].at(1.645)
    assert found.weighed[1].share == pytest.approx(0.974, abs=5e-4)
    for said in (
        f"Five takes {found.after_m:.2f} m",
        f"0.3²) = {found.weighed[1].sd_m:.2f} m",
        f"it is {found.after_sd_m:.2f} m",
        f"that is {high / 100:.2f} m",
    ):
        assert said in text
