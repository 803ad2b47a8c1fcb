"""The next best plans beside every set of ropes planned one by one, and why a rope is not in the plan."""

import itertools
from dataclasses import replace
from datetime import date

import pytest

from tethera.planning import Choices, Trip, TripPlan, next_best, plan_of_values, plan_trip, plan_values, why_not
from tethera.rigging import Measure, Pitch, Route
from tethera.store import RopeState

ROUTE = Route(
    "Lantern Pot",
    (
        Pitch("First", Measure(18, 18), anchor_count=3),
        Pitch("Second", Measure(31, 31), anchor_count=3, min_diameter_mm=9.0),
    ),
)
TRIPS = (Trip(ROUTE),)


def rope(number: int, length_m: float, **known: object) -> RopeState:
    """A measured 10 mm rope, ready."""
    state = RopeState(
        f"TV{number}", round(length_m * 100), "measured", diameter_mm=10.0, rope_type="A", mass_g_per_m=65.0, waits=()
    )
    return replace(state, **known)  # type: ignore[arg-type]


def store(*lengths_m: float) -> tuple[RopeState, ...]:
    return tuple(rope(number, length) for number, length in enumerate(lengths_m, start=1))


def cost(plan: TripPlan) -> tuple[int, int, int]:
    return plan.joins, plan.changes, plan.mass_g


def taken(plan: TripPlan) -> frozenset[str]:
    return frozenset(use.rope for use in plan.uses)


@pytest.mark.parametrize(
    "lengths_m",
    [(36, 38, 40, 52, 54, 57), (26, 42, 44, 90), (25, 29, 23, 24, 45, 70), (60, 80, 36, 53), (37, 37, 53, 53, 60)],
)
def test_the_next_best_are_what_planning_every_set_of_ropes_finds(lengths_m: tuple[float, ...]) -> None:
    """Every subset of the store is planned for itself; sorted by cost, without those that only add a rope."""
    ropes = store(*lengths_m)
    choices = Choices(compare=())
    plan = plan_trip(TRIPS, ropes, choices)
    assert plan.found
    every: dict[frozenset[str], TripPlan] = {}
    for count in range(1, len(ropes) + 1):
        for some in itertools.combinations(ropes, count):
            other = plan_trip(TRIPS, some, choices)
            sure = other.found and other.chance_any_short is not None and other.chance_any_short <= 0.05
            if sure and (taken(other) not in every or cost(other) < cost(every[taken(other)])):
                every[taken(other)] = other
    expected: list[tuple[int, int, int]] = []
    sets = [taken(plan)]
    for used, other in sorted(every.items(), key=lambda item: cost(item[1])):
        if len(expected) < 3 and not any(used >= before for before in sets):
            sets.append(used)
            expected.append(cost(other))
    found = next_best(TRIPS, ropes, choices, plan)
    assert [cost(each.plan) for each in found] == expected
    assert found, "an instance without another plan checks nothing"
    for each in found:
        assert each.mass_more_g == each.plan.mass_g - plan.mass_g
        assert each.differs[0].split()[0] in taken(plan) - taken(each.plan)


def test_what_differs_is_told_pitch_by_pitch_with_its_cost() -> None:
    ropes = store(36, 40, 54)
    plan = plan_trip(TRIPS, ropes, Choices(compare=()))
    (other,) = next_best(TRIPS, ropes, None, plan)
    assert other.differs == (
        "TV1 (36 m) stays at home; TV2 (40 m) instead.",
        "First: TV2 (40 m) instead of TV1 (36 m).",
        "The ropes weigh 0.3 kg more.",
    )
    assert other.mass_more_g == 4 * 65


def test_a_rope_asked_for_is_in_every_other_plan() -> None:
    ropes = store(36, 38, 40, 54, 56)
    choices = Choices(take=("TV3@First",), compare=())
    plan = plan_trip(TRIPS, ropes, choices)
    found = next_best(TRIPS, ropes, choices, plan)
    assert found
    assert all("TV3" in taken(each.plan) for each in found)


def test_nothing_is_offered_beside_a_plan_that_was_not_found() -> None:
    ropes = store(10, 12)
    plan = plan_trip(TRIPS, ropes, Choices(compare=()))
    assert not plan.found
    assert next_best(TRIPS, ropes, None, plan) == ()


def test_when_the_time_is_up_what_was_found_is_given() -> None:
    ropes = store(36, 38, 40, 54, 56)
    plan = plan_trip(TRIPS, ropes, Choices(compare=()))
    assert next_best(TRIPS, ropes, None, plan, seconds=lambda: 0.0) == ()


ROPES = (
    *store(36, 54, 40, 12),
    rope(5, 60, diameter_mm=8.0),
    rope(6, 55, waits=("an examination",)),
)


@pytest.mark.parametrize(
    ("number", "says"),
    [
        ("TV99", "The store has no rope TV99."),
        ("TV1", "TV1 (36 m) is in the plan, on First."),
        ("TV6", "TV6 may not be planned: "),
        ("TV4", "TV4 (12 m) is too short everywhere: nearest on First, where it is "),
    ],
)
def test_why_a_rope_is_not_in_the_plan(number: str, says: str) -> None:
    plan = plan_trip(TRIPS, ROPES, Choices(compare=()))
    answer = why_not(TRIPS, ROPES, None, plan, number)
    assert answer.sentences[0].startswith(says), answer.sentences


def test_a_rope_that_would_do_is_told_with_what_it_costs() -> None:
    """TV3 reaches the first pitch as TV1 does, and is 4 m longer: 260 g at 65 g/m."""
    plan = plan_trip(TRIPS, ROPES, Choices(compare=()))
    answer = why_not(TRIPS, ROPES, None, plan, "TV3")
    assert answer.sentences[0].startswith("TV3 (40 m) is long enough on First, with ")
    assert answer.sentences[-1] == "With TV3 on First the ropes weigh 0.3 kg more."
    assert answer.plan is not None
    assert answer.plan.mass_g - plan.mass_g == 260


def test_a_rope_left_at_home_by_a_wish_is_told_so_first() -> None:
    choices = Choices(leave=("TV1",), compare=())
    plan = plan_trip(TRIPS, ROPES, choices)
    answer = why_not(TRIPS, ROPES, choices, plan, "TV1")
    assert answer.sentences[0] == "You asked to leave TV1 at home."
    assert answer.plan is not None
    assert "TV1" in taken(answer.plan)


def test_a_thin_rope_is_not_offered_where_a_thicker_one_is_asked_for() -> None:
    """8 mm reaches the second pitch, which asks for 9 mm: only the first is named."""
    plan = plan_trip(TRIPS, ROPES, Choices(compare=()))
    answer = why_not(TRIPS, ROPES, None, plan, "TV5")
    assert "Second" not in " ".join(answer.sentences)
    assert "on First" in answer.sentences[0]


def test_no_set_of_ropes_is_told_twice_and_none_holds_another() -> None:
    ropes = store(36, 38, 40, 45, 54, 56, 60, 75, 90, 95)
    plan = plan_trip(TRIPS, ropes, Choices(compare=()))
    sets = [taken(plan), *(taken(each.plan) for each in next_best(TRIPS, ropes, None, plan, count=6))]
    assert len(sets) == 7
    assert not any(one >= other for one, other in itertools.permutations(sets, 2))


def test_a_plan_that_was_kept_and_read_again_does_as_well() -> None:
    """What is kept has its ropes, but not the planner's own numbers behind them."""
    ropes = store(36, 38, 40, 54, 56)
    plan = plan_trip(TRIPS, ropes, Choices(compare=()))
    kept = plan_of_values(plan_values(plan))
    assert next_best(TRIPS, ropes, None, kept) == next_best(TRIPS, ropes, None, plan)
    assert why_not(TRIPS, ropes, None, kept, "TV3").sentences == why_not(TRIPS, ropes, None, plan, "TV3").sentences


def test_a_thin_rope_that_reaches_only_where_a_thicker_one_is_asked_for_says_so() -> None:
    route = replace(ROUTE, pitches=tuple(replace(pitch, min_diameter_mm=9.0) for pitch in ROUTE.pitches))
    plan = plan_trip([Trip(route)], ROPES, Choices(compare=()))
    answer = why_not([Trip(route)], ROPES, None, plan, "TV5")
    assert answer.plan is None
    assert answer.sentences[0].endswith(", but it is thinner than the 9 mm asked for there.")


def test_a_rope_with_which_nothing_works_out_says_so_and_so_does_one_for_which_time_was_up() -> None:
    """One rope cannot hang on two pitches where none runs on from the first to the second."""
    ropes = store(54, 80)
    choices = Choices(compare=(), leave=("TV2",), confidence=None, mid_drop_joins=False)
    plan = plan_trip(TRIPS, ropes, choices)
    assert not plan.found
    only = why_not(TRIPS, ropes[:1], replace(choices, leave=()), plan, "TV1")
    assert only.plan is None
    assert only.sentences[-1].startswith("No plan works out with it on ")
    late = why_not(TRIPS, ropes[:1], replace(choices, leave=()), plan, "TV1", seconds=lambda: 0.0)
    assert late.sentences[-1] == "Time was up before a plan with it was found."


def test_a_rope_that_makes_an_impossible_plan_possible_says_so() -> None:
    """It was to stay at home by a wish."""
    ropes = store(36, 54)
    choices = Choices(compare=(), leave=("TV2",), confidence=None, mid_drop_joins=False)
    plan = plan_trip(TRIPS, ropes, choices)
    answer = why_not(TRIPS, ropes, choices, plan, "TV2")
    assert answer.sentences[0] == "You asked to leave TV2 at home."
    assert answer.sentences[-1].endswith(" it can be done.")
    assert answer.plan is not None
    assert answer.plan.found


def test_two_trips_with_pitches_of_one_name_are_looked_at_together() -> None:
    day = date(2031, 5, 3)
    trips = (Trip(ROUTE, day), Trip(replace(ROUTE, name="Candle Hole"), day))
    ropes = store(39, 40, 58, 59, 61, 90)
    plan = plan_trip(trips, ropes, Choices(compare=()))
    idle = sorted({each.id for each in ropes} - taken(plan))
    assert plan.found
    for number in idle:
        answer = why_not(trips, ropes, None, plan, number)
        assert answer.plan is not None
        assert number in taken(answer.plan)
    assert next_best(trips, ropes, None, plan, count=1)
