"""Cut the stock: quick plans, the linear program of the patterns, dives from it, and the exact search of what is
left.
"""

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from tethera.planning.plan import Budget, no_limit
from tethera.planning.stock.certificate import Sums
from tethera.planning.stock.columns import Columns
from tethera.planning.stock.dive import dive
from tethera.planning.stock.exact import Answer, Aside, AskAside, Question, answer
from tethera.planning.stock.greedy import Made, corrected
from tethera.planning.stock.problem import Cut, CuttingProblem, Pattern, StockPlan, plan_faults, settled


@dataclass(slots=True)
class Best:
    """The best plan so far and the best bound."""

    cut: Cut
    highest: int
    made: Made | None = None
    bound: int = 0
    proof: str = "prices"
    sums: Sums = field(init=False)

    def __post_init__(self) -> None:
        self.sums = Sums(self.cut, self.highest)

    def keep(self, made: Made) -> int:
        """Take a plan if it is cheaper; gives the dearest cost that would be cheaper still."""
        if self.made is None or made.cost < self.made.cost:
            self.made = made
        return self.ceiling

    def raise_to(self, bound: int, proof: str = "prices") -> None:
        """Take a bound if it is higher."""
        bound = self.sums.up(bound)
        if bound > self.bound:
            self.bound, self.proof = bound, proof

    @property
    def ceiling(self) -> int:
        """Dearest sum of stock costs that would be an improvement."""
        return self.highest if self.made is None else self.sums.below(self.made.cost)

    @property
    def done(self) -> bool:
        """Whether no cheaper plan is possible."""
        return self.ceiling < self.bound


#: Quick plans before the linear program, and after it; dives before another process is asked.
_BEFORE, _AFTER, _ALONE = 3, 5, 3
#: Dives beside another process at most, dives without one at most, and patterns listed at most without one.
_DIVES, _DIVES_HERE, _LIST_HERE = 200, 60, 3000
#: A question is asked anew, for a cheaper plan, once it has run so long without an answer [s].
_AGAIN_S = 2.0


def cut_stock(
    problem: CuttingProblem, seconds: Budget = no_limit, seed: int = 0, *, aside: AskAside | None = None
) -> StockPlan:
    """The cheapest stocks that give all pieces, which patterns to cut, and how far that is proven.

    Parameters
    ----------
    problem : stocks and items, whole numbers
    seconds : tells the time left [s]
    seed : of the random choices
    aside : asks the exact end of another process (the second core, and stopped from outside when time is up); None
        asks it here

    The plan is checked against the problem before it is given back. The bound holds whatever the solver's rounding:
    it is recomputed in whole numbers (`proof` "prices"), unless the integer solver had to close the last of the gap
    ("solver").

    >>> plan = cut_stock(CuttingProblem([(10, 1, None)], [(6, 2), (4, 2)]))
    >>> plan.status, plan.cost, plan.bound
    ('optimal', 2, 2)
    """
    cut = settled(problem)
    if not cut.lengths:
        return StockPlan("optimal", (), 0, 0)
    if not cut.stocks or cut.lengths[0] > cut.stocks[0]:
        return StockPlan("impossible", (), None, None)
    best = Best(cut, _dearest_plan(cut))
    _search(cut, best, seconds, seed, aside)
    return _plan(problem, best)


def _dearest_plan(cut: Cut) -> int:
    """What no plan can cost more than: a stock a piece, the dearest there are."""
    total, pieces = 0, cut.pieces
    for cost, count in sorted(zip(cut.costs, cut.counts, strict=True), reverse=True):
        total += cost * min(count, pieces)
        pieces -= min(count, pieces)
    return total


def _search(cut: Cut, best: Best, left: Budget, seed: int, aside: AskAside | None) -> None:
    random = np.random.default_rng(seed)
    for made in corrected(cut, np.zeros(len(cut.lengths)), random, left, _BEFORE):
        best.keep(made)
    end = _End(cut, best, left, aside)
    columns = Columns(cut, end.time_left, seed)
    ended = columns.solve()
    best.raise_to(columns.bound)
    best.raise_to(columns.whole_stocks_bound(best.highest))
    if best.done:
        return
    for made in corrected(cut, columns.master.prices[: columns.items], random, left, _AFTER):
        best.keep(made)
        if best.done:
            return
    if ended:
        _dives(columns, best, end, random)


def _dives(columns: Columns, best: Best, end: "_End", random: np.random.Generator) -> None:
    """Dive after dive, with the exact end beside them, until the plan is proven or time is up."""
    dives = 0
    try:
        while end.left() > 0 and not best.done:
            if end.come_in():
                continue
            if dives >= _ALONE and end.ask(columns):
                continue
            if end.waiting and dives >= _DIVES:
                end.wait()
            elif end.hopeless and dives >= _DIVES_HERE and end.aside is None:
                return
            else:
                if best.made is not None:
                    columns.drop_dear(best.ceiling)
                dive(columns, best.ceiling, random if dives else None, best.keep)
                dives += 1
    finally:
        end.stop()


class _End:
    """The exact end: asked of another process where there is one, else here."""

    def __init__(self, cut: Cut, best: Best, left: Budget, aside: AskAside | None) -> None:
        self.cut, self.best, self.left, self.aside = cut, best, left, aside
        self.asked: Aside | None = None
        self.hopeless = False

    @property
    def waiting(self) -> bool:
        """Whether a question is out."""
        return self.asked is not None

    def time_left(self) -> float:
        """Time left for a dive: none once there is an answer to look at."""
        return 0.0 if self.asked is not None and self.asked.done else self.left()

    def come_in(self) -> bool:
        """Use an answer that has come, or take back a question that a cheaper plan has made too wide."""
        if self.asked is None:
            return False
        question = self.asked.question
        if self.asked.done:
            self.hopeless = self.asked.answer is None or not _use(self.best, self.asked.answer, question.target)
        elif self.best.ceiling < question.target and question.seconds - self.left() > _AGAIN_S:
            self.asked.stop()
        else:
            return False
        self.asked = None
        return True

    def ask(self, columns: Columns) -> bool:
        """Ask, unless it is asked or hopeless; whether the answer is in already."""
        if self.asked is not None or self.hopeless or columns.proof is None:
            return False
        proofs = columns.best_proofs()
        question = Question(self.cut, proofs, self.best.bound, self.best.ceiling, self.left())
        if self.aside is not None:
            self.asked = self.aside(question)
            return False
        got = answer(self.cut, proofs, question.least, question.target, self.left(), most=_LIST_HERE)
        self.hopeless = not _use(self.best, got, question.target)
        return True

    def wait(self) -> None:
        """Wait for the answer, as long as there is time."""
        if self.asked is not None:
            self.asked.wait(self.left())

    def stop(self) -> None:
        """Ask no more."""
        if self.asked is not None:
            self.asked.stop()


def _use(best: Best, got: Answer, target: int) -> bool:
    if got.patterns:
        best.keep(Made(got.patterns, sum(best.cut.costs[stock] * times for stock, _, times in got.patterns)))
    if got.ended:
        best.raise_to(target + 1 if got.bound == float("inf") else math.ceil(got.bound - 1e-4), "solver")
    return got.ended


def _plan(problem: CuttingProblem, best: Best) -> StockPlan:
    """The plan in the problem's own places, checked."""
    if best.made is None:
        impossible = best.bound > best.highest
        return StockPlan(
            "impossible" if impossible else "unknown", (), None, None if impossible else best.bound, best.proof
        )
    status = "optimal" if best.done else "feasible"
    bound = best.made.cost if best.done else best.bound
    plan = StockPlan(status, tuple(_patterns(best.cut, best.made)), best.made.cost, bound, best.proof)
    wrong = plan_faults(problem, plan)
    if wrong:
        raise AssertionError("; ".join(wrong))
    return plan


def _patterns(cut: Cut, made: Made) -> Iterator[Pattern]:
    """Hand the pieces and stocks of one length out to where they came from, cutting no piece too many."""
    stocks = [list(map(list, of)) for of in cut.stocks_of]
    items = [list(map(list, of)) for of in cut.items_of]
    counted: Counter[tuple[int, tuple[tuple[int, int], ...]]] = Counter()
    for stock, copies, times in made.patterns:
        wanted = np.flatnonzero(copies).tolist()
        for _ in range(times):
            pieces: Counter[int] = Counter()
            for item in wanted:
                many = int(copies[item])
                while many and items[item]:
                    entry = items[item][0]
                    taken = min(many, entry[1])
                    pieces[entry[0]] += taken
                    entry[1] -= taken
                    many -= taken
                    if not entry[1]:
                        items[item].pop(0)
            while not stocks[stock][0][1]:
                stocks[stock].pop(0)
            stocks[stock][0][1] -= 1
            counted[stocks[stock][0][0], tuple(sorted(pieces.items()))] += 1
    for (place, held), times in counted.items():
        yield Pattern(place, held, times)
