"""The length a rope has today, or none and a doubt: never a longer one that nobody doubts. Sheets are invented."""

import pytest

from tethera.basics import Cell, PartialDate
from tethera.store import ImportReading, RecordedAsFound, rows_to_events
from tethera.store.spreadsheet import BareNumbers


def read(*rows: list[Cell]) -> ImportReading:
    return rows_to_events(list(rows), happened=PartialDate(2026, 11, 25), code="TV")


def lengths(reading: ImportReading) -> list[int | None]:
    return [each.length_cm for each in reading.events if isinstance(each, RecordedAsFound)]


def codes(reading: ImportReading) -> list[tuple[str, str]]:
    return [(each.address, each.finding.code) for each in reading.doubts]


@pytest.mark.parametrize("heading", ["Length (cm)", "Length cm", "Length in cm", "cm", "Length [centimetres]"])
def test_a_heading_can_say_centimetres(heading: str) -> None:
    reading = read(["No", heading], ["1", 900])
    assert (lengths(reading), codes(reading)) == ([900], [])


@pytest.mark.parametrize("heading", ["Length (m/ft)", "Length m or ft", "Length (metres, feet if old)"])
def test_two_units_in_a_heading_leave_a_bare_number_without_one(heading: str) -> None:
    reading = read(["No", heading], ["1", 45], ["2", "30 m"], ["3", "~40"])
    assert lengths(reading) == [None, 3000, None]
    assert codes(reading) == [("B2", "length-unit-missing"), ("B4", "length-unit-missing")]


@pytest.mark.parametrize(
    "note", ["All lengths in feet", "Ropes of the invented club, in yards", "lengths are ft unless marked"]
)
def test_a_note_of_another_unit_above_the_headings_is_heeded(note: str) -> None:
    reading = read([note], ["No", "Length"], ["1", 145], ["2", "30 m"])
    assert lengths(reading) == [None, 3000]
    assert codes(reading) == [("B3", "length-unit-missing")]
    assert lengths(read([note], ["No", "Length (m)"], ["1", 145])) == [None]


def test_a_note_about_all_lengths_is_heeded_below_the_ropes_and_without_headings() -> None:
    assert lengths(read(["No", "Length"], ["1", 145], [None, None, "All lengths in feet"])) == [None]
    bare = read(["All lengths in feet"], ["TV1", 145, "10mm A"], ["TV2", 98, "10mm A"])
    assert lengths(bare) == [None, None]


def test_a_note_of_the_unit_there_is_raises_no_doubt() -> None:
    reading = read(["All lengths in metres"], ["No", "Length"], ["1", 45])
    assert (lengths(reading), codes(reading)) == ([4500], [])
    assert lengths(read(["All lengths in feet"], ["No", "Length (ft)"], ["1", 100])) == [3048]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("Original length", "Current length"),
        ("Length", "Length now"),
        ("Length (m)", "Now (m)"),
        ("Length (m)", "Remaining"),
        ("Length (new)", "Length (now)"),
        ("Length", "Length left"),
        ("Length (m)", "Cut to"),
        ("Length (m)", "Measured"),
        ("Length bought (m)", "Length measured (m)"),
        ("Nominal length", "Actual"),
    ],
)
def test_of_two_lengths_the_one_of_today_is_read(first: str, second: str) -> None:
    assert lengths(read(["No", first, second], ["1", 60, 44])) == [4400]
    reading = read(["No", second, first], ["1", 44, 60], ["2", None, 50])
    assert lengths(reading) == [4400, None]
    assert codes(reading) == [("B3", "length-missing")]


@pytest.mark.parametrize("second", ["Length 2", "Length after wash", "Original length"])
def test_two_lengths_of_which_neither_says_now_must_agree(second: str) -> None:
    reading = read(["No", "Length", second], ["1", 60, 44], ["2", 40, 40])
    assert lengths(reading) == [None, 4000]
    assert codes(reading) == [("B2", "lengths-disagree")]


def test_metres_and_feet_of_one_rope_agree() -> None:
    # 148 ft = 45.11 m, 164 ft = 49.98 m exactly (a foot is 0.3048 m); the shorter holds.
    reading = read(["No", "Length (m)", "Length (ft)"], ["1", 45, 148], ["2", 50, 164])
    assert (lengths(reading), codes(reading)) == ([4500, 4998], [])


@pytest.mark.parametrize("text", ["50 (45 now)", "50 m (was 60)", "50 (now 45)"])
def test_a_second_number_in_a_length_is_not_passed_over(text: str) -> None:
    reading = read(["No", "Length"], ["1", text], ["2", "20m"])
    assert (lengths(reading), codes(reading)) == ([None, 2000], [("B2", "length-ambiguous")])


@pytest.mark.parametrize(
    "remark", ["45 now", "now 45 m", "cut to 45", "50 (45 now)", "only 45m left", "150 ft, now 45"]
)
def test_a_remark_of_a_shorter_length_is_heeded(remark: str) -> None:
    reading = read(["No", "Length (m)", "Remarks"], ["1", 50, remark])
    assert (lengths(reading), codes(reading)) == ([None], [("B2", "length-in-remarks")])


@pytest.mark.parametrize("remark", ["now 2 years old", "bought 2019", "3 left handed knots", "now 60 m"])
def test_a_length_with_an_idle_remark_is_never_longer_than_written(remark: str) -> None:
    assert lengths(read(["No", "Length (m)", "Remarks"], ["1", 50, remark]))[0] in (None, 5000)


def test_a_size_that_is_a_diameter_is_no_second_length() -> None:
    assert lengths(read(["No", "Size", "Length"], ["1", "10mm", 45])) == [4500]
    assert lengths(read(["No", "Length", "Length checked on"], ["1", 45, "May 2021"])) == [4500]
    assert lengths(read(["No", "Length", "Measured"], ["1", 45, 2021])) == [4500]


@pytest.mark.parametrize("heading", ["Length (inches)", "Length (mm)", "Length (fathoms)"])
def test_a_unit_not_known_here_is_not_taken_for_metres(heading: str) -> None:
    reading = read(["No", heading], ["1", 450])
    assert (lengths(reading), codes(reading)) == ([None], [("B2", "length-unit-missing")])


def test_a_column_of_lengths_may_stand_beyond_the_last_heading() -> None:
    reading = read(["No", "Maker"], ["1", "Maker A", "45 m"], ["2", "Maker A", "30 m"])
    assert lengths(reading) == [4500, 3000]


@pytest.mark.parametrize("text", ["2 x 20", "2x20", "2 × 20m"])
def test_two_of_one_length_are_two_ropes_with_or_without_a_unit(text: str) -> None:
    reading = read(["No", "Length"], ["1", text], ["7", "30"])
    assert [(each.rope, each.length_cm) for each in reading.events if isinstance(each, RecordedAsFound)] == [
        ("TV1", 2000),
        ("TV8", 2000),
        ("TV7", 3000),
    ]
    assert codes(reading) == [("B2", "several-ropes")]
    # The first has the sheet's own number; only the second one is new.
    assert reading.numbered == ("TV8",)


def test_two_of_one_length_in_a_sheet_of_two_units_are_two_ropes_of_unknown_length() -> None:
    reading = read(["No", "Length"], ["1", "2 x 20"], ["7", "150 ft"])
    assert lengths(reading) == [None, None, 4572]
    assert codes(reading) == [("B2", "several-ropes"), ("B2", "length-unit-missing")]


def test_many_of_one_length_without_a_unit_may_be_a_diameter_and_the_way_out_is_told() -> None:
    reading = read(["No", "Length"], ["1", "9 x 60"], ["7", "30"])
    assert lengths(reading) == [None, 3000]
    finding = reading.doubts[0].finding
    assert finding.message == "“9 x 60” could be 9 ropes, or one that is 9 mm thick."
    assert finding.way_out == "Write 9 x 60 m for 9 ropes, or 60 m for one."
    assert lengths(read(["No", "Length"], ["1", "9 x 60 m"]))[:2] == [6000, 6000]


def test_less_than_a_centimetre_is_doubted() -> None:
    reading = read(["No", "Length"], ["1", 0.0078125], ["2", 20])
    assert lengths(reading) == [None, 2000]
    assert codes(reading) == [("B2", "length-too-short")]


def test_a_column_that_names_no_unit_says_how_many_bare_numbers_it_has_and_how_they_are_read() -> None:
    plain = read(["No", "Length"], ["1", 20], ["2", "~30"], ["3", "40 m"])
    assert plain.bare == (BareNumbers(1, 2, "m"),)
    mixed = read(["No", "Length"], ["1", 20], ["2", "150 ft"])
    assert mixed.bare == (BareNumbers(1, 1, None),)
    assert read(["No", "Length (m)"], ["1", 20]).bare == ()
    assert read(["No", "Length"], ["1", "20 m"]).bare == ()
