"""Whether given ropes rig every combination: by a way already known for each route where that does, else exactly."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from tethera.planning import highs
from tethera.planning.buy_model import Bill, FleetModel
from tethera.planning.buy_problem import FleetProblem, Hung
from tethera.planning.highs import Floats, NoAnswer

Ints = NDArray[np.int64]
#: Combinations judged at once.
_CHUNK = 4096


class Undecided(Exception):
    """Time was up before every combination was judged."""


class Combinations:
    """Judges the combinations of a problem; keeps, for each route, ways worth trying first.

    Along the levels of all groups, `demand` counts the ropes of at least that level that a way uses.
    """

    def __init__(self, problem: FleetProblem) -> None:
        self.problem = problem
        self.starts = np.cumsum([0, *(len(levels) for levels in problem.levels)])
        self.levels = int(self.starts[-1])
        most = max((len(combination) for combination in problem.combinations), default=0)
        # A combination with fewer routes than others is filled up with a route that needs nothing.
        self.table = np.full((len(problem.combinations), most), len(problem.routes), dtype=np.int64)
        for row, combination in enumerate(problem.combinations):
            self.table[row, : len(combination)] = combination
        self.ways: list[list[list[Hung]]] = []
        self.demands: list[Ints] = []
        lengths = np.array([length for levels in problem.levels for length in levels], float)
        for prices in (lengths, lengths**2, np.ones(self.levels)):
            self.learn(prices)

    def learn(self, prices: Floats) -> None:
        """Add for every route its cheapest way when a rope of each level costs so much."""
        ways = [[hung for line in lines for hung in self._cheapest(line, prices)] for lines in self.problem.lines_of]
        demand = np.zeros((len(self.problem.routes) + 1, self.levels), dtype=np.int64)
        for route, way in enumerate(ways):
            demand[route] = self.demand(way)
        if not any(np.array_equal(demand, known) for known in self.demands):
            self.ways.insert(0, ways)
            self.demands.insert(0, demand)
            del self.ways[8:], self.demands[8:]

    def _cheapest(self, line: int, prices: Floats) -> list[Hung]:
        """Shortest path of a line; nothing where there is none (such routes are left out beforehand)."""
        places = self.problem.lines[line].places
        best: list[tuple[float, int, Hung | None]] = [(np.inf, -1, None)] * places
        best[0] = (0.0, -1, None)
        for run, group, level in sorted(self.problem.choices[line], key=lambda choice: choice[0].begin):
            cost = best[run.begin][0] + float(prices[self.starts[group] + level]) + 1e-6 * run.need_cm
            if cost < best[run.end][0]:
                best[run.end] = (cost, run.begin, Hung(line, run, group))
        way, place = [], places - 1
        while place > 0 and (hung := best[place][2]) is not None:
            way.append(hung)
            place = best[place][1]
        return way[::-1]

    def demand(self, way: Sequence[Hung]) -> Ints:
        """Of each level of each group, ropes of at least that level that the way uses."""
        counts = np.zeros(self.levels, dtype=np.int64)
        for hung in way:
            start, level = self.starts[hung.group], self.problem.level(hung.group, hung.run.need_cm)
            counts[start : start + level + 1] += 1
        return counts

    def there(self, counts: Sequence[int]) -> Ints:
        """Ropes of at least each level, when there are so many of each piece."""
        ropes = np.zeros(self.levels, dtype=np.int64)
        for length, group in self.problem.stock:
            start = self.starts[group]
            ropes[start : start + self.problem.level(group, length) + 1] += 1
        for piece, count in zip(self.problem.pieces, counts, strict=True):
            ropes[: self.problem.level(0, piece.left_cm) + 1] += count
        return ropes

    def judged(
        self, counts: Sequence[int], seconds: Callable[[], float], *, most: int = 3
    ) -> tuple[list[int], dict[int, list[Hung]]]:
        """Combinations that these pieces cannot rig, the worst first and at most so many; and how each other hangs.

        Undecided when time is up before the last is judged.
        """
        ropes = self.there(counts)
        way_of = np.full(len(self.table), -1, dtype=np.int64)
        worst = np.zeros(len(self.table), dtype=np.int64)
        for number, demand in enumerate(self.demands):
            for start in range(0, len(self.table), _CHUNK):
                rows = start + np.flatnonzero(way_of[start : start + _CHUNK] < 0)
                total = demand[self.table[rows]].sum(axis=1)
                lack = (total + self.problem.spare * (total > 0) - ropes).clip(0).sum(axis=1)
                way_of[rows[lack == 0]] = number
                worst[rows] = lack if number == 0 else np.minimum(worst[rows], lack)
        hung = {
            int(row): [each for route in self.problem.combinations[row] for each in self.ways[way_of[row]][route]]
            for row in np.flatnonzero(way_of >= 0)
        }
        failed: list[int] = []
        open_rows = np.flatnonzero(way_of < 0)
        fixed = self._fixed(counts) if len(open_rows) else None
        for row in open_rows[np.argsort(-worst[open_rows], kind="stable")].tolist():
            if fixed is None or seconds() <= 0:
                raise Undecided
            way = self._exactly(fixed, row, seconds)
            if way is None:
                failed.append(row)
                if len(failed) >= most:
                    break
            else:
                hung[row] = way
        return failed, hung

    def _fixed(self, counts: Sequence[int]) -> FleetProblem:
        """The same with the pieces there already and nothing to buy."""
        bought = [
            (piece.left_cm, 0) for piece, count in zip(self.problem.pieces, counts, strict=True) for _ in range(count)
        ]
        stock = (*self.problem.stock, *bought)
        return replace(self.problem, stock=stock, pieces=(), reels=(), rooms_cm=(), pence_per_m=None)

    def _exactly(self, fixed: FleetProblem, combination: int, seconds: Callable[[], float]) -> list[Hung] | None:
        model = FleetModel(fixed, [combination], Bill(), seconds)
        if any(not fixed.choices[line] for route in fixed.combinations[combination] for line in fixed.lines_of[route]):
            return None
        equal, limit = model.rows()
        keep = np.arange(model.static)
        try:
            columns, _, _ = highs.integers(
                model.cost(), equal, limit, keep, model.whole, model.most(), seconds=max(seconds(), 0.1)
            )
        except NoAnswer as none:
            if none.impossible:
                return None
            raise Undecided from None
        return model.hung(columns)[combination]


def envelope_cm(problem: FleetProblem, hung: Sequence[Sequence[Hung]]) -> tuple[tuple[int, ...], ...]:
    """Of each group, what the longest, the second longest … rope must have so that every combination hangs as planned.

    Ropes, longest first, serve a combination exactly when the i-th is no shorter than its i-th longest need; so all
    combinations go exactly when the i-th rope is no shorter than the greatest i-th need of any.
    """
    found = []
    for group in range(len(problem.accepts)):
        needs: list[int] = []
        for each in hung:
            mine = sorted((h.run.need_cm for h in each if h.group == group), reverse=True)
            mine = [mine[0]] * problem.spare + mine if mine else []
            needs += [0] * (len(mine) - len(needs))
            needs = [max(need, mine[i]) if i < len(mine) else need for i, need in enumerate(needs)]
        found.append(tuple(needs))
    return tuple(found)
