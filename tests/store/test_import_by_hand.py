"""What a keeper changes on an old sheet before it is brought in, and what the record keeps of the sheet itself."""

import pytest

from tethera.basics import Cell, PartialDate
from tethera.store import MEANINGS, ByHand, ImportReading, RecordedAsFound, rows_to_events

TODAY = PartialDate(2026, 11, 25)
SHEET: list[list[Cell]] = [
    ["No", "Length", "Rope", "Bought", "Remarks"],
    ["1", "30/40", "10mm A", "2019", "which?"],
    ["4 & 5", "20m", "10mm A", "2019", None],
    ["6", 25, "10mm A", "2019", None],
]


def read(by_hand: ByHand, rows: list[list[Cell]] = SHEET, **more: object) -> ImportReading:
    return rows_to_events(rows, happened=TODAY, code="UG", source="ropes.csv", by_hand=by_hand, **more)  # type: ignore[arg-type]


def ropes(reading: ImportReading) -> list[RecordedAsFound]:
    return [each for each in reading.events if isinstance(each, RecordedAsFound)]


def test_a_corrected_cell_is_read_and_the_record_keeps_what_the_sheet_said() -> None:
    reading = read(ByHand(corrected={(1, 1): " 30 m "}))
    first = ropes(reading)[0]
    assert first.length_cm == 3000
    assert first.written == ("1", "30/40", "10mm A", "2019", "which?")
    assert first.note == "which? Corrected when brought in: B2 “30/40” to “30 m”."
    assert "B2" not in [each.address for each in reading.doubts]
    assert reading.rows[1][1] == "30 m"


def test_a_corrected_sheet_brought_in_again_brings_nothing_twice() -> None:
    before = ropes(read(ByHand(corrected={(1, 1): "30 m", (2, 0): "4"}, again=(2,))))
    again = read(ByHand(), brought=before, taken={each.rope for each in before})
    assert (again.events, again.again) == ((), 3)


def test_a_row_that_stands_for_two_ropes_is_read_twice() -> None:
    reading = read(ByHand(corrected={(2, 0): "4", (4, 0): "5", (4, 1): "22 m"}, again=(2,)))
    assert [(each.rope, each.length_cm, each.source) for each in ropes(reading)] == [
        ("UG1", None, "ropes.csv, row 2"),
        ("UG4", 2000, "ropes.csv, row 3"),
        ("UG6", 2500, "ropes.csv, row 4"),
        ("UG5", 2200, "ropes.csv, row 3"),
    ]
    assert dict(reading.made) == {1: ("UG1",), 2: ("UG4",), 3: ("UG6",), 4: ("UG5",)}


def test_a_row_is_left_out_by_hand_and_said_so() -> None:
    reading = read(ByHand(without=frozenset({1})))
    assert [each.rope for each in ropes(reading)] == ["UG7", "UG6"]
    assert [(each.row, each.why) for each in reading.left_out] == [(2, "left out by hand")]


def test_a_cell_may_be_emptied_and_one_beyond_the_row_may_be_filled() -> None:
    reading = read(ByHand(corrected={(1, 1): "", (3, 6): "by the door"}))
    assert ropes(reading)[0].length_cm is None
    assert "B2 “30/40” to “”" in ropes(reading)[0].note


ODD: list[list[Cell]] = [
    ["Rope ref", "How long", "From", "Extra"],
    ["1", 100, "2019", "Maker A"],
    ["2", 60, "2020", "x"],
]


def test_columns_nobody_could_guess_are_chosen() -> None:
    nothing: list[list[Cell]] = [["name", "phone"], ["somebody", "none"]]
    assert read(ByHand(), nothing).left_out[0].why == "no column of lengths was found in this sheet"
    # Without a heading that is known, the first row is taken for a rope until it is left out.
    assert [each.rope for each in ropes(read(ByHand(), ODD))] == ["UG3", "UG1", "UG2"]
    chosen = ByHand(columns={0: "number", 1: "length in ft", 2: "bought", 3: "maker"}, without=frozenset({0}))
    first, second = ropes(read(chosen, ODD))
    # A foot is 0.3048 m exactly.
    assert (first.rope, first.length_cm, first.bought, first.maker) == ("UG1", 3048, PartialDate(2019), "Maker A")
    assert (second.length_cm, second.maker) == (1828, "x")
    assert dict(read(chosen, ODD).read_as) == {0: "number", 1: "length", 2: "bought", 3: "maker"}


def test_a_guess_is_overruled_and_a_column_set_to_nothing_is_not_read() -> None:
    guessed = read(ByHand())
    assert dict(guessed.read_as) == {0: "number", 1: "length", 2: "specification", 3: "bought", 4: "remarks"}
    moved = read(ByHand(columns={3: "first_used", 4: ""}))
    assert dict(moved.read_as) == {0: "number", 1: "length", 2: "specification", 3: "first_used"}
    last = ropes(moved)[-1]
    assert (last.bought, last.first_used) == (None, PartialDate(2019))
    assert moved.unknown == ("Remarks",)


def test_what_was_guessed_of_another_column_gives_way_to_the_chosen_one() -> None:
    rows: list[list[Cell]] = [["No", "Length", "Label"], ["1", "20m", "7"], ["2", "30m", "8"]]
    reading = read(ByHand(columns={2: "number"}), rows)
    assert [each.rope for each in ropes(reading)] == ["UG7", "UG8"]
    assert dict(reading.read_as) == {1: "length", 2: "number"}


def test_a_unit_chosen_for_a_column_ends_the_doubt_about_it() -> None:
    rows: list[list[Cell]] = [["No", "Length"], ["1", "150 ft"], ["2", 25]]
    assert ropes(read(ByHand(), rows))[1].length_cm is None
    assert ropes(read(ByHand(columns={1: "length in m"}), rows))[1].length_cm == 2500


@pytest.mark.parametrize("meaning", MEANINGS)
def test_any_column_can_be_taken_for_anything_without_a_traceback(meaning: str) -> None:
    for place in range(7):
        read(ByHand(columns={place: meaning}))
        read(ByHand(columns={place: meaning}), ODD)
        read(ByHand(columns={0: "length", place: meaning}), [["a"], [], [1, "x"]])


def test_a_column_cannot_be_what_no_column_is() -> None:
    with pytest.raises(ValueError, match="“price” is nothing a column can be"):
        read(ByHand(columns={0: "price"}))


def test_a_doubt_that_is_right_goes_from_the_doubts_until_its_cell_says_something_else() -> None:
    rows: list[list[Cell]] = [["No", "Length"], ["1", "~30m"], ["2", "20m"]]
    doubt = read(ByHand(), rows).doubts[0]
    looked = read(ByHand(right=frozenset({doubt.key})), rows)
    assert (looked.doubts, looked.looked_at) == ((), (doubt,))
    assert looked.events == read(ByHand(), rows).events
    again = read(ByHand(right=frozenset({doubt.key}), corrected={(1, 1): "~35m"}), rows)
    assert [each.text for each in again.doubts] == ["~35m"]
    assert again.looked_at == ()


def test_what_was_corrected_stands_apart_from_the_remark() -> None:
    rows: list[list[Cell]] = [["No", "Length", "Notes"], ["1", "30/40", "from the old hut\nnew mark 2020"]]
    note = ropes(read(ByHand(corrected={(1, 1): "30m"}), rows))[0].note
    assert note == "from the old hut. new mark 2020. Corrected when brought in: B2 “30/40” to “30m”."
