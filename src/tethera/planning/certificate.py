"""A bound on the mass that anybody can check without a solver.

Prices of "a rope of at least this length" are rounded to whole grams and made to rise with length. Whatever the prices
are, no plan is lighter than

    sum over lines of the cheapest path (price of the level each run needs + change price x changes)
    + sum over rope classes of what its ropes can save at those prices - change price x changes allowed

because each rope taken pays at most its price, and a rope whose price exceeds its mass can be taken at most as often as
there are such ropes in trips that do not overlap. Good prices (the solver's) make the bound tight; bad ones only loose.
"""

from itertools import accumulate

from tethera.planning.cascade import Cascade
from tethera.planning.highs import Relaxed

Prices = dict[tuple[int, int], list[int]]


def mass_bound_g(cascade: Cascade, relaxed: Relaxed, changes: int) -> int:
    """Whole grams that no plan with at most `changes` changes can undercut, from the solver's prices, rounded."""
    prices = rising_prices(cascade, relaxed)
    change_rows = len(relaxed.limit_prices) - cascade.limits[0].shape[0] - cascade.pins[0].shape[0]
    change_price = max(0, round(-float(relaxed.limit_prices[-1]))) if change_rows else 0
    if cascade.problem.pins:
        # A pin only removes plans, so the bound without it holds; its own price is not used.
        change_price = max(0, change_price)
    return bound_at(cascade, prices, change_price, changes)


def rising_prices(cascade: Cascade, relaxed: Relaxed) -> Prices:
    """Whole-gram prices per block and group, rising with the level."""
    paths = sum(line.places for line in cascade.problem.lines)
    prices: Prices = {}
    for b in range(len(cascade.blocks)):
        for k, lengths in enumerate(cascade.lengths_cm):
            raw = [
                round(float(relaxed.equality_prices[paths + cascade.cascade_rows[b, k, level]]))
                for level in range(len(lengths))
            ]
            prices[b, k] = list(accumulate(raw, max))
    return prices


def bound_at(cascade: Cascade, prices: Prices, change_price: int, changes: int) -> int:
    """The bound at any rising prices, in whole numbers only."""
    total = -change_price * changes
    for number, line in enumerate(cascade.problem.lines):
        total += _cheapest_path(cascade, number, line.places, prices, change_price)
    return total + _savings(cascade, prices)


def _cheapest_path(cascade: Cascade, line: int, places: int, prices: Prices, change_price: int) -> int:
    block = cascade.block_of_line[line]
    arcs: dict[int, list[tuple[int, int]]] = {}
    for choice in cascade.choices:
        if choice.line == line:
            price = prices[block, choice.group][choice.level] + change_price * choice.run.changes
            arcs.setdefault(choice.run.begin, []).append((choice.run.end, price))
    best: list[int | None] = [None] * places
    best[0] = 0
    for place in range(places):
        so_far = best[place]
        for end, price in arcs.get(place, ()) if so_far is not None else ():
            known = best[end]
            best[end] = so_far + price if known is None else min(known, so_far + price)  # type: ignore[operator]
    last = best[-1]
    if last is None:
        raise ValueError(f"{cascade.problem.lines[line].name}: no run of this stock leads to the end")
    return last


def _savings(cascade: Cascade, prices: Prices) -> int:
    """What the ropes there are can save at most: per class, the best set of blocks that do not overlap."""
    cliques = [
        [n for n, clique in enumerate(cascade.problem.cliques) if min(block) in clique] for block in cascade.blocks
    ]
    order = sorted(range(len(cascade.blocks)), key=lambda b: cliques[b][-1])
    total = 0
    for rope_class in cascade.classes:
        best_until = [0] * (len(cascade.problem.cliques) + 1)
        done = 0
        for b in order:
            first, last = cliques[b][0], cliques[b][-1]
            while done <= last:
                done += 1
                best_until[done] = max(best_until[done], best_until[done - 1])
            gain = prices[b, rope_class.group][rope_class.level] - rope_class.mass_g
            best_until[last + 1] = max(best_until[last + 1], best_until[first] + max(0, gain))
        total -= len(rope_class.ropes) * max(best_until)
    return total
