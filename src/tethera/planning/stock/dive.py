"""Whole plans from the linear program: fix what it nearly says in whole numbers, solve again for the rest, and on."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tethera.planning.stock.columns import Columns
from tethera.planning.stock.greedy import Made, fill

Ints = NDArray[np.int64]


def dive(columns: Columns, ceiling: int, random: np.random.Generator | None, keep: Callable[[Made], int]) -> None:
    """One way down from the linear program's optimum; each plan met goes to `keep`, which gives the new ceiling.

    Given up as soon as the rest cannot come in at the ceiling. The first dive takes the fullest pattern each time,
    later ones (with `random`) now and then another.
    """
    cut, master = columns.cut, columns.master
    root = master.state()
    value = columns.value
    left = columns.demands.copy()
    there = np.array(cut.counts, dtype=np.int64)
    fixed: list[tuple[int, Ints, int]] = []
    cost = 0
    try:
        while columns.seconds() > 0:
            before, fixes = cost, len(fixed)
            for at, times in _chosen(columns, random, left):
                stock, copies = columns.pattern_of[at]
                times = min(times, int(there[stock]), _times_of_use(copies, left))
                if times > 0:
                    fixed.append((stock, copies, times))
                    left = np.maximum(left - times * copies, 0)
                    there[stock] -= times
                    cost += times * cut.costs[stock]
            if before == cost and len(fixed) == fixes:
                return
            rest = fill(cut, left, there)
            if rest is not None and cost + rest.cost <= ceiling:
                ceiling = keep(Made((*fixed, *rest.patterns), cost + rest.cost))
            if not left.any():
                return
            master.needs[: columns.items] = left
            for k, row in columns.row_of.items():
                master.needs[row] = there[k]
            master.settle()
            if not master.dual():
                return
            if not columns.solve(left=left):
                return
            if cost + columns.value > ceiling + 1e-6 * max(1.0, ceiling) * 1e-3 + 1e-7:
                return
    finally:
        columns.value = value
        master.back(root)


def _times_of_use(copies: Ints, left: Ints) -> int:
    """How often a pattern can be cut before all of its copies have been made."""
    of_use = np.minimum(copies, left) > 0
    return int(np.max(-(-left[of_use] // copies[of_use]), initial=0))


def _chosen(columns: Columns, random: np.random.Generator | None, left: Ints) -> list[tuple[int, int]]:
    """Patterns to fix now, with how often."""
    used = columns.used()
    whole = [(at, int(times + 1e-6)) for at, times in used.items() if times >= 1 - 1e-6]
    if whole:
        return whole
    if not used:
        return []
    shares = sorted(used.items(), key=lambda entry: -entry[1])
    pick = 0
    if random is not None and len(shares) > 1:
        pick = min(int(random.geometric(0.6)) - 1, len(shares) - 1, 5)
    chosen = [shares[pick]]
    if shares[pick][1] > 0.5 and random is None:
        taken = columns.pattern_of[shares[pick][0]][1].copy()
        for at, times in shares[:8]:
            copies = columns.pattern_of[at][1]
            if times > 0.8 and not (taken & copies).any() and (taken + copies <= left).all():
                chosen.append((at, times))
                taken = taken + copies
    return [(at, 1) for at, _ in dict(chosen).items()]
