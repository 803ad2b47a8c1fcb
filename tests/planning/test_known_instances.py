"""Instances with known best values, and middle ones against a plain model in the general-purpose solver."""

import importlib.util
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from tethera.planning import PlanningProblem, assign_ropes, faults

ROOT = Path(__file__).parents[2]
FOLDER = ROOT.parent / "shared" / "benchmarks" / "allocation"
#: Each takes at most about a second, 15 s together.
QUICK = (
    *(f"s6x20{x}" for x in "abcd"),
    *(f"s15x40{x}" for x in "abcd"),
    *(f"s40x120{x}" for x in "abcd"),
    *(f"s150x300{x}" for x in "abcd"),
    *(f"c8x15x200{x}" for x in "abcd"),
    *("w8x15x200", "canyon40", "planted15", "planted40", "knot6x30", "knot15x60"),
    *("inf_f15x40", "inf_l15x40", "inf_l6x20", "inf_m40x80", "inf_s15x40", "inf_s40x120"),
)


def door() -> Any:
    """The benchmark's own reader of instance files."""
    spec = importlib.util.spec_from_file_location("allocation_door", ROOT / "benchmarks" / "allocation.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def instance(name: str) -> PlanningProblem:
    """An instance as a problem; skipped with the reason when the instances are not there."""
    path = FOLDER / f"{name}.json"
    if not path.exists():
        pytest.skip("the instances with known best values are not beside this repository")
    problem = door().problem_of(json.loads(path.read_text(encoding="utf-8")))
    assert isinstance(problem, PlanningProblem)
    return problem


@pytest.mark.parametrize("name", QUICK)
def test_an_instance_comes_out_at_its_best_known_value(name: str) -> None:
    """Changes, mass and left over as another program proved them; impossible where it proved that."""
    problem = instance(name)
    known = json.loads((FOLDER / "best_known.json").read_text(encoding="utf-8"))[name]
    plan = assign_ropes(problem, allowance=0.0, explain=False)
    if known["status"] == "INFEASIBLE":
        assert plan.status == "impossible"
        return
    assert plan.status == "optimal"
    assert faults(problem, plan) == []
    assert (plan.changes, plan.mass_g) == (known["changes"], known.get("mass_g", known.get("mass")))
    assert plan.joins == known["knots"]
    if known.get("left_status") == "OPT":
        assert plan.left_over_cm == 10 * known["left_dm"]
    assert plan.bounds is not None
    assert plan.bounds.mass_g <= plan.mass_g


def least_mass_plainly(problem: PlanningProblem, changes: int) -> int | None:
    """Least mass with at most so many changes: one 0-or-1 variable for each pair of run and rope."""
    pairs = [
        (n, run, rope)
        for n, line in enumerate(problem.lines)
        for run in line.runs
        for rope in problem.stock
        if run.rule.accepts(rope) and rope.length_cm >= run.needs_cm[rope.accuracy]
    ]
    row_of = {
        (n, place): i
        for i, (n, place) in enumerate((n, p) for n, x in enumerate(problem.lines) for p in range(x.places))
    }
    first = len(row_of)
    use_of = {
        (q, rope.rope): first + i
        for i, (q, rope) in enumerate((q, rope) for q in range(len(problem.cliques)) for rope in problem.stock)
    }
    rows, cols, values = [], [], []
    for col, (n, run, rope) in enumerate(pairs):
        entries = [(row_of[n, run.begin], 1), (row_of[n, run.end], -1)]
        entries += [(use_of[q, rope.rope], 1) for q, clique in enumerate(problem.cliques) if n in clique]
        entries += [(first + len(use_of), run.changes)]
        for row, value in entries:
            rows.append(row)
            cols.append(col)
            values.append(value)
    height = first + len(use_of) + 1
    matrix = sparse.csr_array((values, (rows, cols)), shape=(height, len(pairs)))
    low = np.full(height, -np.inf)
    high = np.ones(height)
    for (n, place), row in row_of.items():
        flow = 1 if place == 0 else -1 if place == problem.lines[n].places - 1 else 0
        low[row] = high[row] = flow
    high[-1] = changes
    mass_g = np.array([rope.mass_g for _, _, rope in pairs], float)
    result = milp(
        mass_g,
        integrality=np.ones(len(pairs)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix, low, high),
        options={"mip_rel_gap": 0.0},
    )
    return None if result.x is None else round(result.fun)


@pytest.mark.parametrize("name", ["s15x40a", "s15x40b", "s15x40c", "s15x40d", "s40x120b", "planted15", "canyon40"])
def test_the_plain_model_gives_the_same_changes_and_mass(name: str) -> None:
    """No plan of the plain model has fewer changes, and none as few is lighter."""
    problem = instance(name)
    plan = assign_ropes(problem, allowance=0.0, explain=False)
    assert least_mass_plainly(problem, plan.changes) == plan.mass_g
    if plan.changes:
        assert least_mass_plainly(problem, plan.changes - 1) is None
