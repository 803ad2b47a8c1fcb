"""A lower bound from prices, in whole numbers only.

If no pattern of a stock holds pieces worth more than the stock costs, a plan costs at least what its pieces are
worth. Prices are rounded to whole shares of a unit, the dearest pattern is found exactly, and what it is worth too
much is either taken off all prices or, for stocks of which few are left, charged to each of them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tethera.planning.stock.problem import Cut

Floats = NDArray[np.float64]
#: Whole shares that the dearest stock's cost is divided into; pattern values stay far below 2^53.
_SHARES = 1 << 38
#: Sums of stock costs are listed up to this many units of their common divisor.
_SUMS = 3_000_000


@dataclass(frozen=True, slots=True)
class Certificate:
    """Whole prices of the items, whole charges on the stocks, in `shares` of a unit of cost, and the bound they
    prove.
    """

    prices: Floats
    charges: tuple[int, ...]
    shares: int
    value: int

    def bound(self) -> int:
        """The bound, rounded up to a whole cost."""
        return -(-self.value // self.shares)


def shares_of(cut: Cut) -> int:
    """Shares of one unit of cost."""
    return max(_SHARES // max(*cut.costs, 1), 1)


def whole(prices: Floats, shares: int) -> Floats:
    """Prices as whole shares, held in floats; none is rounded up."""
    return np.floor(np.clip(prices, 0.0, None) * shares)


def certificate(cut: Cut, prices: Floats, most: Sequence[float], shares: int) -> Certificate:
    """The bound of whole prices when no pattern of stock k is worth more than most[k]."""
    worth = [math.ceil(value) for value in most]
    # Shares are made larger until a stock there is enough of is worth its cost.
    for value, cost, limited in zip(worth, cut.costs, cut.limited, strict=True):
        if not limited and cost:
            shares = max(shares, -(-value // cost))
    charges = tuple(max(0, value - cost * shares) for value, cost in zip(worth, cut.costs, strict=True))
    value = sum(int(price) * demand for price, demand in zip(prices, cut.demands, strict=True))
    value -= sum(charge * count for charge, count in zip(charges, cut.counts, strict=True))
    return Certificate(prices, charges, shares, value)


def least_cost(cut: Cut, worth: float, most: Sequence[float], highest: int) -> int:
    """Least cost of stocks whose best patterns are together worth all the pieces; `highest` + 1 where none are.

    Stronger than the certificate where stocks are few or dear to open: stocks are whole here, patterns are not asked
    for. Prices are whole numbers, `most` as for `certificate`; 0 where the table of costs would be too long.
    """
    unit = math.gcd(*cut.costs) or 1
    top = highest // unit + 1
    if top * len(cut.costs) > _SUMS or not any(cut.costs):
        return 0
    best = np.zeros(top + 1)
    for cost, count, value in zip(cut.costs, cut.counts, most, strict=True):
        step, left, lot = cost // unit, count, 1
        if step == 0:
            best += max(math.ceil(value), 0) * count
            continue
        left = min(left, top // step)
        while left > 0:
            lot = min(lot, left)
            by = lot * step
            best[by:] = np.maximum(best[by:], best[:-by] + lot * max(math.ceil(value), 0))
            left -= lot
            lot *= 2
    enough = np.flatnonzero(best >= worth)
    return int(enough[0]) * unit if len(enough) else highest + 1


class Sums:
    """Costs that a choice of stocks can add up to."""

    def __init__(self, cut: Cut, highest: int) -> None:
        self.unit = math.gcd(*cut.costs) or 1
        self.reachable: int | None = None
        top = highest // self.unit + 1
        if top > _SUMS or len(cut.costs) > 60:
            return
        bits, window = 1, (1 << (top + 1)) - 1
        for cost, count in zip(cut.costs, cut.counts, strict=True):
            step, left, lot = cost // self.unit, min(count, top), 1
            while left > 0 and step:
                lot = min(lot, left)
                bits |= (bits << (step * lot)) & window
                left -= lot
                lot *= 2
        self.reachable, self.top = bits, top

    def up(self, cost: int) -> int:
        """The least sum of stock costs not below a cost (a step of the common divisor where sums are not listed)."""
        step = max(0, -(-cost // self.unit))
        if self.reachable is not None and step <= self.top:
            rest = self.reachable >> step
            if rest:
                step += (rest & -rest).bit_length() - 1
        return step * self.unit

    def below(self, cost: int) -> int:
        """The greatest sum of stock costs below a cost; -1 when there is none."""
        step = -(-cost // self.unit) - 1
        if self.reachable is not None and 0 <= step <= self.top:
            rest = self.reachable & ((1 << (step + 1)) - 1)
            step = rest.bit_length() - 1
        return step * self.unit if step >= 0 else -1
