"""The model of what to buy: patterns of reels, pieces, and for each combination in play its paths and its cascade.

Per combination and group a chain of rows hands rope down from level to level, as in `cascade`:

    spare[level + 1] + ropes there + pieces of that level - runs that need level = spare[level] >= 0

which by Hall's condition holds exactly when the ropes can serve the runs. Pieces come from patterns or from the shop.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from tethera.planning import highs
from tethera.planning.buy_patterns import Cutter
from tethera.planning.buy_problem import FleetProblem, Hung, Pattern, pattern_net_pence
from tethera.planning.highs import Floats, Rows

#: Price of a piece that nobody sells, so that the program always has an answer; above any bill a club could have.
_NOT_FOR_SALE = 10_000_000
_ROUNDS = 400


@dataclass(frozen=True)
class Bill:
    """What is made least: pence of patterns and pieces (net of off-cuts, or nothing), and pence a dropped route counts.

    `ceiling_pence` caps the price paid, `dropped` how many routes may be left out (None: none may).
    """

    money: bool = True
    drop_pence: int | None = None
    ceiling_pence: int | None = None
    most_dropped: int | None = None


class _Rows:
    def __init__(self) -> None:
        self.right: list[float] = []
        self.rows: list[int] = []
        self.columns: list[int] = []
        self.values: list[float] = []

    def add(self, right: float) -> int:
        self.right.append(right)
        return len(self.right) - 1

    def put(self, row: int, column: int, value: float) -> None:
        self.rows.append(row)
        self.columns.append(column)
        self.values.append(value)

    def done(self, columns: int) -> Rows:
        entries = (np.array(self.values, float), (self.rows, self.columns))
        matrix = sparse.csr_array(entries, shape=(len(self.right), columns))
        return matrix, np.array(self.right, float)


@dataclass(frozen=True)
class Priced:
    """The linear program solved over all patterns: its value, reduced costs, prices of pieces and charges on reels."""

    value: float
    reduced: Floats
    prices: Floats
    charges: Floats


class FleetModel:
    """The model of some combinations of a problem; patterns are added as they are found to be worth having.

    `reels_opened` fixes how many of each reel are opened (None: free).
    """

    def __init__(self, problem: FleetProblem, active: Sequence[int], bill: Bill, seconds: Callable[[], float]) -> None:
        self.problem, self.active, self.bill, self.seconds = problem, list(active), bill, seconds
        self.cutter = Cutter(problem)
        self.reels_opened: tuple[int, ...] | None = None
        self.patterns: list[Pattern] = []
        self.known: set[Pattern] = set()
        pieces = len(problem.pieces)
        self.shop0, self.columns = pieces, 2 * pieces
        self.equal, self.limit = _Rows(), _Rows()
        self.piece_rows = [self.limit.add(0.0) for _ in range(pieces)]
        for piece in range(pieces):
            self.limit.put(self.piece_rows[piece], piece, 1.0)
            self.limit.put(self.piece_rows[piece], self.shop0 + piece, -1.0)
        self._chains: list[tuple[int, list[tuple[int, int, int]]]] = []
        #: Columns that say which is the longest level used, where ropes are to be spared.
        self.longest_used: list[int] = []
        self.drops: dict[int, int] = {}
        if bill.drop_pence is not None:
            routes = sorted({route for c in self.active for route in problem.combinations[c]})
            self.drops = {route: self.columns + n for n, route in enumerate(routes)}
            self.columns += len(routes)
        #: Column of each run hung: (combination, copy of a line) with its choice.
        self.runs: list[tuple[int, int, int, int]] = []
        self.first_run = self.columns
        self.most_pieces = sum(problem.lines[line].places for c in self.active for line in self._lines(c)) + 1
        for number in self.active:
            self._combination(number)
        self.spares_from = self.columns
        for block in self._chains:
            self._chain(*block)
        self._caps()
        self.static = self.columns
        self._fixed = (self.equal.done(self.static), self.limit.done(self.static))
        for pattern in self._first_patterns():
            self.add(pattern)

    def _lines(self, combination: int) -> list[int]:
        return [line for route in self.problem.combinations[combination] for line in self.problem.lines_of[route]]

    def _combination(self, number: int) -> None:
        """Path rows and run columns of one combination."""
        used: list[tuple[int, int, int]] = []
        for copy, line in enumerate(self._lines(number)):
            places, route = self.problem.lines[line].places, self.problem.lines[line].route
            rows = [self.equal.add({0: 1.0, places - 1: -1.0}.get(place, 0.0)) for place in range(places)]
            if route in self.drops:
                self.equal.put(rows[0], self.drops[route], 1.0)
                self.equal.put(rows[-1], self.drops[route], -1.0)
            for choice, (run, group, level) in enumerate(self.problem.choices[line]):
                self.equal.put(rows[run.begin], self.columns, 1.0)
                self.equal.put(rows[run.end], self.columns, -1.0)
                used.append((self.columns, group, level))
                self.runs.append((number, copy, line, choice))
                self.columns += 1
        self._chains.append((number, used))

    def _chain(self, number: int, used: list[tuple[int, int, int]]) -> None:
        """Spare columns and cascade rows of one combination, in every group it may use."""
        problem = self.problem
        for group, levels in enumerate(problem.levels):
            mine = [(column, level) for column, g, level in used if g == group]
            if not mine:
                continue
            there = [0] * len(levels)
            for length, g in problem.stock:
                if g == group:
                    there[problem.level(group, length)] += 1
            rows = [self.equal.add(-float(count)) for count in there]
            for level, row in enumerate(rows):
                self.equal.put(row, self.columns + level, -1.0)
                if level + 1 < len(rows):
                    self.equal.put(row, self.columns + level + 1, 1.0)
            self.columns += len(rows)
            for column, level in mine:
                self.equal.put(rows[level], column, -1.0)
            if group == 0:
                for piece, each in enumerate(problem.pieces):
                    self.equal.put(rows[problem.level(0, each.left_cm)], piece, 1.0)
            if problem.spare:
                self._keep_spare(rows, mine)

    def _keep_spare(self, rows: list[int], mine: list[tuple[int, int]]) -> None:
        """So many ropes more at the longest level that is used: whichever ropes are away, the others move up."""
        first = self.columns
        self.longest_used += range(first, first + len(rows))
        for level, row in enumerate(rows):
            self.equal.put(row, first + level, -float(self.problem.spare))
        one = self.limit.add(1.0)
        for level in range(len(rows)):
            self.limit.put(one, first + level, 1.0)
        for column, level in mine:
            reaches = self.limit.add(0.0)
            self.limit.put(reaches, column, 1.0)
            for at in range(level, len(rows)):
                self.limit.put(reaches, first + at, -1.0)
        self.columns += len(rows)

    def _caps(self) -> None:
        """Rows that patterns enter: reels there are, the ceiling on the price, routes that may be dropped."""
        self.reel_rows = [self.limit.add(float("inf")) for _ in self.problem.reels]
        self.ceiling_row: int | None = None
        if self.bill.ceiling_pence is not None:
            self.ceiling_row = self.limit.add(float(self.bill.ceiling_pence))
            for piece in range(len(self.problem.pieces)):
                self.limit.put(self.ceiling_row, self.shop0 + piece, float(self._shop_pence(piece)))
        if self.bill.most_dropped is not None:
            row = self.limit.add(float(self.bill.most_dropped))
            for column in self.drops.values():
                self.limit.put(row, column, 1.0)

    def _shop_pence(self, piece: int) -> int:
        price = self.problem.shop_pence(self.problem.pieces[piece].cut_cm)
        return _NOT_FOR_SALE if price is None else price

    def _first_patterns(self) -> list[Pattern]:
        """Each reel full of one length: enough that every piece can be cut."""
        return [
            Pattern(reel, ((piece, room // int(self.cutter.steps[piece])),))
            for reel, room in enumerate(self.cutter.rooms)
            for piece in range(len(self.problem.pieces))
            if self.cutter.steps[piece] <= room
        ]

    def add(self, pattern: Pattern) -> bool:
        """Put a pattern in play; False when it was already."""
        if pattern in self.known:
            return False
        self.known.add(pattern)
        self.patterns.append(pattern)
        return True

    def cost(self) -> Floats:
        """What is made least, over all columns."""
        cost = np.zeros(self.static + len(self.patterns))
        pieces = len(self.problem.pieces)
        for piece in range(pieces):
            price = self._shop_pence(piece)
            cost[self.shop0 + piece] = price if self.bill.money or self.problem.pence_per_m is None else 0.0
        for column in self.drops.values():
            cost[column] = float(self.bill.drop_pence or 0)
        if self.bill.money:
            cost[self.static :] = [pattern_net_pence(self.problem, pattern) for pattern in self.patterns]
        return cost

    def rows(self) -> tuple[Rows, Rows]:
        """Equality and limit rows with the patterns there are."""
        (equal, equal_right), (limit, limit_right) = self._fixed
        rows, cols, values = [], [], []
        for number, pattern in enumerate(self.patterns):
            for piece, copies in pattern.copies:
                rows.append(self.piece_rows[piece])
                cols.append(number)
                values.append(-float(copies))
            rows.append(self.reel_rows[pattern.reel])
            cols.append(number)
            values.append(1.0)
            if self.ceiling_row is not None:
                rows.append(self.ceiling_row)
                cols.append(number)
                values.append(float(self.problem.reels[pattern.reel].price_pence))
        many = len(self.patterns)
        of_patterns = sparse.csr_array((values, (rows, cols)), shape=(limit.shape[0], many))
        limit_right = limit_right.copy()
        for reel, row in enumerate(self.reel_rows):
            count = self.problem.reels[reel].count
            fixed = None if self.reels_opened is None else self.reels_opened[reel]
            limit_right[row] = fixed if fixed is not None else float(self.most_pieces if count is None else count)
        equal = sparse.hstack([equal, sparse.csr_array((equal.shape[0], many))], format="csr")
        limit = sparse.hstack([limit, of_patterns], format="csr")
        if self.reels_opened is not None:
            # Exactly so many are opened: at most by the row above, at least by its negative.
            least = sparse.csr_array(
                (
                    -np.ones(many),
                    ([pattern.reel for pattern in self.patterns], [self.static + n for n in range(many)]),
                ),
                shape=(len(self.problem.reels), self.static + many),
            )
            limit = sparse.vstack([limit, least], format="csr")
            limit_right = np.concatenate([limit_right, -np.array(self.reels_opened, float)])
        return (equal, equal_right), (limit, limit_right)

    def priced(self, stop_above: float = float("inf")) -> Priced:
        """Solve over all patterns by making those worth having; NoAnswer when time is up first."""
        for _ in range(_ROUNDS):
            equal, limit = self.rows()
            cost = self.cost()
            relaxed = highs.relax(cost, equal, limit, seconds=self.seconds())
            prices = -relaxed.limit_prices[self.piece_rows]
            charges = -relaxed.limit_prices[self.reel_rows]
            if self.reels_opened is not None:
                charges = charges + relaxed.limit_prices[-len(self.reel_rows) :]
            if self.ceiling_row is not None:
                dear = -relaxed.limit_prices[self.ceiling_row]
                charges = charges + dear * np.array([reel.price_pence for reel in self.problem.reels], float)
            wanted = prices.clip(0.0)
            found, least = self._worth_adding(wanted, charges)
            if not [pattern for pattern in found if self.add(pattern)]:
                return Priced(relaxed.value, relaxed.reduced, wanted, charges)
            if relaxed.value + least * self.most_pieces > stop_above:
                break
            if self.seconds() <= 0:
                raise highs.NoAnswer(impossible=False)
        raise highs.NoAnswer(impossible=False)

    def _worth_adding(self, prices: Floats, charges: Floats) -> tuple[list[Pattern], float]:
        if self.bill.money:
            return self.cutter.priced(prices, charges)
        # Money is no object but for the ceiling: a reel costs only what the ceiling charges for it.
        plain = [np.zeros(room + 1) for room in self.cutter.rooms]
        kept, self.cutter.costs = self.cutter.costs, plain
        try:
            return self.cutter.priced(prices, charges)
        finally:
            self.cutter.costs = kept

    @property
    def whole(self) -> NDArray[np.bool_]:
        """Columns that must be whole numbers: what is bought, dropped and hung; the rest then is by itself."""
        whole = np.zeros(self.static + len(self.patterns), dtype=bool)
        whole[self.shop0 : self.spares_from] = True
        whole[self.longest_used] = True
        whole[self.static :] = True
        return whole

    def most(self) -> Floats:
        """Most of each column, all of them finite."""
        many = float(self.most_pieces * 4 + len(self.problem.stock) + sum(self.problem.rooms_cm) // 100)
        most = np.full(self.static + len(self.patterns), many)
        most[self.first_run : self.spares_from] = 1.0
        most[list(self.drops.values())] = 1.0
        most[self.longest_used] = 1.0
        most[self.shop0 : self.shop0 + len(self.problem.pieces)] = (
            float(self.most_pieces) if self.problem.pence_per_m is not None else 0.0
        )
        most[self.static :] = float(self.most_pieces)
        return most

    def hung(self, columns: NDArray[np.int64]) -> dict[int, list[Hung]]:
        """How each combination in play hangs."""
        found: dict[int, list[Hung]] = {number: [] for number in self.active}
        for offset, (number, _copy, line, choice) in enumerate(self.runs):
            if columns[self.first_run + offset]:
                run, group, _level = self.problem.choices[line][choice]
                found[number].append(Hung(line, run, group))
        return found

    def dropped(self, columns: NDArray[np.int64]) -> list[int]:
        """Routes left out."""
        return [route for route, column in self.drops.items() if columns[column]]

    def bought(self, columns: NDArray[np.int64]) -> tuple[list[tuple[Pattern, int]], list[tuple[int, int]]]:
        """Patterns and pieces of the shop with how many of each."""
        patterns = [
            (pattern, int(times)) for pattern, times in zip(self.patterns, columns[self.static :], strict=True) if times
        ]
        shop = columns[self.shop0 : self.shop0 + len(self.problem.pieces)]
        return patterns, [(piece, int(times)) for piece, times in enumerate(shop) if times]
