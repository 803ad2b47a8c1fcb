"""Falls at the terminal: the force that stops one, what it rests on, and what matters most."""

import argparse
import json
from typing import Any

from tethera.cli import terminal
from tethera.cli.main import DONE
from tethera.cli.rope_asked import RopeAsked, ends, metres, named_as_typed, reasons, rope_asked, spread
from tethera.rope import (
    FALL_CAUTIONS,
    Chances,
    Fall,
    FallModulus,
    FallQuestion,
    RopeType,
    ask_backup,
    ask_lanyard,
    ask_rebelay,
    ask_traverse,
    fall_modulus,
    looks_bad,
    tape_modulus,
)

_WHAT = {
    "backup": "The main anchor fails, the backup takes over",
    "rebelay": "A rebelay fails, the anchor above holds",
    "cowstail": "A fall on a cow's tail",
    "traverse": "A fall at the middle of a traverse",
}
_SLACK = {"backup": "the link", "rebelay": "the loop", "cowstail": "the free fall", "traverse": "the line's slack"}


def run(words: argparse.Namespace) -> int:
    """Tell the force that stops a fall."""
    rope = rope_asked(words)
    with named_as_typed(length="--tail"):
        asked = _question(words, rope)
        fall, chances = asked.answer(), asked.chances()
    told = rope.told if words.scenario in ("backup", "rebelay") else ()
    assumptions = (*(rope.known if words.scenario != "cowstail" else ()), *told, *fall.assumptions)
    bad = looks_bad(fall.force_kn)
    if words.json:
        print(json.dumps(_as_mapping(words.scenario, fall, chances, assumptions, bad), indent=2, ensure_ascii=False))
        return DONE
    terminal.say(terminal.bold(f"{_WHAT[words.scenario]}, {words.mass:g} kg"))
    terminal.say(f"Most force on the caver  {spread(fall.force_kn, 'kN')}")
    if words.scenario == "traverse":
        terminal.say(f"on each end anchor       {spread(fall.anchor_kn, 'kN')}")
        terminal.say(f"sag of the line          {spread(fall.stop_m, 'm', 2)}")
    else:
        terminal.say(f"stops so far below       {spread(fall.stop_m, 'm')}")
    free, rope_m, factor = (float(each) for each in (fall.free_fall_m, fall.rope_m, fall.factor))
    terminal.say(f"free fall {free:.2f} m on {rope_m:.2f} m of rope, factor {factor:.2f}")
    if bad:
        terminal.say("\n" + terminal.bold(terminal.paragraph(bad)))
    terminal.say("\n" + _chances(words, chances) + "\n")
    terminal.say(reasons(assumptions, FALL_CAUTIONS))
    return DONE


def _question(words: argparse.Namespace, rope: RopeAsked) -> FallQuestion:
    known: dict[str, Any] = {"known_by": "measured" if words.measured else "guessed", "used": words.used}
    stiff = fall_modulus(rope.rope_type, rope.elongation, rope.impact_force_kn, wet=words.wet)

    def length(option: str, default: float) -> float:
        return metres(getattr(words, option.replace("-", "_")), f"--{option}", default)

    if words.scenario == "backup":
        above = length("backup-above", 0.0)
        return ask_backup(length("below", 2.0), length("link", 0.5), words.mass, stiff, backup_above_m=above, **known)
    if words.scenario == "rebelay":
        below = length("below", 0.5)
        return ask_rebelay(length("hang", 10.0), length("slack", 1.0), words.mass, stiff, below_m=below, **known)
    tail, above = length("tail", 0.5), length("above", 0.0)
    if words.scenario == "cowstail":
        return ask_lanyard(tail, above, words.mass, _tail(words), **known)
    span, slack = length("span", 3.0), length("slack", 0.2)
    return ask_traverse(span, slack, words.mass, stiff, _tail(words), tail_m=tail, above_m=above, **known)


def _tail(words: argparse.Namespace) -> FallModulus:
    if words.tail_of == "tape":
        return tape_modulus()
    alone = words.scenario == "cowstail"
    kind: RopeType = words.tail_of or (words.type if alone else None) or "dynamic"
    # Leaflet figures are the rope's; of a tail they speak only where the tail is all there is.
    declared = (words.elongation / 100 if words.elongation else None, words.impact_force) if alone else (None, None)
    return fall_modulus(kind, *declared, wet=words.wet)


def _chances(words: argparse.Namespace, chances: Chances) -> str:
    named = {"slack": _SLACK[words.scenario], "mass": "the mass", "stiffness": "the rope's stiffness"}
    first = chances.ranking[0][0]
    known = "measured" if words.measured else "only guessed"
    lines = [
        f"Half of such falls stay under {chances.p50_kn:.1f} kN, nineteen of twenty under {chances.p95_kn:.1f} kN, "
        f"with {_SLACK[words.scenario]} {known}. What matters most is {named[first]}"
        + (": measure it." if first == "slack" and not words.measured else ".")
    ]
    rows = [(named[name], f"{rho:+.2f}") for name, rho in chances.ranking]
    return (
        terminal.paragraph(lines[0])
        + "\n"
        + terminal.table(("", "rank correlation with the force"), rows, ("left", "right"))
    )


def _as_mapping(scenario: str, fall: Fall, chances: Chances, assumptions: tuple[str, ...], bad: str) -> dict[str, Any]:
    return {
        "scenario": scenario,
        "free_fall_m": round(float(fall.free_fall_m), 3),
        "in_play_m": round(float(fall.rope_m), 3),
        "fall_factor": round(float(fall.factor), 3),
        **ends(fall.force_kn, "force", "kn"),
        **ends(fall.anchor_kn, "anchor", "kn"),
        **ends(fall.stop_m, "stop", "m"),
        "chances": {
            "p05_kn": round(chances.p05_kn, 2),
            "p50_kn": round(chances.p50_kn, 2),
            "p95_kn": round(chances.p95_kn, 2),
            "chance_from_4_kn": round(chances.chance_from_4_kn, 3),
            "chance_from_6_kn": round(chances.chance_from_6_kn, 3),
            "ranking": [{"what": name, "rank_correlation": round(rho, 2)} for name, rho in chances.ranking],
        },
        "looks_bad": bad or None,
        "assumptions": assumptions,
        "cautions": FALL_CAUTIONS,
    }
