"""The cascade: which rope rigs which run, without one variable for each pair of run and rope.

Ropes that no rule of the problem tells apart form a *group*; the different lengths of a group are its *levels*,
shortest first. A run takes some rope of a group at or above the lowest level that reaches. Per block of trips (trips
that overlap the same other trips) and group, a chain of rows hands unused ropes down:

    spare[level + 1] + ropes taken at level - runs that need level = spare[level] >= 0,   nothing spare at either end

By Hall's condition on nested neighbourhoods a set of runs can be served by the ropes taken exactly when every spare is
at least 0, so the rows are exact, for fractions as well. Identical ropes in overlapping windows: interval graphs are
perfect, so it is enough that no clique of trips takes more of a class than there are.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from tethera.planning.problem import KnottedRun, PlanningProblem, RopeRule, Run, StockRope

Floats = NDArray[np.float64]
Rows = tuple[sparse.csr_array, Floats]


@dataclass(frozen=True, slots=True)
class RopeClass:
    """Ropes that are the same for this problem: group, length, mass and wear."""

    group: int
    level: int
    length_cm: int
    mass_g: int
    wear: int
    ropes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RunChoice:
    """A run hung on a rope of a group: one 0-or-1 column."""

    line: int
    run: Run
    group: int
    level: int
    need_cm: int


@dataclass(frozen=True, slots=True)
class JoinChoice:
    """A run hung on `ropes` ropes joined inside one leg: one 0-or-1 column."""

    line: int
    run: KnottedRun
    ropes: int

    @property
    def family(self) -> tuple[int, int, RopeRule]:
        """Choices of which at most one is used: their ropes are counted together."""
        return self.line, self.run.leg, self.run.rule

    @property
    def need_cm(self) -> int:
        """Rope needed, the joins included."""
        return self.run.need_cm + (self.ropes - 1) * self.run.join_cm


@dataclass(frozen=True, slots=True)
class JoinedRope:
    """Ropes of a class in a joined run: how many hang at its top, in between, at its bottom."""

    family: tuple[int, int, RopeRule]
    rope_class: int
    hangs: Literal["top", "between", "bottom"]


class Cascade:
    """Columns of the model: run choices, ropes taken per class and block, joined runs and their ropes, spares.

    Without `with_joins` the joined runs are left out; with `between_pitches_only` those that end inside a pitch.
    """

    def __init__(
        self, problem: PlanningProblem, *, with_joins: bool = False, between_pitches_only: bool = False
    ) -> None:
        self.problem = problem
        self.between_pitches_only = between_pitches_only
        self.blocks, self.block_of_line = _blocks(problem)
        self.groups = _groups(problem)
        self.lengths_cm = [sorted({rope.length_cm for rope in group}) for group in self.groups]
        self.classes = _classes(self.groups, self.lengths_cm)
        self.choices = self._run_choices()
        self.join_choices = self._join_choices() if with_joins else []
        self.joined_ropes = self._joined_ropes()
        self.taken = [(c, b) for c in range(len(self.classes)) for b in range(len(self.blocks))]
        self.spares = [
            (b, k, level)
            for b in range(len(self.blocks))
            for k in range(len(self.groups))
            for level in range(1, len(self.lengths_cm[k]))
        ]

    def _run_choices(self) -> list[RunChoice]:
        choices = []
        for number, line in enumerate(self.problem.lines):
            for run in line.runs:
                if self.between_pitches_only and run.changes:
                    continue
                for k, group in enumerate(self.groups):
                    need_cm = run.needs_cm[group[0].accuracy]
                    level = bisect_left(self.lengths_cm[k], need_cm)
                    if level < len(self.lengths_cm[k]) and run.rule.accepts(group[0]):
                        choices.append(RunChoice(number, run, k, level, need_cm))
        return choices

    def _join_choices(self) -> list[JoinChoice]:
        return [
            JoinChoice(number, run, ropes)
            for number, line in enumerate(self.problem.lines)
            for run in line.knotted
            for ropes in range(2, self.problem.most_ropes_in_a_run + 1)
        ]

    def _joined_ropes(self) -> list[JoinedRope]:
        families = dict.fromkeys(choice.family for choice in self.join_choices)
        return [
            JoinedRope(family, c, hangs)
            for family in families
            for c, rope_class in enumerate(self.classes)
            if family[2].accepts(self.problem.rope_by_name[rope_class.ropes[0]])
            for hangs in ("top", "between", "bottom")
        ]

    @cached_property
    def first(self) -> dict[str, int]:
        """First column of each kind; "end" is one past the last."""
        counts = [len(self.choices), len(self.taken), len(self.join_choices), len(self.joined_ropes), len(self.spares)]
        starts = [sum(counts[:i]) for i in range(len(counts) + 1)]
        return dict(zip(("choices", "taken", "joins", "joined ropes", "spares", "end"), starts, strict=True))

    @property
    def columns(self) -> int:
        """Number of columns."""
        return self.first["end"]

    @cached_property
    def whole(self) -> NDArray[np.bool_]:
        """Columns that must be whole numbers; the spares then are so by themselves."""
        return np.arange(self.columns) < self.first["spares"]

    @cached_property
    def most(self) -> Floats:
        """Most of each column: a run is hung once, a class has so many ropes, as many are spare as reach the level.

        All are finite: the solver's presolve has been seen to run for ever on a spare without a limit.
        """
        counts = [float(len(rope_class.ropes)) for rope_class in self.classes]
        most = [1.0] * len(self.choices) + [counts[c] for c, _ in self.taken] + [1.0] * len(self.join_choices)
        most += [counts[joined.rope_class] for joined in self.joined_ropes]
        at_level: dict[tuple[int, int], float] = defaultdict(float)
        for rope_class in self.classes:
            for level in range(rope_class.level + 1):
                at_level[rope_class.group, level] += len(rope_class.ropes)
        return np.array(most + [at_level[k, level] for _, k, level in self.spares])

    def cost(
        self,
        *,
        per_run: Callable[[RunChoice], int] = lambda choice: 0,
        per_rope: Callable[[RopeClass], int] = lambda rope: 0,
        per_join: Callable[[JoinChoice], int] = lambda choice: 0,
    ) -> Floats:
        """An objective over all columns; spares cost nothing."""
        of_class = [per_rope(rope_class) for rope_class in self.classes]
        parts = [
            [per_run(choice) for choice in self.choices],
            [of_class[c] for c, _ in self.taken],
            [per_join(choice) for choice in self.join_choices],
            [of_class[joined.rope_class] for joined in self.joined_ropes],
            [0] * len(self.spares),
        ]
        return np.array([value for part in parts for value in part], float)

    @cached_property
    def joins(self) -> Floats:
        """Joins in mid-drop, each a knot that everybody passes."""
        return self.cost(per_join=lambda choice: choice.ropes - 1)

    @cached_property
    def changes(self) -> Floats:
        """People change ropes inside a pitch."""
        return self.cost(per_run=lambda choice: choice.run.changes, per_join=lambda choice: choice.run.changes)

    @cached_property
    def mass_g(self) -> Floats:
        """Whole ropes are carried."""
        return self.cost(per_rope=lambda rope: rope.mass_g)

    @cached_property
    def left_over_cm(self) -> Floats:
        """Rope beyond the need."""
        return self.cost(
            per_run=lambda choice: -choice.need_cm,
            per_rope=lambda rope: rope.length_cm,
            per_join=lambda choice: -choice.need_cm,
        )

    @cached_property
    def length_squared(self) -> Floats:
        """Long ropes weigh more than their share (in dm², so that the numbers stay exact)."""
        return self.cost(per_rope=lambda rope: (rope.length_cm // 10) ** 2)

    @cached_property
    def wear(self) -> Floats:
        """Use so far of the ropes taken."""
        return self.cost(per_rope=lambda rope: rope.wear)

    @cached_property
    def equalities(self) -> Rows:
        """Rows that must hold exactly: a path along each line, the cascade of each block and group, ropes joined."""
        first_place = [0]
        for line in self.problem.lines:
            first_place.append(first_place[-1] + line.places)
        rows = RowBuilder(self.columns)
        for number, line in enumerate(self.problem.lines):
            for place in range(line.places):
                rows.add(1 if place == 0 else -1 if place == line.places - 1 else 0)
            self._path(rows, first_place[number], number)
        for _ in self.cascade_rows:
            rows.add(0)
        self._chain(rows, first_place[-1])
        for family in dict.fromkeys(choice.family for choice in self.join_choices):
            self._count_joined(rows, family)
        return rows.done()

    def _path(self, rows: "RowBuilder", first_row: int, line: int) -> None:
        of_line = [
            (col, choice.run.begin, choice.run.end) for col, choice in enumerate(self.choices) if choice.line == line
        ]
        of_line += [
            (col, choice.run.begin, choice.run.end)
            for col, choice in enumerate(self.join_choices, start=self.first["joins"])
            if choice.line == line
        ]
        for col, begin, end in of_line:
            rows.put(first_row + begin, col, 1)
            rows.put(first_row + end, col, -1)

    def _chain(self, rows: "RowBuilder", first_row: int) -> None:
        row_of = self.cascade_rows
        for col, choice in enumerate(self.choices):
            rows.put(first_row + row_of[self.block_of_line[choice.line], choice.group, choice.level], col, -1)
        for col, (c, b) in enumerate(self.taken, start=self.first["taken"]):
            rows.put(first_row + row_of[b, self.classes[c].group, self.classes[c].level], col, 1)
        for col, (b, k, level) in enumerate(self.spares, start=self.first["spares"]):
            rows.put(first_row + row_of[b, k, level - 1], col, 1)
            rows.put(first_row + row_of[b, k, level], col, -1)

    def _count_joined(self, rows: "RowBuilder", family: tuple[int, int, RopeRule]) -> None:
        """As many ropes at top, between and bottom as the joined run that is chosen has."""
        for hangs in ("top", "between", "bottom"):
            row = rows.add(0)
            for col, joined in enumerate(self.joined_ropes, start=self.first["joined ropes"]):
                if joined.family == family and joined.hangs == hangs:
                    rows.put(row, col, 1)
            for col, choice in enumerate(self.join_choices, start=self.first["joins"]):
                if choice.family == family:
                    rows.put(row, col, -(choice.ropes - 2) if hangs == "between" else -1)

    @cached_property
    def cascade_rows(self) -> dict[tuple[int, int, int], int]:
        """Row number, after the path rows, of a block, group and level."""
        keys = (
            (b, k, level)
            for b in range(len(self.blocks))
            for k in range(len(self.groups))
            for level in range(len(self.lengths_cm[k]))
        )
        return {key: number for number, key in enumerate(keys)}

    @cached_property
    def limits(self) -> Rows:
        """Rows that are at most: ropes there are, and rope that joined runs need."""
        rows = RowBuilder(self.columns)
        joined_of_class: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for col, joined in enumerate(self.joined_ropes, start=self.first["joined ropes"]):
            joined_of_class[joined.rope_class].append((col, joined.family[0]))
        for c, rope_class in enumerate(self.classes):
            for clique in self.problem.cliques:
                row = rows.add(len(rope_class.ropes))
                for b in {self.block_of_line[line] for line in clique}:
                    rows.put(row, self.first["taken"] + c * len(self.blocks) + b, 1)
                for col, line in joined_of_class[c]:
                    if line in clique:
                        rows.put(row, col, 1)
        for family in dict.fromkeys(choice.family for choice in self.join_choices):
            self._reach_joined(rows, family)
        return rows.done()

    def _reach_joined(self, rows: "RowBuilder", family: tuple[int, int, RopeRule]) -> None:
        """Joined ropes reach together, and the top and bottom ones reach into the leg."""
        for hangs in (None, "top", "bottom"):
            row = rows.add(0)
            for col, choice in enumerate(self.join_choices, start=self.first["joins"]):
                if choice.family == family:
                    run = choice.run
                    rows.put(row, col, {None: choice.need_cm, "top": run.above_cm, "bottom": run.below_cm}[hangs])
            for col, joined in enumerate(self.joined_ropes, start=self.first["joined ropes"]):
                if joined.family == family and hangs in (None, joined.hangs):
                    rows.put(row, col, -self.classes[joined.rope_class].length_cm)

    @cached_property
    def pins(self) -> Rows:
        """Rows that are at most -1: a pinned rope hangs on its pitch."""
        rows = RowBuilder(self.columns)
        for pin in self.problem.pins:
            row = rows.add(-1)
            for col, choice in enumerate(self.choices):
                serves = choice.line == pin.line and pin.pitch in choice.run.pitches
                if serves and self.groups[choice.group][0].rope == pin.rope:
                    rows.put(row, col, -1)
            for col, joined in enumerate(self.joined_ropes, start=self.first["joined ropes"]):
                serves = any(
                    choice.family == joined.family and choice.line == pin.line and pin.pitch in choice.run.pitches
                    for choice in self.join_choices
                )
                if serves and self.classes[joined.rope_class].ropes == (pin.rope,):
                    rows.put(row, col, -1)
        return rows.done()


class RowBuilder:
    """Gathers rows of a sparse matrix with their right-hand sides."""

    def __init__(self, columns: int) -> None:
        self.columns = columns
        self._right: list[float] = []
        self._rows: list[int] = []
        self._columns: list[int] = []
        self._values: list[float] = []

    def add(self, right: float) -> int:
        """Begin a row and give its number."""
        self._right.append(right)
        return len(self._right) - 1

    def put(self, row: int, column: int, value: float) -> None:
        """Add to a row's entry in a column."""
        self._rows.append(row)
        self._columns.append(column)
        self._values.append(value)

    def done(self) -> Rows:
        """The matrix and the right-hand sides."""
        shape = (len(self._right), self.columns)
        matrix = sparse.csr_array((np.array(self._values, float), (self._rows, self._columns)), shape=shape)
        return matrix, np.array(self._right, float)


def _blocks(problem: PlanningProblem) -> tuple[list[frozenset[int]], list[int]]:
    """Blocks of lines that belong to the same cliques, and the block of each line."""
    kinds: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for i in range(len(problem.lines)):
        kinds[tuple(n for n, clique in enumerate(problem.cliques) if i in clique)].append(i)
    blocks = [frozenset(lines) for lines in kinds.values()]
    of_line = [next(b for b, block in enumerate(blocks) if i in block) for i in range(len(problem.lines))]
    return blocks, of_line


def _groups(problem: PlanningProblem) -> list[list[StockRope]]:
    """Ropes that no rule tells apart; a pinned rope is a group of its own."""
    rules = sorted({run.rule for line in problem.lines for run in line.runs}, key=repr)
    pinned = {pin.rope for pin in problem.pins}
    groups: dict[tuple[object, ...], list[StockRope]] = defaultdict(list)
    for rope in problem.stock:
        accepted = tuple(rule.accepts(rope) for rule in rules)
        if any(accepted):
            groups[(*accepted, rope.accuracy, rope.rope if rope.rope in pinned else None)].append(rope)
    return list(groups.values())


def _classes(groups: list[list[StockRope]], lengths_cm: list[list[int]]) -> list[RopeClass]:
    classes = []
    for k, group in enumerate(groups):
        same: dict[tuple[int, int, int], list[str]] = defaultdict(list)
        for rope in group:
            same[rope.length_cm, rope.mass_g, rope.wear].append(rope.rope)
        for (length_cm, mass_g, wear), ropes in sorted(same.items()):
            level = bisect_left(lengths_cm[k], length_cm)
            classes.append(RopeClass(k, level, length_cm, mass_g, wear, tuple(sorted(ropes))))
    return classes
