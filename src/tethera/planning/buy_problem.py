"""Which lengths to own: the question in whole centimetres and pence, once it is settled what a wash leaves of a piece.

A *combination* is a set of routes that are rigged at once. Each route is one or more lines: places in order, and runs
between them, each of which takes a rope of at least `need_cm`. A *piece* is cut in whole steps off a reel; `left_cm` is
what the plan counts on once it is washed. Ropes fall into groups that no rule of the routes tells apart; new rope is
group 0.
"""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True, slots=True)
class Reel:
    """A reel on offer, or stock at hand.

    Parameters
    ----------
    length_cm : what it is sold as; a label in yards is rounded down to whole centimetres
    price_pence : of the whole reel
    count : how many there are, or None where as many as wanted can be had
    name : what to call it
    """

    length_cm: int
    price_pence: int
    count: int | None = None
    name: str = ""

    def __post_init__(self) -> None:
        if self.length_cm < 100 or self.price_pence < 0 or (self.count is not None and self.count < 0):
            raise ValueError("a reel has a length of 1 m or more, and a price and a count that are not below 0")


@dataclass(frozen=True, slots=True)
class FleetRun:
    """One rope from one place of a line to a later one; `rule` says which of the problem's rules it must keep."""

    begin: int
    end: int
    need_cm: int
    rule: int = 0
    pitches: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class FleetLine:
    """A line of a route: from place 0 to place `places - 1`.

    `inside` names the places inside a pitch, where people change ropes on the rope, by their index.
    """

    route: int
    places: int
    runs: tuple[FleetRun, ...]
    name: str = ""
    inside: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True)
class FleetPiece:
    """A piece as it comes off the reel, and what the plan counts on after its wash."""

    cut_cm: int
    left_cm: int


@dataclass(frozen=True)
class FleetProblem:
    """Lines, combinations of routes, ropes there are, pieces that may be cut, and what they cost.

    Parameters
    ----------
    combinations : routes rigged at once, by index; a route may stand twice
    stock : ropes there are, as length [cm] and group
    accepts : for each group whether it keeps each rule; group 0 is the new rope
    pieces : lengths that may be cut, shortest first
    rooms_cm : of each reel, how much of it can be cut [cm]
    pence_per_m : price of rope cut to length in the shop, or None
    off_cuts : worth of an off-cut as (from this length [cm], pence per metre), shortest first
    spare : so many ropes may be away, whichever they are, and every combination still goes
    step_cm : pieces are cut in multiples of this
    shop_share : a piece of the shop is bought so much longer that this share of it is the piece; 1 where pieces are cut
        before they are washed
    """

    routes: tuple[str, ...]
    lines: tuple[FleetLine, ...]
    combinations: tuple[tuple[int, ...], ...]
    stock: tuple[tuple[int, int], ...] = ()
    accepts: tuple[tuple[bool, ...], ...] = ((True,),)
    pieces: tuple[FleetPiece, ...] = ()
    reels: tuple[Reel, ...] = ()
    rooms_cm: tuple[int, ...] = ()
    pence_per_m: int | None = None
    off_cuts: tuple[tuple[int, int], ...] = ()
    spare: int = 0
    step_cm: int = 100
    shop_share: float = 1.0

    @cached_property
    def levels(self) -> tuple[tuple[int, ...], ...]:
        """Of each group, the lengths its ropes can have, shortest first."""
        return tuple(
            tuple(
                sorted(
                    {length for length, group in self.stock if group == g}
                    | ({piece.left_cm for piece in self.pieces} if g == 0 else set())
                )
            )
            for g in range(len(self.accepts))
        )

    def level(self, group: int, need_cm: int) -> int:
        """The lowest level of a group that reaches; one past the last when none does."""
        return bisect_left(self.levels[group], need_cm)

    @cached_property
    def choices(self) -> tuple[tuple[tuple[FleetRun, int, int], ...], ...]:
        """Of each line, its runs with a group and the level of that group they need."""
        return tuple(
            tuple(
                (run, group, level)
                for run in line.runs
                for group, keeps in enumerate(self.accepts)
                if keeps[run.rule] and (level := self.level(group, run.need_cm)) < len(self.levels[group])
            )
            for line in self.lines
        )

    @cached_property
    def lines_of(self) -> tuple[tuple[int, ...], ...]:
        """Lines of each route."""
        return tuple(
            tuple(n for n, line in enumerate(self.lines) if line.route == route) for route in range(len(self.routes))
        )

    def shop_cm(self, cut_cm: int) -> int:
        """What the shop cuts for a piece, in whole steps."""
        return cut_cm if self.shop_share >= 1 else math.ceil(cut_cm / self.shop_share / self.step_cm) * self.step_cm

    def shop_pence(self, cut_cm: int) -> int | None:
        """Price of a piece cut to length in the shop, rounded up to a whole penny."""
        return None if self.pence_per_m is None else -(-self.pence_per_m * self.shop_cm(cut_cm) // 100)

    def off_cut_pence(self, length_cm: int) -> int:
        """What an off-cut is worth, rounded down."""
        worth = 0
        for start_cm, pence_per_m in self.off_cuts:
            worth = pence_per_m if length_cm >= start_cm else worth
        return worth * max(length_cm, 0) // 100


@dataclass(frozen=True, slots=True)
class Pattern:
    """One reel cut up: which reel, and how many of each piece (place in the problem's pieces, copies)."""

    reel: int
    copies: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Hung:
    """A run of a combination and the group of rope it hangs on."""

    line: int
    run: FleetRun
    group: int


@dataclass(frozen=True)
class FleetAnswer:
    """Reels cut up, pieces bought cut to length, how each combination hangs, and how good that provably is.

    `net_pence` is the price less what useful off-cuts are worth: the figure made least; nothing costs less than
    `bound_pence`. `hung` says for each combination how it hangs; `impossible` are routes that no rope on offer can rig.
    """

    status: str
    patterns: tuple[tuple[Pattern, int], ...] = ()
    shop: tuple[tuple[int, int], ...] = ()
    price_pence: int = 0
    net_pence: int = 0
    bound_pence: int = 0
    hung: tuple[tuple[Hung, ...], ...] = ()
    dropped: tuple[int, ...] = ()
    impossible: tuple[int, ...] = ()
    #: Combinations that decided it; a good beginning for a problem much like this one.
    active: tuple[int, ...] = ()

    @property
    def found(self) -> bool:
        """Whether there is something to buy or the store has enough."""
        return self.status in ("optimal", "feasible")

    @property
    def gap(self) -> float:
        """How far it may be above the least, as a share."""
        return 0.0 if self.net_pence <= 0 else max(0.0, (self.net_pence - self.bound_pence) / self.net_pence)

    def counts(self, pieces: int) -> list[int]:
        """How many of each piece there are."""
        counts = [0] * pieces
        for pattern, times in self.patterns:
            for piece, copies in pattern.copies:
                counts[piece] += copies * times
        for piece, copies in self.shop:
            counts[piece] += copies
        return counts


def used_cm(problem: FleetProblem, pattern: Pattern) -> int:
    """What a pattern takes of its reel."""
    return sum(problem.pieces[piece].cut_cm * copies for piece, copies in pattern.copies)


def pattern_net_pence(problem: FleetProblem, pattern: Pattern) -> int:
    """Price of the reel less what its off-cut is worth."""
    left = problem.rooms_cm[pattern.reel] - used_cm(problem, pattern)
    return problem.reels[pattern.reel].price_pence - problem.off_cut_pence(left)


def fleet_faults(problem: FleetProblem, answer: FleetAnswer) -> list[str]:
    """What is wrong with an answer, from the problem alone: a second judge that shares nothing with the solver."""
    wrong: list[str] = []
    reels = [0] * len(problem.reels)
    for pattern, times in answer.patterns:
        if used_cm(problem, pattern) > problem.rooms_cm[pattern.reel] or times < 1:
            wrong.append(f"reel {pattern.reel}: {used_cm(problem, pattern)} cm of {problem.rooms_cm[pattern.reel]} cm")
        reels[pattern.reel] += times
    for reel, times in zip(problem.reels, reels, strict=True):
        wrong += [f"{times} of {reel.count} reels"] if reel.count is not None and times > reel.count else []
    shop = [problem.shop_pence(problem.pieces[piece].cut_cm) for piece, _ in answer.shop]
    if None in shop:
        return [*wrong, "a piece from a shop that cuts none"]
    bought = sum((each or 0) * copies for each, (_, copies) in zip(shop, answer.shop, strict=True))
    price = bought + sum(problem.reels[p.reel].price_pence * times for p, times in answer.patterns)
    net = bought + sum(pattern_net_pence(problem, p) * times for p, times in answer.patterns)
    if (price, net) != (answer.price_pence, answer.net_pence):
        wrong.append(f"{answer.price_pence} and {answer.net_pence} pence said, {price} and {net} counted")
    wrong += [f"the bound {answer.bound_pence} is above {net}"] if answer.bound_pence > net else []
    without = set(answer.dropped) | set(answer.impossible)
    for combination, hung in zip(problem.combinations, answer.hung, strict=True):
        wrong += _hanging_faults(problem, answer, [r for r in combination if r not in without], hung)
    return wrong


def _hanging_faults(
    problem: FleetProblem, answer: FleetAnswer, routes: Sequence[int], hung: Sequence[Hung]
) -> list[str]:
    wrong = []
    wanted = sorted(line for route in routes for line in problem.lines_of[route])
    by_line: dict[int, list[Hung]] = {}
    for each in hung:
        by_line.setdefault(each.line, []).append(each)
    if sorted(by_line) != sorted(set(wanted)):
        wrong.append("a line of a combination is not rigged, or one too many is")
    for line, hangs in by_line.items():
        times, ends = wanted.count(line), problem.lines[line].places - 1
        starts, stops = sorted(h.run.begin for h in hangs), sorted(h.run.end for h in hangs)
        # Whole ways from 0 to the last place: wherever a rope ends, another begins, as often as the line is rigged.
        if starts.count(0) != times or stops.count(ends) != times or starts[times:] != stops[: len(stops) - times]:
            wrong.append(f"{problem.lines[line].name}: the ropes do not reach from end to end")
        if any(h.run not in problem.lines[line].runs or not problem.accepts[h.group][h.run.rule] for h in hangs):
            wrong.append(f"{problem.lines[line].name}: a rope that may not hang there")
    lengths: list[list[int]] = [[] for _ in problem.accepts]
    for length, group in problem.stock:
        lengths[group].append(length)
    for piece, count in zip(problem.pieces, answer.counts(len(problem.pieces)), strict=True):
        lengths[0] += [piece.left_cm] * count
    for group, ropes in enumerate(lengths):
        needs = sorted((h.run.need_cm for h in hung if h.group == group), reverse=True)
        there = sorted(ropes, reverse=True)[problem.spare if needs else 0 :]
        if len(there) < len(needs) or any(rope < need for rope, need in zip(there, needs, strict=False)):
            wrong.append(f"group {group}: ropes {there} do not cover {needs}")
    return wrong
