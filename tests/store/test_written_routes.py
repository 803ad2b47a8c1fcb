"""Routes as they were written down, and what ropes told about them."""

from collections.abc import Sequence
from datetime import UTC, datetime

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    Corrected,
    Cut,
    Event,
    Fold,
    Measured,
    Piece,
    Recorded,
    RecordedAsFound,
    RoutePutAway,
    RouteWritten,
    Used,
    seen_on,
    written_routes,
)

MAY, JUNE = PartialDate(2026, 5, 2), PartialDate(2026, 6, 7)


def folded(events: Sequence[Event]) -> Fold:
    fold = Fold()
    fold.extend(
        Recorded(each, datetime(2026, 11, 25, 12, number % 60, tzinfo=UTC), f"p{number}")
        for number, each in enumerate(events)
    )
    return fold


def wrote(text: str, key: str = "tallow", when: PartialDate = MAY) -> RouteWritten:
    return RouteWritten(happened=when, key=key, text=text)


def test_every_version_is_kept_with_who_wrote_it_and_the_newest_holds() -> None:
    tallow, wick = written_routes(folded([wrote("one"), wrote("other", "wick"), wrote("two", when=JUNE)]))
    assert [(each.text, each.by, each.number) for each in tallow.versions] == [("one", "p0", 0), ("two", "p2", 2)]
    assert (tallow.newest.text, wick.key) == ("two", "wick")


def test_a_version_written_later_holds_whatever_day_it_is_said_to_be_of() -> None:
    (tallow,) = written_routes(folded([wrote("one", when=JUNE), wrote("two", when=MAY)]))
    assert tallow.newest.text == "two"


def test_a_version_struck_out_is_gone_and_the_one_before_holds_again() -> None:
    struck = Corrected(happened=JUNE, event=1, reason="wrong cave")
    (tallow,) = written_routes(folded([wrote("one"), wrote("two"), struck]))
    assert [each.text for each in tallow.versions] == ["one"]


def test_a_route_put_away_says_why_until_it_is_written_again() -> None:
    away = RoutePutAway(happened=JUNE, key="tallow", reason="the entrance fell in")
    (tallow,) = written_routes(folded([wrote("one"), away]))
    assert tallow.put_away == "the entrance fell in"
    (tallow,) = written_routes(folded([wrote("one"), away, wrote("two")]))
    assert tallow.put_away is None


def test_a_rope_tells_about_its_pitch_with_the_length_it_had_then() -> None:
    fold = folded(
        [
            RecordedAsFound(rope="UG1", happened=PartialDate(2025), length_cm=3000),
            Used(rope="UG1", happened=MAY, route="Tallow Hole", pitch="Entrance", left_over_cm=240),
            Used(rope="UG1", happened=MAY, route="Tallow Hole", pitch="Entrance"),
            Used(rope="UG1", happened=MAY, route="Wick Pot", pitch="First", left_over_cm=10),
            Measured(rope="UG1", happened=JUNE, length_cm=2900),
            Used(rope="UG1", happened=PartialDate(2026, 6, 9), route="tallow hole", pitch="Entrance", left_over_cm=-50),
        ]
    )
    first, second = seen_on(fold, ["Tallow Hole"])
    assert (first.length_cm, first.known_by, first.use.left_over_cm) == (3000, "sheet", 240)
    assert (second.length_cm, second.known_by, second.use.left_over_cm) == (2900, "measured", -50)


def test_a_rope_counted_again_on_the_day_of_its_use_tells_by_its_greater_length() -> None:
    """56 m with 8 m over took 48 m; by the shorter count of the same day it would teach 10 m too little."""
    fold = folded(
        [
            RecordedAsFound(rope="UG1", happened=PartialDate(2025), length_cm=5600),
            Used(rope="UG1", happened=JUNE, route="Tallow Hole", pitch="Entrance", left_over_cm=800),
            Measured(rope="UG1", happened=JUNE, length_cm=4600),
        ]
    )
    assert [each.length_cm for each in seen_on(fold, ["Tallow Hole"])] == [5600]


def test_what_a_rope_told_before_it_was_cut_is_told_once_and_by_that_rope() -> None:
    fold = folded(
        [
            RecordedAsFound(rope="UG1", happened=PartialDate(2025), length_cm=3000),
            Used(rope="UG1", happened=MAY, route="Tallow Hole", pitch="Entrance", left_over_cm=240),
            Cut(rope="UG1", happened=JUNE, into=(Piece(rope="UG2", length_cm=1400), Piece(rope="UG3", length_cm=1500))),
        ]
    )
    assert [(each.rope, each.length_cm) for each in seen_on(fold, ["Tallow Hole"])] == [("UG1", 3000)]


@pytest.mark.parametrize("key", ["", "Tallow", "a b", "-a", "a--b", "x" * 61])
def test_a_short_name_is_small_letters_and_digits(key: str) -> None:
    with pytest.raises(ValueError, match="small letters"):
        wrote("one", key)
