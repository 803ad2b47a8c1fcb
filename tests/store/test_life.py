"""A rope's life in sentences: every kind of event is spoken, a correction shows what was written and what stands."""

import dataclasses
import typing
from datetime import UTC, date, datetime

import pytest

from tethera.basics import PartialDate
from tethera.store import EVENT_KINDS, Event, MemoryLog, Piece, Register, known_lengths, life, spoken_event
from tethera.store import events as e

DAY = PartialDate(2024, 5, 3)
MOMENT = datetime(2024, 5, 4, 9, tzinfo=UTC)


def filled(cls: type[Event]) -> Event:
    """An event with every field of its own filled in."""
    values = {
        "happened": DAY, "rope": "UG1", "note": "as told", "into": (Piece(rope="UG2", length_cm=1200),),
        "seen": ("UG1", "UG3"), "code": "UG", "replacement": e.Dried(rope="UG1", happened=DAY), "sha256": "ab" * 32,
        "first_day": date(2024, 6, 1), "last_day": date(2024, 6, 2), "person": "p1", "rope_type": "A",
        "known_by": "label", "condition": "ready", "how": "machine", "outcome": "fit", "counts_cm": (2945, 2942),
        "written": ("45m",), "label_keeps_back_percent": 5, "key": "cold-hole", "text": "(not said)",
    }  # fmt: skip
    plain = {
        "tuple[str": ("some words",),
        "str": "some words",
        "int": 12,
        "float": 10.5,
        "bool": True,
        "PartialDate": DAY,
    }
    told = {}
    for field in dataclasses.fields(cls):
        hint = str(typing.get_type_hints(cls)[field.name])
        known = next((value for name, value in plain.items() if name in hint), None)
        told[field.name] = values.get(field.name, known)
    return cls(**told)


@pytest.mark.parametrize("word", EVENT_KINDS)
def test_every_event_is_a_sentence_that_says_what_it_was_told(word: str) -> None:
    event = filled(EVENT_KINDS[word])
    said = spoken_event(event, lambda person: f"<{person}>", lambda cm: f"({cm / 100:g} m)")
    assert said[0].isupper() or said[0] == "“"
    assert said.endswith((".", "”")), said
    assert "_" not in said
    assert "as told" in said
    for field in dataclasses.fields(event):
        value = getattr(event, field.name)
        if value == "some words" and field.name != "to_event":
            assert said.count("some words") >= 1, field.name
        if field.name == "person":
            assert "<p1>" in said
        if field.name == "length_cm":
            assert "(0.12 m)" in said


@pytest.mark.parametrize(
    ("event", "said"),
    [
        (e.Measured(rope="UG1", happened=DAY, length_cm=2940, counts_cm=(2945, 2942)),
         "Measured (29.4 m); counts (29.45 m), (29.42 m)."),
        (e.Cut(rope="UG1", happened=DAY, reason="flat spot at 12.4 m",
               into=(Piece(rope="UG48", length_cm=3000), Piece(rope="UG49", length_cm=1800))),
         "Cut into UG48 (30 m) and UG49 (18 m): flat spot at 12.4 m."),
        (e.Returned(rope="UG1", happened=DAY, person="p3", clean=True, fall=True),
         "Brought back by Ines Ravel, clean. It held a fall."),
        (e.Returned(rope="UG1", happened=DAY), "Brought back, not known to be clean, dry or checked."),
        (e.Used(rope="UG1", happened=DAY, pitch="Candle", route="Sallowlamp Pot", days=2, left_over_cm=-150),
         "Used on Candle, Sallowlamp Pot for 2 days; (1.5 m) was short at the foot."),
        (e.Used(rope="UG1", happened=DAY, pitch="4", route="Pewter Hole"), "Used on pitch 4, Pewter Hole for 1 day."),
        (e.Described(rope="UG1", happened=DAY, note="a new bag"), "“a new bag”"),
        (e.Corrected(happened=DAY, event=4, reason="wrong rope"), "Struck out entry 4: wrong rope."),
    ],
)  # fmt: skip
def test_the_sentences_are_the_trades(event: Event, said: str) -> None:
    names = {"p3": "Ines Ravel"}
    assert spoken_event(event, names.__getitem__, lambda cm: f"({cm / 100:g} m)") == said


def recorded(*events: Event) -> Register:
    register = Register(MemoryLog())
    for each in events:
        register.record(each, recorded=MOMENT, by="p1")
    return register


def test_a_correction_shows_what_was_written_and_what_stands() -> None:
    register = recorded(
        e.Bought(rope="UG1", happened=DAY, length_cm=6000),
        e.Measured(rope="UG1", happened=PartialDate(2024, 5, 5), length_cm=5500),
        e.Corrected(
            happened=PartialDate(2024, 5, 9),
            event=1,
            reason="read the wrong line",
            replacement=e.Measured(rope="UG1", happened=PartialDate(2024, 5, 6), length_cm=5600),
        ),
    )
    bought, measured = life(register, "UG1", str)
    assert bought.was is None
    assert (measured.words, measured.was) == ("Measured (56 m).", "Measured (55 m).")
    assert measured.was_happened == PartialDate(2024, 5, 5)
    assert (measured.reason, measured.corrected_by, measured.struck) == ("read the wrong line", "p1", False)


def test_what_was_struck_out_stays_in_the_life_at_its_day() -> None:
    register = recorded(
        e.Bought(rope="UG1", happened=DAY, length_cm=6000),
        e.Washed(rope="UG1", happened=PartialDate(2024, 5, 5)),
        e.Dried(rope="UG1", happened=PartialDate(2024, 5, 7)),
        e.Corrected(happened=PartialDate(2024, 5, 9), event=1, reason="it was UG2"),
    )
    assert [(each.number, each.struck, each.reason) for each in life(register, "UG1", str)] == [
        (0, False, None),
        (1, True, "it was UG2"),
        (2, False, None),
    ]


def test_a_correction_of_a_correction_tells_the_last_reason_and_a_withdrawn_one_none() -> None:
    first = e.Corrected(happened=DAY, event=1, reason="it was UG2")
    register = recorded(
        e.Bought(rope="UG1", happened=DAY, length_cm=6000),
        e.Washed(rope="UG1", happened=PartialDate(2024, 5, 5)),
        first,
        e.Corrected(
            happened=DAY, event=1, reason="it was UG1 after all", replacement=e.Washed(rope="UG1", happened=DAY)
        ),
    )
    washed = next(each for each in life(register, "UG1", str) if each.number == 1)
    assert (washed.struck, washed.reason) == (False, "it was UG1 after all")
    withdrawn = recorded(
        e.Bought(rope="UG1", happened=DAY, length_cm=6000),
        e.Washed(rope="UG1", happened=PartialDate(2024, 5, 5)),
        first,
        e.Corrected(happened=DAY, event=2, reason="a slip"),
    )
    washed = next(each for each in life(withdrawn, "UG1", str) if each.number == 1)
    assert (washed.struck, washed.reason, washed.was) == (False, None, None)


def test_a_piece_tells_what_its_parent_went_through_and_whose_event_it_was() -> None:
    register = recorded(
        e.Bought(rope="UG1", happened=DAY, length_cm=6000),
        e.Cut(rope="UG1", happened=PartialDate(2024, 6), into=(Piece(rope="UG2", length_cm=3000),)),
        e.Measured(rope="UG2", happened=PartialDate(2024, 7), length_cm=2980),
    )
    assert [each.rope for each in life(register, "UG2", str)] == ["UG1", "UG1", "UG2"]


def test_the_states_a_rope_went_through_are_told_with_their_days() -> None:
    month = [PartialDate(2024, number, 1) for number in range(1, 10)]
    register = recorded(
        e.Bought(rope="UG1", happened=month[0], length_cm=6000),
        e.Washed(rope="UG1", happened=month[1]),
        e.Measured(rope="UG1", happened=month[1], length_cm=5500),
        e.Marked(rope="UG1", happened=month[1], length_m=55),
        e.PutIntoService(rope="UG1", happened=month[2]),
        e.TakenOut(rope="UG1", happened=month[3]),
        e.Returned(rope="UG1", happened=month[4], clean=True, dry=True, checked=True),
        e.Cut(rope="UG1", happened=month[5], into=(Piece(rope="UG2", length_cm=3000),)),
    )
    whole = [(1, "in preparation"), (3, "ready"), (4, "out"), (5, "ready")]
    assert [(day.month, state) for day, state in register.passage("UG1")] == [*whole, (6, "retired")]
    assert [(day.month, state) for day, state in register.passage("UG2")] == [*whole, (6, "in preparation")]


def test_what_was_written_of_the_wrong_rope_stays_in_its_life_and_stands_in_the_other() -> None:
    register = recorded(
        e.Bought(rope="UG1", happened=DAY, length_cm=6000),
        e.Bought(rope="UG2", happened=DAY, length_cm=6000),
        e.Washed(rope="UG1", happened=PartialDate(2024, 5, 5)),
        e.Corrected(
            happened=DAY,
            event=2,
            reason="it was UG2",
            replacement=e.Washed(rope="UG2", happened=PartialDate(2024, 5, 5)),
        ),
    )
    wrong, right = life(register, "UG1", str)[-1], life(register, "UG2", str)[-1]
    assert (wrong.number, wrong.struck, wrong.words, wrong.reason) == (2, True, "Washed.", "it was UG2")
    assert (right.number, right.struck, right.was, right.reason) == (2, False, "Washed.", "it was UG2")
    assert right.first == e.Washed(rope="UG1", happened=PartialDate(2024, 5, 5))


def test_a_piece_shows_what_was_struck_out_of_its_parent_before_the_cut_and_not_after() -> None:
    register = recorded(
        e.Bought(rope="UG1", happened=DAY, length_cm=6000),
        e.Inspected(rope="UG1", happened=PartialDate(2024, 5, 5), outcome="fit", findings="none"),
        e.Cut(rope="UG1", happened=PartialDate(2024, 6, 1), into=(Piece(rope="UG2", length_cm=3000),)),
        e.Described(rope="UG1", happened=PartialDate(2024, 7, 1), note="the stump"),
        e.Corrected(happened=PartialDate(2024, 8), event=1, reason="it was another rope"),
        e.Corrected(happened=PartialDate(2024, 8), event=3, reason="a slip"),
    )
    assert [(each.number, each.struck) for each in life(register, "UG2", str)] == [(0, False), (1, True), (2, False)]
    assert [(each.number, each.struck) for each in life(register, "UG1", str)] == [
        (0, False), (1, True), (2, False), (3, True)
    ]  # fmt: skip


def test_a_pieces_known_lengths_are_its_own_and_not_those_of_what_it_was_cut_from() -> None:
    store = Register(MemoryLog())
    for event in (
        e.Bought(rope="UG1", happened=DAY, length_cm=10_000),
        e.Measured(rope="UG1", happened=DAY, length_cm=9600),
        e.Cut(rope="UG1", happened=DAY, into=(Piece(rope="UG2", length_cm=6000), Piece(rope="UG3", length_cm=3500))),
        e.Measured(rope="UG2", happened=DAY, length_cm=5940),
        e.Marked(rope="UG2", happened=DAY, length_m=59),
    ):
        store.record(event, recorded=MOMENT)
    known = {
        rope: [(each.source, each.length_cm) for each in known_lengths(rope, life(store, rope, str))]
        for rope in ("UG1", "UG2", "UG3")
    }
    assert known == {
        "UG1": [("bought", 10_000), ("measured", 9600)],
        "UG2": [("cut", 6000), ("measured", 5940), ("marked", 5900)],
        "UG3": [("cut", 3500)],
    }
