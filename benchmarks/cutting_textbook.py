"""The textbook model beside ours: which piece comes off which stock, for a general-purpose integer solver.

python benchmarks/cutting_textbook.py FOLDER [--limit SECONDS] PATH …

One binary for each stock that is opened and one whole number for each kind of piece on each stock; as many stocks as
our plan opens. Prints one JSON line an instance: path, optimum as published, ours and theirs with objective, bound,
proven, seconds.
"""

import argparse
import csv
import json
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

sys.path.insert(0, str(Path(__file__).parent))

from cutting import asked
from cutting_instances import problems

from tethera.planning.stock import CuttingProblem


def textbook(problem: CuttingProblem, opened: int, limit_s: float) -> dict[str, Any]:
    """The assignment model with `opened` stocks of each length, or as many as there are."""
    stocks = [s for s in problem.stocks for _ in range(min(opened, opened if s.count is None else s.count))]
    kinds, many = len(problem.items), len(stocks)
    lengths = np.array([item.length for item in problem.items], float)
    demands = np.array([item.demand for item in problem.items], float)
    # Columns: opened or not of each stock, then copies of each kind on each stock.
    fits = sparse.hstack(
        [sparse.diags_array([-float(s.length) for s in stocks]), sparse.kron(sparse.eye_array(many), lengths[None, :])]
    )
    needs = sparse.hstack([sparse.csr_array((kinds, many)), sparse.kron(np.ones((1, many)), sparse.eye_array(kinds))])
    cost = np.concatenate([[float(s.cost) for s in stocks], np.zeros(many * kinds)])
    most = np.concatenate([np.ones(many), np.tile(demands, many)])
    begin = time.monotonic()
    found = milp(
        cost,
        integrality=np.ones(len(cost)),
        bounds=Bounds(0, most),
        constraints=[LinearConstraint(fits, -np.inf, 0.0), LinearConstraint(needs, demands, np.inf)],
        options={"time_limit": limit_s},
    )
    return {
        "objective": None if found.x is None else round(float(found.fun)),
        "bound": None if found.mip_dual_bound is None else round(float(found.mip_dual_bound), 1),
        "proven": found.status == 0,
        "seconds": round(time.monotonic() - begin, 2),
    }


def main() -> None:
    """Each instance by both."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("paths", nargs="+")
    parser.add_argument("--limit", type=float, default=20.0)
    words = parser.parse_args()
    with (words.folder / "optima.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["path"]: row for row in csv.DictReader(file)}
    for path in words.paths:
        row = rows[path]
        name, problem = next(iter(problems(words.folder / path, row["format"])))
        ours = asked(words.folder, path, row["format"], 0, words.limit)
        opened = ours["objective"] if row["format"] in ("BPP", "CSP", "ORLIB") else sum(i.demand for i in problem.items)
        theirs = textbook(problem, min(int(opened), sum(i.demand for i in problem.items)), words.limit)
        print(
            json.dumps({"path": path, "name": name, "optimum": row["optimum"], "ours": ours, "textbook": theirs}),
            flush=True,
        )


if __name__ == "__main__":
    main()
