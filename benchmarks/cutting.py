"""Solve the cutting-stock instances listed in FOLDER/optima.csv and print one JSON line each.

    python benchmarks/cutting.py FOLDER [--limit SECONDS] [--sample N --seed K]

Rows of optima.csv whose `format` is BPP, CSP, ORLIB, VSCSP or USERCSV are read (see benchmarks/cutting_instances.py);
a file with several problems gives one line a problem, each with its own time limit. A sample is
random.Random(K).sample(sorted(paths), N). Each problem is solved in a process of its own, one at a time, and stopped
from outside when it overruns. Keys: path, name, objective, bound, proven, seconds (wall time of the solving, reading
and imports left out), status ("optimal", "feasible", "impossible", "unknown", "stopped") and proof ("prices": the
bound was recomputed in whole numbers; "solver": the integer solver closed the last of the gap).
"""

import argparse
import csv
import json
import os
import random
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

from cutting_aside import Apart
from cutting_instances import CUTTING, problems

#: What starting and reading may take on top of the limit [s].
STARTING_S = 15.0


def listed(folder: Path) -> dict[str, str]:
    """Cutting instances of the folder: path and format."""
    with (folder / "optima.csv").open(encoding="utf-8", newline="") as file:
        return {row["path"]: row["format"] for row in csv.DictReader(file) if row["format"] in CUTTING}


def solve(path: Path, kind: str, number: int, limit_s: float) -> dict[str, Any]:
    """One problem of a file, planned and checked."""
    import numpy as np
    from scipy import optimize, sparse  # noqa: F401  (loaded first: the time is that of the solving)

    from tethera.planning.stock import cut_stock, plan_faults

    problem = list(problems(path, kind))[number][1]
    np.ones((2, 2)) @ np.ones((2, 2))
    begin = time.monotonic()
    plan = cut_stock(problem, lambda: begin + limit_s - 0.3 - time.monotonic(), aside=Apart)
    seconds = round(time.monotonic() - begin, 3)
    wrong = plan_faults(problem, plan)
    if wrong:
        raise AssertionError(f"{path}: {wrong}")
    return {
        "objective": plan.cost,
        "bound": plan.bound,
        "proven": plan.proven,
        "seconds": seconds,
        "status": plan.status,
        "proof": plan.proof,
    }


def asked(folder: Path, path: str, kind: str, number: int, limit_s: float) -> dict[str, Any]:
    """One problem in a process of its own, stopped when it overruns."""
    command = [sys.executable, __file__, str(folder), "--one", path, kind, str(number), "--limit", str(limit_s)]
    # One thread for the linear algebra: the second core is for the exact end.
    environment = os.environ | {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    begin = time.monotonic()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment, text=True)
    try:
        out, err = process.communicate(timeout=limit_s + STARTING_S)
    except subprocess.TimeoutExpired:
        process.kill()
        out, err = "", "ran over its time and was stopped"
        process.communicate()
    if out.strip():
        return dict(json.loads(out))
    sys.stderr.write(f"{path}: {(err.strip().splitlines() or ['no output'])[-1]}\n")
    nothing = {"objective": None, "bound": None, "proven": False}
    return {**nothing, "seconds": round(time.monotonic() - begin, 3), "status": "stopped", "proof": None}


def main() -> None:
    """Read the words, solve one instance after another."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--limit", type=float, default=20.0, metavar="SECONDS", help="time for one problem (20)")
    parser.add_argument("--sample", type=int, metavar="N", help="only so many instances, drawn with --seed")
    parser.add_argument("--seed", type=int, default=0, metavar="K")
    parser.add_argument("--one", nargs=3, help=argparse.SUPPRESS)
    words = parser.parse_args()
    if words.one:
        path, kind, number = words.one
        print(json.dumps(solve(words.folder / path, kind, int(number), words.limit)), flush=True)
        return
    kinds = listed(words.folder)
    paths = sorted(kinds)
    if words.sample is not None:
        paths = random.Random(words.seed).sample(paths, min(words.sample, len(paths)))
    for path in paths:
        for number, (name, _) in enumerate(problems(words.folder / path, kinds[path])):
            print(
                json.dumps({"path": path, "name": name, **asked(words.folder, path, kinds[path], number, words.limit)}),
                flush=True,
            )


if __name__ == "__main__":
    main()
