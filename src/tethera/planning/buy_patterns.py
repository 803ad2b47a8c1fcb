"""Ways to cut one reel: the best one at given prices of the pieces, and all that cost at most so much above them."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tethera.planning.buy_problem import FleetProblem, Pattern

Floats = NDArray[np.float64]
#: Different fillings of a reel that one round of pricing gives at most.
_A_ROUND = 8
_TOLERANCE = 1e-6


class Cutter:
    """Patterns of a problem's reels; lengths are counted in the steps in which pieces are cut."""

    def __init__(self, problem: FleetProblem) -> None:
        self.problem = problem
        self.steps = np.array([piece.cut_cm // problem.step_cm for piece in problem.pieces], dtype=np.int64)
        self.rooms = [room // problem.step_cm for room in problem.rooms_cm]
        self.deepest = max(self.rooms, default=0)
        # What is left of each reel after so many steps, and what that is worth: the cost of a filling, pieces aside.
        self.costs = [
            np.array(
                [
                    reel.price_pence - problem.off_cut_pence(room_cm - used * problem.step_cm)
                    for used in range(room + 1)
                ],
                float,
            )
            for reel, room_cm, room in zip(problem.reels, problem.rooms_cm, self.rooms, strict=True)
        ]

    def fillings(self, prices: Floats) -> tuple[Floats, NDArray[np.int64]]:
        """The most that exactly so many steps of pieces are worth, and the last piece of such a filling (-1: none)."""
        value = np.full(self.deepest + 1, -np.inf)
        last = np.full(self.deepest + 1, -1, dtype=np.int64)
        value[0] = 0.0
        # Pieces of no worth too: a reel that must be opened may cost less, its off-cut counted, with but one of them.
        worth = np.flatnonzero(self.steps <= self.deepest)
        if not len(worth):
            return value, last
        steps, prices = self.steps[worth], np.maximum(prices[worth], 0.0)
        order = np.argsort(steps, kind="stable")
        worth, steps, prices = worth[order], steps[order], prices[order]
        for used in range(1, self.deepest + 1):
            upto = int(np.searchsorted(steps, used, side="right"))
            if upto:
                options = value[used - steps[:upto]] + prices[:upto]
                best = int(np.argmax(options))
                if options[best] > -np.inf:
                    value[used], last[used] = options[best], worth[best]
        return value, last

    def priced(self, prices: Floats, charges: Floats) -> tuple[list[Pattern], float]:
        """Patterns that cost less than their pieces are worth, best first, and the least cost less worth of all.

        `charges` is what the prices charge for opening each reel, on top of what it costs.
        """
        value, last = self.fillings(prices)
        found: list[tuple[float, Pattern]] = []
        least = 0.0
        for reel, room in enumerate(self.rooms):
            reduced = self.costs[reel] + charges[reel] - value[: room + 1]
            reduced[0] = np.inf
            for used in np.argsort(reduced, kind="stable")[:_A_ROUND]:
                if reduced[used] >= -_TOLERANCE * max(1.0, self.problem.reels[reel].price_pence):
                    break
                least = min(least, float(reduced[used]))
                found.append((float(reduced[used]), self._pattern(reel, int(used), last)))
        return [pattern for _, pattern in sorted(found, key=lambda each: each[0])], least

    def _pattern(self, reel: int, used: int, last: NDArray[np.int64]) -> Pattern:
        copies: dict[int, int] = {}
        while used > 0:
            piece = int(last[used])
            copies[piece] = copies.get(piece, 0) + 1
            used -= int(self.steps[piece])
        return Pattern(reel, tuple(sorted(copies.items())))

    def within(
        self, prices: Floats, charges: Floats, gap: float, most: int, seconds: Callable[[], float]
    ) -> list[Pattern] | None:
        """Every pattern that costs at most `gap` more than its pieces are worth; None when there are more than `most`.

        Each is found once: pieces are taken longest first, and a branch is left when even the best filling of what
        remains cannot bring it within the gap.
        """
        order = sorted(range(len(self.steps)), key=lambda piece: -int(self.steps[piece]))
        order = [piece for piece in order if self.steps[piece] <= self.deepest]
        found: list[Pattern] = []
        for reel, room in enumerate(self.rooms):
            best = self._completions(reel, order, prices)
            limit = gap - charges[reel] + _TOLERANCE
            # Depth first: (place in the order, steps left, worth so far, copies so far).
            stack: list[tuple[int, int, float, tuple[tuple[int, int], ...]]] = [(0, room, 0.0, ())]
            while stack:
                place, left, worth, copies = stack.pop()
                if copies and self.costs[reel][room - left] - worth <= limit:
                    found.append(Pattern(reel, tuple(sorted(copies))))
                    if len(found) > most or (len(found) % 1000 == 0 and seconds() <= 0):
                        return None
                # The next piece is any later one in the order, as often as it goes in: each set of copies once.
                for later in range(place, len(order)):
                    if best[later][left] - worth > limit:
                        break
                    piece = order[later]
                    for times in range(1, left // int(self.steps[piece]) + 1):
                        rest = left - times * int(self.steps[piece])
                        more = worth + times * float(prices[piece])
                        if best[later + 1][rest] - more <= limit:
                            stack.append((later + 1, rest, more, (*copies, (piece, times))))
        return found

    def _completions(self, reel: int, order: list[int], prices: Floats) -> list[list[float]]:
        """Of each place in the order and steps left, the least cost less worth that a reel can still be brought to."""
        room = self.rooms[reel]
        best = [float(self.costs[reel][room - left]) for left in range(room + 1)]
        table = [best]
        for piece in reversed(order):
            best = list(best)
            step, price = int(self.steps[piece]), float(prices[piece])
            for left in range(step, room + 1):
                best[left] = min(best[left], best[left - step] - price)
            table.append(best)
        return table[::-1]
