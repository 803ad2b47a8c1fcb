"""Share tackle out among bags in order of use, exactly: the heaviest burden least, then the burdens most even.

Each caver carries one stretch of the order of use, in one bag or, where volume demands it, in several. A burden is the
load over the caver's strength. With the burden capped, how far a set of cavers can carry from the start is all that
matters (furthest is never worse), so the cap is found by bisection over the loads that can occur, and the evenness
(sum of load squared over strength) by a second pass over sets of cavers. Cavers alike are not told apart. Everything is
whole grams and millilitres, so that burdens are compared without rounding.
"""

import math
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, product

State = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Load:
    """Something to carry [g, ml]; loads are given in order of use."""

    mass_g: int
    volume_ml: int


@dataclass(frozen=True, slots=True)
class Caver:
    """Somebody who carries.

    Parameters
    ----------
    strength_g : burdens are shared in proportion to it
    most_g : not a gram more
    bag_ml : volume of a bag
    bags : bags this caver may carry
    """

    name: str
    strength_g: int
    most_g: int
    bag_ml: int
    bags: int = 1

    def __post_init__(self) -> None:
        if self.strength_g <= 0 or self.bag_ml <= 0 or self.bags < 1:
            raise ValueError(f"caver {self.name}: strength and bag must be more than nothing, with one bag at least")


@dataclass(frozen=True)
class Sharing:
    """Who carries which stretch [first, past last) of the loads; or nobody, and why not."""

    stretches: tuple[tuple[int, int, int], ...] = ()
    unmet: str | None = None


def share_out(loads: Sequence[Load], cavers: Sequence[Caver]) -> Sharing:
    """Stretches (caver, first load, past the last load) in order of use.

    >>> two = [Caver("A", 8, 9000, 2000), Caver("B", 8, 9000, 2000)]
    >>> share_out([Load(3000, 900), Load(2000, 600), Load(900, 300)], two)
    Sharing(stretches=((0, 0, 1), (1, 1, 3)), unmet=None)
    """
    if not loads:
        return Sharing()
    table = _Shares(loads, cavers)
    cap = table.least_cap()
    if cap is None:
        return Sharing(unmet=_why_not(loads, cavers))
    return Sharing(table.most_even(cap))


def bags_of(loads: Sequence[Load], first: int, past: int, caver: Caver) -> list[tuple[int, int]]:
    """A caver's stretch as bags, each filled in order before the next is begun: never more bags than needed."""
    bags = []
    begin, volume_ml = first, 0
    for i in range(first, past):
        if i > begin and volume_ml + loads[i].volume_ml > caver.bag_ml:
            bags.append((begin, i))
            begin, volume_ml = i, 0
        volume_ml += loads[i].volume_ml
    return [*bags, (begin, past)] if past > first else []


class _Shares:
    """Kinds of cavers, running sums of the loads, and how far each kind reaches."""

    def __init__(self, loads: Sequence[Load], cavers: Sequence[Caver]) -> None:
        self.loads, self.cavers = loads, cavers
        self.of_kind: dict[tuple[int, int, int, int], list[int]] = {}
        for number, caver in enumerate(cavers):
            kind = (caver.strength_g, caver.most_g, caver.bag_ml, caver.bags)
            self.of_kind.setdefault(kind, []).append(number)
        self.kinds = [cavers[numbers[0]] for numbers in self.of_kind.values()]
        self.everybody: State = tuple(len(numbers) for numbers in self.of_kind.values())
        self.sums = list(accumulate((load.mass_g for load in loads), initial=0))
        #: Burdens become whole numbers when multiplied by this.
        self.unit = math.lcm(*(kind.strength_g for kind in self.kinds)) if self.kinds else 1
        self.by_volume = [[self._past_by_volume(kind, i) for i in range(len(loads) + 1)] for kind in self.kinds]

    def _past_by_volume(self, kind: Caver, first: int) -> int:
        bags, volume_ml = 1, 0
        for i in range(first, len(self.loads)):
            more_ml = self.loads[i].volume_ml
            if more_ml > kind.bag_ml:
                return i
            if volume_ml + more_ml > kind.bag_ml:
                bags, volume_ml = bags + 1, 0
                if bags > kind.bags:
                    return i
            volume_ml += more_ml
        return len(self.loads)

    def burden(self, kind: int, first: int, past: int) -> int:
        """Load over strength, as a whole number of units."""
        return (self.sums[past] - self.sums[first]) * (self.unit // self.kinds[kind].strength_g)

    def reach(self, kind: int, first: int, cap: int) -> int:
        """Past the last load that a caver of this kind can take from `first` on."""
        caver = self.kinds[kind]
        most_g = min(caver.most_g, cap * caver.strength_g // self.unit)
        return min(bisect_right(self.sums, self.sums[first] + most_g) - 1, self.by_volume[kind][first])

    def states(self) -> Iterator[State]:
        """Sets of cavers by kind, each after the sets it contains."""
        return product(*(range(count + 1) for count in self.everybody))

    def furthest(self, cap: int) -> dict[State, int]:
        """How far each set of cavers can carry from the start."""
        far: dict[State, int] = {}
        for state in self.states():
            reached = 0
            for kind, count in enumerate(state):
                if count:
                    reached = max(reached, self.reach(kind, far[_without(state, kind)], cap))
            far[state] = reached
        return far

    def least_cap(self) -> int | None:
        """Least burden of the most burdened caver; None when there is no way at all."""
        caps = sorted(
            {
                self.burden(kind, i, j)
                for kind in range(len(self.kinds))
                for i in range(len(self.loads))
                for j in range(i + 1, len(self.loads) + 1)
            }
        )
        low, high = 0, len(caps)
        while low < high:
            middle = (low + high) // 2
            if self.furthest(caps[middle])[self.everybody] == len(self.loads):
                high = middle
            else:
                low = middle + 1
        return caps[low] if low < len(caps) else None

    def _nearest_start(self, cap: int) -> dict[State, int]:
        """From which load on each set of cavers can carry to the end."""
        start: dict[State, int] = {}
        for state in self.states():
            earliest = len(self.loads)
            for kind, count in enumerate(state):
                if count:
                    to = start[_without(state, kind)]
                    first = to
                    while first > 0 and self.reach(kind, first - 1, cap) >= to:
                        first -= 1
                    earliest = min(earliest, first)
            start[state] = earliest
        return start

    def most_even(self, cap: int) -> tuple[tuple[int, int, int], ...]:
        """The stretches with the least sum of load squared over strength, none over the cap."""
        far, near = self.furthest(cap), self._nearest_start(cap)
        best: dict[State, dict[int, tuple[int, int, int]]] = {(0,) * len(self.kinds): {0: (0, -1, 0)}}
        for state in self.states():
            rest = tuple(all_ - used for all_, used in zip(self.everybody, state, strict=True))
            ways = best.setdefault(state, {})
            for kind, count in enumerate(state):
                if not count:
                    continue
                for first, (cost, _, _) in best[_without(state, kind)].items():
                    for past in range(max(first, near[rest]), min(self.reach(kind, first, cap), far[state]) + 1):
                        load_g = self.sums[past] - self.sums[first]
                        more = cost + load_g * self.burden(kind, first, past)
                        if past not in ways or more < ways[past][0]:
                            ways[past] = (more, kind, first)
        return self._walk_back(best)

    def _walk_back(self, best: dict[State, dict[int, tuple[int, int, int]]]) -> tuple[tuple[int, int, int], ...]:
        state, past = self.everybody, len(self.loads)
        stretches: list[tuple[int, int, int]] = []
        free = [list(reversed(numbers)) for numbers in self.of_kind.values()]
        kinds: list[tuple[int, int, int]] = []
        while any(state):
            _, kind, first = best[state][past]
            kinds.append((kind, first, past))
            state, past = _without(state, kind), first
        for kind, first, end in reversed(kinds):
            number = free[kind].pop()
            if end > first:
                stretches.append((number, first, end))
        return tuple(stretches)


def _without(state: State, kind: int) -> State:
    return (*state[:kind], state[kind] - 1, *state[kind + 1 :])


def _why_not(loads: Sequence[Load], cavers: Sequence[Caver]) -> str:
    """One sentence that says what is missing."""
    if not cavers:
        return "Nobody is named to carry: say how many cavers go."
    roomiest_ml, strongest_g = max(c.bag_ml for c in cavers), max(c.most_g for c in cavers)
    for number, load in enumerate(loads, start=1):
        if load.volume_ml > roomiest_ml:
            takes = f"Load {number} takes {load.volume_ml / 1000:.1f} litres"
            return f"{takes}; the largest bag holds {roomiest_ml / 1000:.1f}."
        if load.mass_g > strongest_g:
            return (
                f"Load {number} is {load.mass_g / 1000:.1f} kg; nobody carries more than {strongest_g / 1000:.1f} kg."
            )
    mass_g, most_g = sum(load.mass_g for load in loads), sum(c.most_g for c in cavers)
    if mass_g > most_g:
        return f"{mass_g / 1000:.1f} kg are to be carried and the cavers together carry {most_g / 1000:.1f} kg at most."
    volume_ml, room_ml = sum(load.volume_ml for load in loads), sum(c.bag_ml * c.bags for c in cavers)
    if volume_ml > room_ml:
        return f"The tackle takes {volume_ml / 1000:.1f} litres and the bags hold {room_ml / 1000:.1f} together."
    alike = Counter((c.most_g, c.bag_ml) for c in cavers)
    return (
        f"Kept in order of use the loads do not fit {sum(alike.values())} cavers' bags, though the sums would: "
        "take one bag more, or let somebody carry more."
    )
