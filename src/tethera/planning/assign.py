"""Choose ropes exactly: fewest joins in mid-drop, then fewest changes, least mass, least left over, least wear.

Each stage is a linear program for prices, then a small integer program on the columns whose reduced cost could still
matter: whatever uses a dropped column costs at least the bound plus the tolerance, so an answer within the tolerance is
the best there is.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from tethera.planning import highs
from tethera.planning.by_hand import plan_by_hand
from tethera.planning.cascade import Cascade
from tethera.planning.certificate import mass_bound_g
from tethera.planning.highs import Floats, NoAnswer, Rows
from tethera.planning.ladder import why_not
from tethera.planning.plan import Bounds, Budget, Plan, Progress, no_limit, silent
from tethera.planning.problem import PlanningProblem
from tethera.planning.recover import hangs_of, plan_of

Preference = Literal["least-left-over", "long-ropes-kept"]
#: The smallest difference that two whole-number plans can have.
_WHOLE = 1.0


@dataclass(frozen=True)
class Solved:
    """One stage: the columns, its value and bound in whole units, and whether it is proven best."""

    columns: NDArray[np.int64]
    value: int
    bound: int
    proven: bool
    prices: highs.Relaxed | None = None


def minimise(cascade: Cascade, cost: Floats, extra: Sequence[Rows], seconds: Budget) -> Solved:
    """Least cost over plans that keep the extra rows; NoAnswer when there is none or none in time."""
    limits = highs.stacked([cascade.limits, cascade.pins, *extra])
    relaxed = highs.relax(cost, cascade.equalities, limits, seconds=seconds())
    bound = whole_bound(relaxed.value)
    tolerance = max(_WHOLE, 1e-3 * abs(relaxed.value))
    best: Solved | None = None
    while True:
        keep = np.flatnonzero((relaxed.reduced <= tolerance) | ~cascade.whole)
        everything = len(keep) == cascade.columns
        try:
            found = _on_kept(cascade, cost, limits, keep, relaxed.value, seconds)
        except NoAnswer as none:
            if everything or not none.impossible:
                if best is not None:
                    return best
                raise
            tolerance *= 10
            continue
        value, of_kept, proven = found[1], found[2], found[3]
        # Whatever uses a dropped column costs more than the value of the linear program plus the tolerance.
        beyond = math.inf if everything else math.floor(relaxed.value + tolerance - 1e-6) + 1
        lower = int(max(bound, min(of_kept, beyond, value)))
        better = best is None or value <= best.value
        best = Solved(found[0], value, lower, proven and value <= beyond, relaxed) if better else best
        if best is None or best.proven or not proven or best.value <= beyond:
            assert best is not None
            return replace(best, bound=best.value if best.proven else lower)
        tolerance = max(best.value - relaxed.value, 1.5 * tolerance)


def whole_bound(value: float) -> int:
    """A float bound on a whole number, rounded up but for the solver's own error."""
    return math.ceil(value - 1e-3 - 1e-9 * abs(value))


def _on_kept(
    cascade: Cascade,
    cost: Floats,
    limits: Rows,
    keep: NDArray[np.int64],
    size: float,
    seconds: Budget,
) -> tuple[NDArray[np.int64], int, float, bool]:
    rows = (cost, cascade.equalities, limits, keep, cascade.whole, cascade.most)
    # A gap below one is none between whole numbers. The value is not known yet: the linear program's stands for it, and
    # where that was too coarse a second solve closes the gap.
    columns, bound, proven = highs.integers(*rows, seconds=seconds(), gap=0.9 / max(1.0, abs(size)))
    if proven and round(float(cost @ columns)) - bound >= _WHOLE:
        columns, bound, proven = highs.integers(*rows, seconds=seconds())
    matrix, right = cascade.equalities
    exact = np.array_equal(matrix.astype(np.int64) @ columns, right.astype(np.int64))
    within = bool(np.all(limits[0].astype(np.int64) @ columns <= limits[1] + 1e-6))
    if not (exact and within and np.all(columns >= 0)):
        # A solver's rounding is not ours: an answer that fails in whole numbers is no answer.
        raise NoAnswer(impossible=False)
    value = int(np.rint(cost).astype(np.int64) @ columns)
    return columns, value, whole_bound(bound) if math.isfinite(bound) else -math.inf, proven


def assign_ropes(
    problem: PlanningProblem,
    *,
    allowance: float = 0.01,
    prefer: Preference = "least-left-over",
    seconds: Budget = no_limit,
    progress: Progress = silent,
    explain: bool = True,
) -> Plan:
    """Choose the ropes of all lines together.

    Parameters
    ----------
    allowance : share of mass that may be given up for less left over (or long ropes kept) and less wear
    prefer : what that freedom is for
    seconds : time left, asked before each stage
    progress : told each stage with the best so far and the bound
    explain : say why it is impossible, when it is

    An interrupt (Ctrl-C) gives the best so far. "Cannot be done" is a plan that says why.
    """
    search = _Search(problem, allowance, prefer, seconds, progress)
    try:
        search.run()
    except KeyboardInterrupt:
        progress("stopped", None, None)
    plan = search.best
    if plan.status == "impossible" and explain:
        return replace(plan, unmet=why_not(problem, seconds))
    return plan


class _Search:
    """The stages in order, keeping the best plan so far."""

    def __init__(
        self, problem: PlanningProblem, allowance: float, prefer: Preference, seconds: Budget, progress: Progress
    ) -> None:
        self.problem, self.allowance, self.prefer = problem, allowance, prefer
        self.seconds, self.progress = seconds, progress
        by_hand = plan_by_hand(problem)
        # The hand method proves nothing: that it finds no plan says nothing about whether there is one.
        self.best = by_hand if by_hand.found else Plan("unknown")
        self.extra: list[Rows] = []

    def run(self) -> None:
        """Go through the stages until all is proven or time is up."""
        if not self.problem.lines:
            self.best = Plan("optimal", bounds=Bounds(0, 0, 0), proven=_STAGES)
            return
        self.progress("reading the routes", None, None)
        try:
            cascade, mass, joins, changes = self._lightest()
        except NoAnswer as none:
            if none.impossible:
                self.best = Plan("impossible")
            return
        certified = mass_bound_g(cascade, mass.prices, changes) if mass.prices and not cascade.join_choices else 0
        bounds = Bounds(joins.bound, changes if joins.proven else 0, max(certified, mass.bound))
        proven_so_far = joins.proven and mass.proven
        self._keep(cascade, mass, bounds, _STAGES[:3] if proven_so_far else ())
        self._polish(cascade, mass, bounds, proven_so_far)

    def _keep(self, cascade: Cascade, solved: Solved, bounds: Bounds, proven: tuple[str, ...]) -> None:
        plan = plan_of(self.problem, hangs_of(cascade, solved.columns))
        status: Literal["optimal", "feasible"] = "optimal" if "mass" in proven else "feasible"
        self.best = replace(plan, status=status, bounds=bounds, proven=proven)
        self.progress("lightest", plan.mass_g, bounds.mass_g)

    def _lightest(self) -> tuple[Cascade, Solved, Solved, int]:
        """Fewest joins, then fewest changes, then least mass: the model used, the last stage, joins and changes."""
        none = Solved(np.zeros(0, np.int64), 0, 0, True)
        try:
            self.progress("ropes changed only between pitches", None, None)
            cascade = Cascade(self.problem, between_pitches_only=True)
            return cascade, minimise(cascade, cascade.mass_g, [], self.seconds), none, 0
        except NoAnswer as no:
            if not no.impossible:
                raise
        cascade, joins = Cascade(self.problem), none
        try:
            return (cascade, *self._fewest_changes(cascade, none))
        except NoAnswer as no:
            if not no.impossible or not any(line.knotted for line in self.problem.lines):
                raise
        self.progress("joining ropes in mid-drop", None, None)
        cascade = Cascade(self.problem, with_joins=True)
        joins = minimise(cascade, cascade.joins, [], self.seconds)
        self.extra.append(highs.row(cascade.joins, joins.value))
        return (cascade, *self._fewest_changes(cascade, joins))

    def _fewest_changes(self, cascade: Cascade, joins: Solved) -> tuple[Solved, Solved, int]:
        """Go straight to least mass under as few changes as the linear program allows, one more while impossible."""
        limits = highs.stacked([cascade.limits, cascade.pins, *self.extra])
        self.progress("fewest changes", None, None)
        relaxed = highs.relax(cascade.changes, cascade.equalities, limits, seconds=self.seconds())
        changes = whole_bound(relaxed.value)
        most = round(max(cascade.changes.tolist(), default=0.0)) * sum(line.places for line in self.problem.lines)
        while True:
            row = highs.row(cascade.changes, changes)
            try:
                mass = minimise(cascade, cascade.mass_g, [*self.extra, row], self.seconds)
            except NoAnswer as no:
                if not no.impossible or changes >= most:
                    raise
                changes += 1
                continue
            self.extra.append(row)
            return mass, joins, changes

    def _polish(self, cascade: Cascade, mass: Solved, bounds: Bounds, proven_so_far: bool) -> None:
        """Use the mass allowance for less left over (or long ropes kept), then for less wear."""
        self.extra.append(highs.row(cascade.mass_g, math.floor(mass.value * (1 + self.allowance))))
        wanted = cascade.left_over_cm if self.prefer == "least-left-over" else cascade.length_squared
        for stage, cost in ((_STAGES[3], wanted), (_STAGES[4], cascade.wear)):
            if self.seconds() <= 0:
                return
            self.progress(stage, None, None)
            try:
                solved = minimise(cascade, cost, self.extra, self.seconds)
            except NoAnswer:
                # Out of time: the plan so far stands, and does not claim this stage.
                return
            proven_so_far = proven_so_far and solved.proven
            self._keep(cascade, solved, bounds, (*self.best.proven, stage) if proven_so_far else self.best.proven)
            self.extra.append(highs.row(cost, solved.value))


_STAGES = ("joins", "changes", "mass", "left over", "wear")
