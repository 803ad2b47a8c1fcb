"""The best pattern for given prices, exactly: a table over capacities, and a search with that table as its bound.

Prices are whole numbers held in floats (exact below 2^53). On a long stock the table works in coarser units with
lengths rounded down, which can only overrate: the search then settles what truly fits.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
#: Most cells of a table row, and most cells of the whole table.
_CELLS, _TABLE = 12_000, 6_000_000
_MOST_STATES = 150_000


@dataclass(frozen=True, slots=True)
class Found:
    """Patterns (a row each, copies of each item), the stock of each, and for each stock a value no pattern exceeds."""

    copies: Ints
    stocks: Ints
    most: Floats
    exact: bool


class Pricer:
    """Patterns of items of falling length with so many copies at most, cut from stocks of falling length."""

    def __init__(self, lengths: Ints, most: Ints, stocks: Ints) -> None:
        self.lengths, self.stocks = lengths, stocks
        self.longest = int(stocks.max())
        self.most = np.minimum(most, self.longest // lengths)
        cells = max(min(_CELLS, _TABLE // (len(lengths) + 1)), 500)
        self.unit = max(1, -(-self.longest // cells))
        self.coarse = lengths // self.unit
        self.cells = self.longest // self.unit + 1

    def table(self, values: Floats) -> Floats:
        """Best value of the items from each one on, for each capacity in units: (items + 1) x cells."""
        items = len(self.lengths)
        table = np.zeros((items + 1, self.cells))
        spare = np.empty(self.cells)
        for item in range(items - 1, -1, -1):
            row = table[item]
            row[:] = table[item + 1]
            value, length, left, lot = values[item], int(self.coarse[item]), int(self.most[item]), 1
            if value <= 0:
                continue
            while left > 0:
                lot = min(lot, left)
                by = lot * length
                if by >= self.cells:
                    break
                if by == 0:
                    row += lot * value
                else:
                    sums = np.add(row[:-by], lot * value, out=spare[: self.cells - by])
                    np.maximum(row[by:], sums, out=row[by:])
                left -= lot
                lot *= 2
        return table

    def best(self, values: Floats, floors: Floats, wanted: int = 60) -> Found:
        """Patterns worth more than the floor of their stock, the best of each stock among them.

        `most` is at least every pattern's value; it is reached where `exact`.
        """
        table = self.table(values)
        if self.unit > 1:
            return self._searched(values, floors, table, wanted)
        tops = table[0][self.stocks]
        starts_stock, starts_room, starts_item, worth = (
            [np.arange(len(self.stocks))],
            [self.stocks],
            [],
            [tops - floors],
        )
        starts_item.append(np.full(len(self.stocks), -1))
        room = self.stocks[:, None] - self.lengths[None, :]
        fits = (room >= 0) & (self.most > 0)[None, :] & (values > 0)[None, :]
        with_item = np.where(fits, table[0][np.maximum(room, 0)] + values[None, :], -np.inf) - floors[:, None]
        stock, item = np.nonzero(with_item > 1e-6 * np.maximum(np.abs(floors[:, None]), 1.0))
        starts_stock.append(stock)
        starts_room.append(room[stock, item])
        starts_item.append(item)
        worth.append(with_item[stock, item])
        all_worth = np.concatenate(worth)
        order = np.argsort(-all_worth, kind="stable")[:wanted]
        order = order[all_worth[order] > 0]
        stocks = np.concatenate(starts_stock)[order]
        copies = self.traced(values, table, np.concatenate(starts_room)[order].copy())
        forced = np.concatenate(starts_item)[order]
        with_forced = np.flatnonzero(forced >= 0)
        copies[with_forced, forced[with_forced]] += 1
        return Found(np.minimum(copies, self.most), stocks, tops, exact=True)

    def traced(self, values: Floats, table: Floats, room: Ints) -> Ints:
        """Copies behind the table's value at each capacity."""
        copies = np.zeros((len(room), len(self.lengths)), dtype=np.int64)
        for item in range(len(self.lengths)):
            here, after = table[item], table[item + 1]
            open_ = np.flatnonzero(here[room] != after[room])
            length, value = int(self.lengths[item]), values[item]
            for many in range(1, int(self.most[item]) + 1):
                if not len(open_):
                    break
                open_ = open_[room[open_] >= many * length]
                done = after[room[open_] - many * length] + many * value == here[room[open_]]
                copies[open_[done], item] = many
                room[open_[done]] -= many * length
                open_ = open_[~done]
        return copies

    def _searched(self, values: Floats, floors: Floats, table: Floats, wanted: int) -> Found:
        most, copies, stocks = [], [], []
        exact = True
        for place, stock in enumerate(self.stocks):
            found, whole = self.above(values, int(stock), float(floors[place]), table, beam=20_000)
            upper = float(table[0][int(stock) // self.unit])
            if whole:
                upper = min(upper, max(float(floors[place]), float((found @ values).max(initial=-np.inf))))
            exact = exact and whole
            most.append(upper)
            worth = found @ values
            pick = _diverse(found, worth, wanted)
            copies.append(found[pick])
            stocks.append(np.full(len(pick), place))
        return Found(np.concatenate(copies), np.concatenate(stocks), np.array(most), exact=exact)

    def above(
        self, values: Floats, stock: int, floor: float, table: Floats, beam: int = _MOST_STATES, *, cut: bool = True
    ) -> tuple[Ints, bool]:
        """All patterns of a stock worth more than `floor`, and whether they are all.

        With more than `beam` open at once the most promising go on when `cut`, else none is given back.
        """
        room, worth, node = np.array([stock]), np.zeros(1), np.array([-1])
        parents: list[Ints] = []
        takes: list[tuple[int, Ints]] = []
        nodes, whole = 0, True
        for item in range(len(self.lengths)):
            after = table[item + 1]
            length, value = int(self.lengths[item]), float(values[item])
            stay = worth + after[room // self.unit] > floor
            rooms, worths, node_lists = [room[stay]], [worth[stay]], [node[stay]]
            # A complete list also has the pieces that are priced at nothing.
            if value > 0 or not cut:
                for many in range(1, int(self.most[item]) + 1):
                    left = room - many * length
                    fits = np.flatnonzero(left >= 0)
                    if not len(fits):
                        break
                    gained = worth[fits] + many * value
                    good = gained + after[left[fits] // self.unit] > floor
                    fits = fits[good]
                    if len(fits):
                        rooms.append(left[fits])
                        worths.append(gained[good])
                        parents.append(node[fits])
                        takes.append((item, np.full(len(fits), many)))
                        node_lists.append(np.arange(nodes, nodes + len(fits)))
                        nodes += len(fits)
            room, worth, node = np.concatenate(rooms), np.concatenate(worths), np.concatenate(node_lists)
            if len(room) > beam:
                if not cut:
                    return np.zeros((0, len(self.lengths)), dtype=np.int64), False
                whole = False
                keep = np.argpartition(-(worth + after[room // self.unit]), beam // 2)[: beam // 2]
                room, worth, node = room[keep], worth[keep], node[keep]
            if not len(room):
                break
        return _unrolled(node, parents, takes, len(self.lengths)), whole


def _unrolled(node: Ints, parents: list[Ints], takes: list[tuple[int, Ints]], items: int) -> Ints:
    copies = np.zeros((len(node), items), dtype=np.int64)
    if not parents:
        return copies
    parent = np.concatenate(parents)
    item = np.concatenate([np.full(len(many), number) for number, many in takes])
    many = np.concatenate([many for _, many in takes])
    at = node.copy()
    rows = np.arange(len(node))
    while len(rows):
        live = at >= 0
        rows, at = rows[live], at[live]
        copies[rows, item[at]] = many[at]
        at = parent[at]
    return copies


def _diverse(copies: Ints, worth: Floats, wanted: int) -> Ints:
    """The best pattern with each item first, then the best of the rest."""
    order = np.argsort(-worth, kind="stable")
    if len(order) <= wanted:
        return order
    ranked = copies[order] > 0
    first = np.where(ranked.any(axis=0), ranked.argmax(axis=0), 0)
    pick = np.unique(np.concatenate([first, np.arange(min(wanted // 4, len(order)))]))[:wanted]
    return np.asarray(order[pick])
