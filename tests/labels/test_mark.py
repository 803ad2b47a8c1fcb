"""The words on both ends of a rope."""

from datetime import date

from tethera.basics import PartialDate
from tethera.labels.mark import mark_words
from tethera.store import RopeState

TODAY = date(2026, 11, 25)


def test_a_rope_in_service_keeps_the_year_it_went_into_service() -> None:
    rope = RopeState("UG3", diameter_mm=9.5, rope_type="B", since=PartialDate(2021, 5))
    assert (
        mark_words(rope, "Ulvergarth Caving Club", TODAY)
        == "UG3 · 9.5 mm type B · in service May 2021 · Ulvergarth Caving Club"
    )


def test_what_nobody_declared_is_not_guessed() -> None:
    assert mark_words(RopeState("UG3", diameter_mm=9.0), "", TODAY) == "UG3 · 9 mm · in service Nov 2026"
    assert mark_words(RopeState("UG3", rope_type="A"), "", TODAY) == "UG3 · type A · in service Nov 2026"


def test_a_rope_of_somebody_elses_says_whose() -> None:
    rope = RopeState("UG3", owner="Fellmoor Potholers")
    assert mark_words(rope, "Ulvergarth Caving Club", TODAY) == "UG3 · in service Nov 2026 · Fellmoor Potholers"


def test_an_old_rope_put_back_into_service_is_never_marked_as_new() -> None:
    back = RopeState("UG4", as_found=True, bought=PartialDate(2022), since=PartialDate(2026, 11, 25))
    assert mark_words(back, "", date(2026, 11, 25)) == "UG4 · in service 2022"
    unknown = RopeState("UG5", as_found=True, since=PartialDate(2026, 11, 25))
    assert mark_words(unknown, "", date(2026, 11, 25)) == "UG5"
