"""A table somebody types into: what it has no cell for stays, and feet stay feet."""

from dataclasses import replace
from importlib import resources
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigging.any_route import CM, routes
from tethera.rigging import Measure, Route, read_route, route_from_table, table_of
from tethera.rigging.route import exactly


def demo(name: str) -> Route:
    return read_route((resources.files("tethera.cli") / "demo_data" / f"{name}.toml").read_text("utf-8")).route


TWO = read_route(
    'name = "Tallow"\nteam = 5\nnotes = ["Floods."]\n'
    '[[pitch]]\nname = "Way In"\ndepth = "9 m"\nsecond_line = "handline"\nmin_diameter_mm = 9.5\n'
    'type_a_only = true\n[[pitch.anchor]]\nrole = "backup"\nknot = "bowline"\n'
    '[[pitch.edition]]\nsource = "Old guide, 1987"\ndepth = "10 m"\n'
    '[[pitch]]\nname = "Ledge; wet"\ndepth = "12 m"\n'
    '[[pitch]]\nname = "Dry Way"\ndepth = "14 m"\ninstead_of = ["Way In", "Ledge; wet"]\n'
    '[[together]]\npitches = ["Way In", "Ledge; wet"]\nguide_rope = "40 m"\n[totals]\ndepth = "21 m"\n'
).route


@settings(deadline=None)
@given(routes())
def test_a_table_in_feet_is_read_back_to_the_same_metres(route: Route) -> None:
    assert route_from_table(table_of(route, "ft"), before=route).route == route
    assert route_from_table(table_of(route, "ft"), before=route, unit="ft").route == route


def test_thirty_metres_are_shown_to_who_counts_in_feet_as_feet() -> None:
    cells = table_of(replace(TWO, pitches=(replace(TWO.pitches[0], depth=exactly(30.0)),)), "ft")["pitches"][0]
    assert cells["depth"] == "98.43"  # 30 m / 0.3048 m, two decimals, not below
    assert cells["edition"][0]["depth"] == "32.81"


@given(CM, st.sampled_from(["m", "ft"]))
def test_a_cell_never_shows_a_whole_centimetre_with_more_than_two_decimals(metres: float, unit: str) -> None:
    shown = table_of(replace(TWO, pitches=(replace(TWO.pitches[0], depth=exactly(metres)),)), unit)
    assert len(shown["pitches"][0]["depth"].partition(".")[2]) <= 2


@pytest.mark.parametrize(
    ("typed", "metres", "feet"),
    [
        ("22,5", Measure(22.5, 22.5), Measure(6.85, 6.85)),
        ("10 or 15", Measure(10, 15), Measure(3.04, 4.57)),
        ("10-15", Measure(10, 15), Measure(3.04, 4.57)),
        ("30 + 20", Measure(50, 50, pieces=(30, 20)), Measure(15.23, 15.23, pieces=(9.14, 6.09))),
        ("about 25", Measure(25, 25, about=True), Measure(7.62, 7.62, about=True)),
        ("25 ?", Measure(25, 25, about=True), Measure(7.62, 7.62, about=True)),
        ("25 m", Measure(25, 25), Measure(25, 25)),
    ],
)
def test_numbers_without_a_unit_are_in_the_reader_s(typed: str, metres: Measure, feet: Measure) -> None:
    for unit, expected in (("m", metres), ("ft", feet)):
        route = route_from_table({"pitches": [{"name": "A", "depth": typed}]}, unit=unit).route
        assert route is not None
        assert route.pitches[0].depth == expected


def cells_of(*keys: str) -> dict[str, Any]:
    """The table of TWO with these cells only, as a narrow page would send it."""
    return {"pitches": [{key: pitch[key] for key in keys} for pitch in table_of(TWO)["pitches"]]}


def test_what_a_narrow_table_has_no_cell_for_stays_and_a_box_not_ticked_is_a_no() -> None:
    table = cells_of("name", "depth")
    table["pitches"][0]["depth"] = "11"
    now = route_from_table(table, before=TWO).route
    first = replace(TWO.pitches[0], depth=exactly(11.0), type_a_only=False)
    assert now == replace(TWO, pitches=(first, *TWO.pitches[1:]))


def test_an_empty_cell_takes_away_what_stood_in_it() -> None:
    table = table_of(TWO)
    table["pitches"][0] |= {"second_line": "", "anchor": [], "edition": []}
    now = route_from_table(table, before=TWO).route
    assert now is not None
    assert (now.pitches[0].second_line, now.pitches[0].anchors, now.pitches[0].editions) == (None, (), ())


def test_a_pitch_with_a_new_name_keeps_what_is_said_of_it_elsewhere() -> None:
    table = cells_of("name", "depth", "type_a_only")
    table["pitches"][0]["name"] = "Entrance"
    table["pitches"][2]["instead_of"] = "Entrance; Ledge; wet"
    now = route_from_table(table, before=TWO).route
    assert now is not None
    assert now.pitches[0] == replace(TWO.pitches[0], name="Entrance")
    assert now.pitches[2].instead_of == ("Entrance", "Ledge; wet")
    assert now.together[0].pitches == ("Entrance", "Ledge; wet")
    assert now.stated_totals == TWO.stated_totals


def test_a_length_for_several_pitches_is_told_when_one_of_them_is_taken_out() -> None:
    table = table_of(TWO)
    del table["pitches"][1:]
    reading = route_from_table(table, before=TWO)
    assert reading.route is not None
    assert reading.route.together == ()
    assert reading.route.stated_totals == TWO.stated_totals
    told = next(each for each in reading.findings if each.code == "together-left-out")
    assert "(40 m)" in told.message
    assert "Way In and Ledge; wet" in told.message


@pytest.mark.parametrize(
    ("cells", "at", "told"),
    [
        ({"depth": "9"}, ("pitch", None, "name"), "The pitch has no name yet."),
        ({"name": "Surname"}, ("pitch", None, "depth"), "Write its depth, or its traverse or anchors."),
        ({"name": "A", "depth": "0"}, ("pitch", None, "depth"), "Write a depth above 0 m, or its traverse or anchors."),
        ({"name": "A", "depth": "9", "anchor": [{"down": "3"}]}, ("anchor", 0, "role"), "Choose what it does."),
        (
            {"name": "A", "depth": "9", "edition": [{"depth": "3"}]},
            ("edition", 0, "source"),
            "Write which guide it is.",
        ),
        (
            {"name": "A", "depth": "9", "edition": [{"source": "Guide", "depth": "deep"}]},
            ("edition", 0, "depth"),
            "“deep” is no length; write it as 22, 22.5 m or 72 ft",
        ),
    ],
)
def test_what_is_missing_or_odd_is_told_at_its_cell_in_words(
    cells: dict[str, Any], at: tuple[str, int | None, str], told: str
) -> None:
    reading = route_from_table({"pitches": [{"name": "Other", "depth": "5"}, cells]})
    assert [((each.row, each.number, each.key), each.message) for each in reading.errors] == [(at, told)]
    assert [each.pitch for each in reading.errors] == [1]
    assert reading.route is not None  # the rest is still reckoned
    assert reading.route.pitches[0].name == "Other"


@settings(max_examples=300, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["name", "depth", "guide_rope", "anchors", "traverse", "instead_of", "min_diameter_mm"]),
        st.text(max_size=30),
    )
)
def test_whatever_is_typed_in_one_pitch_the_other_is_reckoned(cells: dict[str, str]) -> None:
    reading = route_from_table({"pitches": [{"name": "The other pitch of it", "depth": "5"}, cells]})
    assert reading.route is not None
    assert reading.route.pitches[0].depth_m == 5.0
    assert 1 in reading.places or reading.errors or not any(cells.values())


def test_the_demo_s_routes_go_into_a_table_in_feet_and_back() -> None:
    for name in ("short", "classic", "deep"):
        route = demo(name)
        assert route_from_table(table_of(route, "ft"), before=route).route == route


@pytest.mark.parametrize("name", [";", "A;B", "; A", "A ;", "A; B; C"])
def test_a_pitch_may_have_semicolons_in_its_name_and_still_be_replaced(name: str) -> None:
    pitches = [{"name": name, "depth": "9"}, {"name": "Q", "depth": "9"}, {"name": "R", "depth": "9"}]
    pitches[2]["instead_of"] = f"{name}; Q"
    reading = route_from_table({"pitches": pitches})
    assert reading.errors == ()
    assert reading.route is not None
    assert reading.route.pitches[2].instead_of == (name, "Q")
    assert route_from_table(table_of(reading.route)).route == replace(reading.route, name="Route")


def test_a_guides_rope_that_could_be_two_ropes_is_doubted_and_a_plain_choice_is_not() -> None:
    def told(rope: str) -> list[tuple[str, str]]:
        table = {"pitches": [{"name": "Big Drop", "depth": "25", "guide_rope": rope}]}
        return [(each.where, f"{each.message} {each.way_out}") for each in route_from_table(table).findings]

    assert told("30/40") == [
        (
            "Big Drop",
            "“30/40” could be two ropes or a choice; it is read as a choice, and the longer counts. "
            "Write 30 or 40 for a choice, 30 + 40 for two ropes.",
        )
    ]
    assert told("30 or 40") == told("30 + 40") == []
    assert told("30/40/50") == []  # cannot be read at all, which is told at the cell
