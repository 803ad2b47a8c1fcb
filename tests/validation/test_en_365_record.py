"""The record of a rope against what EN 365 asks of the record of a piece of equipment.

Source: EN 365:2004, Personal protective equipment against falls from a height: general requirements for instructions
for use, maintenance, periodic examination, repair, marking and packaging; clause 4.5, FROM MEMORY (the text was not
read): product, model or trade name; manufacturer or supplier; batch or serial number; year of manufacture or expiry;
date of purchase; date first put into use; other relevant information; history of periodic examinations and repairs:
date, reason, defects found, repairs and other details, name and signature of the competent person, next due date.
"""

import dataclasses
from datetime import UTC, date, datetime

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Cleared,
    Corrected,
    Cut,
    Event,
    Inspected,
    MemoryLog,
    Piece,
    Recorded,
    Register,
    Retired,
    SetAside,
    StoreDescribed,
    TakenOut,
    Used,
    equipment_record,
)

NOW, ON = datetime(2026, 11, 25, 9, tzinfo=UTC), date(2026, 11, 25)
#: What clause 4.5 asks, and the line of ours that answers it.
ASKED = {
    "product, model or trade name": "Product",
    "manufacturer or supplier": "Maker or supplier",
    "batch or serial number": "Batch or serial number",
    "year of manufacture or expiry": "Made",
    "date of purchase": "Bought",
    "date first put into use": "First put into use",
    "next due date": "Next examination due",
}


def record(*events: Event) -> "tuple[dict[str, str | None], list[object], tuple[str, ...]]":
    described = StoreDescribed(happened=PartialDate(2020), code="TV", inspection_months=12)
    register = Register(MemoryLog([Recorded(each, NOW, "p1") for each in (described, *events)]))
    found = equipment_record(register, "TV1", ON, {"p1": "Maud Ellerbeck", "p2": "Tobias Quarmby"}.__getitem__)
    return dict(found.facts), list(found.examinations), found.lacking


FULL = Bought(
    rope="TV1", happened=PartialDate(2024, 3, 10), length_cm=5000, product="Fell 9", maker="Maker A", batch="B7",
    year_made=2023, diameter_mm=9.0, rope_type="A",
)  # fmt: skip


@pytest.mark.parametrize(("asked", "line"), ASKED.items())
def test_each_thing_asked_has_its_line(asked: str, line: str) -> None:
    taken = TakenOut(rope="TV1", happened=PartialDate(2024, 4, 1))
    used = Used(rope="TV1", happened=PartialDate(2024, 4, 2))
    examined = Inspected(rope="TV1", happened=PartialDate(2026, 5, 1), outcome="fit", person="p2")
    facts, _, _ = record(FULL, taken, used, examined)
    expected = {
        "Product": "Fell 9",
        "Maker or supplier": "Maker A",
        "Batch or serial number": "B7, own number TV1",
        "Made": "2023",
        "Bought": "10 Mar 2024",
        "Next examination due": "1 May 2027",
    }
    assert facts[line] is not None, asked
    assert line not in expected or facts[line] == expected[line]


def test_an_examination_has_its_date_reason_defects_details_person_and_next_date() -> None:
    examined = Inspected(
        rope="TV1", happened=PartialDate(2026, 5, 1), reason="periodic", findings="sheath glazed at 12.4 m", note="cut",
        outcome="undecided", person="p2", next_due=PartialDate(2026, 8, 1),
    )  # fmt: skip
    _, examinations, _ = record(FULL, examined)
    assert [each.as_mapping() for each in examinations] == [  # type: ignore[attr-defined]
        {
            "date": PartialDate(2026, 5, 1),
            "reason": "periodic",
            "found": "sheath glazed at 12.4 m",
            "details": "cut",
            "person": "Tobias Quarmby",
            "outcome": "undecided",
            "next_due": PartialDate(2026, 8, 1),
        }
    ]


def test_setting_aside_and_clearing_stand_in_the_history_with_who_signed() -> None:
    aside = SetAside(rope="TV1", happened=PartialDate(2026, 5, 1), reason="a fall")
    clear = Cleared(
        rope="TV1", happened=PartialDate(2026, 5, 9), person="p2", findings="run through the hands: nothing"
    )
    _, examinations, _ = record(FULL, aside, clear)
    assert [(each.reason, each.outcome, each.person) for each in examinations] == [  # type: ignore[attr-defined]
        ("set aside", "out of service until cleared", ""),
        ("clearing", "cleared", "Tobias Quarmby"),
    ]


def test_what_nobody_recorded_is_named_and_not_guessed() -> None:
    _, _, lacking = record(Bought(rope="TV1", happened=PartialDate(2024), length_cm=5000))
    assert lacking == (
        "Product", "Maker or supplier", "Batch or serial number", "Made", "First put into use", "Any examination",
    )  # fmt: skip


def test_the_supplier_stands_beside_the_maker_or_in_its_place() -> None:
    bought = Bought(rope="TV1", happened=PartialDate(2024), length_cm=5000, supplier="Rope shed, Ulvergarth 0123")
    facts, _, lacking = record(bought)
    assert facts["Maker or supplier"] == "Rope shed, Ulvergarth 0123"
    assert "Maker or supplier" not in lacking
    facts, _, _ = record(dataclasses.replace(bought, maker="Maker A"))
    assert facts["Maker or supplier"] == "Maker A, supplied by Rope shed, Ulvergarth 0123"


def test_an_examination_without_findings_or_a_name_is_told_by_its_date() -> None:
    _, examinations, lacking = record(FULL, Inspected(rope="TV1", happened=PartialDate(2026, 5), outcome="fit"))
    assert lacking[-2:] == ("What the examination of May 2026 found", "Who signed the examination of May 2026")
    assert [each.person for each in examinations] == ["not named"]  # type: ignore[attr-defined]


def test_a_piece_keeps_the_examinations_and_the_cut_of_the_rope_it_came_from() -> None:
    piece = Piece(rope="TV1", length_cm=2000)
    facts, examinations, _ = record(
        dataclasses.replace(FULL, rope="TV9"),
        Inspected(rope="TV9", happened=PartialDate(2025, 5, 1), outcome="not fit", findings="flat spot", person="p2"),
        Cut(rope="TV9", happened=PartialDate(2025, 5, 2), into=(piece,), reason="flat spot at 12.4 m"),
    )
    assert facts["Maker or supplier"] == "Maker A"
    assert facts["Cut from"] == "TV9"
    told = [(each.reason, each.found, each.outcome) for each in examinations]  # type: ignore[attr-defined]
    assert told[1] == ("cut", "flat spot at 12.4 m", "cut into TV1 (20 m)")


def test_a_retired_rope_has_its_record_and_nothing_due() -> None:
    facts, _, _ = record(FULL, Retired(rope="TV1", happened=PartialDate(2026, 6, 1), reason="worn"))
    assert facts["Out of service"] == "retired: worn"
    assert facts["Next examination due"] is None
    assert facts["Bought"] == "10 Mar 2024"


def test_a_struck_examination_is_no_examination_and_one_still_to_come_does_not_count_yet() -> None:
    examined = Inspected(rope="TV1", happened=PartialDate(2026, 5, 1), outcome="fit", person="p2", findings="none")
    _, examinations, _ = record(FULL, examined, Corrected(happened=PartialDate(2026, 5, 2), event=2, reason="not so"))
    assert examinations == []
    _, examinations, lacking = record(FULL, dataclasses.replace(examined, happened=PartialDate(2027)))
    assert (examinations, lacking[-1]) == ([], "Any examination")
