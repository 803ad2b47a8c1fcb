"""A route written down is read back the same; a typed table says what a file would, and what is wrong."""

from dataclasses import replace
from importlib import resources
from typing import Any

import pytest
from hypothesis import given, settings

from rigging.any_route import routes
from tethera.rigging import Learnt, Route, read_route, route_from_table, table_of, write_route
from tethera.rigging.route import exactly

DEMO = ("short", "classic", "deep")


def demo(name: str) -> Route:
    return read_route((resources.files("tethera.cli") / "demo_data" / f"{name}.toml").read_text("utf-8")).route


@settings(deadline=None)
@given(routes())
def test_a_route_written_down_is_read_back_the_same(route: Route) -> None:
    assert read_route(write_route(route)).route == route


@settings(deadline=None)
@given(routes())
def test_a_table_of_a_route_is_read_back_the_same(route: Route) -> None:
    reading = route_from_table(table_of(route), before=route)
    assert reading.errors == ()
    assert reading.route == route
    assert reading.places == tuple(range(len(route.pitches)))


@pytest.mark.parametrize("name", DEMO)
def test_the_routes_of_the_demo_go_out_and_come_back(name: str) -> None:
    route = demo(name)
    assert read_route(write_route(route)).route == route
    assert route_from_table(table_of(route), before=route).route == route


def test_what_trips_taught_is_never_written() -> None:
    route = demo("short")
    taught = replace(route, pitches=(replace(route.pitches[0], learnt=Learnt(1.0, 0.5, 3)), *route.pitches[1:]))
    assert write_route(taught) == write_route(route)


def test_a_length_that_is_no_whole_centimetre_is_kept_to_the_last_digit() -> None:
    route = demo("short")
    odd = replace(route, pitches=(replace(route.pitches[0], depth=exactly(12.3456789)), *route.pitches[1:]))
    assert read_route(write_route(odd)).route == odd


def typed(*pitches: dict[str, Any], name: str = "Tallow Hole") -> dict[str, Any]:
    return {"name": name, "pitches": list(pitches)}


def test_bare_numbers_are_in_the_reader_s_unit() -> None:
    table = typed({"name": "Entrance", "depth": "22,5", "guide_rope": "30"})
    metres = route_from_table(table).route
    feet = route_from_table(table, unit="ft").route
    assert metres is not None
    assert feet is not None
    assert metres.pitches[0].depth_m == 22.5
    assert feet.pitches[0].depth_m == pytest.approx(22.5 * 0.3048, abs=0.01)


def test_each_cell_that_cannot_be_read_is_told_at_its_place_and_the_rest_stands() -> None:
    reading = route_from_table(
        typed(
            {"name": "Entrance", "depth": "twelve", "anchors": "3"},
            {
                "name": "Barrow", "depth": "41", "anchors": "many", "guide_rope": "60 or",
                "anchor": [{"role": "backup"}, {"role": "rebelay", "down": "17", "kind": "glue"}],
            },
        )
    )  # fmt: skip
    assert reading.route is not None
    assert [pitch.name for pitch in reading.route.pitches] == ["Barrow"]
    assert reading.places == (1,)
    assert [anchor.role for anchor in reading.route.pitches[0].anchors] == ["backup", "rebelay"]
    told = {(each.pitch, each.row, each.number, each.key) for each in reading.errors}
    assert told == {
        (0, "pitch", None, "depth"),
        (1, "pitch", None, "anchors"),
        (1, "pitch", None, "guide_rope"),
        (1, "anchor", 1, "kind"),
    }
    assert all(each.message[0].isupper() or each.message[0] == "“" for each in reading.errors)


def test_a_pitch_without_a_depth_is_left_out_and_says_so() -> None:
    reading = route_from_table(typed({"name": "Entrance"}, {"name": "Barrow", "depth": "41"}))
    assert reading.route is not None
    assert [pitch.name for pitch in reading.route.pitches] == ["Barrow"]
    assert [(each.pitch, each.key) for each in reading.errors] == [(0, "depth")]


def test_an_anchor_below_the_foot_is_told_at_that_anchor() -> None:
    anchors = [{"role": "backup"}, {"role": "rebelay", "down": "50"}]
    reading = route_from_table(typed({"name": "Barrow", "depth": "41", "anchor": anchors}))
    assert [(each.row, each.number, each.key) for each in reading.errors] == [("anchor", 1, "down")]


def test_an_empty_table_is_no_route_yet() -> None:
    assert route_from_table(typed()).route is None
    assert route_from_table({}).route is None


def test_two_pitches_of_one_name_are_told_at_the_second() -> None:
    reading = route_from_table(typed({"name": "First", "depth": "9"}, {"name": "First", "depth": "12"}))
    assert [(each.pitch, each.key) for each in reading.errors] == [(1, "name")]


def test_what_no_cell_holds_stays() -> None:
    before = read_route(
        'name = "Tallow"\n[[pitch]]\nname = "A"\ndepth = "9 m"\n[[pitch]]\nname = "B"\ndepth = "12 m"\n'
        '[[together]]\npitches = ["A", "B"]\nguide_rope = "40 m"\n[totals]\ndepth = "21 m"\n'
    ).route
    table = table_of(before)
    table["pitches"][0]["depth"] = "10"
    now = route_from_table(table, before=before).route
    assert now is not None
    assert (now.together, now.stated_totals) == (before.together, before.stated_totals)


def test_a_coarse_pitch_refined_anchor_by_anchor_keeps_what_the_guide_says() -> None:
    table = typed({"name": "Barrow", "depth": "41", "guide_rope": "60", "anchors": "7"})
    coarse = route_from_table(table).route
    table["pitches"][0]["anchor"] = [
        {"role": "backup"},
        {"role": "y-hang", "along": "3"},
        {"role": "rebelay", "down": "20"},
    ]
    fine = route_from_table(table, before=coarse).route
    assert fine is not None
    assert fine.pitches[0].by_anchors
    assert (fine.pitches[0].guide_rope_m, fine.pitches[0].anchor_count, fine.pitches[0].depth_m) == (60.0, 7, 41.0)


@pytest.mark.parametrize(
    "lines",
    [
        'depth = "0.1 + 0.2 or 5 m"',
        "depth_ft = 72",
        "depth_ft = 3",
        'depth = "0 or 5 m"',
        'depth = "5 m"\ndepth_spread = "0 m"\nto_next = "0 m"',
        'depth = "12 m"\n[[pitch.anchor]]\nrole = "rebelay"\ndown_ft = -3',
        '[[pitch.anchor]]\nrole = "backup"\ndown = "12.1 m"\n[[pitch.anchor]]\nrole = "rebelay"\ndown = "6.2 m"',
        'depth = "1 + 2 + 3 + 4 + 5 + 6 + 7 + 8 + 9 + 1 + 2 + 3 ft"',
        'depth = "8 m"\n[[pitch]]\nname = "B"\ndepth = "9 m"\n[[together]]\npitches = ["A", "B"]\nguide_rope_ft = 131',
    ],
)
def test_lengths_as_people_write_them_are_written_down_and_read_back_to_the_last_digit(lines: str) -> None:
    route = read_route(f'name = "T"\n[[pitch]]\nname = "A"\n{lines}\n').route
    text = write_route(route)
    assert read_route(text).route == route
    assert "00000" not in text  # no 0.30000000000000004
    assert "99999" not in text
    assert route_from_table(table_of(route), before=route).route == route
