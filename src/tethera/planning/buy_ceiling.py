"""At most so much money: the fewest routes that must be given up, and the cheapest list for the rest."""

import math
from dataclasses import replace

import numpy as np

from tethera.planning import highs
from tethera.planning.buy_combinations import Combinations, Undecided
from tethera.planning.buy_model import Bill, FleetModel
from tethera.planning.buy_problem import FleetAnswer, FleetProblem, Pattern
from tethera.planning.buy_solve import answer_of, impossible_routes
from tethera.planning.highs import NoAnswer
from tethera.planning.plan import Budget, no_limit

#: A route given up counts as so many ceilings, so that no saving is worth one.
_A_ROUTE = 20
_ROUNDS = 60


def within_ceiling(problem: FleetProblem, ceiling_pence: int, *, seconds: Budget = no_limit) -> tuple[FleetAnswer, int]:
    """A list of at most this price that gives up as few routes as found, and how few there must be at least.

    Combinations then hold their other routes only. An answer with status "unknown" when time is up first.
    """
    impossible = impossible_routes(problem)
    kept = replace(
        problem,
        combinations=tuple(tuple(r for r in each if r not in impossible) for each in problem.combinations),
    )
    drop_pence = _A_ROUTE * max(ceiling_pence, 1000)
    active = sorted(range(len(kept.combinations)), key=lambda c: -len(kept.combinations[c]))[:2]
    fewest = 0
    pool: list[Pattern] = []
    try:
        for _ in range(_ROUNDS):
            bill = Bill(drop_pence=drop_pence, ceiling_pence=ceiling_pence)
            model = FleetModel(kept, active, bill, seconds)
            for pattern in pool:
                model.add(pattern)
            priced = model.priced()
            # Dropping k routes costs k times so much and at most the ceiling besides.
            fewest = max(fewest, math.ceil((priced.value - ceiling_pence) / drop_pence - 1e-6))
            columns, _, _ = highs.integers(
                model.cost(), *model.rows(), np.arange(model.static + len(model.patterns)), model.whole, model.most(),
                seconds=min(seconds(), 30.0),
            )  # fmt: skip
            pool = list(model.patterns)
            answer = answer_of(kept, model, columns)
            rest = replace(
                kept, combinations=tuple(tuple(r for r in c if r not in answer.dropped) for c in kept.combinations)
            )
            failed, hung = Combinations(rest).judged(answer.counts(len(kept.pieces)), seconds)
            fresh = [row for row in failed if row not in active]
            if not failed:
                every = tuple(tuple(hung[row]) for row in range(len(rest.combinations)))
                return replace(answer, hung=every, impossible=impossible), fewest
            if not fresh:
                break
            active += fresh
    except (NoAnswer, Undecided):
        pass
    return FleetAnswer("unknown", impossible=impossible), fewest
