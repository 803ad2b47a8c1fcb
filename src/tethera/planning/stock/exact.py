"""The exact end: every pattern that a cheaper plan could hold, and an integer program over those alone.

A plan at cost T or less can only use patterns whose reduced costs, at prices that prove a bound, sum to at most T
less that bound. Such patterns are listed exactly, in whole numbers; when that list is whole and short, the integer
program over it either gives the cheaper plan or shows that there is none.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from tethera.planning.stock.certificate import Certificate
from tethera.planning.stock.flow import Graph
from tethera.planning.stock.pricing import Pricer
from tethera.planning.stock.problem import Cut

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
#: So few patterns need no other form.
_FEW = 3000


@dataclass(frozen=True, slots=True)
class Listed:
    """Patterns a row each, with the stock of each."""

    copies: Ints
    stocks: Ints


def candidates(cut: Cut, proof: Certificate, target: int, most: int) -> Listed | None:
    """All full patterns a plan at `target` or less could hold; None when they are more than `most`."""
    lengths = np.array(cut.lengths, dtype=np.int64)
    demands = np.array(cut.demands, dtype=np.int64)
    stocks = np.array(cut.stocks, dtype=np.int64)
    pricer = Pricer(lengths, demands, stocks)
    table = pricer.table(proof.prices)
    slack = proof.shares * target - proof.value
    parts, of = [], []
    total = 0
    for place, stock in enumerate(cut.stocks):
        floor = cut.costs[place] * proof.shares + proof.charges[place] - slack - 1
        found, whole = pricer.above(proof.prices, stock, float(floor), table, beam=most * 4, cut=False)
        if not whole:
            return None
        found = found[_full(found, lengths, np.minimum(demands, stock // lengths), stock)]
        total += len(found)
        if total > most:
            return None
        parts.append(found)
        of.append(np.full(len(found), place))
    return Listed(np.concatenate(parts), np.concatenate(of))


def passing(cut: Cut, listed: Listed, proof: Certificate, target: int) -> Listed:
    """Those that another proof allows as well."""
    slack = proof.shares * target - proof.value
    floors = np.array([cost * proof.shares + charge for cost, charge in zip(cut.costs, proof.charges, strict=True)])
    good = listed.copies @ proof.prices >= floors[listed.stocks] - slack
    return Listed(listed.copies[good], listed.stocks[good])


def _full(copies: Ints, lengths: Ints, most: Ints, stock: int) -> NDArray[np.bool_]:
    """Patterns to which no needed piece can be added."""
    room = stock - copies @ lengths
    full = np.ones(len(copies), dtype=bool)
    for item in range(len(lengths)):
        full &= (room < lengths[item]) | (copies[:, item] >= most[item])
    return full


@dataclass(frozen=True, slots=True)
class Answer:
    """What the integer program says: patterns with times (empty when there are none), a bound, and whether it ended."""

    patterns: tuple[tuple[int, Ints, int], ...]
    bound: float
    ended: bool


@dataclass(frozen=True, slots=True)
class Question:
    """Is there a plan at `target` or less? `proofs` are the prices that say what it could hold."""

    cut: Cut
    proofs: tuple[Certificate, ...]
    least: int
    target: int
    seconds: float


class Aside(Protocol):
    """A question asked of somebody else, who can be stopped."""

    question: Question
    answer: Answer | None

    @property
    def done(self) -> bool:
        """Whether there is nothing more to wait for."""

    def wait(self, seconds: float) -> bool:
        """Wait so long for it [s]; whether it is done."""

    def stop(self) -> None:
        """Ask no more."""


AskAside = Callable[[Question], Aside]


def integer(cut: Cut, listed: Listed, least: int, target: int, seconds: float) -> Answer:
    """The cheapest plan over the listed patterns with a cost from `least` to `target`."""
    if not len(listed.stocks):
        return Answer((), float("inf"), ended=True)
    costs = np.array(cut.costs, dtype=float)[listed.stocks]
    rows = [
        LinearConstraint(sparse.csr_array(listed.copies.T.astype(float)), np.array(cut.demands, dtype=float), np.inf)
    ]
    limits = [k for k, limited in enumerate(cut.limited) if limited]
    if limits:
        opened = sparse.csr_array(np.array([listed.stocks == k for k in limits], dtype=float))
        rows.append(LinearConstraint(opened, -np.inf, np.array([cut.counts[k] for k in limits], dtype=float)))
    rows.append(LinearConstraint(sparse.csr_array(costs.reshape(1, -1)), least - 0.5, target + 0.5))
    result = milp(
        costs,
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, float(cut.pieces)),  # never endless: a presolve has been seen to run for ever on such a column
        constraints=rows,
        options={"time_limit": max(seconds, 0.05), "mip_rel_gap": 0.0},
    )
    if result.status == 2:
        return Answer((), float("inf"), ended=True)
    bound = float(result.mip_dual_bound) if result.mip_dual_bound is not None else -np.inf
    if result.x is None:
        return Answer((), bound, ended=False)
    times = np.rint(result.x).astype(np.int64)
    used = np.flatnonzero(times)
    patterns = tuple((int(listed.stocks[at]), listed.copies[at], int(times[at])) for at in used)
    return Answer(patterns, bound, ended=result.status == 0)


def answer(
    cut: Cut, proofs: tuple[Certificate, ...], least: int, target: int, seconds: float, most: int = 60_000
) -> Answer:
    """Look for a plan at `target` or less: among the patterns it could hold where these are few, else as a flow."""
    listed = candidates(cut, proofs[0], target, most)
    graph = None if listed is not None and len(listed.stocks) <= _FEW else _graph(cut, proofs, target)
    if graph is not None and (listed is None or graph.size < len(listed.stocks)):
        return _as_flow(graph, least, target, seconds)
    if listed is None:
        return Answer((), float("-inf"), ended=False)
    for proof in proofs[1:]:
        listed = passing(cut, listed, proof, target)
    return integer(cut, listed, least, target, seconds)


def _graph(cut: Cut, proofs: tuple[Certificate, ...], target: int) -> Graph | None:
    graph = Graph.of(cut)
    for proof in proofs if graph is not None else ():
        assert graph is not None
        graph = graph.without_dear(proof, target)
    return graph


def _as_flow(graph: Graph, least: int, target: int, seconds: float) -> Answer:
    found = graph.solve(least, target, seconds)
    if found is None:
        return Answer((), float("-inf"), ended=False)
    patterns, bound, ended = found
    return Answer(tuple(patterns), bound, ended)
