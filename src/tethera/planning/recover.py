"""From columns back to ropes: who hangs where."""

from collections import defaultdict

import numpy as np
from numpy.typing import NDArray

from tethera.planning.cascade import Cascade
from tethera.planning.plan import Hang, Plan
from tethera.planning.problem import PlanningProblem


def hangs_of(cascade: Cascade, columns: NDArray[np.int64]) -> tuple[Hang, ...]:
    """Name a rope for each run chosen. The rows of the cascade promise that there is one."""
    pools = _Pools(cascade, columns)
    hangs = [hang for choice in np.flatnonzero(columns[: cascade.first["taken"]]) for hang in [pools.hang(int(choice))]]
    hangs += _joined_hangs(cascade, columns, pools)
    return tuple(sorted(hangs, key=lambda hang: (hang.line, hang.begin)))


class _Pools:
    """Individual ropes for the runs of each block and group, and for joined runs.

    Two blocks overlap when they share a clique of trips, and the cliques of a block follow one another in time; so
    first fit by first clique never runs out of a class (interval graphs are perfect).
    """

    def __init__(self, cascade: Cascade, columns: NDArray[np.int64]) -> None:
        self.cascade = cascade
        self.of_choice: dict[int, str] = {}
        self.of_joined: dict[int, list[str]] = defaultdict(list)
        ropes: dict[tuple[int, int], list[str]] = defaultdict(list)
        busy: dict[str, set[int]] = defaultdict(set)
        for cliques, rope_class, for_what in sorted(self._demands(columns)):
            rope = next(rope for rope in cascade.classes[rope_class].ropes if not busy[rope] & set(cliques))
            busy[rope] |= set(cliques)
            if for_what[0] == "block":
                ropes[for_what[1], cascade.classes[rope_class].group].append(rope)
            else:
                self.of_joined[for_what[1]].append(rope)
        self._hand_out(columns, ropes)

    def _demands(self, columns: NDArray[np.int64]) -> list[tuple[tuple[int, ...], int, tuple[str, int]]]:
        """One entry a rope taken: cliques it is away in, its class, and the block or joined column it is for."""
        cascade = self.cascade
        of_line = [
            tuple(n for n, clique in enumerate(cascade.problem.cliques) if line in clique)
            for line in range(len(cascade.problem.lines))
        ]
        demands = []
        for (c, b), count in zip(cascade.taken, columns[cascade.first["taken"] : cascade.first["joins"]], strict=True):
            demands += [(of_line[min(cascade.blocks[b])], c, ("block", b))] * int(count)
        for col, joined in enumerate(cascade.joined_ropes, start=cascade.first["joined ropes"]):
            demands += [(of_line[joined.family[0]], joined.rope_class, ("joined", col))] * int(columns[col])
        return demands

    def _hand_out(self, columns: NDArray[np.int64], ropes: dict[tuple[int, int], list[str]]) -> None:
        length_cm = {rope.rope: rope.length_cm for rope in self.cascade.problem.stock}
        chosen: dict[tuple[int, int], list[int]] = defaultdict(list)
        for col in np.flatnonzero(columns[: self.cascade.first["taken"]]).tolist():
            choice = self.cascade.choices[col]
            chosen[self.cascade.block_of_line[choice.line], choice.group].append(col)
        for key, cols in chosen.items():
            longest_first = sorted(ropes[key], key=lambda rope: -length_cm[rope])
            neediest_first = sorted(cols, key=lambda col: -self.cascade.choices[col].need_cm)
            for col, rope in zip(neediest_first, longest_first, strict=True):
                self.of_choice[col] = rope

    def hang(self, col: int) -> Hang:
        """The hang of a chosen run."""
        choice = self.cascade.choices[col]
        run = choice.run
        return Hang(choice.line, run.begin, run.end, (self.of_choice[col],), choice.need_cm, run.changes, run.pitches)


def _joined_hangs(cascade: Cascade, columns: NDArray[np.int64], pools: _Pools) -> list[Hang]:
    hangs = []
    for col in range(cascade.first["joins"], cascade.first["joined ropes"]):
        if not columns[col]:
            continue
        choice = cascade.join_choices[col - cascade.first["joins"]]
        ropes = []
        for place in ("top", "between", "bottom"):
            for number, joined in enumerate(cascade.joined_ropes, start=cascade.first["joined ropes"]):
                if joined.family == choice.family and joined.hangs == place:
                    ropes += pools.of_joined[number]
        run = choice.run
        hangs.append(Hang(choice.line, run.begin, run.end, tuple(ropes), choice.need_cm, run.changes, run.pitches))
    return hangs


def plan_of(problem: PlanningProblem, hangs: tuple[Hang, ...]) -> Plan:
    """A plan with its sums worked out from the hangs, not taken from a solver."""
    ropes = [problem.rope_by_name[rope] for hang in hangs for rope in hang.ropes]
    return Plan(
        "feasible",
        hangs,
        joins=sum(hang.joins for hang in hangs),
        changes=sum(hang.changes for hang in hangs),
        mass_g=sum(rope.mass_g for rope in ropes),
        left_over_cm=sum(rope.length_cm for rope in ropes) - sum(hang.need_cm for hang in hangs),
        wear=sum(rope.wear for rope in ropes),
    )
