"""What to buy: the fleet instances of a folder, a store of 100 routes, and how often the promised confidence holds.

    python benchmarks/buying.py instances FOLDER [NAME...] [--limit SECONDS]

Prints JSON lines; each case runs in a process of its own, so that its peak memory is its own. Lengths in the files are
decimetres, money pence.
"""

import argparse
import json
import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from allocation import _places, _spans


def fleet_of(instance: dict[str, Any]) -> Any:
    """A fleet instance as the buyer's problem: ropes change only between pitches, pieces are whole metres."""
    from tethera.planning.buy_problem import FleetLine, FleetPiece, FleetProblem, FleetRun, Reel

    lines = []
    for number, route in enumerate(instance["routes"]):
        places, legs = _places(route, instance["cons"])
        whole = [i for i, place in enumerate(places) if not place.get("changes", 0)]
        index = {place: i for i, place in enumerate(whole)}
        runs = tuple(
            FleetRun(index[i], index[j], need_dm * 10)
            for i, j, need_dm, _ in _spans(places, legs)
            if i in index and j in index and (need_dm <= instance["multicap_dm"] or index[j] == index[i] + 1)
        )
        lines.append(FleetLine(number, len(whole), runs, str(route["id"])))
    pieces = tuple(
        FleetPiece(metres * 100, int(metres * 10 * instance["q"] + 1e-9) * 10)
        for metres in range(instance["lmin"], instance["lmax"] + 1)
    )
    reels = tuple(Reel(metres * 100, metres * pence, name=f"{metres} m") for metres, pence in instance["reels"])
    return FleetProblem(
        tuple(line.name for line in lines),
        tuple(lines),
        tuple(tuple(each) for each in instance["scenarios"]),
        tuple((length_dm * 10, 0) for length_dm in instance["store_dm"]),
        pieces=pieces,
        reels=reels,
        rooms_cm=tuple(reel.length_cm for reel in reels),
        pence_per_m=instance["cut_price_pm"],
        # "0 below 8 m; 0.25 x 150 p/m for 8-15 m; 0.5 x 150 p/m from 15 m"; in tenths of a penny it would be exact.
        off_cuts=((800, 37), (1500, 75)),
    )


def instance(path: Path, limit_s: float) -> dict[str, Any]:
    """One instance solved, and beside it what another program found."""
    from tethera.planning.buy_solve import solve_fleet

    problem = fleet_of(json.loads(path.read_text(encoding="utf-8")))
    known = json.loads((path.parent / "best_fleet.json").read_text(encoding="utf-8"))[path.stem]
    begin = time.monotonic()
    answer = solve_fleet(problem, seconds=lambda: begin + limit_s - time.monotonic())
    seconds = time.monotonic() - begin
    return {
        "name": path.stem,
        "status": answer.status,
        "net_pence": answer.net_pence,
        "bound_pence": answer.bound_pence,
        "best_known": known["best"],
        "bound_known": known["lb"],
        "by_hand": known["hand"],
        "seconds": round(seconds, 2),
        "rss_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
        "cut": [
            [problem.reels[p.reel].name, times, [[problem.pieces[k].cut_cm // 100, n] for k, n in p.copies]]
            for p, times in answer.patterns
        ],
        "shop": [[problem.pieces[k].cut_cm // 100, n] for k, n in answer.shop],
    }


def main() -> None:
    """Run what the words ask for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("instances",))
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--limit", type=float, default=60.0)
    parser.add_argument("--here", action="store_true", help="in this process")
    words = parser.parse_args()
    for path in sorted(words.folder.glob("fleet*.json")):
        if words.names and path.stem not in words.names:
            continue
        if words.here:
            print(json.dumps(instance(path, words.limit)), flush=True)
        else:
            again = [sys.executable, __file__, "instances", str(words.folder), path.stem, "--here"]
            subprocess.run([*again, "--limit", str(words.limit)], check=True)


if __name__ == "__main__":
    main()
