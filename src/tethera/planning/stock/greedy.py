"""Plans made quickly: fill one stock after another, each time the pattern that is worth most for its cost."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tethera.planning.stock.pricing import Pricer
from tethera.planning.stock.problem import Cut

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Made:
    """Patterns as (stock, copies of each item, times), and their cost."""

    patterns: tuple[tuple[int, Ints, int], ...]
    cost: int


def fill(cut: Cut, left: Ints, there: Ints, values: Floats | None = None) -> Made | None:
    """Cut what is left from the stock that is there; None when it runs out.

    Longest piece first into each stock without `values`; with them the most valuable pattern, which a table finds (so
    only for stocks short enough for an exact table).
    """
    left, there = left.copy(), there.copy()
    lengths, costs = np.array(cut.lengths), np.array(cut.costs)
    stocks = np.array(cut.stocks)
    made, cost = [], 0
    while left.any():
        finish = _one_for_all(cut, left, there)
        if finish is not None:
            stock, copies = finish, left.copy()
        else:
            open_ = np.flatnonzero(there > 0)
            if not len(open_):
                return None
            best = (
                _longest_first(lengths, left, stocks, open_)
                if values is None
                else _dearest(lengths, left, stocks, open_, values)
            )
            gains = [float((lengths if values is None else values) @ copies) for copies in best]
            ratios = [gain / max(float(costs[k]), 1e-9) for gain, k in zip(gains, open_, strict=True)]
            pick = int(np.argmax(ratios))
            if not best[pick].any():
                return None
            stock, copies = int(open_[pick]), best[pick]
        used = copies > 0
        times = max(1, min(int((left[used] // copies[used]).min()), int(there[stock])))
        left -= times * copies
        there[stock] -= times
        cost += times * cut.costs[stock]
        made.append((stock, copies, times))
    return Made(tuple(made), cost)


def _one_for_all(cut: Cut, left: Ints, there: Ints) -> int | None:
    whole = int(left @ np.array(cut.lengths))
    fits = [k for k, stock in enumerate(cut.stocks) if there[k] > 0 and stock >= whole]
    return min(fits, key=lambda k: cut.costs[k], default=None)


def _longest_first(lengths: Ints, left: Ints, stocks: Ints, open_: Ints) -> list[Ints]:
    out = []
    for stock in stocks[open_].tolist():
        copies, room = np.zeros_like(left), stock
        for item in np.flatnonzero(left).tolist():
            many = min(int(left[item]), room // int(lengths[item]))
            copies[item] = many
            room -= many * int(lengths[item])
        out.append(copies)
    return out


def _dearest(lengths: Ints, left: Ints, stocks: Ints, open_: Ints, values: Floats) -> list[Ints]:
    here = np.flatnonzero(left)
    pricer = Pricer(lengths[here], left[here], stocks[open_])
    table = pricer.table(values[here])
    copies = np.zeros((len(open_), len(left)), dtype=np.int64)
    copies[:, here] = pricer.traced(values[here], table, stocks[open_].copy())
    return list(copies)


def corrected(
    cut: Cut, prices: Floats, random: np.random.Generator, seconds: Callable[[], float], most: int
) -> Iterator[Made]:
    """Plan after plan: items that ended up in poor patterns are valued higher the next time."""
    lengths, demands = np.array(cut.lengths, dtype=np.int64), np.array(cut.demands, dtype=np.int64)
    there = np.array(cut.counts, dtype=np.int64)
    plain = fill(cut, demands, there)
    if plain is not None:
        yield plain
    if Pricer(lengths, demands, np.array(cut.stocks)).unit > 1:
        return
    scale = float(1 << 20) / max(float(prices.max()), 1e-9)
    base = lengths / lengths.max() if not prices.any() else np.maximum(prices * scale / (1 << 20), 1e-3)
    worth = base * (1 + 0.02 * lengths / lengths.max())
    for _ in range(most):
        if seconds() <= 0:
            return
        made = fill(cut, demands, there, np.floor(worth * (1 << 20)))
        if made is None:
            worth = base * random.uniform(0.9, 1.1, len(lengths))
            continue
        yield made
        for stock, copies, times in made.patterns:
            gain = float(base @ copies) / max(cut.costs[stock], 1e-9)
            if gain > 0:
                share = times * copies / demands / random.uniform(1.0, 3.0)
                rate = float(base @ demands) / max(made.cost, 1e-9)
                worth = (1 - share * 0.5) * worth + share * 0.5 * base * (rate / gain) ** random.uniform(0.5, 2.0)
