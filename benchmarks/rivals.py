"""The planner beside a plain integer program and the hand method, on the same instances in the same run.

    python benchmarks/rivals.py FOLDER [NAME...] [--limit SECONDS]

The plain program has a 0-or-1 variable for each pair of run and rope and weighs a change as 20 kg; the hand method is
`planning.by_hand`. Each runs in a process of its own. Prints a Markdown table: seconds, changes, mass, peak memory.
"""

import argparse
import json
import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from allocation import is_allocation, problem_of

#: Grams that the plain program gives for a change, and the most pairs it is asked to take on.
CHANGE_G, MOST_PAIRS = 20_000, 1_200_000


def plainly(problem: Any, limit_s: float) -> dict[str, Any]:
    """Least mass and changes, one variable a pair of run and rope."""
    import numpy as np
    from scipy import sparse
    from scipy.optimize import Bounds, LinearConstraint, milp

    starts = [sum(line.places for line in problem.lines[:n]) for n in range(len(problem.lines) + 1)]
    ropes, flows = len(problem.stock), starts[-1]
    rows: list[int] = []
    cols: list[int] = []
    values: list[int] = []
    cost: list[int] = []
    for n, line in enumerate(problem.lines):
        together = [q for q, clique in enumerate(problem.cliques) if n in clique]
        for run in line.runs:
            for r, rope in enumerate(problem.stock):
                if rope.length_cm < run.needs_cm[rope.accuracy] or not run.rule.accepts(rope):
                    continue
                used = [flows + q * ropes + r for q in together]
                rows += [starts[n] + run.begin, starts[n] + run.end, *used]
                cols += [len(cost)] * (2 + len(used))
                values += [1, -1, *[1] * len(used)]
                cost.append(rope.mass_g + CHANGE_G * run.changes)
    height = flows + ropes * len(problem.cliques)
    if len(cost) > MOST_PAIRS:
        return {"status": f"{len(cost)} variables, not tried"}
    low, high = np.full(height, -np.inf), np.ones(height)
    low[:flows] = high[:flows] = 0
    for n, line in enumerate(problem.lines):
        low[starts[n]] = high[starts[n]] = 1
        low[starts[n] + line.places - 1] = high[starts[n] + line.places - 1] = -1
    matrix = sparse.csr_array((values, (rows, cols)), shape=(height, len(cost)))
    result = milp(
        np.array(cost, float),
        integrality=np.ones(len(cost)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix, low, high),
        options={"time_limit": limit_s, "mip_rel_gap": 0.0},
    )
    words = {0: "proven", 1: "time is up", 2: "impossible"}.get(result.status, "no answer")
    if result.x is None:
        return {"status": words}
    return {"status": words, "value": round(result.fun), "gap": float(result.mip_gap or 0.0)}


def one(path: Path, rival: str, limit_s: float) -> dict[str, Any]:
    """One instance with one method; what it found, how long it took and its peak memory."""
    from tethera.planning import assign_ropes, plan_by_hand

    problem = problem_of(json.loads(path.read_text(encoding="utf-8")))
    begin = time.monotonic()
    if rival == "plain":
        found = plainly(problem, limit_s)
    else:
        plan = (
            plan_by_hand(problem)
            if rival == "hand"
            else assign_ropes(problem, allowance=0.0, explain=False, seconds=lambda: begin + limit_s - time.monotonic())
        )
        found = {"status": plan.status if plan.found or rival == "ours" else "fails", "gap": plan.gap}
        if plan.found:
            found |= {"changes": plan.changes, "mass_g": plan.mass_g, "value": plan.mass_g + CHANGE_G * plan.changes}
    seconds = time.monotonic() - begin
    return found | {"s": seconds, "mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024}


def table_row(path: Path, limit_s: float) -> str:
    """One line of the table."""
    found = {}
    for rival in ("ours", "plain", "hand"):
        command = [sys.executable, __file__, str(path), "--one", rival, "--limit", str(limit_s)]
        ran = subprocess.run(command, capture_output=True, text=True, check=False, timeout=4 * limit_s + 120)
        found[rival] = json.loads(ran.stdout) if ran.stdout else {"status": "failed", "s": 0.0, "mb": 0.0}
    ours, plain, hand = found["ours"], found["plain"], found["hand"]
    best = ours.get("value")
    gap = f", gap {100 * plain['gap']:.1f} %" if plain["status"] == "time is up" and "gap" in plain else ""
    more = f"+{100 * (hand['value'] / best - 1):.1f} %" if best and "value" in hand else hand["status"]
    mass = f"{ours['changes']}, {ours['mass_g'] / 1000:.2f} kg" if "mass_g" in ours else ""
    return (
        f"| {path.stem} | {ours['status']} | {mass} | {ours['s']:.2f} | {ours['mb']:.0f} | "
        f"{plain['status']}{gap} | {plain['s']:.2f} | {plain['mb']:.0f} | {more} | {hand['s']:.2f} |"
    )


def main() -> None:
    """Read the words, run every instance, print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("names", nargs="*", help="only these instances")
    parser.add_argument("--limit", type=float, default=60.0, metavar="SECONDS")
    parser.add_argument("--one", choices=("ours", "plain", "hand"), help=argparse.SUPPRESS)
    words = parser.parse_intermixed_args()
    if words.one:
        print(json.dumps(one(words.folder, words.one, words.limit)))
        return
    print("| instance | ours | changes, mass | s | MB | plain program | s | MB | hand, cost over ours | s |")
    print("|---|---|---|---|---|---|---|---|---|---|")
    for path in sorted(p for p in words.folder.glob("*.json") if is_allocation(p)):
        if not words.names or path.stem in words.names:
            print(table_row(path, words.limit), flush=True)


if __name__ == "__main__":
    main()
