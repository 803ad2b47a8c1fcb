"""A rope is ready only when nothing in its row says otherwise: words of keepers, invented."""

import pytest

from tethera.basics import Cell, PartialDate
from tethera.store import ImportReading, RecordedAsFound, rows_to_events
from tethera.store.conditions import Told, condition


def read(headings: list[Cell], cells: list[Cell]) -> ImportReading:
    rows = [["No", "Length", *headings], ["1", "20m", *cells]]
    return rows_to_events(rows, happened=PartialDate(2026, 11, 25), code="TV")


def becomes(reading: ImportReading) -> str:
    rope = reading.events[0]
    assert isinstance(rope, RecordedAsFound)
    return rope.condition


@pytest.mark.parametrize("headings", [["Location", "Status"], ["Status", "Location"]])
@pytest.mark.parametrize("state", ["retired", "lost", "on loan", "set aside"])
def test_the_worst_of_two_columns_wins_and_their_disagreement_is_said(headings: list[Cell], state: str) -> None:
    cells: list[Cell] = ["in store" if each == "Location" else state for each in headings]
    reading = read(headings, cells)
    assert becomes(reading) == {"lost": "missing", "on loan": "out"}.get(state, state)
    assert [each.finding.code for each in reading.doubts] == ["state-unclear"]
    assert reading.doubts[0].address == ("D2" if headings[1] == "Status" else "C2")
    assert reading.columns["state"] == f"C “{headings[0]}”, D “{headings[1]}”"
    assert reading.unknown == ()


@pytest.mark.parametrize(
    ("remark", "state"),
    [
        ("failed inspection 2024, damaged sheath", "set aside"),
        ("core-shot at 12 m", "set aside"),
        ("core\u2011shot", "set aside"),
        ("stolen", "missing"),
        ("binned 2020", "retired"),
        ("lost in the far series", "missing"),
        ("lent to Bob", "out"),
        ("don’t use", "set aside"),
        ("left in the entrance pitch", "rigged"),
        ("to wash", "in preparation"),
    ],
)
@pytest.mark.parametrize("heading", ["Remarks", "Odds and ends"])
@pytest.mark.parametrize("status", [None, "in store"])
def test_bad_words_in_remarks_keep_a_rope_back(remark: str, state: str, heading: str, status: str | None) -> None:
    reading = read(["Status", heading], [status, remark])
    assert becomes(reading) == state
    assert [(each.address, each.finding.code) for each in reading.doubts] == [("D2", "state-in-remarks")]


@pytest.mark.parametrize("remark", ["old but liked", "heavy, novice trips", "no damage", "hand line", "not damaged"])
def test_a_harmless_remark_leaves_a_rope_ready(remark: str) -> None:
    reading = read(["Remarks"], [remark])
    assert (becomes(reading), reading.doubts) == ("ready", ())


@pytest.mark.parametrize(
    "text",
    [
        "OK, but sheath damage near middle",
        "badly frayed, used yes",
        "good apart from the tail",
        "not ok",
        "ok?",
        "used yes",
        "in store maybe",
        "in store, retired",
        "was lost",
    ],
)
def test_a_good_word_among_others_is_not_enough(text: str) -> None:
    reading = read(["Condition"], [text])
    assert becomes(reading) != "ready"
    assert len(reading.doubts) == 1


@pytest.mark.parametrize("text", ["OK", "Good.", "in store", "In the hut", "OK, in store", "yes", "Shelf 2", "rack B"])
def test_a_cell_that_is_wholly_a_good_word_is_ready(text: str) -> None:
    reading = read(["Condition"], [text])
    assert (becomes(reading), reading.doubts) == ("ready", ())


@pytest.mark.parametrize(
    ("heading", "cell", "state"),
    [
        ("Retired?", "yes", "retired"),
        ("Date retired", "May 2021", "retired"),
        ("Retired", "no", "ready"),
        ("Retired", None, "ready"),
        ("On loan", "x", "out"),
        ("Damaged", "Y", "set aside"),
    ],
)
def test_a_tick_in_a_column_of_what_is_bad_is_understood(heading: str, cell: Cell, state: str) -> None:
    reading = read([heading], [cell])
    assert (becomes(reading), reading.doubts) == (state, ())


def test_a_second_column_of_states_without_headings_is_read() -> None:
    rows: list[list[Cell]] = [
        ["TV1", "45m", "10mm A", "in store", "retired"],
        ["TV2", "30m", "10mm A", "in store", "ok"],
        ["TV3", "9m", "9mm B", "in store", "lost"],
    ]
    reading = rows_to_events(rows, happened=PartialDate(2026, 11, 25), code="TV")
    assert [each.condition for each in reading.events if isinstance(each, RecordedAsFound)] == [
        "retired",
        "ready",
        "missing",
    ]
    assert [each.finding.code for each in reading.doubts] == ["state-in-remarks", "state-in-remarks"]


def test_a_word_under_location_that_is_no_state_is_a_place_and_said_to_be_taken_so() -> None:
    reading = read(["Location"], ["cellar"])
    assert becomes(reading) == "ready"
    assert [each.finding.code for each in reading.doubts] == ["state-unknown"]
    assert becomes(read(["Location"], ["Dave has it"])) != "ready"
    assert becomes(read(["Condition"], ["cellar"])) == "set aside"


def test_a_remark_about_an_end_to_come_sets_aside_and_does_not_retire() -> None:
    assert becomes(read(["Remarks"], ["retire soon"])) == "set aside"
    assert becomes(read(["Remarks"], ["cut up after rockfall"])) == "retired"


@pytest.mark.parametrize(
    "text", ["in preparation", "in prep", "to wash", "wash", "to dry", "drying", "given to Mick", "given Mick", "?"]
)
def test_our_own_words_and_what_is_gone_or_asked_keep_a_rope_back_even_in_a_column_of_places(text: str) -> None:
    becomes, _ = condition([Told("D2", text, is_place=True)], [])
    assert becomes != "ready"
    remark, findings = condition([Told("D2", "store")], [Told("F2", text)])
    assert remark != "ready"
    assert [(each.code, each.where) for each in findings] == [("state-in-remarks", "F2")]


@pytest.mark.parametrize("remark", ["keep dry", "dry cupboard only", "given by Mick"])
def test_a_remark_about_how_to_keep_it_or_whence_it_came_holds_nothing_back(remark: str) -> None:
    assert condition([], [Told("F2", remark)]) == ("ready", ())


@pytest.mark.parametrize("place", ["under bench", "away", "in the van?"])
def test_a_place_that_may_say_more_is_doubted(place: str) -> None:
    _, findings = condition([Told("D2", place, is_place=True)], [])
    assert [each.where for each in findings] == ["D2"]


@pytest.mark.parametrize("text", ["?", "??", " ? "])
def test_a_question_mark_keeps_a_rope_back_wherever_it_stands(text: str) -> None:
    as_state, doubts = condition([Told("D2", text)], [])
    assert (as_state, [each.code for each in doubts]) == ("set aside", ["state-unknown"])
    as_remark, doubts = condition([], [Told("F2", text)])
    assert (as_remark, [each.code for each in doubts]) == ("set aside", ["state-in-remarks"])


@pytest.mark.parametrize(
    ("heading", "said", "becomes", "note"),
    [
        ("State", "out with Anna", "out", "State: out with Anna"),
        ("Lent to", "Anna", "out", "Lent to: Anna"),
        ("State", "on loan", "out", ""),
        ("State", "ok", "ready", ""),
        ("Retired?", "2019", "retired", "Retired: 2019"),
    ],
)
def test_what_a_cell_says_beyond_a_state_is_a_remark_on_the_rope(
    heading: str, said: str, becomes: str, note: str
) -> None:
    rope = read([heading], [said]).events[0]
    assert isinstance(rope, RecordedAsFound)
    assert (rope.condition, rope.note) == (becomes, note)
