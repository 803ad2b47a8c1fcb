"""Trips planned from routes and rope states: margins, wishes, reasons, and what is said when it cannot be done."""

import math
import random
import re
from dataclasses import replace
from datetime import date

import pytest

from tethera.planning import faults
from tethera.planning.choices import Choices, UnknownWish
from tethera.planning.trip import Trip, TripPlan, plan_trip
from tethera.planning.trip_problem import TripProblem
from tethera.rigging import Anchor, Measure, Pitch, Route, rope_lines
from tethera.store import RopeState

SECOND = Pitch(
    "Second",
    Measure(45, 45),
    depth_known_by="survey",
    anchors=(
        Anchor("backup"),
        Anchor("traverse", along_m=3.0),
        Anchor("y-hang", along_m=2.0, down_m=1.0, bolts=2),
        Anchor("rebelay", along_m=0.5, down_m=20.0),
    ),
    to_next_m=30.0,
)
ROUTE = Route(
    "Lantern Pot",
    (
        Pitch("First", Measure(18, 18), anchor_count=4, to_next_m=8.0, rope_goes_on=True),
        SECOND,
        Pitch("Third", Measure(25, 25), anchor_count=5, to_next_m=4.0, rope_goes_on=True),
        Pitch("Last", Measure(9, 9), anchor_count=2),
    ),
)
OTHER = Route("Candle Hole", ROUTE.pitches[:2])
LENGTHS_M = (20, 22, 25, 28, 30, 33, 36, 38, 40, 44, 50, 55, 60, 63, 70, 81, 95)


def rope(number: int, length_m: float, **known: object) -> RopeState:
    """A measured 10 mm rope, ready."""
    state = RopeState(
        f"TV{number}", round(length_m * 100), "measured", diameter_mm=10.0, rope_type="A", mass_g_per_m=65.0, waits=()
    )
    return replace(state, **known)  # type: ignore[arg-type]


STORE = tuple(rope(n, length) for n, length in enumerate(LENGTHS_M, start=1))


def planned(ropes: tuple[RopeState, ...] = STORE, **choices: object) -> TripPlan:
    """The one trip, without comparing confidences unless asked."""
    wanted = Choices(**{"compare": (), **choices})  # type: ignore[arg-type]
    return plan_trip([Trip(ROUTE)], ropes, wanted)


def test_no_rope_is_short_with_the_confidence_asked_for() -> None:
    """The joint chance is the product over the ropes, and 95 % is the default."""
    plan = planned()
    assert plan.status == "optimal"
    assert plan.chance_any_short is not None
    assert plan.chance_any_short == pytest.approx(1 - math.prod(1 - use.chance_short for use in plan.uses))
    assert plan.chance_any_short <= 0.05
    assert next(use.pitches[0] for use in plan.uses) == "First"


def test_twenty_thousand_caves_drawn_agree_with_the_chance_said() -> None:
    """Depths, knots and rope lengths drawn by their spreads: some rope is short in at most 5 % and a point."""
    plan, dice = planned(), random.Random(7)
    spread_cm = {state.id: state.length_sd_cm for state in STORE}
    short = 0
    for _ in range(20_000):
        short += any(
            dice.gauss(use.length_cm, spread_cm[use.rope]) < 100 * dice.gauss(use.need_mean_m, use.need_sd_m)
            for use in plan.uses
        )
    assert plan.chance_any_short is not None
    assert short / 20_000 <= 0.05 + 0.01
    assert short / 20_000 == pytest.approx(plan.chance_any_short, abs=0.006)


def test_more_confidence_never_carries_less() -> None:
    """The cost of confidence is told, nominal first."""
    plan = plan_trip([Trip(ROUTE)], STORE, Choices(compare=(None, 0.9, 0.99)))
    nominal, ninety, ninety_nine = plan.costs
    masses = [cost.mass_g for cost in (nominal, ninety, ninety_nine)]
    assert None not in masses
    assert masses == sorted(masses, key=lambda mass: mass or 0)
    assert nominal.chance_any_short is not None
    assert nominal.chance_any_short > 0.3


def test_each_rope_has_its_reason() -> None:
    """The shortest that reaches, with the next shorter and by how much it fails."""
    use = planned().uses[0]
    assert use.why.startswith("the shortest free rope that reaches")
    assert "short" in use.why
    shared = [each for each in planned().uses if len(each.pitches) == 2]
    assert all("which saves one rope" in each.why for each in shared)


def test_a_wish_is_kept() -> None:
    """TV16 on the second pitch though it is long; TV9 stays."""
    plan = planned(take=("16@2",), leave=("TV9",))
    use = next(use for use in plan.uses if use.rope == "TV16")
    assert "Second" in use.pitches
    assert use.why == "you asked for it here"
    assert ("TV9", "left at home as you asked") in plan.excluded


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ("99@2", "No rope is called"),
        ("TV1@9", "names no pitch"),
        ("TV1", "names no pitch"),
        ("TV40@1", "cannot be taken: in preparation"),
    ],
)
def test_a_wish_that_cannot_be_understood_says_what_there_is(wish: str, words: str) -> None:
    """Never an answer to another question."""
    unready = rope(40, 40, waits=("put into service",))
    with pytest.raises(UnknownWish, match=words):
        planned((*STORE, unready), take=(wish,))


def test_a_rope_that_is_not_ready_is_never_planned() -> None:
    """With its reason beside it."""
    unready = tuple(replace(state, waits=("wash",)) for state in STORE if state.id == "TV8")
    plan = planned((*(state for state in STORE if state.id != "TV8"), *unready))
    assert "TV8" not in {use.rope for use in plan.uses}
    assert [name for name, _ in plan.excluded] == ["TV8"]


def test_trips_on_other_days_may_share_a_rope_and_trips_on_the_same_day_may_not() -> None:
    """Two trips a week apart, then on one weekend."""
    saturday, later = date(2031, 5, 3), date(2031, 5, 10)
    apart = plan_trip([Trip(ROUTE, saturday), Trip(OTHER, later)], STORE, Choices(compare=()))
    together = plan_trip([Trip(ROUTE, saturday), Trip(OTHER, saturday)], STORE, Choices(compare=()))
    assert len({use.rope for use in apart.uses}) < len(apart.uses)
    assert len({use.rope for use in together.uses}) == len(together.uses)


def test_what_cannot_be_done_says_the_pitch_the_metres_the_rope_and_what_to_buy() -> None:
    """Only short ropes: no exception, a plan that says why."""
    plan = planned(STORE[:6], mid_drop_joins=False)
    assert plan.status == "impossible"
    leg = plan.unmet[0]
    assert (leg.kind, leg.pitch, leg.nearest_rope) == ("leg", "First", "TV6")
    assert leg.short_cm is not None
    assert leg.short_cm > 0
    assert next(unmet for unmet in plan.unmet if unmet.kind == "buy").buy_m
    bought = [rope(100 + n, m) for n, m in enumerate(next(u for u in plan.unmet if u.kind == "buy").buy_m)]
    assert planned((*STORE[:6], *bought), joint=False, mid_drop_joins=False).found


def test_a_rope_known_less_well_is_said_to_need_more_and_by_how_much_it_is_short_of_that() -> None:
    """The figures of a sentence subtract: 30.02 m of a sheet only lacks of its own need, not of a measured rope's."""
    straight = Route("Well", (Pitch("Shaft", Measure(25, 25), depth_known_by="tape", anchor_count=2),))
    ropes = (rope(1, 60.0), rope(2, 30.02, known_by="sheet"), rope(3, 20.0))
    (use,) = plan_trip([Trip(straight)], ropes, Choices(compare=(), joint=False)).uses
    said = re.search(r"TV2 of 30.02 m, is ([\d.]+) m short: known less well, it must have ([\d.]+) m$", use.why)
    assert said is not None
    short, own = (float(each) for each in said.groups())
    assert round(100 * own) - 3002 == round(100 * short) > use.need_cm - 3002
    (alike,) = plan_trip([Trip(straight)], (rope(1, 60.0), rope(3, 20.0)), Choices(compare=(), joint=False)).uses
    assert f"TV3 of 20 m, is {alike.need_cm / 100 - 20:.2f}".rstrip("0") + " m short" in alike.why


def test_what_to_buy_is_what_must_be_left_and_what_to_order_for_it() -> None:
    """A need is of washed rope: 100 m left with 95 % take 120.0 m of nylon (docs/shrinkage.md)."""
    unmet = next(each for each in planned(STORE[:6], mid_drop_joins=False).unmet if each.kind == "buy")
    assert len(unmet.order_cm) == len(unmet.buy_m) > 0
    for left_m, order_cm in zip(unmet.buy_m, unmet.order_cm, strict=True):
        assert 1.2 * left_m * 100 - 1 <= order_cm <= 1.2 * left_m * 100 + 10
        assert f"{left_m} m" in unmet.sentence
        assert f"{order_cm / 100:g} m" in unmet.sentence
    assert "must be left after the first washes" in unmet.sentence


def test_a_store_that_measured_less_loss_orders_less() -> None:
    """The store's own measured ropes stand in place of the published loss."""
    from tethera.planning.to_order import ToOrder
    from tethera.rope import Predictions, prior_for
    from tethera.store import Known

    told = prior_for("nylon").after([0.97] * 8)

    class Measured(Known):
        def predictions(self, material: str | None) -> Predictions:
            return Predictions({}, told)

    unknown, measured = ToOrder(0.95), ToOrder(0.95, lambda: Measured({}, {}, (), ()))
    assert measured.order_cm([41]) < unknown.order_cm([41])
    assert unknown.order_cm([29, 41]) == (3480, 4920)


def test_ropes_are_joined_in_mid_drop_only_when_nothing_else_goes() -> None:
    """A free hang of 60 m from ropes of 40 m and less."""
    deep = Route("Well", (Pitch("Shaft", Measure(60, 60), depth_known_by="tape", anchor_count=2),))
    short = tuple(state for state in STORE if (state.length_cm or 0) <= 4400)
    plan = plan_trip([Trip(deep)], short, Choices(compare=()))
    assert plan.joins >= 1
    assert plan_trip([Trip(deep)], STORE, Choices(compare=())).joins == 0


def test_every_plan_stands_before_the_judge() -> None:
    """The checker knows nothing of how the plan was made."""
    plan = planned()
    lines = [(0, line) for line in rope_lines(ROUTE, longest_m=250.0)]
    from tethera.planning.choices import Wishes
    from tethera.planning.trip_problem import free_ropes

    problem = TripProblem([Trip(ROUTE)], lines, free_ropes(STORE, None)[0], Wishes(), plan.z)
    assert faults(problem.problem, plan.plan) == []


def test_stopping_gives_the_best_so_far() -> None:
    """An interrupt in the middle of the work still gives a plan, and does not start another."""

    def stop(stage: str, best: float | None, bound: float | None) -> None:
        if stage == "lightest":
            raise KeyboardInterrupt

    plan = plan_trip([Trip(ROUTE)], STORE, progress=stop)
    assert plan.found
