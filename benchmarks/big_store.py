"""A store of 1,000 ropes and 100,000 events, invented by a rule, for whatever must stay quick."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Dried,
    Event,
    Inspected,
    Marked,
    Measured,
    PutIntoService,
    Recorded,
    Returned,
    StoreDescribed,
    TakenOut,
    Used,
    Washed,
)

BEGAN = datetime(2019, 1, 7, 19, tzinfo=UTC)
MAKERS = ("Maker A", "Maker B", "Maker C")


def events(ropes: int = 1_000, total: int = 100_000) -> Iterator[Recorded]:
    """The log, in order of happening."""
    yield Recorded(StoreDescribed(happened=PartialDate(2019), code="UG", owner="An invented store", age_limit_years=12,
                                  inspection_months=12), BEGAN, "p1")  # fmt: skip
    written, turn = 1, 0
    for number in range(1, ropes + 1):
        for event in _first_days(f"UG{number}", number):
            yield Recorded(event, BEGAN + timedelta(minutes=written), "p1")
            written += 1
    while True:
        turn += 1
        for number in range(1, ropes + 1):
            for event in _a_trip(f"UG{number}", number, turn):
                if written == total:
                    return
                yield Recorded(event, _day(turn) + timedelta(seconds=number), f"p{1 + number % 5}")
                written += 1


def _day(turn: int) -> datetime:
    return BEGAN + timedelta(days=30 + 120 * turn)


def _first_days(rope: str, number: int) -> Iterator[Event]:
    day, length_cm = PartialDate(2019, 1, 7), 1000 + 100 * (number % 90)
    yield Bought(rope=rope, happened=day, length_cm=length_cm, diameter_mm=9.0 + number % 3, rope_type="AB"[number % 2],
                 maker=MAKERS[number % 3], batch=f"B{number % 40}", year_made=2018)  # fmt: skip
    yield Washed(rope=rope, happened=day, how="machine")
    yield Dried(rope=rope, happened=day)
    yield Measured(rope=rope, happened=day, length_cm=length_cm * 9 // 10)
    yield Marked(rope=rope, happened=day, length_m=length_cm * 9 // 1000)
    yield PutIntoService(rope=rope, happened=day)


def _a_trip(rope: str, number: int, turn: int) -> Iterator[Event]:
    day = PartialDate.of(_day(turn).date())
    yield TakenOut(rope=rope, happened=day, person=f"p{1 + number % 5}", trip=f"trip {turn}")
    yield Used(rope=rope, happened=day, route=f"route {number % 7}", pitch=str(number % 5), days=1)
    yield Returned(rope=rope, happened=day)
    yield Washed(rope=rope, happened=day)
    yield Dried(rope=rope, happened=day)
    yield Inspected(rope=rope, happened=day, reason="after a trip", outcome="fit", person="p2")
