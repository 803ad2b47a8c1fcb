"""A sheet as keepers write them, and what it becomes."""

from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tethera.basics import Cell, PartialDate
from tethera.store import (
    ImportReading,
    MemoryLog,
    RecordedAsFound,
    Register,
    decode_event,
    encode_event,
    rows_to_events,
)

TODAY = PartialDate(2026, 11, 25)
Rows = list[list[Cell]]


def read(rows: Rows, **more: object) -> ImportReading:
    return rows_to_events(rows, happened=TODAY, code="TV", **more)  # type: ignore[arg-type]


def ropes(reading: ImportReading) -> list[RecordedAsFound]:
    return [each for each in reading.events if isinstance(each, RecordedAsFound)]


def doubts(reading: ImportReading) -> list[tuple[str, str, str]]:
    return [(each.address, each.text, each.becomes) for each in reading.doubts]


def test_a_tidy_sheet_gives_ready_ropes_and_no_doubt() -> None:
    reading = read(
        [
            ["Invented Caving Club", None, None, None, None, None],
            ["No.", "Length (m)", "Rope", "Purchased", "Maker", "Notes"],
            [1, 45, "11mm A", "Sept 21", "Maker A", None],
            ["TV2", 30.5, "10.5 type A", date(2021, 9, 3), "Maker B", "old but liked"],
            ["003", "150 ft", "9mm dyn", 2018, None, None],
        ]
    )
    assert doubts(reading) == []
    first, second, third = ropes(reading)
    assert (first.rope, first.length_cm, first.diameter_mm, first.rope_type) == ("TV1", 4500, 11.0, "A")
    assert (first.bought, first.condition, first.maker) == (PartialDate(2021, 9), "ready", "Maker A")
    assert (second.rope, second.length_cm, second.bought) == ("TV2", 3050, PartialDate(2021, 9, 3))
    # 150 ft = 45.72 m exactly (a foot is 0.3048 m); a measured length is rounded down.
    assert (third.rope, third.length_cm, third.rope_type, third.bought) == ("TV3", 4572, "dynamic", PartialDate(2018))
    assert second.note == "old but liked"
    assert [each.row for each in reading.left_out] == [1]


@pytest.mark.parametrize("text", ["30/40", "30 or 40", "30-40", "30m + 40m", "long", "45?m"])
def test_a_length_that_can_be_read_in_two_ways_is_not_guessed(text: str) -> None:
    reading = read([["No", "Length"], ["1", text], ["2", "20 m"]])
    assert doubts(reading)[0] == ("B2", text, "length not known")
    assert [each.length_cm for each in ropes(reading)] == [None, 2000]


def test_a_bare_number_among_feet_is_not_taken_for_metres() -> None:
    reading = read([["No", "Length"], ["1", "150 ft"], ["2", 25]])
    assert [each.length_cm for each in ropes(reading)] == [4572, None]
    assert doubts(reading) == [("B3", "25", "length not known")]


@pytest.mark.parametrize(("text", "length_cm"), [("1000m", 100_000), ("1000", None), ("501 m", 50_100)])
def test_a_rope_longer_than_a_reel_is_doubted(text: str, length_cm: int | None) -> None:
    reading = read([["No", "Length"], ["1", text], ["2", "20m"]])
    assert ropes(reading)[0].length_cm == length_cm
    assert [(each.address, each.finding.code) for each in reading.doubts] == [("B2", "length-too-long")]


def test_two_ropes_in_a_row_are_to_be_split() -> None:
    reading = read([["No", "Length"], ["4 & 5", "20m, 25m"], ["6", "20m"]])
    assert [(each.address, each.finding.message) for each in reading.doubts] == [
        ("A2", "“4 & 5” could be two ropes: split the row."),
        ("B2", "“20m, 25m” could be two ropes: split the row."),
    ]


def test_a_heading_can_name_the_unit() -> None:
    assert [each.length_cm for each in ropes(read([["No", "Length (feet)"], ["1", 100]]))] == [3048]


def test_several_equal_ropes_in_one_cell_become_several() -> None:
    reading = read([["No", "Length"], ["1", "2 x 30m"], ["2", "20m"]])
    assert [(each.rope, each.length_cm) for each in ropes(reading)] == [("TV1", 3000), ("TV3", 3000), ("TV2", 2000)]
    assert doubts(reading) == [("B2", "2 x 30m", "TV1, TV3, each 30 m")]


def test_a_number_given_twice_or_taken_or_left_out_gets_a_new_one_and_is_shown() -> None:
    reading = read([["No", "Length"], ["1", "20m"], ["1", "30m"], [None, "40m"], ["7", "50m"]], taken={"TV7"})
    assert [each.rope for each in ropes(reading)] == ["TV1", "TV8", "TV9", "TV10"]
    assert [address for address, _, _ in doubts(reading)] == ["A3", "A4", "A5"]


@pytest.mark.parametrize(
    ("state", "remarks", "becomes", "doubted"),
    [
        ("Retired", None, "retired", False),
        ("on loan", None, "out", False),
        ("missing", None, "missing", False),
        ("in store", None, "ready", False),
        (None, "retired 2020", "retired", True),
        ("not retired", None, "set aside", True),
        ("purple", None, "set aside", True),
    ],
)
def test_words_of_state_are_understood_or_the_rope_is_kept_back(
    state: str | None, remarks: str | None, becomes: str, doubted: bool
) -> None:
    reading = read([["No", "Length", "State", "Remarks"], ["1", "20m", state, remarks]])
    assert [each.condition for each in ropes(reading)] == [becomes]
    assert bool(reading.doubts) == doubted


def test_static_does_not_say_type_a_or_b() -> None:
    reading = read([["No", "Length", "Rope"], ["1", "20m", "10mm static"]])
    assert (ropes(reading)[0].rope_type, doubts(reading)[0][:2]) == (None, ("C2", "10mm static"))


def test_a_sheet_without_headings_is_read_by_what_its_cells_hold() -> None:
    reading = read(
        [["TV1", "45m", "11mm A", "Sept 21"], ["TV2", "30m", "10mm A", "2019"], ["TV3", "9m", "9mm B", "2020"]]
    )
    assert [(each.rope, each.length_cm, each.diameter_mm) for each in ropes(reading)] == [
        ("TV1", 4500, 11.0),
        ("TV2", 3000, 10.0),
        ("TV3", 900, 9.0),
    ]
    assert ropes(reading)[0].bought == PartialDate(2021, 9)


def test_lengths_are_found_under_a_heading_nobody_foresaw_and_what_a_rope_is_beside_its_number() -> None:
    sheet: Rows = [
        ["Rope", "Dia/type", "how much", "where"],
        ["1", "11mm A", "45m", "hut"],
        ["2", "9 B", "30/40", "hut"],
        ["3", "10.5", "55", "hut"],
    ]
    reading = read(sheet)
    assert [(each.length_cm, each.diameter_mm, each.rope_type) for each in ropes(reading)] == [
        (4500, 11.0, "A"),
        (None, 9.0, "B"),
        (5500, 10.5, None),
    ]
    assert reading.columns["length"] == "C “how much”"
    assert reading.columns["specification"] == "B “Dia/type”"
    assert read([["Rope", "lgth", "where"], ["1", "2 x 20", "hut"]]).columns["length"] == "B “lgth”"


def test_a_rope_without_a_date_that_can_be_read_is_doubted_for_its_age() -> None:
    reading = read([["No", "Length", "Bought"], ["1", "20m", "Summer Term"], ["2", "30m", None], ["3", "40m", "2019"]])
    assert [each.bought for each in ropes(reading)] == [None, None, PartialDate(2019)]
    assert [each.address for each in reading.doubts if each.finding.message == "Its age is not known."] == ["C2", "C3"]


def test_a_date_still_to_come_is_doubted_in_its_cell() -> None:
    reading = read([["No", "Length", "Bought"], ["1", "20m", "2033"]])
    assert [(each.address, each.finding.code) for each in reading.doubts] == [("C2", "not-yet")]


SHEET: Rows = [
    ["No", "Length", "Rope", "Bought"],
    ["1", "2 x 30m", "10mm A", "2019"],
    ["3", "45m", "10mm A", "2019"],
    [None, "45m", "10mm A", "2019"],
]


def test_a_sheet_brought_in_again_brings_nothing_twice() -> None:
    before = ropes(read(SHEET, source="ropes.csv"))
    assert [each.rope for each in before] == ["TV1", "TV4", "TV3", "TV5"]
    # A row was put in above, and one more rope that looks like two of the others was bought.
    changed = [SHEET[0], ["9", "20m", "9mm B", "2024"], *SHEET[1:], [None, "45m", "10mm A", "2019"]]
    reading = read(changed, source="ropes.csv", brought=before, taken={each.rope for each in before})
    assert [(each.rope, each.length_cm) for each in ropes(reading)] == [("TV9", 2000), ("TV10", 4500)]
    assert [(each.row, each.why) for each in reading.left_out] == [
        (3, "already brought in on 25 Nov 2026 as TV1, TV4"),
        (4, "already brought in on 25 Nov 2026 as TV3"),
        (5, "already brought in on 25 Nov 2026 as TV5"),
    ]
    assert reading.again == 3


def test_a_row_that_looks_like_a_rope_of_the_store_is_doubted() -> None:
    before = ropes(read(SHEET, source="ropes.csv"))
    store = Register(MemoryLog())
    store.record_all(before, recorded=datetime(2026, 11, 25, tzinfo=UTC))
    assert list(store.brought_in()) == before
    states = store.ropes(date(2026, 11, 25))
    reading = read([*SHEET[:3], ["7", "60m", "10mm A", "2019"]], source="a copy.csv", known=states)
    alike = [(each.becomes, each.finding) for each in reading.doubts if each.finding.code == "perhaps-there-already"]
    assert [becomes for becomes, _ in alike] == [f"{rope}, a new rope" for rope in ("TV1", "TV8", "TV3")]
    assert alike[2][1].message == "It looks like TV3, already in the store: same length, kind and date."


def test_rows_that_give_no_rope_are_named() -> None:
    reading = read([["No", "Length"], ["1", "20m"], [], ["Old hut", None], ["No", "Length"], ["Total", "20m"]])
    assert len(reading.events) == 1
    assert [each.row for each in reading.left_out] == [4, 5, 6]


def test_a_sheet_without_lengths_says_so() -> None:
    reading = read([["name", "phone"], ["somebody", "none"]])
    assert (reading.events, reading.left_out[0].why) == ((), "no column of lengths was found in this sheet")


_CELLS = st.one_of(
    st.none(),
    st.text(max_size=12),
    st.sampled_from(
        ["No", "Length", "Rope", "State", "Bought", "45m", "150 ft", "2 x 30m", "30/40", "1", "TV1", "out"]
    ),
    st.integers(-5, 99_999),
    st.floats(allow_nan=True),
    st.booleans(),
    st.dates(),
    st.datetimes().map(lambda moment: datetime.combine(moment.date(), moment.time())),
)


@given(st.lists(st.lists(_CELLS, max_size=6), max_size=8))
@settings(deadline=None, max_examples=300)
def test_no_sheet_is_a_traceback_and_no_number_is_given_twice(rows: Rows) -> None:
    reading = read(rows)
    numbers = [each.rope for each in ropes(reading)]
    assert len(set(numbers)) == len(numbers)
    assert [decode_event(encode_event(each)) for each in reading.events] == list(reading.events)
