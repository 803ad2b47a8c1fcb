"""What to buy: the fleet instances of a folder, a store of 100 routes, and how often the promised confidence holds.

    python benchmarks/buying.py instances FOLDER [NAME...] [--limit SECONDS]
    python benchmarks/buying.py store [--routes N] [--at-once N] [--limit SECONDS]
    python benchmarks/buying.py chance [--routes N]

Prints JSON lines; each case runs in a process of its own, so that its peak memory is its own. Lengths in the files are
decimetres, money pence. The routes of a store are invented: 3 to 12 pitches of 4 to 75 m, log-normal about 20 m, many
of them near enough for one rope to serve two. `chance` draws what a wash leaves with its own code, from the law alone.
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


def invented_routes(many: int, seed: int = 5) -> Any:
    """Routes of a store that nobody has."""
    import numpy as np

    from tethera.rigging import Measure, Pitch, Route

    random = np.random.default_rng(seed)
    routes = []
    for number in range(many):
        pitches = []
        for place in range(int(random.integers(3, 13))):
            depth = float(np.clip(np.exp(random.normal(3.0, 0.6)), 4, 75).round(0))
            near = bool(random.random() < 0.6)
            on = {"to_next_m": float(random.integers(2, 15)), "rope_goes_on": True} if near else {}
            pitches.append(Pitch(f"P{place + 1}", Measure(depth, depth), anchor_count=int(2 + depth // 18), **on))
        routes.append(Route(f"Route {number + 1}", tuple(pitches)))
    return tuple(routes)


def offers_and_rope() -> Any:
    """Two reels and a shop that cuts; nylon as foretold before any of it was measured. Prices are placeholders."""
    from tethera.planning import NewRope, Offers, Reel
    from tethera.rope import prior_for

    reels = (Reel(20_000, 30_000, name="200 m"), Reel(10_000, 16_500, name="100 m"))
    return Offers(reels, 190), NewRope(prior_for("nylon"), 9.0, "A", 52.0)


def store(routes: int, at_once: int, limit_s: float) -> dict[str, Any]:
    """A store with nothing yet, all combinations of so many routes at once."""
    from tethera.planning import BuyQuestion, what_to_buy

    offers, new = offers_and_rope()
    question = BuyQuestion(invented_routes(routes), at_once)
    begin = time.monotonic()
    plan = what_to_buy(question, offers, new, explain=False, seconds=lambda: begin + limit_s - time.monotonic())
    return {
        "routes": routes,
        "at_once": at_once,
        "combinations": plan.combinations,
        "status": plan.status,
        "ropes": len(plan.pieces),
        "price_pence": plan.price_pence,
        "net_pence": plan.net_pence,
        "bound_pence": plan.bound_pence,
        "gap": round(plan.gap, 4),
        "holds": plan.holds,
        "per_rope": round(plan.per_rope, 4),
        "seconds": round(time.monotonic() - begin, 1),
        "rss_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }


def chance(routes: int, at_once: int, habit: Any, confidence: float) -> dict[str, Any]:
    """How often a list holds: as planned, ropes handed out anew; and planned afresh with the ropes as they came out."""
    import numpy as np

    from tethera.planning import BuyQuestion, what_to_buy
    from tethera.planning.buy_combinations import Combinations
    from tethera.planning.buy_routes import ground

    offers, new = offers_and_rope()
    question = BuyQuestion(invented_routes(routes), at_once, habit=habit, confidence=confidence)
    plan = what_to_buy(question, offers, new, explain=False)
    needs = np.array(sorted((p.needed_cm for p in plan.pieces if p.needed_cm), reverse=True), float)
    many, law, random = 50_000, new.shrinks, np.random.default_rng(20261125)
    washed = len(plan.pieces) if habit == "cut-then-soak" else len(plan.reels) + len(plan.shop)
    spread = np.sqrt(law.freedom / random.gamma(law.freedom / 2, 2.0, size=(many, 1)))
    shared = random.normal(0.0, law.common, size=(many, 1))
    shares = np.exp(law.centre + spread * (shared + random.normal(0.0, law.individual, size=(many, washed))))
    if habit == "cut-then-soak":
        lengths = shares * np.array([piece.cut_cm for piece in plan.pieces])
    else:
        parts = []
        for number, reel in enumerate(plan.reels):
            left = shares[:, number] * reel.length_cm
            for piece in reel.pieces:
                parts.append(np.clip(left, 0, piece.cut_cm))
                left = left - piece.cut_cm
        parts += [shares[:, len(plan.reels) + n] * piece.cut_cm for n, piece in enumerate(plan.shop)]
        lengths = np.stack(parts, axis=1)
    ranked = -np.sort(-np.floor(lengths), axis=1)[:, : len(needs)]
    held = float((ranked >= needs).all(axis=1).mean())
    based = ground(question, offers, new)
    afresh, tried = 0, 400
    for row in lengths[:tried]:
        there = tuple((int(length), 0) for length in row if length >= 100)
        problem = based.problem(0.95)
        problem = type(problem)(
            problem.routes, problem.lines, problem.combinations, there, problem.accepts, step_cm=problem.step_cm
        )
        failed, _ = Combinations(problem).judged([], lambda: 1e6, most=1)
        afresh += not failed
    return {
        "routes": routes, "at_once": at_once, "habit": habit, "asked": confidence, "status": plan.status,
        "per_rope": round(plan.per_rope, 4), "least_of_a_rope": min((p.confidence for p in plan.pieces), default=1.0),
        "said": plan.holds, "held": round(held, 4), "draws": many,
        "planned_afresh": round(afresh / tried, 4), "tried_afresh": tried, "price_pence": plan.price_pence,
    }  # fmt: skip


def main() -> None:
    """Run what the words ask for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("instances", "store", "chance"))
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--limit", type=float, default=60.0)
    parser.add_argument("--routes", type=int, default=100)
    parser.add_argument("--at-once", type=int, default=1)
    parser.add_argument("--here", action="store_true", help="in this process")
    words = parser.parse_args()
    if words.what == "store":
        print(json.dumps(store(words.routes, words.at_once, words.limit)), flush=True)
    elif words.what == "chance":
        for habit in ("cut-then-soak", "soak-then-cut"):
            for confidence in (0.8, 0.9, 0.95, 0.99):
                print(json.dumps(chance(words.routes, words.at_once, habit, confidence)), flush=True)
    else:
        _instances(words)


def _instances(words: argparse.Namespace) -> None:
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
