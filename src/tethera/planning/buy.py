"""Which lengths a store should own: the cheapest list that makes every combination of its routes go, and how to cut it.

    plan = buy(BuyQuestion(routes, at_once=2), Offers(reels), NewRope(shrinkage), ropes, until=date(2027, 12, 31))

What a wash leaves of new rope is uncertain, and in part the same for all ropes of a kind. The list is chosen so that
the plan as a whole holds with the confidence asked for, and each rope's own confidence is told beside it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any, Literal

from tethera.planning.buy_ceiling import within_ceiling
from tethera.planning.buy_chance import REPORTING, Ladder, Rung, Shrinks, rung, sureness
from tethera.planning.buy_plan import AtMost, BuyPlan, OtherConfidence, OtherShrinkage, RouteCost
from tethera.planning.buy_problem import FleetAnswer, FleetProblem
from tethera.planning.buy_question import BuyQuestion, NewRope, Offers, rule_figure
from tethera.planning.buy_reasons import Reasons, by_route, impossible_words, too_few_words
from tethera.planning.buy_routes import Ground, Owned, ground
from tethera.planning.buy_solve import impossible_routes, solve_fleet
from tethera.planning.plan import Budget, Progress, no_limit, silent

if TYPE_CHECKING:
    from tethera.rigging import KnotLengths
    from tethera.store import RopeState

#: Share of the time left that one rung of the ladder may take.
_A_RUNG = 0.3
#: Shares of the length by which new rope may have less left than predicted, for the sensitivity told.
_LESS_LEFT = (-0.02, 0.02, 0.04)
#: Routes whose giving up is worked out, and seconds that must be left for it.
_MOST_ROUTES, _NEEDS_S = 12, 2.0


@dataclass(frozen=True)
class ShiftedShrinks:
    """The same rope with so much less left of its length, in every draw."""

    shrinks: Shrinks
    less_left: float

    def share_left(self, confidence: Any) -> Any:
        """Share left, less the shift."""
        return self.shrinks.share_left(confidence) - self.less_left

    def draws(self, n: int, ropes: int = 1, seed: int = 0) -> Any:
        """Shares left, less the shift."""
        return self.shrinks.draws(n, ropes, seed) - self.less_left


def buy(
    question: BuyQuestion,
    offers: Offers,
    new: NewRope,
    ropes: "Sequence[RopeState]" = (),
    *,
    until: date | None = None,
    age_limit_years: int | None = None,
    knots: "KnotLengths | None" = None,
    also_owned: Sequence[Owned] = (),
    explain: bool = True,
    seconds: Budget = no_limit,
    progress: Progress = silent,
) -> BuyPlan:
    """The cheapest list, with bound, confidence and reasons; a BuyPlan with `unmet` where something cannot be done.

    Parameters
    ----------
    until : ropes that leave service before this day are not counted
    also_owned : ropes to count beside those of the store, of the new kind
    explain : whether other confidences, shrinkages, the ceiling and the price by route are worked out too
    seconds : asked for the time left; `progress` is told the stage, the best price so far and the bound [£]
    """
    based = ground(
        question, offers, new, ropes, until=until, age_limit_years=age_limit_years, knots=knots, also_owned=also_owned
    )
    solver = _Solver(based, seconds, progress)
    never = impossible_routes(based.problem(rung(0)))
    ladder = Ladder(solver.at, question.habit, new.shrinks, round(rule_figure("draws")), never)
    found, sure_enough = ladder.holding(question.confidence)
    if not found.answer.found:
        return _nothing(based, found.problem, found.answer)
    plan = _told(based, found, seconds)
    if not sure_enough:
        plan = replace(plan, notes=(*plan.notes, _less_sure(question.confidence, plan.holds or 0.0)))
    if not explain:
        return plan
    return replace(
        plan,
        at_most=_at_most(question, found, plan, seconds),
        other_confidences=_other_confidences(question, ladder, seconds),
        other_shrinkages=_other_shrinkages(solver, found, ladder.draws, seconds),
        by_route=_by_route(based, found, plan, seconds),
    )


def _less_sure(asked: float, holds: float) -> str:
    return f"No list was found to be {100 * asked:g} % sure; this one holds in {100 * holds:.1f} % of draws."


class _Solver:
    """Solves the ground at one confidence or another, each time from what decided it the time before."""

    def __init__(self, based: Ground, seconds: Budget, progress: Progress) -> None:
        self.based, self.seconds, self.progress = based, seconds, progress
        self.hint: tuple[int, ...] = ()

    def at(self, confidence: float) -> tuple[FleetProblem, FleetAnswer]:
        """The problem and its answer when each rope is counted at this confidence."""
        return self.of(self.based, confidence)

    def of(self, based: Ground, confidence: float) -> tuple[FleetProblem, FleetAnswer]:
        """The same for another ground."""
        left = self.seconds()
        problem = based.problem(confidence)
        answer = solve_fleet(
            problem,
            seconds=lambda: self.seconds() - (1 - _A_RUNG) * left,
            progress=self.progress,
            hint=self.hint,
        )
        self.hint = answer.active or self.hint
        return problem, answer


def _nothing(based: Ground, problem: FleetProblem, answer: FleetAnswer) -> BuyPlan:
    unmet = [impossible_words(based, problem, route) for route in answer.impossible]
    if answer.status == "impossible":
        unmet.append(too_few_words(based, answer))
    elif not unmet:
        unmet = ["No list was found in the time allowed. Allow more, or fewer combinations."]
    status: Literal["impossible", "unknown"] = "impossible" if answer.status == "impossible" else "unknown"
    return BuyPlan(
        status, based.question.habit, bound_pence=answer.bound_pence, confidence=based.question.confidence,
        combinations=len(problem.combinations), not_counted=based.not_counted, unmet=tuple(unmet), notes=based.notes,
    )  # fmt: skip


def _told(based: Ground, found: Rung, seconds: Budget) -> BuyPlan:
    question, problem, answer = based.question, found.problem, found.answer
    sure = sureness(problem, answer, question.habit, based.new.shrinks, round(rule_figure("draws")), REPORTING)
    reels, shop = Reasons(based, found, sure, seconds).reels()
    unmet = tuple(impossible_words(based, problem, route) for route in answer.impossible)
    return BuyPlan(
        "impossible" if unmet else "optimal" if answer.status == "optimal" else "feasible",
        question.habit, reels, shop, answer.price_pence, answer.price_pence - answer.net_pence, answer.bound_pence,
        _bound_words(answer), question.confidence, sure.holds, sure.draws, rung(found.number),
        len(problem.combinations), tuple((each.rope, each.counted_cm, each.leaves) for each, _ in based.owned),
        based.not_counted, unmet, notes=based.notes,
    )  # fmt: skip


def _bound_words(answer: FleetAnswer) -> str:
    if not answer.net_pence and not answer.price_pence:
        return "The ropes there are suffice: nothing need be bought."
    if answer.status == "optimal":
        return "Proven: no list that counts each rope at this confidence costs less."
    return (
        f"No list that counts each rope at this confidence costs less than £{answer.bound_pence / 100:.2f}; "
        f"this one is at most {100 * answer.gap:.1f} % above that."
    )


def _at_most(question: BuyQuestion, found: Rung, plan: BuyPlan, seconds: Budget) -> AtMost | None:
    ceiling = question.ceiling_pence
    if ceiling is None:
        return None
    lengths = tuple(sorted((piece.counted_cm for piece in plan.pieces), reverse=True))
    if plan.price_pence <= ceiling:
        return AtMost(ceiling, (), 0, plan.price_pence, lengths)
    answer, fewest = within_ceiling(found.problem, ceiling, seconds=seconds)
    if not answer.found:
        return AtMost(ceiling, (), fewest, 0, found=False)
    counts = answer.counts(len(found.problem.pieces))
    have = [piece.left_cm for piece, n in zip(found.problem.pieces, counts, strict=True) for _ in range(n)]
    lost = tuple(found.problem.routes[route] for route in answer.dropped)
    return AtMost(ceiling, lost, fewest, answer.price_pence, tuple(sorted(have, reverse=True)))


def _other_confidences(question: BuyQuestion, ladder: Ladder, seconds: Budget) -> tuple[OtherConfidence, ...]:
    others = []
    for confidence in question.compare:
        if seconds() < _NEEDS_S:
            break
        found, enough = ladder.holding(confidence)
        answer = found.answer
        if enough and answer.found:
            others.append(OtherConfidence(confidence, answer.price_pence, answer.net_pence, answer.bound_pence))
        else:
            others.append(OtherConfidence(confidence, None, None, None))
    return tuple(others)


def _other_shrinkages(solver: _Solver, found: Rung, draws: int, seconds: Budget) -> tuple[OtherShrinkage, ...]:
    others = []
    based = solver.based
    for less in _LESS_LEFT:
        if seconds() < _NEEDS_S:
            break
        shifted = ShiftedShrinks(based.new.shrinks, less)
        as_listed = sureness(found.problem, found.answer, based.question.habit, shifted, draws, REPORTING)
        _, answer = solver.of(replace(based, new=replace(based.new, shrinks=shifted)), rung(found.number))
        price, net = (answer.price_pence, answer.net_pence) if answer.found else (None, None)
        others.append(OtherShrinkage(less, price, net, as_listed.holds))
    return tuple(others)


def _by_route(based: Ground, found: Rung, plan: BuyPlan, seconds: Budget) -> tuple[RouteCost, ...]:
    """Shares of the price, and for the dearest routes what giving each up would save."""
    costs = by_route(based.route_names, plan.pieces)
    told: list[RouteCost] = []
    for cost in costs:
        saves = None
        if len(told) < _MOST_ROUTES and seconds() > _NEEDS_S and found.answer.status == "optimal":
            route = based.route_names.index(cost.route)
            without = tuple(tuple(r for r in each if r != route) for each in found.problem.combinations)
            left = seconds()
            answer = solve_fleet(
                replace(found.problem, combinations=without),
                seconds=lambda left=left: seconds() - 0.8 * left,  # type: ignore[misc]
                hint=found.answer.active,
            )
            if answer.status == "optimal":
                saves = found.answer.net_pence - answer.net_pence
        told.append(replace(cost, saves_pence=saves))
    return tuple(told)
