"""How old a rope is: at least and at most, from whatever is known."""

from datetime import date

import pytest

from tethera.basics import PartialDate
from tethera.store import RopeState, age_counts_from, age_years

ON = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("known", "years"),
    [
        ({"bought": PartialDate(2024, 5, 1)}, (2, 2)),
        ({"bought": PartialDate(2020, 11, 25)}, (6, 6)),
        ({"bought": PartialDate(2020, 11, 26)}, (5, 5)),
        ({"bought": PartialDate(2020, 11)}, (5, 6)),
        ({"year_made": 2016, "bought": PartialDate(2018, 3)}, (9, 10)),
        ({"first_used": PartialDate(2026)}, (0, 0)),
        ({}, None),
        ({"year_made": 2027}, None),
    ],
)
def test_age_is_told_as_far_as_it_is_known(known: dict[str, object], years: tuple[int, int] | None) -> None:
    assert age_years(RopeState("UG1", **known), ON) == years  # type: ignore[arg-type]


def test_it_counts_from_when_the_rope_was_made_before_when_it_was_bought() -> None:
    state = RopeState("UG1", year_made=2016, bought=PartialDate(2018, 3))
    assert age_counts_from(state) == PartialDate(2016)
    assert age_counts_from(RopeState("UG1", bought=PartialDate(2018, 3), first_used=PartialDate(2019))) == PartialDate(
        2018, 3
    )
