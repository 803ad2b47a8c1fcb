"""A plan that was made earlier: each rope that does not hold any more is named, with its pitch and why."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from planning.test_trip import ROUTE, STORE, planned
from tethera.labels.facts import Facts
from tethera.labels.packing_pdf import packing_pages
from tethera.labels.page import Box, Page, Text
from tethera.labels.sheet_pdf import sheet_pages
from tethera.planning import Broken, Papers, RopeUse, Trip, as_it_is, no_longer_holds
from tethera.rigging import Measure
from tethera.store import Booking, RopeState

DAY = date(2026, 12, 5)
PLAN = planned()
USES = PLAN.uses
ENTRANCE, SECOND, THIRD = USES


Changed = dict[str, RopeState | None]


def judged(*changed: Changed, trip: Trip | None = None) -> tuple[Broken, ...]:
    return no_longer_holds(trip or Trip(ROUTE), USES, stock(*changed))


def stock(*changed: Changed) -> dict[str, RopeState]:
    """The store the plan was made from, with these ropes as they are now; None is a rope that nobody knows."""
    known: Changed = {each.id: each for each in STORE}
    for each in changed:
        known |= each
    return {number: state for number, state in known.items() if state is not None}


def now(use: RopeUse, **told: Any) -> Changed:
    return {use.rope: replace(next(each for each in STORE if each.id == use.rope), **told)}


def test_a_plan_holds_while_its_ropes_are_as_they_were() -> None:
    assert judged() == ()
    assert as_it_is(Trip(ROUTE), USES, stock()) == USES


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ({"set_aside": "cut sheath"}, "set aside: cut sheath"),
        ({"retired": "cut into TV40 and TV41"}, "retired: cut into TV40 and TV41"),
        ({"missing": DAY}, "missing"),
        ({"rigged": "in Candle Hole"}, "left rigged in Candle Hole"),
        ({"over_age": "over its age limit of 10 years"}, "over its age limit of 10 years"),
        ({"length_cm": None}, "its length is not known: measure it"),
    ],
)
def test_a_rope_that_is_gone_leaves_its_pitches_without_one(told: dict[str, Any], why: str) -> None:
    (broken,) = judged(now(SECOND, **told))
    assert (broken.rope, broken.pitches, broken.gone) == (SECOND.rope, SECOND.pitches, True)
    assert broken.why == why
    assert broken.sentence == f"{SECOND.rope} for Second: {why}. Second has no rope on this plan."


def test_a_rope_that_is_not_in_the_record_is_gone_too() -> None:
    (broken,) = judged({SECOND.rope: None})
    assert broken.gone
    assert "not in this record" in broken.sentence


def test_a_rope_measured_shorter_says_what_it_has_what_it_needs_and_what_it_lacks() -> None:
    (broken,) = judged(now(SECOND, length_cm=SECOND.need_cm - 332))
    need, has = SECOND.need_cm / 100, (SECOND.need_cm - 332) / 100
    assert broken.why == f"now {has:g} m, needs {need:g} m, short by 3.32 m"
    assert not broken.gone
    (use,) = [each for each in as_it_is(Trip(ROUTE), USES, stock(now(SECOND, length_cm=SECOND.need_cm - 332)))
              if each.rope == SECOND.rope]  # fmt: skip
    assert (use.left_cm, use.need_cm) == (-332, SECOND.need_cm)
    assert use.chance_short > 0.5


def test_a_rope_that_lost_length_and_still_reaches_is_named_for_what_is_left() -> None:
    (broken,) = judged(now(SECOND, length_cm=SECOND.need_cm))
    assert "chosen with" in broken.why
    assert "left 0 m" in broken.why
    assert judged(now(SECOND, length_cm=SECOND.length_cm + 100)) == ()


def test_a_rope_known_less_well_than_when_it_was_chosen_is_named() -> None:
    """By a sheet only, the same metres are far less sure than measured ones."""
    (broken,) = judged(now(SECOND, known_by="sheet"))
    assert "known less well" in broken.why


def test_a_rope_that_is_out_booked_or_in_preparation_is_named_and_keeps_its_pitch() -> None:
    trip = Trip(ROUTE, DAY, DAY)
    booking = Booking(1, DAY, DAY, None, "Candle Hole")
    for told, why in (
        ({"waits": ("wash",)}, "in preparation: waits for wash"),
        ({"bookings": (booking,)}, "booked 05 Dec 2026 to 05 Dec 2026 Candle Hole"),
    ):
        (broken,) = judged(now(SECOND, **told), trip=trip)
        assert (broken.why, broken.gone) == (why, False)


def test_a_route_mended_since_asks_for_more_and_one_whose_pitch_is_gone_says_so() -> None:
    first, second, *rest = ROUTE.pitches
    longer = replace(ROUTE, pitches=(first, replace(second, depth=Measure(60, 60)), *rest))
    (broken,) = judged(trip=Trip(longer))
    assert broken.rope == SECOND.rope
    assert "the route has changed" in broken.why
    assert "short by" in broken.why
    renamed = replace(ROUTE, pitches=(first, replace(second, name="Chandler"), *rest))
    assert [each.why for each in judged(trip=Trip(renamed))] == ["the route has no pitch Second any more"]


def test_of_a_trip_that_is_over_nothing_is_judged() -> None:
    gone = stock(now(SECOND, set_aside="cut sheath"))
    assert no_longer_holds(Trip(ROUTE), USES, gone, judged=frozenset()) == ()
    papers = Papers(Trip(ROUTE), USES, gone, judged=frozenset(), confidence_percent=95)
    assert papers.sheet()["ropes"] == Papers(Trip(ROUTE), USES, stock()).sheet()["ropes"]


def papers() -> Papers:
    """One rope set aside, one too short."""
    changed = stock(now(SECOND, set_aside="cut sheath"), now(THIRD, length_cm=THIRD.need_cm - 332))
    return Papers(Trip(ROUTE), USES, changed, confidence_percent=95)


def words_on(pages: Any) -> list[str]:
    texts = ([each.words for each in page.primitives if isinstance(each, Text)] for page in pages)
    return [" ".join(" ".join(words).split()) for words in texts]


def test_the_sheet_says_at_its_head_at_the_row_and_at_the_pitch_what_does_not_hold() -> None:
    sheet: Facts = papers().sheet()
    assert sheet["confidence_percent"] is None
    pitch = next(each for each in sheet["pitches"] if each["name"] == "Second")
    assert pitch["ropes"] == []
    assert pitch["rigged"] is True
    assert sheet["totals"]["ropes"] == len(USES) - 1
    pages = words_on(sheet_pages(sheet))
    assert "Do not go by this paper" in pages[0]
    assert f"{SECOND.rope} for Second: set aside: cut sheath. Second has no rope on this plan." in pages[0]
    assert f"{THIRD.rope} for Third" in pages[0]
    assert "confidence" not in pages[0]
    assert "Do not take it: set aside: cut sheath." in " ".join(pages)
    there = next(words for words in pages if "Second" in words and "no rope:" in words)
    assert f"no rope: {SECOND.rope} set aside: cut sheath." in there
    assert any(f"{THIRD.rope}: now" in words for words in pages)
    assert "Do not go by" not in words_on(sheet_pages(Papers(Trip(ROUTE), USES, stock()).sheet()))[0]


def test_the_packing_list_has_no_box_to_tick_for_a_rope_that_is_gone() -> None:
    def boxes(pages: Any) -> int:
        found: list[Page] = list(pages)
        return sum(isinstance(each, Box) and each.role == "tick box" for page in found for each in page.primitives)

    packing = papers().packing()
    pages = packing_pages(packing)
    said = " ".join(words_on(pages))
    assert "Do not go by this paper" in words_on(pages)[0]
    assert "Do not pack it: set aside: cut sheath." in said
    assert "short by 3.32 m" in said
    assert boxes(pages) == boxes(packing_pages(Papers(Trip(ROUTE), USES, stock()).packing())) - 1
