"""A route written down is read back the same; a typed table says what a file would, and what is wrong."""

from dataclasses import replace
from importlib import resources
from typing import Any

import pytest
from hypothesis import given, settings

from rigging.any_route import routes
from tethera.rigging import Learnt, Route, changed_pitches, read_route, route_from_table, table_of, write_route
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


def said(old: Route, new: Route) -> dict[str, tuple[str, ...]]:
    return {each.pitch: each.what for each in changed_pitches(old, new)}


def test_changes_are_told_pitch_by_pitch_in_words() -> None:
    old = demo("classic")
    barrow = old.pitch("Barrow")
    lower = replace(barrow.anchors[4], down_m=15.0)
    new = replace(
        old,
        name="Cold Barrow Hole, upper way",
        pitches=tuple(
            replace(each, depth=exactly(38.0), anchors=(*each.anchors[:4], lower, *each.anchors[5:]))
            if each is barrow
            else replace(each, name="Way In")
            if each.name == "Entrance"
            else each
            for each in old.pitches
            if each.name != "Sump Drop"
        ),
    )
    told = said(old, new)
    assert told[""] == ("called Cold Barrow Hole, upper way, was Cold Barrow Hole",)
    assert told["Barrow"] == ("↓38 m, was ↓41 m", "rebelay 5: down 15 m, was 17 m")
    assert told["Way In"] == ("was called Entrance",)
    assert told["Sump Drop"] == ("taken out",)
    assert set(told) == {"", "Barrow", "Way In", "Sump Drop"}


def test_a_pitch_refined_says_that_it_is_now_known_anchor_by_anchor() -> None:
    table = typed({"name": "Barrow", "depth": "41"})
    old = route_from_table(table).route
    table["pitches"][0]["anchor"] = [{"role": "backup"}, {"role": "rebelay", "down": "20"}]
    new = route_from_table(table).route
    assert old is not None
    assert new is not None
    assert said(old, new) == {"Barrow": ("now known anchor by anchor: backup, rebelay",)}


@settings(deadline=None)
@given(routes())
def test_the_same_route_has_changed_in_nothing(route: Route) -> None:
    assert changed_pitches(route, route) == ()
    assert changed_pitches(None, route)[0].pitch == ""


def test_guides_that_disagree_are_told_with_what_each_says() -> None:
    text = write_route(demo("classic"))
    edition = '\n[[pitch.edition]]\nsource = "Old guide, 1987"\ndepth = "28 m"\nguide_rope = "40 m"\nanchors = 4\n'
    text = text.replace('\n[[pitch]]\nname = "Sump Drop"', f'{edition}\n[[pitch]]\nname = "Sump Drop"')
    reading = read_route(text)
    told = [each for each in reading.findings if each.code == "guides-disagree"]
    assert [each.where for each in told] == ["Anvil"]
    assert told[0].message == (
        "Old guide, 1987 says ↓28 m instead of ↓33 m and (40 m) of rope instead of (55 m) and 4 anchors instead of 8."
    )
    from tethera.rigging import rope_needs

    alone = next(need for need in rope_needs(demo("classic")) if need.pitch == "Anvil")
    both = next(need for need in rope_needs(reading.route) if need.pitch == "Anvil")
    assert both.sd_m >= alone.sd_m
