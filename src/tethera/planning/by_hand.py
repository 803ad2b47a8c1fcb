"""The careful hand method: longest run first, the shortest rope that reaches, split at an anchor when none does.

It is the instant first answer, and the fallback when time is up. It proves nothing.
"""

import itertools
from dataclasses import replace

from tethera.planning.plan import Hang, Plan
from tethera.planning.problem import Line, PlanningProblem, Run, StockRope
from tethera.planning.recover import plan_of


def plan_by_hand(problem: PlanningProblem) -> Plan:
    """A plan as a careful keeper makes it, or one that says "impossible" without proof that it is.

    Pins are kept by looking for the pinned rope first; when that does not work out there is no hand plan.
    """
    keeper = _Keeper(problem)
    hangs: list[Hang] = []
    spans = [(number, i, j) for number, line in enumerate(problem.lines) for i, j in _pitches(line)]
    spans.sort(key=lambda span: -keeper.need_cm(*span))
    for span in spans:
        found = keeper.cover(*span)
        if found is None:
            return Plan("impossible")
        hangs += found
    for pin in problem.pins:
        if not any(pin.rope in h.ropes and h.line == pin.line and pin.pitch in h.pitches for h in hangs):
            return Plan("impossible")
    return replace(plan_of(problem, tuple(sorted(hangs, key=lambda h: (h.line, h.begin)))), status="feasible")


def _pitches(line: Line) -> list[tuple[int, int]]:
    """From place to place where ropes may change without a change inside a pitch."""
    ends = {run.end for run in line.runs if run.changes == 0}
    reached, places = 0, [0]
    direct = {(run.begin, run.end) for run in line.runs}
    for end in sorted(ends):
        if (reached, end) in direct or end == line.places - 1:
            places.append(end)
            reached = end
    if places[-1] != line.places - 1:
        places.append(line.places - 1)
    return list(itertools.pairwise(places))


class _Keeper:
    def __init__(self, problem: PlanningProblem) -> None:
        self.problem = problem
        self.runs = [{(run.begin, run.end): run for run in reversed(line.runs)} for line in problem.lines]
        self.ropes = sorted(problem.stock, key=lambda rope: (rope.mass_g, rope.length_cm))
        self.away: dict[str, list[tuple[int, int]]] = {}

    def need_cm(self, line: int, i: int, j: int) -> int:
        """Rope the whole span would take; more than any rope when it is no run."""
        run = self.runs[line].get((i, j))
        return max(run.needs_cm, default=0) if run else 10**9

    def cover(self, line: int, i: int, j: int) -> list[Hang] | None:
        """Hang the span on one rope, else split it where the upper part is longest."""
        run = self.runs[line].get((i, j))
        rope = self._shortest_free(line, run) if run else None
        if run and rope:
            self.away.setdefault(rope.rope, []).append(self.problem.lines[line].window)
            need_cm = run.needs_cm[rope.accuracy]
            return [Hang(line, i, j, (rope.rope,), need_cm, run.changes, run.pitches)]
        for k in range(j - 1, i, -1):
            upper = self.runs[line].get((i, k))
            rope = self._shortest_free(line, upper) if upper else None
            if upper is None or rope is None:
                continue
            self.away.setdefault(rope.rope, []).append(self.problem.lines[line].window)
            rest = self.cover(line, k, j)
            if rest is not None:
                need_cm = upper.needs_cm[rope.accuracy]
                return [Hang(line, i, k, (rope.rope,), need_cm, upper.changes, upper.pitches), *rest]
            self.away[rope.rope].pop()
            return None
        return None

    def _shortest_free(self, line: int, run: Run) -> StockRope | None:
        window = self.problem.lines[line].window
        pinned = {pin.rope: pin for pin in self.problem.pins}
        for rope in self.ropes:
            pin = pinned.get(rope.rope)
            elsewhere = pin is not None and not (pin.line == line and pin.pitch in run.pitches)
            reaches = rope.length_cm >= run.needs_cm[rope.accuracy] and run.rule.accepts(rope)
            at_home = all(window[1] <= a or b <= window[0] for a, b in self.away.get(rope.rope, ()))
            if reaches and at_home and not elsewhere:
                return rope
        return None
