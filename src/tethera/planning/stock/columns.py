"""Column generation: the linear program over all patterns, of which only those worth having are ever made."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tethera.planning.stock.certificate import Certificate, certificate, least_cost, shares_of, whole
from tethera.planning.stock.master import Master
from tethera.planning.stock.pricing import Found, Pricer
from tethera.planning.stock.problem import Cut

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
#: Share of the best prices so far in the prices that are tried next.
_STILL = 0.7
#: Pivots between two looks at the time left.
_PIVOTS = 1000
#: Corners of the optimal prices that are averaged at most, and the share of the time left that this may take.
_CORNERS, _SPREAD_SHARE = 8, 0.1


class Columns:
    """A cutting problem's patterns, their linear program, and the best certificate so far."""

    def __init__(self, cut: Cut, seconds: Callable[[], float], seed: int = 0) -> None:
        self.cut, self.seconds = cut, seconds
        self.lengths = np.array(cut.lengths, dtype=np.int64)
        self.demands = np.array(cut.demands, dtype=np.int64)
        self.stocks = np.array(cut.stocks, dtype=np.int64)
        self.costs = np.array(cut.costs, dtype=float)
        self.limits = [k for k, limited in enumerate(cut.limited) if limited]
        self.items = len(cut.lengths)
        self.row_of = {k: self.items + row for row, k in enumerate(self.limits)}
        needs = np.concatenate([self.demands.astype(float), [float(cut.counts[k]) for k in self.limits]])
        dearest = max(*cut.costs, 1)
        self.master = Master(needs, self.items, np.full(self.items, 20.0 * dearest), seed)
        self.dear = 20.0 * dearest
        self.shares = shares_of(cut)
        self.pattern_of: dict[int, tuple[int, Ints]] = {}
        self.known: dict[bytes, int] = {}
        self.proof: Certificate | None = None
        self.value = float("inf")
        self.rounds = 0
        self.exchanges = self._start()

    def _start(self) -> range:
        """One piece from a stock of which there is enough, as often as it goes in; and, for the time being, exchanges.

        An exchange uses a piece as the next shorter one. It keeps the prices in order of length, which they are in
        the end.
        """
        for item, length in enumerate(self.lengths.tolist()):
            fits = [k for k, stock in enumerate(self.cut.stocks) if stock >= length and not self.cut.limited[k]]
            for stock in sorted(fits, key=lambda k: self.cut.costs[k])[:1]:
                copies = np.zeros(self.items, dtype=np.int64)
                copies[item] = min(self.cut.demands[item], self.cut.stocks[stock] // length)
                self.add(stock, copies)
        first = self.master.size
        for item in range(self.items - 1):
            self.master.add([item, item + 1], [-1.0, 1.0], 0.0)
        return range(first, self.master.size)

    def _no_exchange(self) -> bool:
        """Take the exchanges out; False when they were out."""
        there = slice(self.exchanges.start, self.exchanges.stop)
        if not len(self.exchanges) or self.master.cost[self.exchanges.start] > 0:
            return False
        self.master.cost[there] = self.dear
        self.master.settle()
        return True

    @property
    def bound(self) -> int:
        """Best proven bound."""
        return max(self.proof.bound(), 0) if self.proof else 0

    def add(self, stock: int, copies: Ints) -> int:
        """Put a pattern in the pool; its column."""
        key = bytes([stock]) + copies.astype(np.int32).tobytes()
        at = self.known.get(key)
        if at is None:
            used = np.flatnonzero(copies)
            place, times = used.tolist(), copies[used].astype(float).tolist()
            if stock in self.row_of:
                place.append(self.row_of[stock])
                times.append(1.0)
            at = self.master.add(place, times, float(self.costs[stock]))
            self.known[key] = at
            self.pattern_of[at] = (stock, copies)
        return at

    def _floors(self, prices: Floats) -> tuple[Floats, Floats]:
        """Whole prices, and what a pattern of each stock must be worth to be a better column."""
        charges = np.zeros(len(self.stocks))
        for k, row in self.row_of.items():
            charges[k] = max(0.0, -prices[row])
        return whole(prices[: self.items], self.shares), np.floor((self.costs + charges) * self.shares)

    def _try(self, pricer: Pricer, prices: Floats, current: Floats, *, prove: bool) -> tuple[int, Certificate | None]:
        """Price once; columns added that are worth having at the current prices, and the certificate."""
        values, floors = self._floors(prices)
        found: Found = pricer.best(values, floors)
        proof = certificate(self.cut, values, found.most.tolist(), self.shares) if prove else None
        added = 0
        charges = {k: max(0.0, -current[row]) for k, row in self.row_of.items()}
        for stock, copies in zip(found.stocks.tolist(), found.copies, strict=True):
            worth = float(current[: self.items] @ copies) - self.costs[stock] - charges.get(stock, 0.0)
            if worth > 1e-8 * max(1.0, self.costs[stock]):
                before = self.master.size
                self.add(stock, copies)
                added += self.master.size > before
        return added, proof

    def solve(self, target: float = float("inf"), left: Ints | None = None) -> bool:
        """Solve over all patterns; False when time was up first.

        With `left`, patterns hold no more than what is left to cut and no certificate is made.
        Stops early when the bound shows that nothing below `target` is to be had.
        """
        most = self.demands if left is None else left
        pricer = Pricer(self.lengths, most, self.stocks)
        stay = self._by_length() if self.rounds == 0 else None
        best = -np.inf
        while self.seconds() > 0:
            while not self.master.primal(_PIVOTS):
                if self.seconds() <= 0:
                    return False
            self.value = self.master.value()
            current = self.master.prices
            self.rounds += 1
            tried = current if stay is None else _STILL * stay + (1 - _STILL) * current
            added, proof = self._try(pricer, tried, current, prove=left is None)
            if proof is not None:
                if proof.value / proof.shares > best or stay is None:
                    best, stay = proof.value / proof.shares, tried
                self._keep(proof)
                if self.bound >= target or (added and best >= self.value - 1e-9 * abs(self.value)):
                    return True
            if not added and tried is not current:
                added, proof = self._try(pricer, current, current, prove=left is None)
                if proof is not None:
                    if proof.value / proof.shares > best:
                        best, stay = proof.value / proof.shares, current
                    self._keep(proof)
            if not added:
                if self._no_exchange():
                    continue
                if left is None and self._short() and self.dear < 1e7 * max(*self.cut.costs, 1):
                    self._dearer()
                    continue
                return True
        return False

    def _by_length(self) -> Floats:
        """Prices that go by length: where the search for prices starts."""
        rate = float((self.costs / self.stocks).min())
        return np.concatenate([self.lengths * rate, np.zeros(len(self.limits))])

    def _keep(self, proof: Certificate) -> None:
        if self.proof is None or proof.value * self.proof.shares > self.proof.value * proof.shares:
            self.proof = proof

    def drop_dear(self, ceiling: int) -> None:
        """Leave out patterns that no plan at the ceiling can hold, as the linear program prices them.

        The program's optimum stays what it is; the dives have fewer columns to look at.
        """
        reduced = self.master.reduced()
        spare = 1e-6 * max(1.0, abs(self.value))
        now = self.master.drop(reduced <= ceiling - self.value + spare)
        self.pattern_of = {int(now[at]): pattern for at, pattern in self.pattern_of.items() if now[at] >= 0}
        self.known = {key: int(now[at]) for key, at in self.known.items() if now[at] >= 0}
        self.exchanges = range(0)

    def best_proofs(self) -> tuple[Certificate, ...]:
        """The certificates worth using to tell which patterns matter: the middle of many, then the best met.

        One corner of the optimal prices leaves many patterns at no loss that no cheapest plan can hold; the mean of
        corners, reached by asking for a hair more of this or that, leaves few.
        """
        if self.proof is None:
            return ()
        master, usual, value = self.master, self.master.nudge.copy(), self.value
        until = self.seconds() * (1 - _SPREAD_SHARE)
        met = [self.proof.prices / self.proof.shares]
        for corner in range(_CORNERS):
            if self.seconds() < until:
                break
            master.nudge = usual * np.random.default_rng(corner).exponential(5.0, len(usual))
            master.settle()
            if master.dual() and self.solve():
                there = self._proof_of(whole(master.prices[: self.items], self.shares))
                if there.bound() >= self.proof.bound() and there.value / there.shares > value - 1e-6 * max(1.0, value):
                    met.append(master.prices[: self.items].copy())
        master.nudge, self.value = usual, value
        master.settle()
        master.dual()
        middle = self._proof_of(whole(np.mean(met, axis=0), self.shares))
        return (middle, self.proof) if middle.bound() >= self.proof.bound() else (self.proof, middle)

    def _proof_of(self, values: Floats) -> Certificate:
        return certificate(self.cut, values, self._most(values), self.shares)

    def _most(self, values: Floats) -> list[float]:
        """What no pattern of each stock is worth more than."""
        pricer = Pricer(self.lengths, self.demands, self.stocks)
        if pricer.unit == 1:
            return [float(worth) for worth in pricer.table(values)[0][self.stocks]]
        floors = np.floor(self.costs * self.shares)
        return [float(worth) for worth in pricer.best(values, floors, wanted=1).most]

    def whole_stocks_bound(self, highest: int) -> int:
        """What whole stocks cost at least, at prices by length and at the best prices."""
        if len(self.stocks) == 1:
            return 0
        lengths = self.lengths.astype(float)
        fills = self._most(lengths) if self.longest_exact else [float(stock) for stock in self.stocks]
        bound = least_cost(self.cut, float(lengths @ self.demands), fills, highest)
        if self.proof is not None:
            worth = sum(int(price) * need for price, need in zip(self.proof.prices, self.cut.demands, strict=True))
            bound = max(bound, least_cost(self.cut, float(worth), self._most(self.proof.prices), highest))
        return bound

    @property
    def longest_exact(self) -> bool:
        """Whether the stocks are short enough for a table in full units."""
        return Pricer(self.lengths, self.demands, self.stocks).unit == 1

    def _short(self) -> bool:
        """Whether the linear program still buys pieces at the price of last resort."""
        master = self.master
        bought = (master.basis >= master.rows) & (master.basis < master.rows + self.items)
        return bool(bought.any() and master.exact()[bought].max(initial=0.0) > 1e-6)

    def _dearer(self) -> None:
        self.dear *= 30.0
        rows = self.master.rows
        self.master.cost[rows : rows + self.items] = self.dear
        self.master.settle()

    def used(self) -> dict[int, float]:
        """Patterns the linear program uses, and how often."""
        return {
            int(at): float(value)
            for at, value in zip(self.master.basis, self.master.exact(), strict=True)
            if value > 1e-6 and int(at) in self.pattern_of
        }
