"""A spreadsheet of pitches, the pieces counted, and the sheet's mapping."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tethera.rigging import UnreadableRoute, kit, read_route, read_route_rows, rigged_pitches, rigging_sheet, rope_needs


def test_a_table_of_pitches_with_headings_and_cells_as_people_write_them():
    reading = read_route_rows(
        [
            ["Pitch", "Depth (ft)", "Rope", "Bolts", "Notes"],
            ["First", 30.0, "30", "4", None],
            ["Second", "10 or 15 m", "~25", "2+1+1", 3.5],
            [None, "20", "20 + 30", 2.0, "mind the edge"],
            [],
            ["Total", None, 105, None, None],
        ]
    )
    first, second, third = reading.route.pitches
    assert (first.depth_m, first.guide_rope_m, first.count) == (pytest.approx(9.14), 30.0, 4)
    assert (second.depth.low_m, second.depth.high_m, second.guide_rope.about, second.count) == (10.0, 15.0, True, 4)
    assert (third.name, third.guide_rope.pieces, third.notes) == ("Pitch 3", (20.0, 30.0), ("mind the edge",))
    assert reading.findings == ()


def test_a_cell_that_cannot_be_read_is_named_by_its_address():
    reading = read_route_rows([["Name", "Depth", "Anchors"], ["A", 12, "some"], ["B", "deep", 3], ["C", 9, 2]])
    assert [finding.where for finding in reading.findings] == ["cell C2", "cell B3"]
    assert [pitch.name for pitch in reading.route.pitches] == ["A", "C"]


def test_a_title_and_empty_rows_may_stand_above_the_headings():
    rows = [["Rigging list, depth as surveyed", None], [], ["Depth"], ["Pitch", "Depth (m)", "Bolts"]]
    reading = read_route_rows([*rows, ["First", 12, 2], ["Second", 9, "some"]])
    assert [(pitch.name, pitch.depth_m) for pitch in reading.route.pitches] == [("First", 12.0), ("Second", 9.0)]
    assert [finding.where for finding in reading.findings] == ["cell C6"]


def test_headings_below_the_tenth_row_are_not_looked_for():
    with pytest.raises(UnreadableRoute, match="first 10 rows"):
        read_route_rows([*[["words"]] * 10, ["Pitch", "Depth"], ["First", 12]])


def test_more_rebelays_and_deviations_than_anchors_are_doubted_in_both_kinds_of_file():
    """5 rebelays cannot be among 2 anchors: docs/routes.md counts rebelays and deviations as anchors."""
    written = 'name = "A"\n[[pitch]]\nname = "First"\ndepth = "12 m"\nanchors = 2\nrebelays = 4\ndeviations = 1\n'
    rows = [["Pitch", "Depth", "Anchors", "Rebelays", "Deviations"], ["First", 12, 2, 4, 1], ["Second", 12, 5, 4, 1]]
    for reading in (read_route(written), read_route_rows(rows)):
        [finding] = reading.findings
        assert (finding.code, finding.where) == ("anchors-fewer-than-their-parts", "First")
        assert finding.message == "2 anchors are stated, but 5 rebelays and deviations among them."


@pytest.mark.parametrize(
    ("cell", "why"), [("?", "could not be read"), ("deep", "could not be read"), (None, "is missing"), (0, "is 0 m")]
)
def test_a_pitch_without_a_depth_that_can_be_read_is_said_to_be_left_out(cell, why):
    reading = read_route_rows([["Pitch", "Depth", "Bolts"], ["First", 12, 2], ["Third", cell, 3]])
    [finding] = reading.findings
    assert (finding.code, finding.where) == ("pitch-left-out", "cell B3")
    assert finding.message == f"“Third” is not in the route: its depth {why}."
    assert finding.way_out == "Write its depth, then plan again."


def test_a_traverse_whose_depth_cannot_be_read_is_left_out_and_one_without_a_depth_is_not():
    rows = [["Pitch", "Depth", "Traverse"], ["A", "?", 5], ["B", None, 5]]
    reading = read_route_rows(rows)
    assert [pitch.name for pitch in reading.route.pitches] == ["B"]
    assert [finding.code for finding in reading.findings] == ["pitch-left-out"]


@pytest.mark.parametrize("cell", ["?", "some", "1,250", "-3", "5 fathoms"])
def test_a_length_of_a_route_is_not_told_to_measure_a_rope(cell):
    [finding] = read_route_rows([["Pitch", "Depth", "Rope"], ["First", 12, cell]]).findings
    words = f"{finding.message} {finding.way_out}"
    assert "Measure" not in words
    assert "xpected" not in words
    assert words.endswith("Write metres, as 22 m; until then it counts as not known.")


@pytest.mark.parametrize(
    "rows", [[], [[]], [["Pitch", "Rope"], ["A", 5]], [["Pitch", "Depth"]], [["Pitch", "Depth"], ["A", "x"]]]
)
def test_a_table_without_depths_is_unreadable(rows):
    with pytest.raises(UnreadableRoute, match="expected"):
        read_route_rows(rows)


CELLS = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.dates(), st.text(max_size=15))


@settings(max_examples=100, deadline=None)
@given(st.lists(st.lists(CELLS, max_size=6), max_size=6))
def test_any_cells_are_a_route_or_unreadable(rows):
    table = [["Pitch", "Depth", "Rope", "Anchors", "Traverse", "To next"], *rows]
    try:
        rope_needs(read_route_rows(table).route)
    except UnreadableRoute as error:
        message = error.message
        assert "expected" in message


def test_pieces_are_counted_from_the_anchors(routes):
    """Barrow: 6 bolts (backup, 2 traverse, Y of 2, rebelay) and a thread deviation, which takes sling and karabiner."""
    counted = {pitch.pitch: pitch for pitch in kit(routes["classic"]).pitches}
    barrow = counted["Barrow"]
    assert (barrow.hangers, barrow.maillons, barrow.karabiners, barrow.slings) == (6, 6, 1, 1)
    assert (barrow.certain, counted["Anvil"].certain) == (True, False)
    assert counted["Aven Climb"].hangers == 0
    assert kit(routes["classic"]).hangers == sum(pitch.hangers for pitch in counted.values())


def test_the_sheet_is_plain_values_with_every_pitch_where_it_lies(routes):
    route = routes["short"]
    rope = {"rope": "TV1", "length_cm": 3000, "pitches": ["Porch"], "mass_g": 1900, "begins": "head of Porch"}
    sheet = rigging_sheet(route, [rope], store="TV", date="2026-06-06", confidence_percent=95)
    assert json.loads(json.dumps(sheet)) == sheet
    assert [pitch["top_m"] for pitch in sheet["pitches"]] == [0.0, 9.0, 31.0, 37.0]
    assert sheet["totals"] == {"ropes": 1, "length_cm": 3000, "mass_g": 1900, "depth_m": 52.0}
    assert sheet["pitches"][0]["ropes"] == ["TV1"]
    assert sheet["pitches"][1]["guide_rope_cm"] == 3500


def test_a_rope_that_begins_at_a_rebelay_is_shown_from_there(routes):
    ropes = [
        {"rope": "TV1", "length_cm": 4000, "pitches": ["Barrow"]},
        {"rope": "TV2", "length_cm": 3000, "pitches": ["Barrow"], "begins_at_anchor": {"Barrow": 5}},
    ]
    anchors = rigging_sheet(routes["classic"], ropes)["pitches"][1]["anchors"]
    assert [(anchor["rope"], anchor["change"]) for anchor in anchors][3:] == [
        ("TV1", False),
        ("TV2", True),
        ("TV2", False),
    ]
    assert (anchors[-1]["along_m"], anchors[-1]["down_m"]) == (pytest.approx(9.3), pytest.approx(26.5))


RIGHT_WAY = ("Entrance", "Barrow", "Right Hand Chute", "Anvil", "Sump Drop")


def test_pieces_are_counted_for_the_way_that_is_rigged(routes):
    """Left Hand Chute has 4 anchors, all bolts as far as known: 4 hangers fewer by the right-hand way."""
    route = routes["classic"]
    both, right = kit(route), kit(route, rigged_pitches(route, RIGHT_WAY))
    assert both.hangers - right.hangers == both.maillons - right.maillons == 4
    assert "All ways of a choice are counted: Left Hand Chute, Right Hand Chute." in both.spare_note
    assert "Left Hand Chute" not in right.spare_note
    assert right.hangers == sum(pitch.hangers for pitch in right.pitches)


def test_of_a_choice_only_the_way_with_a_rope_is_rigged_and_without_ropes_either_may_be(routes):
    route = routes["classic"]
    names = [pitch.name for pitch in route.pitches]
    assert rigged_pitches(route, RIGHT_WAY) == set(names) - {"Left Hand Chute"}
    assert rigged_pitches(route, ["Left Hand Chute"]) == set(names) - {"Right Hand Chute"}
    assert rigged_pitches(route, ()) == set(names)


def test_the_sheet_counts_and_measures_the_way_that_is_rigged(routes):
    """12 + 41 + 16 - 7 (climb) + 33 + 9 = 104 m down by the right-hand way, whose chute is 2 m shorter."""
    route = routes["classic"]
    ropes = [{"rope": f"TV{k}", "length_cm": 9000, "pitches": [name]} for k, name in enumerate(RIGHT_WAY)]
    sheet = rigging_sheet(route, ropes)
    pitches = {pitch["name"]: pitch for pitch in sheet["pitches"]}
    assert [name for name, pitch in pitches.items() if not pitch["rigged"]] == ["Left Hand Chute"]
    assert sheet["totals"]["depth_m"] == 104.0
    assert pitches["Aven Climb"]["top_m"] == 69.0
    assert sheet["kit"]["hangers"] == sum(pitch["hangers"] for pitch in pitches.values() if pitch["rigged"])
    unplanned = rigging_sheet(route, [])
    assert all(pitch["rigged"] for pitch in unplanned["pitches"])
    assert unplanned["totals"]["depth_m"] == 106.0


def test_the_need_beside_a_pitch_is_that_of_its_rope_or_none_where_they_have_not_only_each_other(routes):
    route = routes["short"]
    first, second, third = (pitch.name for pitch in route.pitches[:3])
    ropes = [
        {"rope": "TV1", "length_cm": 3000, "need_cm": 2031, "pitches": [first]},
        {"rope": "TV2", "length_cm": 8000, "need_cm": 7012, "pitches": [second, third]},
    ]
    needed = [pitch["rope_needed_cm"] for pitch in rigging_sheet(route, ropes)["pitches"]]
    assert needed[:3] == [2031, None, None]
    alone = rigging_sheet(route, [], confidence_percent=50)["pitches"]
    assert [pitch["rope_needed_cm"] for pitch in alone] == [need.at(0.0) for need in rope_needs(route)]


def test_a_pitch_left_out_is_the_first_doubt_of_the_sheet():
    rows = [["Pitch", "Depth", "Rope"], ["First", 12, "some"], ["Third", "?", None]]
    reading = read_route_rows(rows)
    said = [finding["message"] for finding in rigging_sheet(reading.route, [], findings=reading.findings)["findings"]]
    assert said[0] == "“Third” is not in the route: its depth could not be read."
    assert len(said) == 2
