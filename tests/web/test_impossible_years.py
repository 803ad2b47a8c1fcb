"""A year slipped by a finger, or brought in from elsewhere, never shuts a store: every page still opens, and it can be
mended on them."""

from datetime import date

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    Bought,
    Described,
    Event,
    Inspected,
    Marked,
    Measured,
    StoreDescribed,
    TakenOut,
    Washed,
)
from web.conftest import DAY, Club

_LAST, _FIRST = PartialDate(9999, 12, 31), PartialDate(1, 1, 1)
_PAGES = (
    *("", "/ropes", "/ropes?sort=age", "/preparation", "/out-and-back", "/inspect", "/stocktake", "/year", "/measure"),
    *("/new-ropes", "/settings", "/ropes/UG1", "/ropes/UG1/record.pdf", "/ropes/UG1/describe", "/measure/UG1"),
    *("/ropes/several?act=book&rope=UG1", "/ropes/recall?maker=Maker", "/ropes/UG1/correct/1"),
)


@pytest.mark.parametrize(
    "events",
    [
        (Described(rope="UG1", happened=DAY, year_made=1_000_000),),
        (Described(rope="UG1", happened=DAY, year_made=9999, age_limit_years=1_000_000),),
        (Described(rope="UG1", happened=DAY, year_made=1),),
        (Bought(rope="UG2", happened=_LAST, length_cm=50),
         StoreDescribed(happened=DAY, code="UG", age_limit_years=9)),
        (Washed(rope="UG1", happened=_LAST), Washed(rope="UG1", happened=_FIRST)),
        (Measured(rope="UG1", happened=_LAST, length_cm=2900), Marked(rope="UG1", happened=_FIRST, length_m=30)),
        (Inspected(rope="UG1", happened=_LAST, reason="x", findings="x", outcome="fit"),
         StoreDescribed(happened=DAY, code="UG", inspection_months=120)),
        (Inspected(rope="UG1", happened=DAY, reason="x", findings="x", outcome="fit", next_due=_LAST),),
        (TakenOut(rope="UG1", happened=DAY, until=_LAST),),
        (Booked(rope="UG1", happened=DAY, first_day=date.min, last_day=date.max),),
    ],
)  # fmt: skip
def test_every_page_opens_whatever_year_is_in_the_record(club: Club, events: tuple[Event, ...]) -> None:
    club.ready("UG1", 30, maker="Maker A")
    club.did(*events)
    answers = {address: club.keeper.get(f"{club.address}{address}").status_code for address in _PAGES}
    assert answers == dict.fromkeys(_PAGES, 200)
    assert club.nobody.get(f"/calendar/{club.store.calendar_key}.ics").status_code == 200


def test_a_year_that_no_rope_can_have_is_asked_again_and_what_was_typed_stays(club: Club) -> None:
    club.ready("UG1", 30)
    before = club.events()
    typed = {"happened": "31 Dec 9999", "note": "in the bath"}
    answer = club.keeper.post(f"{club.address}/ropes/UG1/do/washed", typed)
    assert answer.status_code == 400
    assert "1900 to 2200" in answer.content.decode()
    assert "in the bath" in answer.content.decode()
    days = {"act": "book", "rope": "UG1", "first_day": "0001-01-01", "last_day": "9999-12-31"}
    assert club.keeper.post(f"{club.address}/ropes/several", days).status_code == 400
    bought = {"to_happened": "1 May 2024", "to_rope": "UG1", "to_length_cm": "33 m", "reason": "misread"}
    corrected = club.keeper.post(f"{club.address}/ropes/UG1/correct/1", bought | {"to_year_made": "1000000"})
    assert corrected.status_code == 400
    assert club.events() == before
