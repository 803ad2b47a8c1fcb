"""The cheapest pieces: combinations brought in as they fail, patterns as they are worth having, and a proof.

1. Solve the linear program of a few hard combinations over all patterns: a bound. 2. Solve in whole numbers over the
patterns it made. 3. Judge every other combination with those pieces; bring in those that fail, and start again.
4. Where the answer is above the bound: for each number of reels that could still be cheaper, the linear program again
(its bound is much closer, for a whole reel is most of a bill), and where that is not enough every pattern whose reduced
cost could matter: what none of them betters is best.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from tethera.planning import highs
from tethera.planning.buy_combinations import Combinations, Undecided
from tethera.planning.buy_model import Bill, FleetModel, Priced
from tethera.planning.buy_problem import FleetAnswer, FleetProblem, Hung, Pattern, fleet_faults, pattern_net_pence
from tethera.planning.highs import NoAnswer
from tethera.planning.plan import Budget, Progress, no_limit, silent

#: Patterns looked through in a proof, numbers of reels tried one by one, combinations brought in at a time.
_MOST_PATTERNS, _MOST_OPENINGS, _AT_A_TIME = 40_000, 60, 3
_FIRST = 4


@dataclass
class _Work:
    """What is known so far, handed from round to round."""

    problem: FleetProblem
    seconds: Budget
    progress: Progress
    judge: Combinations
    active: list[int]
    pool: dict[Pattern, None] = field(default_factory=dict)
    best: FleetAnswer | None = None
    bound: int = 0


def solve_fleet(
    problem: FleetProblem,
    *,
    seconds: Budget = no_limit,
    progress: Progress = silent,
    hint: Sequence[int] = (),
    prove: bool = True,
) -> FleetAnswer:
    """The least net price that rigs every combination, with its bound.

    Routes that no rope on offer or in store can rig are left out and told in `impossible`. `hint` names combinations
    to begin with. Status "impossible" where there are too few reels, or too few ropes of a kind that is not on offer:
    `active` then names the first combination that is short of them.
    """
    impossible = impossible_routes(problem)
    kept = replace(
        problem,
        combinations=tuple(
            tuple(route for route in combination if route not in impossible) for combination in problem.combinations
        ),
    )
    judge = Combinations(kept)
    work = _Work(kept, seconds, progress, judge, list(hint) or _hardest(kept, judge))
    try:
        while not _round(work, prove=prove):
            pass
    except (NoAnswer, Undecided, KeyboardInterrupt) as stop:
        # Time is up, or the user has had enough: the best so far stands, with its bound.
        if work.best is None:
            none_exists = isinstance(stop, NoAnswer) and stop.impossible
            return _too_few(work, impossible) if none_exists else _for_want_of_time(work, impossible)
    assert work.best is not None
    answer = replace(work.best, impossible=impossible, bound_pence=min(work.bound, work.best.net_pence))
    proven = answer.bound_pence >= answer.net_pence
    answer = replace(answer, status="optimal" if proven else "feasible", active=tuple(work.active))
    wrong = fleet_faults(problem, answer)
    if wrong:
        # The judge shares nothing with the solver: an answer it faults is never given to anybody.
        raise RuntimeError(f"a list to buy failed its check: {'; '.join(wrong)}")
    return answer


def impossible_routes(problem: FleetProblem) -> tuple[int, ...]:
    """Routes that no rope on offer or in the store can rig, however many there were."""
    found = set()
    for number, line in enumerate(problem.lines):
        reached = {0}
        for run, _, _ in sorted(problem.choices[number], key=lambda choice: choice[0].begin):
            if run.begin in reached:
                reached.add(run.end)
        if line.places - 1 not in reached:
            found.add(line.route)
    return tuple(sorted(found))


def _hardest(problem: FleetProblem, judge: Combinations) -> list[int]:
    """Combinations that ask most: most metres, longest rope, most ropes, as each route's shortest way takes them."""
    demand = judge.demands[-1]
    total = demand[judge.table].sum(axis=1)
    lengths = np.array([length for levels in problem.levels for length in levels], float)
    steps = np.diff(lengths, prepend=0.0).clip(0.0)
    scores = (total @ steps, (total > 0) @ steps, total.max(axis=1, initial=0))
    chosen: dict[int, None] = {}
    for score in scores:
        for row in np.argsort(-score, kind="stable")[:2].tolist():
            chosen[row] = None
    return list(chosen)[:_FIRST]


def _round(work: _Work, *, prove: bool) -> bool:
    """One round; True when there is no more to do."""
    model = FleetModel(work.problem, work.active, Bill(), work.seconds)
    for pattern in work.pool:
        model.add(pattern)
    priced = model.priced()
    work.bound = max(work.bound, _up(priced.value))
    _learn(work, priced)
    columns = _whole(model, priced, work.seconds, gap=0.0)
    answer, failed = _judged(work, model, columns)
    work.pool = dict.fromkeys(model.patterns[-4000:])
    work.progress("choosing lengths", _pounds(work.best), work.bound / 100)
    if answer is None:
        work.active += failed
        return False
    if work.bound >= answer.net_pence or not prove:
        return True
    return _prove(work, model)


def _up(value: float) -> int:
    """A bound in whole pence: rounded up, but for the solver's last digits."""
    return math.ceil(value - 1e-4 - 1e-9 * abs(value))


def _pounds(answer: FleetAnswer | None) -> float | None:
    return None if answer is None else answer.net_pence / 100


def _learn(work: _Work, priced: Priced) -> None:
    """Ways that are cheap at the prices the linear program puts on lengths."""
    prices = np.zeros(work.judge.levels)
    order = np.zeros(len(work.problem.levels[0]))
    for piece, price in zip(work.problem.pieces, priced.prices, strict=True):
        order[work.problem.level(0, piece.left_cm)] = price
    prices[: len(order)] = np.maximum.accumulate(order)
    work.judge.learn(prices)


def _whole(model: FleetModel, priced: Priced, seconds: Budget, *, gap: float) -> NDArray[np.int64]:
    """A whole-number answer over the patterns in play: first on the columns that cost least, then on all."""
    equal, limit = model.rows()
    cost, most, whole = model.cost(), model.most(), model.whole
    for tolerance in (max(0.05 * priced.value, 1.0), math.inf):
        keep = np.flatnonzero(priced.reduced <= tolerance) if tolerance < math.inf else np.arange(len(cost))
        try:
            return highs.integers(cost, equal, limit, keep, whole, most, seconds=min(seconds(), 20.0), gap=gap)[0]
        except NoAnswer as none:
            if tolerance == math.inf:
                raise
            if not none.impossible:
                continue
    raise AssertionError("unreachable")


def _judged(work: _Work, model: FleetModel, columns: NDArray[np.int64]) -> tuple[FleetAnswer | None, list[int]]:
    """The answer of some columns if its pieces rig every combination, else combinations they do not."""
    answer = answer_of(work.problem, model, columns)
    failed, hung = work.judge.judged(answer.counts(len(work.problem.pieces)), work.seconds, most=_AT_A_TIME)
    if failed:
        return None, [row for row in failed if row not in work.active] or failed
    answer = replace(answer, hung=tuple(tuple(hung[row]) for row in range(len(work.problem.combinations))))
    if work.best is None or answer.net_pence < work.best.net_pence:
        work.best = answer
    return answer, []


def answer_of(problem: FleetProblem, model: FleetModel, columns: NDArray[np.int64]) -> FleetAnswer:
    """What the columns buy, added up anew in whole pence."""
    patterns, shop = model.bought(columns)
    in_shop = sum((problem.shop_pence(problem.pieces[piece].cut_cm) or 0) * times for piece, times in shop)
    price = in_shop + sum(problem.reels[pattern.reel].price_pence * times for pattern, times in patterns)
    net = in_shop + sum(pattern_net_pence(problem, pattern) * times for pattern, times in patterns)
    dropped = tuple(model.dropped(columns))
    return FleetAnswer("feasible", tuple(patterns), tuple(shop), price, net, dropped=dropped)


def _prove(work: _Work, model: FleetModel) -> bool:
    """Look at every number of reels that could still be cheaper; False when a combination must be brought in first."""
    openings = _openings(work)
    lowest: int | None = None
    for opening in openings:
        assert work.best is not None
        model.reels_opened = opening
        try:
            priced = model.priced()
        except NoAnswer as none:
            if none.impossible:
                continue
            raise
        bound = _up(priced.value)
        if bound < work.best.net_pence:
            settled = _every_pattern(work, model, priced)
            if settled is None:
                return False
            bound = max(bound, settled)
        bound = min(bound, work.best.net_pence)
        lowest = bound if lowest is None else min(lowest, bound)
        work.progress("proving", _pounds(work.best), work.bound / 100)
    assert work.best is not None
    work.bound = max(work.bound, work.best.net_pence if lowest is None else lowest)
    return True


def _openings(work: _Work) -> list[tuple[int, ...] | None]:
    """Numbers of each reel that could be cheaper than the best answer, cheapest first; [None] for too many of them."""
    assert work.best is not None
    problem, best = work.problem, work.best.net_pence
    least = [
        max(min(reel.price_pence - problem.off_cut_pence(room - problem.step_cm), best), 1)
        for reel, room in zip(problem.reels, problem.rooms_cm, strict=True)
    ]
    most = [
        min(best // cost, math.inf if reel.count is None else reel.count)
        for cost, reel in zip(least, problem.reels, strict=True)
    ]
    if math.prod(int(each) + 1 for each in most) > 4 * _MOST_OPENINGS:
        return [None]
    found = [
        counts
        for counts in itertools.product(*(range(int(each) + 1) for each in most))
        if sum(count * cost for count, cost in zip(counts, least, strict=True)) < best
    ]
    ordered = sorted(found, key=lambda counts: sum(c * cost for c, cost in zip(counts, least, strict=True)))
    return list(ordered) if len(ordered) <= _MOST_OPENINGS else [None]


def _every_pattern(work: _Work, model: FleetModel, priced: Priced) -> int | None:
    """A bound from every pattern that could matter; None when a combination failed that must be brought in."""
    assert work.best is not None
    gap = work.best.net_pence - 1 - priced.value
    found = model.cutter.within(priced.prices, priced.charges, gap, _MOST_PATTERNS, work.seconds)
    if found is None:
        return _up(priced.value)
    before = len(model.patterns)
    for pattern in found:
        model.add(pattern)
    priced = model.priced()
    equal, limit = model.rows()
    keep = np.flatnonzero(priced.reduced <= gap + 1e-6)
    try:
        columns, lower, _done = highs.integers(
            model.cost(), equal, limit, keep, model.whole, model.most(), seconds=min(work.seconds(), 60.0)
        )
    except NoAnswer as none:
        _forget(model, before)
        return work.best.net_pence if none.impossible else _up(priced.value)
    answer = answer_of(work.problem, model, columns)
    beyond = work.best.net_pence
    if answer.net_pence < work.best.net_pence:
        judged, failed = _judged(work, model, columns)
        if judged is None:
            fresh = [row for row in failed if row not in work.active]
            work.active += fresh
            work.pool.update(dict.fromkeys(pattern for pattern, _ in answer.patterns))
            if fresh:
                return None
    _forget(model, before)
    return min(beyond, max(_up(priced.value), _up(lower)))


def _forget(model: FleetModel, keep: int) -> None:
    """Take the patterns of one proof out again, so that the next stays small."""
    for pattern in model.patterns[keep:]:
        model.known.discard(pattern)
    del model.patterns[keep:]


def _too_few(work: _Work, impossible: tuple[int, ...]) -> FleetAnswer:
    """There is no list: too few reels, or ropes of a kind that is not on offer; the first combination short of them.

    Each combination in play is asked alone; none of them is named where only all together are too many.
    """
    for combination in work.active:
        model = FleetModel(work.problem, [combination], Bill(), work.seconds)
        try:
            _whole(model, model.priced(), work.seconds, gap=0.0)
        except NoAnswer as none:
            if none.impossible:
                return FleetAnswer("impossible", impossible=impossible, active=(combination,))
            break
    return FleetAnswer("impossible", impossible=impossible)


def _for_want_of_time(work: _Work, impossible: tuple[int, ...]) -> FleetAnswer:
    """No answer found in time: nothing to buy is named, only the bound."""
    hung: tuple[tuple[Hung, ...], ...] = ()
    return FleetAnswer("unknown", bound_pence=work.bound, hung=hung, impossible=impossible)
