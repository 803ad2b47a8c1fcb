"""Cutting stock against trying everything, and what must always hold of it."""

import itertools
from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tethera.planning.stock import CuttingProblem, Pattern, StockPlan, cut_stock, plan_faults
from tethera.planning.stock.certificate import certificate, shares_of, whole
from tethera.planning.stock.exact import answer
from tethera.planning.stock.flow import Graph
from tethera.planning.stock.problem import settled


def problem(stocks: Sequence[tuple[int, int, int | None]], items: Sequence[tuple[int, int]]) -> CuttingProblem:
    return CuttingProblem(stocks, items)


def least_by_trying_everything(asked: CuttingProblem) -> int | None:
    """The least cost over every way to fill one stock after the other; None where the stock cannot give the pieces."""
    lengths = [item.length for item in asked.items]

    @cache
    def cheapest(left: tuple[int, ...], there: tuple[int, ...]) -> int | None:
        if not any(left):
            return 0
        best = None
        for place, stock in enumerate(asked.stocks):
            if not there[place]:
                continue
            fewer = tuple(count - (n == place) for n, count in enumerate(there))
            most = [range(min(need, stock.length // length) + 1) for need, length in zip(left, lengths, strict=True)]
            for copies in itertools.product(*most):
                if not any(copies) or sum(c * n for c, n in zip(copies, lengths, strict=True)) > stock.length:
                    continue
                rest = cheapest(tuple(n - c for n, c in zip(left, copies, strict=True)), fewer)
                if rest is not None and (best is None or rest + stock.cost < best):
                    best = rest + stock.cost
        return best

    pieces = sum(item.demand for item in asked.items)
    there = tuple(pieces if stock.count is None else min(stock.count, pieces) for stock in asked.stocks)
    return cheapest(tuple(item.demand for item in asked.items), there)


@st.composite
def small(draw: st.DrawFn) -> CuttingProblem:
    """Up to three stocks and six pieces of up to three lengths."""
    stocks = draw(
        st.lists(
            st.tuples(st.integers(5, 14), st.integers(1, 9), st.sampled_from([None, None, 1, 3])),
            min_size=1,
            max_size=3,
        )
    )
    items = draw(st.lists(st.tuples(st.integers(2, 9), st.integers(1, 2)), min_size=1, max_size=3))
    return problem(stocks, items)


@settings(max_examples=250, deadline=None)
@given(small())
def test_the_least_cost_is_what_trying_everything_finds(asked: CuttingProblem) -> None:
    plan = cut_stock(asked)
    assert plan_faults(asked, plan) == []
    tried = least_by_trying_everything(asked)
    if tried is None:
        assert plan.status == "impossible"
    else:
        assert (plan.status, plan.cost, plan.bound) == ("optimal", tried, tried)


@settings(max_examples=80, deadline=None)
@given(small(), st.integers(2, 9))
def test_one_more_piece_never_costs_less(asked: CuttingProblem, length: int) -> None:
    more = problem(
        [(s.length, s.cost, s.count) for s in asked.stocks],
        [*((i.length, i.demand) for i in asked.items), (length, 1)],
    )
    before, after = cut_stock(asked), cut_stock(more)
    if after.cost is not None:
        assert before.cost is not None
        assert after.cost >= before.cost


@settings(max_examples=80, deadline=None)
@given(small())
def test_the_flow_finds_the_least_cost_too(asked: CuttingProblem) -> None:
    """The flow over all arcs, and over those that prices leave, against trying everything."""
    tried = least_by_trying_everything(asked)
    cut = settled(asked)
    if tried is None or not cut.stocks or cut.lengths[0] > cut.stocks[0]:
        return
    graph = Graph.of(cut)
    assert graph is not None
    shares = shares_of(cut)
    proof = certificate(cut, whole(np.zeros(len(cut.lengths)), shares), [0.0] * len(cut.stocks), shares)
    for each in (graph, graph.without_dear(proof, tried)):
        found = each.solve(0, tried, 10.0)
        assert found is not None
        patterns, _bound, ended = found
        assert ended
        assert sum(cut.costs[stock] * times for stock, _copies, times in patterns) == tried
        copies = sum(times * held for _stock, held, times in patterns)
        assert np.all(copies >= np.array(cut.demands))
    # One unit below the least there is no plan, and that is said.
    assert graph.solve(0, tried - 1, 10.0) == ([], float("inf"), True)


@pytest.mark.parametrize(
    ("capacity", "items", "optimum"),
    [
        (10, [(6, 2), (4, 2), (5, 1)], 3),
        (100, [(51, 3), (27, 3), (26, 3), (23, 3), (25, 4)], 5),
    ],
)
def test_small_lists_are_proven(capacity: int, items: list[tuple[int, int]], optimum: int) -> None:
    plan = cut_stock(problem([(capacity, 1, None)], items))
    assert (plan.status, plan.cost, plan.bound) == ("optimal", optimum, optimum)


def test_what_cannot_be_cut_is_said() -> None:
    assert cut_stock(problem([(10, 1, None)], [(11, 1)])).status == "impossible"
    assert cut_stock(problem([(10, 1, 1)], [(6, 2)])).status == "impossible"
    assert cut_stock(problem([(10, 1, None)], [])).cost == 0


def test_time_that_is_up_gives_a_plan_without_a_proof_and_never_a_false_one() -> None:
    asked = problem([(1000, 1, None)], [(length, 3) for length in range(201, 500, 7)])
    plan = cut_stock(asked, lambda: 0.0)
    assert plan_faults(asked, plan) == []
    assert plan.status in ("feasible", "unknown", "optimal")
    assert plan.bound is None or plan.cost is None or plan.bound <= plan.cost


def test_the_second_judge_finds_what_is_wrong() -> None:
    asked = problem([(10, 2, 1)], [(6, 1), (4, 1)])
    good = cut_stock(asked)
    assert plan_faults(asked, good) == []
    long = StockPlan("optimal", (Pattern(0, ((0, 2),), 1),), 2, 2)
    assert any("wants 12" in each for each in plan_faults(asked, long))
    assert any("needed" in each for each in plan_faults(asked, long))
    twice = StockPlan("optimal", (Pattern(0, ((0, 1),), 1), Pattern(0, ((1, 1),), 1)), 4, 4)
    assert any("opened of 1" in each for each in plan_faults(asked, twice))
    assert any("bound" in each for each in plan_faults(asked, StockPlan("optimal", good.patterns, 2, 3)))


@pytest.mark.parametrize(
    ("stocks", "items", "told"),
    [
        ([(0, 1, None)], [(1, 1)], "stock 0"),
        ([(5, -1, None)], [(1, 1)], "stock 0"),
        ([(5, 1, None)], [(0, 1)], "item 0"),
    ],
)
def test_a_question_that_cannot_be_is_told(
    stocks: list[tuple[int, int, int | None]], items: list[tuple[int, int]], told: str
) -> None:
    with pytest.raises(ValueError, match=told):
        problem(stocks, items)


def test_a_bound_by_the_exact_end_needs_a_list_or_a_flow() -> None:
    asked = settled(problem([(10, 1, None)], [(6, 2), (4, 2)]))
    shares = shares_of(asked)
    proof = certificate(asked, whole(np.array([0.6, 0.4]), shares), [1.0 * shares], shares)
    assert answer(asked, (proof,), 0, 1, 5.0).ended
    assert answer(asked, (proof,), 0, 1, 5.0).bound == float("inf")
