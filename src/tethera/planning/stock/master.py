"""The linear program of the patterns: a primal and dual simplex that takes new columns without starting again.

Each pattern is a sparse column over the rows "pieces cut >= needed" and "stocks opened <= stocks there". The inverse
of the basis is kept whole, so that prices are at hand at once. Floating point throughout: what it says is a proposal,
and `certificate` makes a bound of it in whole numbers.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import qr
from scipy.linalg.blas import dger

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_TOLERANCE = 1e-9
#: An inverse with larger numbers is that of columns which hang on each other.
_NEARLY = 1e10
#: Smaller numbers of a column are not pivoted on.
_SMALLEST = 1e-7
_REFRESH = 200
#: Far above the tolerance of the ratios, far below a piece.
_NUDGE = 2e-5
#: Columns looked at again and again before all are.
_SOME = 40


class Master:
    """Columns, a basis of them and its inverse; `needs` are the right-hand sides, the first `covers` rows are >=
    rows.
    """

    def __init__(self, needs: Floats, covers: int, dear: Floats, seed: int) -> None:
        rows = len(needs)
        self.rows, self.covers = rows, covers
        self.width = 4
        self.size = 0
        self.place = np.full((1024, self.width), rows, dtype=np.int64)
        self.times = np.zeros((1024, self.width))
        self.cost = np.zeros(1024)
        self.scale = np.ones(1024)
        self.steep = np.zeros(0)
        random = np.random.default_rng(seed)
        # Slightly different needs keep the pivots from standing still; they only ever ask for more.
        self.nudge = random.uniform(0.2, 1.0, rows) * _NUDGE
        self.needs = needs.copy()
        for row in range(rows):
            self.add([row], [-1.0 if row < covers else 1.0], 0.0)
        for row in range(covers):
            self.add([row], [1.0], float(dear[row]))
        self.basis = np.array([rows + row if row < covers else row for row in range(rows)])
        self.refresh()

    def add(self, place: list[int], times: list[float], cost: float) -> int:
        """Put in a column; its number."""
        if len(place) > self.width:
            wider = len(place) + 4
            grown = np.full((len(self.cost), wider), self.rows, dtype=np.int64)
            grown[:, : self.width] = self.place
            values = np.zeros((len(self.cost), wider))
            values[:, : self.width] = self.times
            self.place, self.times, self.width = grown, values, wider
        if self.size == len(self.cost):
            self.place = np.vstack([self.place, np.full_like(self.place, self.rows)])
            self.times = np.vstack([self.times, np.zeros_like(self.times)])
            self.cost = np.concatenate([self.cost, np.zeros_like(self.cost)])
            self.scale = np.concatenate([self.scale, np.ones_like(self.scale)])
        at = self.size
        self.place[at, : len(place)] = place
        self.times[at, : len(place)] = times
        self.cost[at] = cost
        self.scale[at] = 1.0 / np.sqrt(1.0 + sum(value * value for value in times))
        self.size += 1
        return at

    def column(self, at: int) -> Floats:
        """The column as the basis sees it."""
        used = self.place[at] < self.rows
        return np.asarray(self.inverse[:, self.place[at][used]] @ self.times[at][used])

    def refresh(self) -> None:
        """Work the inverse, the values and the prices out anew."""
        inverse = self._inverted()
        if inverse is None:
            self._mend()
            inverse = self._inverted()
            if inverse is None:
                raise ArithmeticError("the basis of the linear program could not be mended")
        self.inverse = inverse
        self.settle()
        self.since = 0

    def _matrix(self) -> Floats:
        matrix = np.zeros((self.rows + 1, self.rows))
        for position, at in enumerate(self.basis):
            matrix[self.place[at], position] = self.times[at]
        return matrix[: self.rows]

    def _inverted(self) -> Floats | None:
        """The inverse of the basis; None where its columns say the same twice, or nearly so."""
        try:
            inverse = np.linalg.inv(self._matrix())
        except np.linalg.LinAlgError:
            return None
        return np.ascontiguousarray(inverse) if np.abs(inverse).max() < _NEARLY else None

    def _mend(self) -> None:
        """Put columns of single rows in the place of those that say nothing of their own.

        Pivots on small numbers can bring columns in that hang on each other. What is then too dear is pivoted out
        again.
        """
        matrix = self._matrix()
        _, upper, order = qr(matrix, pivoting=True, mode="economic")
        kept = int((np.abs(np.diag(upper)) > 1e-9 * max(1.0, abs(upper[0, 0]))).sum())
        _, _, rows = qr(matrix[:, order[:kept]].T, pivoting=True, mode="economic")
        for position, row in zip(order[kept:], rows[kept:], strict=True):
            self.basis[position] = self.rows + row if row < self.covers else row

    def settle(self) -> None:
        """Values and prices from the inverse."""
        self.values = self.inverse @ (self.needs + self.nudge)
        self.prices = self.cost[self.basis] @ self.inverse

    def reduced(self) -> Floats:
        """Reduced cost of every column."""
        prices = np.append(self.prices, 0.0)
        return np.asarray(
            self.cost[: self.size] - np.einsum("ij,ij->i", prices[self.place[: self.size]], self.times[: self.size])
        )

    def pivot(self, enter: int, leave: int, column: Floats, reduced: float) -> None:
        """Bring a column in for the one at row `leave` of the basis."""
        row = self.inverse[leave] / column[leave]
        self.prices = self.prices + reduced * row
        others = column.copy()
        others[leave] = 0.0
        # One pass over the inverse, in place: its transpose lies in memory as the routine wants it.
        dger(-1.0, row, others, a=self.inverse.T, overwrite_a=1)
        self.inverse[leave] = row
        step = self.values[leave] / column[leave]
        self.values -= step * others
        self.values[leave] = step
        self.basis[leave] = enter
        self.since += 1
        if self.since >= _REFRESH:
            self.refresh()

    def primal(self, most: int = 100_000) -> bool:
        """Pivot until no column is worth taking; False when `most` pivots were not enough."""
        some = np.zeros(0, dtype=np.int64)
        for _ in range(most):
            enter, reduced = self._entering(some)
            if enter < 0:
                worth = self.reduced() * self.scale[: self.size]
                some = np.argpartition(worth, min(_SOME, self.size - 1))[:_SOME]
                some = some[worth[some] < 0]
                self.steep = self._steepness(some)
                enter, reduced = self._entering(some)
                if enter < 0:
                    return True
            column = self.column(enter)
            up = np.flatnonzero(column > _SMALLEST)
            if not len(up):
                self.refresh()
                return True
            ratios = np.maximum(self.values[up], 0.0) / column[up]
            close = up[ratios <= ratios.min() + 1e-9]
            leave = int(close[np.argmax(column[close])])
            self.pivot(enter, leave, column, reduced)
        return False

    def _steepness(self, some: Ints) -> Floats:
        """One over how far each column moves the basis: what its reduced cost is weighed with."""
        flat = np.zeros((len(some), self.rows + 1))
        np.put_along_axis(flat, self.place[some], self.times[some], axis=1)
        moved = flat[:, : self.rows] @ self.inverse.T
        return np.asarray(1.0 / np.sqrt(1.0 + np.einsum("ij,ij->i", moved, moved)))

    def _entering(self, some: Ints) -> tuple[int, float]:
        """The best of some columns, with its reduced cost; -1 when none is worth taking."""
        if not len(some):
            return -1, 0.0
        prices = np.append(self.prices, 0.0)
        reduced = self.cost[some] - (prices[self.place[some]] * self.times[some]).sum(axis=1)
        at = int(np.argmin(reduced * self.steep))
        if reduced[at] > -_TOLERANCE * max(1.0, abs(self.cost[some[at]])):
            return -1, 0.0
        return int(some[at]), float(reduced[at])

    def dual(self, most: int = 20_000) -> bool:
        """Pivot until no value is negative, keeping reduced costs right; False when it cannot be done."""
        reduced = np.maximum(self.reduced(), 0.0)
        for _ in range(most):
            short = np.flatnonzero(self.values < -1e-9)
            if not len(short):
                return True
            # The row furthest out for its length: far fewer pivots than the most negative one.
            rows = self.inverse[short]
            leave = int(short[np.argmax(self.values[short] ** 2 / np.einsum("ij,ij->i", rows, rows))])
            row = np.append(self.inverse[leave], 0.0)
            slope = (row[self.place[: self.size]] * self.times[: self.size]).sum(axis=1)
            slope[self.basis] = 0.0
            down = np.flatnonzero(slope < -1e-9)
            if not len(down):
                return False
            ratios = reduced[down] / -slope[down]
            close = down[ratios <= ratios.min() + 1e-10]
            enter = int(close[np.argmin(slope[close])])
            column = self.column(enter)
            if abs(column[leave]) < 1e-11:
                self.refresh()
                reduced = np.maximum(self.reduced(), 0.0)
                continue
            # The column that leaves has slope 1: it takes the step itself as its reduced cost.
            out, step = int(self.basis[leave]), float(reduced[enter] / -slope[enter])
            used = self.place[enter] < self.rows
            price = float(self.cost[enter] - self.prices[self.place[enter][used]] @ self.times[enter][used])
            reduced = np.maximum(reduced + step * slope, 0.0)
            reduced[out], reduced[enter] = step, 0.0
            self.pivot(enter, leave, column, price)
            if not self.since:
                reduced = np.maximum(self.reduced(), 0.0)
        return False

    def drop(self, keep: NDArray[np.bool_]) -> Ints:
        """Leave columns out that are not in the basis; where each of the old ones is now (-1: out)."""
        keep = keep.copy()
        keep[: self.rows + self.covers] = True
        keep[self.basis] = True
        now = np.where(keep, np.cumsum(keep) - 1, -1)
        stay = np.flatnonzero(keep)
        self.place, self.times = self.place[stay].copy(), self.times[stay].copy()
        self.cost, self.scale, self.size = self.cost[stay].copy(), self.scale[stay].copy(), len(stay)
        self.basis = now[self.basis]
        return now

    def value(self) -> float:
        """Cost of the values."""
        return float(self.cost[self.basis] @ (self.inverse @ self.needs))

    def exact(self) -> Floats:
        """The values of the basis for the needs as they are."""
        return np.asarray(self.inverse @ self.needs)

    def state(self) -> tuple[Ints, Floats, Floats]:
        """What `back` needs to come back to this basis."""
        return self.basis.copy(), self.inverse.copy(), self.needs.copy()

    def back(self, state: tuple[Ints, Floats, Floats]) -> None:
        """Return to a basis."""
        self.basis, self.inverse, self.needs = state[0].copy(), state[1].copy(), state[2].copy()
        self.since = _REFRESH // 2
        self.settle()
