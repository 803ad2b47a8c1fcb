"""The question of the cutting room: which stock lengths to open, and which pieces to cut from each.

Every length, cost and count is a whole number in units of the caller's choice, so that every answer can be checked
exactly.
"""

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stock:
    """Stock of one length: what a piece of it costs, and how many there are (None: as many as wanted)."""

    length: int
    cost: int = 1
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Item:
    """Pieces of one length, and how many are needed."""

    length: int
    demand: int


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way to cut a stock: which (its place in the problem), the pieces (item place, copies), and how often."""

    stock: int
    pieces: tuple[tuple[int, int], ...]
    times: int


@dataclass(frozen=True, slots=True)
class CuttingProblem:
    """Stocks to cut from and items to cut; more pieces than needed are allowed and earn nothing.

    Raises ValueError for a length below 1, a negative cost, count or demand.
    """

    stocks: tuple[Stock, ...]
    items: tuple[Item, ...]

    def __init__(self, stocks: Sequence[tuple[int, int, int | None]], items: Sequence[tuple[int, int]]) -> None:
        """Take plain triples and pairs as well as `Stock` and `Item`."""
        object.__setattr__(self, "stocks", tuple(Stock(*stock) for stock in stocks))
        object.__setattr__(self, "items", tuple(Item(*item) for item in items))
        for number, stock in enumerate(self.stocks):
            if stock.length < 1 or stock.cost < 0 or (stock.count is not None and stock.count < 0):
                raise ValueError(f"stock {number}: a length of 1 or more, a cost and a count of 0 or more are wanted")
        for place, item in enumerate(self.items):
            if item.length < 1 or item.demand < 0:
                raise ValueError(f"item {place}: a length of 1 or more and a demand of 0 or more are wanted")


@dataclass(frozen=True, slots=True)
class StockPlan:
    """What to cut: the patterns, their cost, a lower bound of every plan's cost, and whether the cost is proven least.

    `status` is "optimal", "feasible" (a plan, not proven), "impossible" (proven: the stock cannot give the pieces) or
    "unknown". `proof` says what the bound rests on: "prices" (recomputed in whole numbers) or "solver" (the integer
    solver's word, in floating point). No patterns, and None for the cost, where there is no plan.
    """

    status: str
    patterns: tuple[Pattern, ...]
    cost: int | None
    bound: int | None
    proof: str = "prices"

    @property
    def proven(self) -> bool:
        """Whether the question is settled: a cheapest plan, or no plan at all."""
        return self.status in ("optimal", "impossible")


def plan_faults(problem: CuttingProblem, plan: StockPlan) -> list[str]:
    """What is wrong with a plan, from the problem alone; an empty list when it cuts what is needed at the cost it
    says.
    """
    if plan.cost is None:
        return ["a plan without cost has patterns"] if plan.patterns else []
    wrong = []
    cut: dict[int, int] = defaultdict(int)
    opened: dict[int, int] = defaultdict(int)
    for number, pattern in enumerate(plan.patterns):
        used = sum(problem.items[which].length * copies for which, copies in pattern.pieces)
        if used > problem.stocks[pattern.stock].length:
            wrong.append(f"pattern {number} wants {used} of a stock of {problem.stocks[pattern.stock].length}")
        if pattern.times < 1 or any(copies < 1 for _, copies in pattern.pieces):
            wrong.append(f"pattern {number} has a count below 1")
        opened[pattern.stock] += pattern.times
        for which, copies in pattern.pieces:
            cut[which] += copies * pattern.times
    for place, item in enumerate(problem.items):
        if cut[place] < item.demand:
            wrong.append(f"item {place}: {cut[place]} cut, {item.demand} needed")
    for place, stock in enumerate(problem.stocks):
        if stock.count is not None and opened[place] > stock.count:
            wrong.append(f"stock {place}: {opened[place]} opened of {stock.count}")
    cost = sum(problem.stocks[place].cost * times for place, times in opened.items())
    if cost != plan.cost:
        wrong.append(f"the patterns cost {cost}, the plan says {plan.cost}")
    if plan.bound is not None and plan.bound > plan.cost:
        wrong.append(f"bound {plan.bound} above cost {plan.cost}")
    return wrong


@dataclass(frozen=True, slots=True)
class Cut:
    """The problem in the solver's form: lengths falling, none twice, in units of their common divisor.

    `stocks_of` and `items_of` say where each came from: stocks in order of use, items with their demands.
    """

    lengths: tuple[int, ...]
    demands: tuple[int, ...]
    stocks: tuple[int, ...]
    costs: tuple[int, ...]
    counts: tuple[int, ...]
    limited: tuple[bool, ...]
    stocks_of: tuple[tuple[tuple[int, int], ...], ...]
    items_of: tuple[tuple[tuple[int, int], ...], ...]

    @property
    def pieces(self) -> int:
        """How many pieces are needed in all."""
        return sum(self.demands)


def settled(problem: CuttingProblem) -> Cut:
    """The problem without what cannot matter: items of one length together, stocks that another beats left out."""
    wanted: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for place, item in enumerate(problem.items):
        if item.demand:
            wanted[item.length].append((place, item.demand))
    lengths = sorted(wanted, reverse=True)
    demands = [sum(demand for _, demand in wanted[length]) for length in lengths]
    pieces = sum(demands)
    unit = math.gcd(*lengths) or 1
    together: dict[tuple[int, int], list[tuple[int, int]]] = defaultdict(list)
    for place, stock in enumerate(problem.stocks):
        if lengths and stock.length >= lengths[-1] and stock.count != 0:
            # No plan wants more stocks than there are pieces.
            count = pieces if stock.count is None else min(stock.count, pieces)
            together[stock.length // unit, stock.cost].append((place, count))
    kept: list[tuple[int, int, int, tuple[tuple[int, int], ...]]] = []
    for length, cost in sorted(together, key=lambda key: (-key[0], key[1])):
        count = min(sum(count for _, count in together[length, cost]), pieces)
        if not any(better[1] <= cost and better[2] >= pieces for better in kept):
            kept.append((length, cost, count, tuple(together[length, cost])))
    return Cut(
        lengths=tuple(length // unit for length in lengths),
        demands=tuple(demands),
        stocks=tuple(entry[0] for entry in kept),
        costs=tuple(entry[1] for entry in kept),
        counts=tuple(entry[2] for entry in kept),
        limited=tuple(entry[2] < pieces for entry in kept),
        stocks_of=tuple(entry[3] for entry in kept),
        items_of=tuple(tuple(wanted[length]) for length in lengths),
    )
