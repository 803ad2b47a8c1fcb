"""What speaks against taking a rope out."""

from datetime import date

import pytest

from tethera.basics import PartialDate
from tethera.store import Booking, RopeState, speaks_against

SATURDAY, SUNDAY = date(2026, 11, 28), date(2026, 11, 29)


def ready(**more: object) -> RopeState:
    known = {"born": True, "waits": (), "length_cm": 3000, "known_by": "measured", "marked_m": 30}
    return RopeState("UG9", **(known | more))  # type: ignore[arg-type]


def booked(first: date, last: date, person: str | None = None, trip: str = "") -> RopeState:
    return ready(bookings=(Booking(7, first, last, person, trip),))


def test_nothing_speaks_against_a_rope_that_is_ready() -> None:
    assert speaks_against(ready(), SATURDAY, SUNDAY) == ()


@pytest.mark.parametrize(
    ("rope", "told"),
    [
        (ready(set_aside="flat spot at 12.4 m"), "set aside: flat spot at 12.4 m"),
        (ready(waits=("wash", "dry")), "in preparation: waits for wash, dry"),
        (ready(out_since=PartialDate(2026, 11, 1)), "out since 1 Nov 2026"),
        (ready(rigged="in Quillet Pot"), "left rigged in Quillet Pot"),
        (ready(missing=PartialDate(2026, 11)), "missing"),
        (ready(retired="worn sheath"), "retired: worn sheath"),
        (ready(over_age="over its age limit of 10 years since 2024"), "over its age limit of 10 years since 2024"),
        (ready(length_cm=None, marked_m=None), "its length is not known: measure it"),
        (ready(length_cm=2940), "its mark says 30 m but it has 29.4 m"),
        (ready(inspection_due=date(2026, 11, 27)), "its examination was due 27 Nov 2026"),
        (ready(inspection_due=SUNDAY), "its examination falls due 29 Nov 2026, before it is back"),
        (booked(SUNDAY, SUNDAY, trip="Quillet Pot"), "booked 29 Nov 2026, Quillet Pot"),
        (RopeState("UG77", length_cm=100), "nothing says where it came from"),
    ],
)
def test_each_thing_is_told(rope: RopeState, told: str) -> None:
    assert told in speaks_against(rope, SATURDAY, SUNDAY)


def test_two_things_are_both_told() -> None:
    told = speaks_against(ready(set_aside="flat spot", over_age="over its age limit"), SATURDAY, SUNDAY)
    assert told == ("set aside: flat spot", "over its age limit")


def test_a_booking_for_whom_or_what_it_is_taken_speaks_against_nothing() -> None:
    assert speaks_against(booked(SATURDAY, SUNDAY, "p3"), SATURDAY, SUNDAY, person="p3") == ()
    mine = booked(SATURDAY, SUNDAY, "p1", "Quillet Pot")
    assert speaks_against(mine, SATURDAY, SUNDAY, person="p3", trip="quillet pot ") == ()
    assert speaks_against(mine, SATURDAY, SUNDAY, person="p1", trip="Marrowgill") != ()
    assert speaks_against(booked(SATURDAY, SUNDAY), SATURDAY, SUNDAY) != ()


def test_a_later_booking_counts_only_where_nobody_says_when_the_rope_is_back() -> None:
    later = booked(date(2026, 12, 12), date(2026, 12, 13))
    assert speaks_against(later, SATURDAY, SUNDAY) == ()
    assert speaks_against(later, SATURDAY, None) == ("booked 12 to 13 Dec 2026",)


def test_an_examination_due_one_day_is_no_hindrance_where_nobody_says_when_the_rope_is_back() -> None:
    assert speaks_against(ready(inspection_due=date(2027, 6, 1)), SATURDAY, None) == ()
