"""Plan every allocation instance of a folder and print one JSON line each.

    python benchmarks/allocation.py FOLDER [--limit SECONDS]

Each instance runs in a process of its own, so that its peak memory is its own. Lengths in the files are decimetres and
masses per metre tenths of a gram; the planner works in centimetres and grams, and this door converts. Allowance 0,
margins off, needs as given. Keys: name, status ("optimal", "feasible", "infeasible", "unknown", or "unreadable"),
knots, changes, mass_g, mass_bound_g, left_dm, seconds, rss_mb; null where there is no plan.
"""

import argparse
import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

#: A rope runs on to the next pitch over at most this many metres of passage.
LONGEST_PASSAGE_DM = 250
#: The planner speaks of what cannot be done; solvers, and readers of this output, of what is infeasible.
WORDS = {"impossible": "infeasible"}
NO_PLAN: dict[str, Any] = dict.fromkeys(("knots", "changes", "mass_g", "mass_bound_g", "left_dm"))


def problem_of(instance: dict[str, Any]) -> Any:
    """The planner's problem: decimetres to centimetres, the rest as it is."""
    from tethera.planning import Line, PlanningProblem, StockRope

    stock = tuple(
        StockRope(
            rope=rope["id"],
            length_cm=rope["len"] * 10,
            mass_g=round(rope["len"] * rope["g"] / 100),
            diameter_tenths_mm=rope["d"],
            rope_type=rope["t"],
            tenths_g_per_m=rope["g"],
            wear=rope.get("wear", 0),
        )
        for rope in instance["ropes"]
        if not rope.get("booked") and not rope.get("reserved")
    )
    longest_dm = max((rope.length_cm // 10 for rope in stock), default=0)
    lines = []
    for route in instance["routes"]:
        places, legs = _places(route, instance["cons"])
        lines.append(
            Line(
                name=str(route["id"]),
                places=len(places),
                runs=tuple(_runs(places, legs, longest_dm)),
                window=tuple(route["win"]),
                knotted=tuple(_knotted(places, legs, instance["cons"], longest_dm))
                if instance.get("kind") == "alloc-knot"
                else (),
            )
        )
    return PlanningProblem(tuple(lines), stock)


def _places(route: dict[str, Any], metres: dict[str, int]) -> tuple[list[dict[str, Any]], list[Any]]:
    """Places where a rope may begin or end, with dm run up to arriving and leaving; rules of the legs between them."""
    places = [{"start": metres["start_backup"], "leave": 0, "pitch": 0}]
    legs: list[Any] = []
    at, rule = 0, (0, False, None)
    for number, pitch in enumerate(route["pitches"]):
        thinnest = dict(map(tuple, pitch.get("mind", [])))
        for index, (kind, leg_dm) in enumerate(pitch["st"]):
            if index == 0:
                continue
            at += leg_dm
            rule = _stricter(rule, (thinnest.get(index, 0), bool(pitch.get("typeA")), pitch.get("maxg")))
            if kind == "deviation":
                at += metres["deviation"]
                continue
            foot = kind == "foot"
            last = number == len(route["pitches"]) - 1
            arrive = at + (metres["foot"] if foot else 0)
            on = (
                0 if foot and last else pitch["link"] + metres["link_pass"] + metres["backup"] if foot else metres[kind]
            )
            places.append(
                {
                    "arrive": arrive,
                    "leave": arrive + on,
                    "end": metres["end_foot" if foot else "end_mid"],
                    "start": metres["start_backup" if foot else "start_mid"],
                    "changes": 0 if foot else 1,
                    "goes_on": not foot or (not last and pitch.get("linkable") and pitch["link"] <= LONGEST_PASSAGE_DM),
                    "pitch": number,
                }
            )
            legs.append(rule)
            at, rule = arrive + on, (0, False, None)
    return places, legs


def _stricter(a: tuple[Any, ...], b: tuple[Any, ...]) -> tuple[Any, ...]:
    heaviest = [limit for limit in (a[2], b[2]) if limit is not None]
    return max(a[0], b[0]), a[1] or b[1], min(heaviest, default=None)


def _spans(places: list[dict[str, Any]], legs: list[Any]) -> Any:
    from tethera.planning import RopeRule

    for i, first in enumerate(places[:-1]):
        rule = (0, False, None)
        for j in range(i + 1, len(places)):
            rule = _stricter(rule, legs[j - 1])
            need_dm = first["start"] + places[j]["arrive"] - first["leave"] + places[j]["end"]
            yield i, j, need_dm, RopeRule(*rule)
            if not places[j]["goes_on"]:
                break


def _runs(places: list[dict[str, Any]], legs: list[Any], longest_dm: int) -> Any:
    from tethera.planning import Run

    for i, j, need_dm, rule in _spans(places, legs):
        if need_dm <= longest_dm:
            pitches = tuple(range(places[i + 1]["pitch"], places[j]["pitch"] + 1))
            yield Run(i, j, (need_dm * 10,), rule, places[j]["changes"], pitches)


def _knotted(places: list[dict[str, Any]], legs: list[Any], metres: dict[str, int], longest_dm: int) -> Any:
    """Runs with joins in a leg of 30 m or more, each join at least 2 m inside it."""
    from tethera.planning import KnottedRun

    join_dm = metres["start_knot"] + metres["end_knot"]
    for i, j, need_dm, rule in _spans(places, legs):
        if need_dm > 4 * longest_dm:
            continue
        for leg in range(i, j):
            top, foot = places[leg], places[leg + 1]
            if foot["arrive"] - top["leave"] < 300:
                continue
            above_dm = places[i]["start"] + top["leave"] - places[i]["leave"] + 20 + metres["end_knot"]
            below_dm = places[j]["arrive"] - foot["arrive"] + places[j]["end"] + 20 + metres["start_knot"]
            yield KnottedRun(
                leg, i, j, need_dm * 10, above_dm * 10, below_dm * 10, join_dm * 10, rule, places[j]["changes"]
            )


def solve(path: Path, limit_s: float) -> dict[str, Any]:
    """One instance: planned, and judged by the checker."""
    import resource

    # Loaded first, as the target times count the planning and not the imports.
    from tethera.planning import assign_ropes, faults

    problem = problem_of(json.loads(path.read_text(encoding="utf-8")))
    begin = time.monotonic()
    plan = assign_ropes(problem, allowance=0.0, seconds=lambda: begin + limit_s - time.monotonic(), explain=False)
    seconds = round(time.monotonic() - begin, 3)
    answer: dict[str, Any] = {"name": path.stem, "status": WORDS.get(plan.status, plan.status), **NO_PLAN}
    if plan.found and plan.bounds is not None:
        wrong = faults(problem, plan)
        if wrong:
            raise AssertionError(f"{path.stem}: {wrong}")
        answer |= {
            "knots": plan.joins,
            "changes": plan.changes,
            "mass_g": plan.mass_g,
            "mass_bound_g": plan.bounds.mass_g,
            "left_dm": plan.left_over_cm // 10,
        }
    rss_mb = round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, 1)
    return answer | {"seconds": seconds, "rss_mb": rss_mb}


def is_allocation(path: Path) -> bool:
    """Allocation instances name their kind; the folder also holds results and other kinds."""
    try:
        instance = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(instance, dict) and {"routes", "ropes", "cons"} <= instance.keys()


def main() -> None:
    """Read the words, run each instance in its own process, print a line each."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--limit", type=float, default=90.0, metavar="SECONDS", help="time for one instance (90)")
    parser.add_argument("--one", action="store_true", help=argparse.SUPPRESS)
    words = parser.parse_args()
    if words.one:
        print(json.dumps(solve(words.folder, words.limit)), flush=True)
        return
    for path in sorted(p for p in words.folder.glob("*.json") if is_allocation(p)):
        command = [sys.executable, __file__, str(path), "--one", "--limit", str(words.limit)]
        try:
            ran = subprocess.run(command, capture_output=True, text=True, timeout=words.limit * 1.5 + 30, check=False)
            line = ran.stdout.strip()
            reason = ran.stderr.strip().splitlines()[-1:] or ["no output"]
        except subprocess.TimeoutExpired:
            line, reason = "", ["ran over its time and was stopped"]
        if not line:
            sys.stderr.write(f"{path.name}: {reason[0]}\n")
            line = json.dumps({"name": path.stem, "status": "unreadable", **NO_PLAN, "seconds": None, "rss_mb": None})
        print(line, flush=True)


if __name__ == "__main__":
    main()
