"""The exact end as a flow: a piece is an arc from where it begins on the stock to where it ends.

Paths from 0 to a stock's length are its patterns; longer pieces lie before shorter ones, so that hardly any pattern
has two paths. Prices that prove a bound tell which arcs no plan at the target can use: whatever goes through them
costs too much. What is left goes to the integer solver.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from tethera.planning.stock.certificate import Certificate
from tethera.planning.stock.problem import Cut

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
#: Arcs that are built at most, and that are given to the integer solver at most.
MOST_BUILT, _MOST_SOLVED = 600_000, 60_000


class Graph:
    """Positions on the stocks, and the pieces and losses between them."""

    def __init__(self, cut: Cut, tails: Ints, heads: Ints, items: Ints) -> None:
        self.cut, self.tails, self.heads, self.items = cut, tails, heads, items

    @property
    def size(self) -> int:
        """How many arcs it has."""
        return len(self.tails)

    @classmethod
    def of(cls, cut: Cut) -> "Graph | None":
        """The graph of a problem; None where it is too large."""
        longest = max(cut.stocks)
        reached = np.zeros(longest + 1, dtype=bool)
        reached[0] = True
        parts: list[tuple[Ints, int]] = []
        total = 0
        for item, (length, demand) in enumerate(zip(cut.lengths, cut.demands, strict=True)):
            starts = np.flatnonzero(reached)
            begun = np.zeros(longest + 1, dtype=bool)
            for _ in range(min(demand, longest // length)):
                starts = starts[starts + length <= longest]
                starts = starts[~begun[starts]]
                if not len(starts):
                    break
                begun[starts] = True
                starts = starts + length
            at = np.flatnonzero(begun)
            reached[at + length] = True
            parts.append((at, item))
            total += len(at)
            if total > MOST_BUILT:
                return None
        reached[list(cut.stocks)] = True
        nodes = np.flatnonzero(reached)
        tails = [at for at, _ in parts] + [nodes[:-1]]
        heads = [at + cut.lengths[item] for at, item in parts] + [nodes[1:]]
        items = [np.full(len(at), item) for at, item in parts] + [np.full(len(nodes) - 1, -1)]
        return cls(cut, np.concatenate(tails), np.concatenate(heads), np.concatenate(items))

    def without_dear(self, proof: Certificate, target: int) -> "Graph":
        """Only arcs that lie on a pattern which a plan at `target` or less can use."""
        cut = self.cut
        slack = proof.shares * target - proof.value
        worth = np.append(proof.prices, 0.0)[self.items]
        size = max(cut.stocks) + 1
        before, after = np.full(size, -np.inf), np.full(size, -np.inf)
        before[0] = 0.0
        by_tail = _by(self.tails)
        for start, arcs in by_tail:
            if before[start] > -np.inf:
                np.maximum.at(before, self.heads[arcs], before[start] + worth[arcs])
        for stock, cost, charge in zip(cut.stocks, cut.costs, proof.charges, strict=True):
            after[stock] = max(after[stock], -float(cost * proof.shares + charge))
        for start, arcs in reversed(by_tail):
            after[start] = max(after[start], float((worth[arcs] + after[self.heads[arcs]]).max()))
        good = before[self.tails] + worth + after[self.heads] >= -float(slack) - 1.0
        return Graph(cut, self.tails[good], self.heads[good], self.items[good])

    def solve(self, least: int, target: int, seconds: float) -> tuple[list[tuple[int, Ints, int]], float, bool] | None:
        """Patterns with times (none where there is no plan), a bound, and whether it ended; None where it is too
        large.
        """
        cut = self.cut
        arcs, kinds = len(self.tails), len(cut.stocks)
        if arcs > _MOST_SOLVED:
            return None
        costs = np.concatenate([np.zeros(arcs), np.array(cut.costs, float)])
        rows = [*self._rows(), LinearConstraint(sparse.csr_array(costs.reshape(1, -1)), least - 0.5, target + 0.5)]
        most = np.concatenate([np.full(arcs, float(cut.pieces)), np.array(cut.counts, float)])
        pieces = np.flatnonzero(self.items >= 0)
        most[pieces] = np.minimum(most[pieces], np.array(cut.demands, float)[self.items[pieces]])
        result = milp(
            costs,
            integrality=np.ones(arcs + kinds),
            bounds=Bounds(0.0, most),
            constraints=rows,
            options={"time_limit": max(seconds, 0.05), "mip_rel_gap": 0.0},
        )
        if result.status == 2:
            return [], float("inf"), True
        bound = float(result.mip_dual_bound) if result.mip_dual_bound is not None else -np.inf
        if result.x is None:
            return [], bound, False
        return self._patterns(np.rint(result.x).astype(np.int64)), bound, result.status == 0

    def _rows(self) -> list[LinearConstraint]:
        """What comes in goes out, with the stocks opened going from their ends back to the beginning; and the needs."""
        cut = self.cut
        arcs, kinds = self.size, len(cut.stocks)
        nodes, at = np.unique(np.concatenate([self.tails, self.heads, [0], cut.stocks]), return_inverse=True)
        tail, head, root, ends = at[:arcs], at[arcs : 2 * arcs], at[2 * arcs], at[2 * arcs + 1 :]
        columns, back = np.arange(arcs), arcs + np.arange(kinds)
        signs = np.concatenate([np.ones(arcs), -np.ones(arcs), np.ones(kinds), -np.ones(kinds)])
        where = np.concatenate([head, tail, np.full(kinds, root), ends])
        of = np.concatenate([columns, columns, back, back])
        flow = sparse.csr_array((signs, (where, of)), shape=(len(nodes), arcs + kinds))
        pieces = np.flatnonzero(self.items >= 0)
        needs = sparse.csr_array(
            (np.ones(len(pieces)), (self.items[pieces], pieces)), shape=(len(cut.lengths), arcs + kinds)
        )
        return [LinearConstraint(flow, 0.0, 0.0), LinearConstraint(needs, np.array(cut.demands, float), np.inf)]

    def _patterns(self, flow: Ints) -> list[tuple[int, Ints, int]]:
        """Paths that a flow is made of, each as a pattern cut once."""
        cut, arcs = self.cut, len(self.tails)
        left = flow[:arcs].copy()
        opened = flow[arcs:].tolist()
        leaving: dict[int, list[int]] = {}
        for arc in np.flatnonzero(left).tolist():
            leaving.setdefault(int(self.tails[arc]), []).append(arc)
        found: list[tuple[int, Ints, int]] = []
        # A path for a long stock may pass the end of a short one: the longest are taken apart last.
        for stock in sorted(range(len(opened)), key=lambda k: cut.stocks[k]):
            for _ in range(opened[stock]):
                copies = np.zeros(len(cut.lengths), dtype=np.int64)
                if not self._walk(left, leaving, cut.stocks[stock], copies):
                    return []
                found.append((stock, copies, 1))
        return found

    def _walk(self, left: Ints, leaving: dict[int, list[int]], end: int, copies: Ints) -> bool:
        """One way from 0 to `end` along arcs that still have flow; found by depth, and taken off."""
        stack: list[tuple[int, list[int]]] = [(0, [])]
        seen: set[int] = set()
        while stack:
            node, way = stack.pop()
            if node == end:
                for arc in way:
                    left[arc] -= 1
                    if self.items[arc] >= 0:
                        copies[self.items[arc]] += 1
                return True
            if node in seen or node > end:
                continue
            seen.add(node)
            stack += [(int(self.heads[arc]), [*way, arc]) for arc in leaving.get(node, ()) if left[arc] > 0]
        return False


def _by(tails: Ints) -> Sequence[tuple[int, Ints]]:
    """Arcs by where they begin, from the front."""
    order = np.argsort(tails, kind="stable")
    starts, first = np.unique(tails[order], return_index=True)
    ends = np.append(first[1:], len(tails))
    return [(int(start), order[f:e]) for start, f, e in zip(starts, first, ends, strict=True)]
