"""An export may be written by hand: whatever it can bring in at most, every page still opens."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    Bought,
    Corrected,
    Cut,
    Described,
    Event,
    Measured,
    Piece,
    Recorded,
    Returned,
    Stocktaken,
    StoreDescribed,
    Used,
    Washed,
    Weighed,
    decode_recorded,
    encode_recorded,
)
from tethera.store.codec import MOST_IN_ONE_ANOTHER, MOST_NUMBER
from tethera.web.store.opened import held
from web.conftest import DAY, Club

_PAGES = (
    *("", "/ropes", "/ropes?sort=age", "/preparation", "/out-and-back", "/inspect", "/stocktake", "/year", "/measure"),
    *("/new-ropes", "/settings", "/ropes/UG1", "/ropes/UG1/record.pdf", "/ropes/UG1/describe", "/measure/UG1"),
    *("/ropes/UG1/correct/1", "/trips", "/routes", "/people", "/record.pdf?rope=UG1"),
)
_FAR = datetime(2200, 12, 31, 23, 59, tzinfo=timezone(timedelta(hours=-12)))
_LONG_AGO = datetime(1900, 1, 1, tzinfo=timezone(timedelta(hours=14)))
_BIG = 999_999_999


def _nested() -> Event:
    event: Event = Washed(rope="UG1", happened=DAY)
    for _ in range(MOST_IN_ONE_ANOTHER - 1):
        event = Corrected(happened=DAY, event=1, reason="slip", replacement=event)
    return event


@pytest.mark.parametrize(
    ("events", "moment"),
    [
        ((_nested(), _nested()), datetime(2026, 11, 25, tzinfo=UTC)),
        ((Washed(rope="UG1", happened=DAY),), _FAR),
        ((Measured(rope="UG1", happened=PartialDate(1), length_cm=2900),), _LONG_AGO),
        ((Bought(rope="UG2", happened=DAY, length_cm=_BIG, price_pence=MOST_NUMBER, diameter_mm=1e8),
          Bought(rope="UG3", happened=DAY, length_cm=1, price_pence=-MOST_NUMBER)), _FAR),
        ((Weighed(rope="UG1", happened=DAY, mass_g=_BIG), Measured(rope="UG1", happened=DAY, length_cm=_BIG)), _FAR),
        ((Used(rope="UG1", happened=DAY, days=MOST_NUMBER, left_over_cm=-MOST_NUMBER),
          Used(rope="UG1", happened=DAY, days=-MOST_NUMBER)), _FAR),
        ((Cut(rope="UG1", happened=DAY, into=(Piece(rope="UG8", length_cm=_BIG), Piece(rope="UG1", length_cm=1))),
          Cut(rope="UG8", happened=DAY, into=(Piece(rope="UG1", length_cm=_BIG),))), _FAR),
        ((Corrected(happened=DAY, event=MOST_NUMBER, reason="x"), Corrected(happened=DAY, event=-1, reason="x")), _FAR),
        ((Described(rope="UG1", happened=DAY, year_made=-MOST_NUMBER, mass_g_per_m=1e8, age_limit_years=_BIG),
          StoreDescribed(happened=DAY, code="UG", age_limit_years=_BIG, inspection_months=_BIG)), _FAR),
        ((Booked(rope="UG1", happened=DAY, first_day=DAY.earliest, last_day=DAY.earliest, person="p99999",
                 trip="t" * 5000, route="r" * 5000, pitches=("p",) * 500),
          Returned(rope="UG1", happened=DAY, person="p0", chemical="c" * 5000)), _FAR),
        ((Stocktaken(happened=DAY, seen=("UG1",) * 2000 + ("no rope",), place="p" * 5000),), _FAR),
    ],
)  # fmt: skip
def test_every_page_opens_on_whatever_an_export_can_bring_in(
    club: Club, events: tuple[Event, ...], moment: datetime
) -> None:
    club.ready("UG1", 30, maker="Maker A")
    # Through the door a file comes in by.
    brought = [decode_recorded(encode_recorded(Recorded(each, moment, "p1"))) for each in events]
    with held(club.store.pk) as opened:
        opened.log.append(len(opened.log.read()), brought)
    answers = {address: club.keeper.get(f"{club.address}{address}").status_code for address in _PAGES}
    assert answers == dict.fromkeys(_PAGES, 200)
    assert club.nobody.get(f"/calendar/{club.store.calendar_key}.ics").status_code == 200
