"""Stretch at the terminal: what reaches a floor, where the foot hangs, what a loop needs."""

import argparse
import json
from typing import Any

from tethera.basics import measured_cm, need_cm
from tethera.cli import terminal
from tethera.cli.main import DONE
from tethera.cli.rope_asked import RopeAsked, ends, metres, named_as_typed, reasons, rope_asked, spread
from tethera.rope import STRETCH_CAUTIONS, Hang, Reach, elasticity, foot_depth, hang, reach, rebelay_loop_m, wet_mass

_LOOP_M = 0.8


def run(words: argparse.Namespace) -> int:
    """Tell how far a rope stretches."""
    rope = rope_asked(words)
    depth = metres(words.depth, "DEPTH", 0.0)
    after = metres(words.loop, "--loop", _LOOP_M)
    length = metres(words.length, "--length", rope.length_m or 0.0)
    rest = (words.mass, rope.elongation)
    with named_as_typed():
        found = reach(depth, rope.mass_kg_per_m, *rest, wet=words.wet)
        loop = rebelay_loop_m(depth, rope.mass_kg_per_m, words.mass, after, rope.elongation, wet=words.wet)
        hung = hang(length or depth, rope.mass_kg_per_m, *rest, wet=words.wet)
        at = None if words.at is None else _caver_at(words, rope, hung)
    assumptions = (*rope.known, *rope.mass_told, *found.assumptions, *hung.assumptions[len(found.assumptions) - 1 :])
    if words.json:
        answer = _as_mapping(rope, depth, found, hung)
        answer |= ends(loop, "loop", "m") | (at or {}) | {"assumptions": assumptions, "cautions": STRETCH_CAUTIONS}
        print(json.dumps(answer, indent=2, ensure_ascii=False))
        return DONE
    _say(words, depth, found, hung, length > 0)
    if at:
        low, high = at["caver_low_m"], at["caver_high_m"]
        terminal.say(f"The caver hangs at {terminal.depth(low)} to {terminal.depth(high)}.")
    terminal.say(f"In the loop of a rebelay down there leave, while hanging, {spread(loop, 'm')}:")
    terminal.say("the high end.\n")
    terminal.say(reasons(assumptions, STRETCH_CAUTIONS))
    return DONE


def _caver_at(words: argparse.Namespace, rope: RopeAsked, hung: Hang) -> dict[str, Any]:
    where = metres(words.at, "--at", 0.0)
    laws = elasticity(rope.elongation, wet=words.wet)
    mass = wet_mass(rope.mass_kg_per_m) if words.wet else rope.mass_kg_per_m
    near, far = (foot_depth(hung.length_m, mass, words.mass, where, law) for law in (laws.least, laws.most))
    return {
        "caver_at_m": where,
        "caver_low_m": round(float(near.caver_m), 3),
        "caver_high_m": round(float(far.caver_m), 3),
        "foot_low_m": round(float(near.foot_m), 3),
        "foot_high_m": round(float(far.foot_m), 3),
    }


def _say(words: argparse.Namespace, depth: float, found: Reach, hung: Hang, given: bool) -> None:
    whose = f"rope {words.rope}" if words.rope else "rope"
    wet = "wet" if words.wet else "dry"
    terminal.say(terminal.bold(f"Floor at {terminal.depth(depth)}, {words.mass:g} kg, {wet} {whose}"))
    take, touches = need_cm(float(found.take_m)), measured_cm(float(found.touches_loaded_m))
    terminal.say(f"Its foot reaches with nobody on it from {terminal.capsule(take)} on, knots and tail on top.")
    terminal.say(f"From {terminal.capsule(touches)} to there it may touch only under load, and spring out of reach.\n")
    rows = [
        ("foot with nobody on the rope", *_depths(hung.unloaded_foot_m)),
        ("foot with the caver at it", *_depths(hung.loaded_foot_m)),
    ]
    shown = terminal.capsule(measured_cm(float(hung.length_m)))
    head = (f"Rope of {shown}" if given else f"A rope of {shown}, as long as that", "least", "likely", "most")
    terminal.say(terminal.table(head, rows, ("left", "right", "right", "right")))
    terminal.say(f"\nThe caver's weight stretches it by {spread(hung.recoil_m, 'm')}: so far it springs up.")
    over = float(hung.unloaded_foot_m.low) - depth
    if given and over < 0:
        terminal.say(terminal.bold(f"Looks bad: with nobody on it the foot may hang {-over:.1f} m above the floor."))


def _depths(band: Any) -> list[str]:
    return [terminal.depth(float(each)) for each in (band.low, band.likely, band.high)]


def _as_mapping(rope: RopeAsked, depth: float, found: Reach, hung: Hang) -> dict[str, Any]:
    return {
        "rope": rope.name or None,
        "depth_m": depth,
        "length_m": round(float(hung.length_m), 3),
        "take_m": round(float(found.take_m), 3),
        "touches_loaded_m": round(float(found.touches_loaded_m), 3),
        **ends(found.window_m, "window", "m"),
        **ends(hung.unloaded_foot_m, "unloaded_foot", "m"),
        **ends(hung.loaded_foot_m, "loaded_foot", "m"),
        **ends(hung.stretch_m, "stretch", "m"),
        **ends(hung.recoil_m, "recoil", "m"),
    }
