"""Runs of rope along a route."""

import pytest

from tethera.rigging import explain_run, read_route, rope_lines, rope_needs

TWO = """name = "R"
[[pitch]]
name = "A"
depth = "20 m"
to_next = "10 m"
[[pitch.anchor]]
role = "backup"
[[pitch.anchor]]
role = "y-hang"
[[pitch.anchor]]
role = "rebelay"
down = "8 m"
[[pitch.anchor]]
role = "deviation"
down = "4 m"
[[pitch]]
name = "B"
depth = "30 m"
anchors = 4
"""


def lines_of(text, longest=500.0):
    return rope_lines(read_route(text).route, longest_m=longest)


def reachable(line):
    """Places that a path of runs from the first place reaches."""
    reached = {0}
    for run in sorted(line.runs, key=lambda run: run.begin):
        if run.begin in reached:
            reached.add(run.end)
    return reached


def test_ropes_change_at_boundaries_and_rebelays_but_never_at_deviations_or_at_the_head():
    (line,) = lines_of(TWO)
    assert [(place.label, place.changes) for place in line.places] == [
        ("head of A", 0),
        ("rebelay 3 of A", 1),
        ("foot of A, head of B", 0),
        ("foot of B", 0),
    ]


def test_a_run_over_one_pitch_is_what_that_pitch_needs(routes):
    for route in routes.values():
        needs = rope_needs(route)
        singles = {
            (run.pitches[0], run.mean_m, run.sd_m)
            for line in rope_lines(route, longest_m=500.0)
            for run in line.runs
            if len(run.pitches) == 1 and {line.places[run.begin].changes, line.places[run.end].changes} == {0}
        }
        for number, mean, sd in singles:
            assert mean == pytest.approx(needs[number].mean_m)
            assert sd == pytest.approx(needs[number].sd_m)


def test_every_run_is_explained_to_the_centimetre(routes):
    for route in routes.values():
        for line in rope_lines(route, longest_m=500.0):
            for run in line.runs:
                assert sum(item.metres for item in explain_run(route, line, run)) == pytest.approx(run.mean_m)


def test_every_line_can_be_rigged_from_end_to_end(routes):
    for route in routes.values():
        for line in rope_lines(route, longest_m=500.0):
            assert line.places[-1].index in reachable(line)
            assert all(run.begin < run.end for run in line.runs)


def test_going_on_saves_the_tails_and_costs_the_passage():
    """One rope over both: 1.15 x 10 m of passage, less tail, stopper and a start (1.0 + 0.3 + 0.3 m)."""
    (line,) = lines_of(TWO)
    by_ends = {(run.begin, run.end): run.mean_m for run in line.runs}
    assert by_ends[0, 3] == pytest.approx(by_ends[0, 2] + by_ends[2, 3] + 11.5 - 1.6)


def test_a_passage_of_more_than_25_metres_is_not_crossed_unless_the_route_says_so():
    far = TWO.replace('"10 m"', '"26 m"')
    assert all(len(run.pitches) == 1 for run in lines_of(far)[0].runs)
    said = far.replace('to_next = "26 m"', 'to_next = "26 m"\nrope_goes_on = true')
    assert any(len(run.pitches) == 2 for run in lines_of(said)[0].runs)


def test_runs_longer_than_any_rope_are_left_out():
    assert max(run.mean_m for run in lines_of(TWO, longest=40.0)[0].runs) <= 40.0


def test_a_choice_is_two_branches_and_second_lines_and_ropes_left_cut_the_way(routes):
    lines = rope_lines(routes["classic"], longest_m=500.0)
    assert [line.name for line in lines] == ["main", "main, from Anvil", "teaching line on Anvil"]
    names = [pitch.name for pitch in routes["classic"].pitches]
    left, right = names.index("Left Hand Chute"), names.index("Right Hand Chute")
    ways = {run.pitches for run in lines[0].runs}
    assert (left,) in ways
    assert (right,) in ways
    assert not any(left in way and right in way for way in ways)
    assert not any(names.index("Aven Climb") in run.pitches for line in lines for run in line.runs)


def test_one_rope_pulled_down_and_carried_on_takes_the_most_not_the_sum():
    text = 'name = "R"\n' + "".join(
        f'[[pitch]]\nname = "{name}"\ndepth = "{depth} m"\npull_through = true\n'
        for name, depth in (("A", 12), ("B", 20))
    )
    (line,) = lines_of(text)
    by_ends = {(run.begin, run.end): run.mean_m for run in line.runs}
    assert by_ends == pytest.approx({(0, 1): 26.0, (0, 2): 42.0, (1, 2): 42.0})


def test_depth_errors_add_up_within_a_pitch_and_only_in_squares_between_pitches():
    """Guide: 5 % and 0.5 m; 20 m deep: hypot(1, 0.5) = 1.118 m whether rigged in one piece or looked at in two."""
    (line,) = lines_of(TWO)
    upper, lower, whole = (next(r for r in line.runs if (r.begin, r.end) == e) for e in ((0, 1), (1, 2), (0, 2)))
    assert whole.sd_m < upper.sd_m + lower.sd_m
    assert whole.sd_m > 1.118
    assert max(upper.sd_m, lower.sd_m) < whole.sd_m


def test_a_long_leg_can_hold_a_knot_and_says_how_much_rope_is_on_either_side():
    (line,) = lines_of(TWO)
    run = next(run for run in line.runs if run.begin == 0 and run.end == 3)
    assert [joint.leg for joint in run.joints] == ["drop of B"]
    for joint in run.joints:
        assert joint.above_m + joint.leg_m + joint.below_m == pytest.approx(run.mean_m)


def test_the_thickest_rope_and_the_strictest_wish_hold_for_the_whole_run(routes):
    route = routes["deep"]
    well = [pitch.name for pitch in route.pitches].index("Great Well")
    runs = [run for line in rope_lines(route, longest_m=500.0) for run in line.runs if well in run.pitches]
    assert runs
    assert all(run.min_diameter_mm == 9.0 and run.type_a_only for run in runs)


def test_a_second_line_on_one_way_of_a_choice_asks_for_no_rope_and_that_is_said():
    """Whether it is rigged depends on the way chosen, so it must not be asked for in any case."""
    text = """
    name = "Fork"
    [[pitch]]
    name = "Top"
    depth = "10 m"
    second_line = "teaching"
    [[pitch]]
    name = "Left"
    depth = "12 m"
    second_line = "teaching"
    [[pitch]]
    name = "Right"
    depth = "14 m"
    instead_of = "Left"
    second_line = "teaching"
    [[pitch]]
    name = "Last"
    depth = "9 m"
    second_line = "teaching"
    """
    reading = read_route(text)
    lines = rope_lines(reading.route, longest_m=200)
    assert [line.name for line in lines] == ["main", "teaching on Top", "teaching on Last"]
    assert [(finding.code, finding.where) for finding in reading.findings] == [
        ("second-line-left-out", "Left"),
        ("second-line-left-out", "Right"),
    ]
