"""How sure a list to buy is as a whole: what a wash leaves is drawn for all its ropes, and the plan tried on each draw.

Ropes of one kind come out long or short together, so neither "95 % for each rope" nor dividing 5 % among them is right.
One confidence per rope is searched instead, on a fixed ladder, until the plan as a whole holds with the one asked for.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any, Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from tethera.planning.buy_combinations import envelope_cm
from tethera.planning.buy_problem import FleetAnswer, FleetProblem

#: Cut long and soak the pieces, or soak the whole reel, measure it, then cut.
Habit = Literal["cut-then-soak", "soak-then-cut"]
#: The ladder of confidences per rope: even steps in spreads of a normal, from a half to 0.9999.
_RUNGS, TOP = 32, 3.7
#: Seeds of the draws that choose, and of those that are reported: never the same.
CHOOSING, REPORTING = 1, 2


class Shrinks(Protocol):
    """What one more rope of a kind has left of its length after its first washes (as `rope.Shrinkage`)."""

    def share_left(self, confidence: Any) -> Any:
        """Share of the length that is left at least, with this confidence."""

    def draws(self, n: int, ropes: int = 1, seed: int = 0) -> Any:
        """Shares left of several ropes together, (n, ropes)."""


def rung(number: int) -> float:
    """Confidence per rope of a rung of the ladder.

    >>> rung(0), round(rung(32), 4)
    (0.5, 0.9999)
    """
    return NormalDist().cdf(number * TOP / _RUNGS)


@dataclass(frozen=True, slots=True)
class PieceAt:
    """One piece of an answer: its place in the problem's pieces and the reel it comes off (None: the shop)."""

    piece: int
    reel: int | None


@dataclass(frozen=True)
class Sureness:
    """How often the plan as a whole held, in how many draws, and how often each piece had what is counted on.

    `needs_cm` is what each piece must have: 0 for one that no combination is short of.
    """

    holds: float
    draws: int
    pieces: tuple[PieceAt, ...]
    each: tuple[float, ...]
    needs_cm: tuple[int, ...]


def pieces_of(answer: FleetAnswer) -> tuple[PieceAt, ...]:
    """Every piece of an answer, reel by reel and longest first, those of the shop last."""
    found: list[PieceAt] = []
    reel = 0
    for pattern, times in answer.patterns:
        for _ in range(times):
            for piece, copies in sorted(pattern.copies, reverse=True):
                found += [PieceAt(piece, reel)] * copies
            reel += 1
    return (*found, *(PieceAt(piece, None) for piece, copies in answer.shop for _ in range(copies)))


def drawn_cm(
    problem: FleetProblem, answer: FleetAnswer, habit: Habit, shrinks: Shrinks, draws: int, seed: int
) -> NDArray[np.float64]:
    """Length of every piece after its wash, drawn `draws` times: (draws, pieces)."""
    pieces = pieces_of(answer)
    cut = np.array([problem.pieces[each.piece].cut_cm for each in pieces], float)
    if habit == "cut-then-soak":
        shares = np.asarray(shrinks.draws(draws, max(len(pieces), 1), seed))[:, : len(pieces)]
        cut_first: NDArray[np.float64] = np.floor(cut * shares + 1e-9)
        return cut_first
    # The reel shrinks whole and the pieces are cut from what is left, longest first: the last gets what remains.
    reels = [pattern.reel for pattern, times in answer.patterns for _ in range(times)]
    loose = [i for i, each in enumerate(pieces) if each.reel is None]
    shares = np.asarray(shrinks.draws(draws, max(len(reels) + len(loose), 1), seed))
    lengths = np.tile(cut, (draws, 1))
    for number, reel in enumerate(reels):
        mine = [i for i, each in enumerate(pieces) if each.reel == number]
        left = np.floor(problem.reels[reel].length_cm * shares[:, number] + 1e-9)
        before = np.concatenate([[0.0], np.cumsum(cut[mine])[:-1]])
        lengths[:, mine] = np.clip(left[:, None] - before[None, :], 0.0, cut[mine][None, :])
    for offset, i in enumerate(loose):
        bought_cm = problem.shop_cm(problem.pieces[pieces[i].piece].cut_cm)
        lengths[:, i] = np.floor(bought_cm * shares[:, len(reels) + offset] + 1e-9)
    return lengths


def sureness(
    problem: FleetProblem, answer: FleetAnswer, habit: Habit, shrinks: Shrinks, draws: int, seed: int
) -> Sureness:
    """Try an answer on draws: it holds when every combination hangs as planned, ropes handed out anew once measured."""
    pieces = pieces_of(answer)
    needs = np.array(envelope_cm(problem, answer.hung)[0], float)
    stock = [length for length, group in problem.stock if group == 0]
    lengths = drawn_cm(problem, answer, habit, shrinks, draws, seed)
    every = np.concatenate([np.tile(np.array(stock, float), (draws, 1)), lengths], axis=1)
    ranked = -np.sort(-every, axis=1)[:, : len(needs)]
    holds = float((ranked >= needs[None, : ranked.shape[1]]).all(axis=1).mean()) if len(needs) else 1.0
    counted = [(length, -1) for length in stock] + [(problem.pieces[p.piece].left_cm, i) for i, p in enumerate(pieces)]
    mine = [0.0] * len(pieces)
    for place, (_, piece) in enumerate(sorted(counted, key=lambda each: (-each[0], each[1]))):
        if piece >= 0 and place < len(needs):
            mine[piece] = float(needs[place])
    each = tuple(float((lengths[:, i] >= need).mean()) for i, need in enumerate(mine))
    return Sureness(holds, draws, pieces, each, tuple(int(need) for need in mine))


@dataclass(frozen=True)
class Rung:
    """What is bought when every rope is as sure as this rung says, and how sure that is as a whole."""

    number: int
    problem: FleetProblem
    answer: FleetAnswer
    sure: Sureness


class Ladder:
    """Answers rung by rung, each worked out once.

    The search goes by halves over the same rungs whatever is asked, and takes the lower half whenever its middle holds;
    what holds with more confidence holds with less, so more confidence never gives a lower rung, nor a lower price.
    `never` are routes that no rope on offer rigs, however little is asked of it; a rung on which others fall out is too
    high.
    """

    def __init__(
        self,
        solve: Callable[[float], tuple[FleetProblem, FleetAnswer]],
        habit: Habit,
        shrinks: Shrinks,
        draws: int,
        never: Collection[int] = (),
    ) -> None:
        self.never = frozenset(never)
        self._solve, self.habit, self.shrinks, self.draws = solve, habit, shrinks, draws
        self.known: dict[int, Rung] = {}

    def at(self, number: int) -> Rung:
        """The answer of a rung."""
        if number not in self.known:
            problem, answer = self._solve(rung(number))
            sure = sureness(problem, answer, self.habit, self.shrinks, self.draws, CHOOSING)
            self.known[number] = Rung(number, problem, answer, sure)
        return self.known[number]

    def holding(self, confidence: float) -> tuple[Rung, bool]:
        """The lowest rung found whose plan holds with this confidence, and whether it does (the topmost may not).

        The frequency must be above the confidence by twice its standard error, so that other draws say so too.
        """
        error = (confidence * (1 - confidence) / self.draws) ** 0.5
        low, high = -1, _RUNGS
        while high - low > 1:
            middle = (low + high) // 2
            found = self.at(middle)
            if found.answer.status == "impossible" or not self.never.issuperset(found.answer.impossible):
                # So sure of each rope there is no list for all routes; less sure there may be one.
                high = middle
                continue
            if not found.answer.found:
                return self._best_known(found, confidence)
            if found.sure.holds >= min(confidence + 2 * error, 1.0):
                high = middle
            else:
                low = middle
        top = self.at(high)
        if not top.answer.found or not self.never.issuperset(top.answer.impossible):
            return self._best_known(top, confidence)
        return top, top.sure.holds >= confidence

    def _best_known(self, last: Rung, confidence: float) -> tuple[Rung, bool]:
        """Time was up before the ladder was searched: the cheapest list known to hold, else the surest there is."""
        found = [each for each in self.known.values() if each.answer.found]
        known = [each for each in found if self.never.issuperset(each.answer.impossible)]
        sure = [each for each in known if each.sure.holds >= confidence]
        if sure:
            return min(sure, key=lambda each: (each.answer.net_pence, each.number)), True
        return max(known, key=lambda each: each.sure.holds, default=last), False
