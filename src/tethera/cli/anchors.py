"""Anchors at the terminal: what a Y-hang, a deviation or a traverse carries, and every anchor of a route."""

import argparse
import json
from collections.abc import Callable
from dataclasses import replace

from tethera.cli import places, terminal
from tethera.cli.errors import WrongInput
from tethera.cli.main import DONE
from tethera.cli.rope_asked import metres, named_as_typed, reasons
from tethera.cli.routes import knots_of, load_known, store_if_any
from tethera.rigging import AnchorAnswer, Holding, ask_deviations, ask_traverse, ask_y, loads_mapping, route_loads

_MASS_KG = 100.0


def run(words: argparse.Namespace) -> int:
    """What one anchor is asked to hold."""
    with named_as_typed(aside="--aside", mass="--mass"):
        found = _QUESTIONS[words.rigged](words, _holding(words))
    told = found.to_mapping()
    if words.json:
        told.pop("drawn")
        print(json.dumps(told, indent=2, ensure_ascii=False))
        return DONE
    terminal.say(_headline(found))
    rows = [
        (
            load.name,
            f"{float(load.hanging_kn.high):.1f}",
            f"{load.moving_kn:.1f}",
            "–" if load.fall_kn is None else f"{float(load.fall_kn.likely):.1f}",
            "–" if load.fall_kn is None else f"{float(load.fall_kn.high):.1f}",
            load.fall_words or "nothing worked out",
        )
        for load in found.loads
    ]
    head = ("kN", "still", "moving", "likely", "at most", "when something fails")
    terminal.say(terminal.table(head, rows, ("left", "right", "right", "right", "right", "left")))
    for finding in found.findings:
        terminal.say(terminal.paragraph(f"{finding.where}: {finding.message} {finding.way_out}"))
    held = [f"{load.name}: {' '.join(each.words)}" for load in found.loads for each in load.against]
    terminal.say(reasons((*held, *found.assumptions), found.cautions))
    return DONE


def _headline(found: AnchorAnswer) -> str:
    match found.kind:
        case "y":
            return terminal.bold(f"Y-hang, {found.facts['angle_deg']:.0f}° between the legs")
        case "deviation":
            turns = ", ".join(f"{turn:.0f}°" for turn in found.facts["turns_deg"])
            return terminal.bold(f"Deviation, the rope turns {turns}")
    return terminal.bold(f"Traverse line, {found.facts['sag_m']:.2f} m of sag under the caver")


def _y(words: argparse.Namespace, holding: Holding) -> AnchorAnswer:
    """Two anchors, or three where three places are given."""
    legs = [metres(each, "--leg", 0.8) for each in words.leg or ("0.8m", "0.8m")]
    if words.place:
        anchors = [_place(each) for each in words.place]
        if len(anchors) != len(legs):
            raise WrongInput(f"--place and --leg: {len(anchors)} places for {len(legs)} legs. Give one leg a place.")
    elif len(legs) == 2:
        anchors = [[0.0, 0.0, 0.0], [metres(words.apart, "--apart", 1.0), 0.0, metres(words.higher, "--higher", 0.0)]]
    else:
        raise WrongInput("--place: where each of three anchors is, as --place 0,0,0 --place 1,0,0 --place 0.5,0.4,0.")
    return ask_y(anchors, legs, words.mass, holding, aside_deg=words.aside)


def _place(text: str) -> list[float]:
    try:
        across, out, up = (float(each) for each in text.split(","))
    except ValueError:
        raise WrongInput(f"--place: “{text}” is no place. Write across,out,up in metres, as 0.5,0.4,0.") from None
    return [across, out, up]


def _deviation(words: argparse.Namespace, holding: Holding) -> AnchorAnswer:
    rows = [_deviation_row(each) for each in words.at or ("1,5,0.3",)]
    return ask_deviations(rows, words.mass, holding)


def _deviation_row(text: str) -> tuple[float, float, float]:
    try:
        aside, down, sling = (float(each) for each in text.split(","))
    except ValueError:
        raise WrongInput(f"--at: “{text}” is no deviation. Write aside,down,sling in metres, as 1,5,0.3.") from None
    return aside, down, sling


def _traverse(words: argparse.Namespace, holding: Holding) -> AnchorAnswer:
    span = metres(words.span, "--span", 3.0)
    slack = metres(words.slack, "--slack", 0.05 * span)
    drop, above = metres(words.drop, "--drop", 0.0), metres(words.above, "--above", 0.0)
    return ask_traverse(span, slack, words.mass, holding, drop_m=drop, above_m=above)


_QUESTIONS: dict[str, Callable[[argparse.Namespace, Holding], AnchorAnswer]] = {
    "y": _y,
    "deviation": _deviation,
    "traverse": _traverse,
}


def _holding(words: argparse.Namespace) -> Holding:
    """What is declared of what holds; of a rope of the store what its leaflet declares."""
    held = Holding(rating_kn=words.rating, rope_type=words.type, wet=words.wet, used_years=None if words.used else 0.0)
    if not words.rope:
        return held
    state = places.open_store(words.store).register.rope(words.rope, places.today())
    force = state.fall_force_kn(held.rope_type)
    return replace(
        held, rope_type=held.rope_type or state.fall_type, elongation=state.elongation, impact_force_kn=force
    )


def loads(words: argparse.Namespace) -> int:
    """Every anchor of a route with its loads and its worst fall, the bad ones first."""
    reading = load_known(words.route, store_if_any(words.store), knots_of(words.store))
    with named_as_typed(mass="--mass"):
        found = route_loads(reading.route, mass_kg=words.mass, holding=Holding(rope_type=words.type))
    told = loads_mapping(found, words.mass)
    if words.json:
        print(json.dumps({"route": reading.route.name, **told}, indent=2, ensure_ascii=False))
        return DONE
    terminal.say(terminal.bold(f"{reading.route.name}: loads on its anchors, the bad ones first") + "\n")
    rows = [
        (
            each.label,
            f"{float(each.hanging_kn.high):.1f}",
            f"{each.moving_kn:.1f}",
            "–" if each.fall is None else f"{float(each.fall.kn.likely):.1f}",
            "–" if each.fall is None else f"{each.fall.most_kn:.1f}",
            "" if each.fall is None else each.fall.words,
        )
        for each in found
    ]
    head = ("kN", "still", "moving", "likely", "at most", "worst fall")
    terminal.say(terminal.table(head, rows, ("left", "right", "right", "right", "right", "left")))
    bad = [f"{f.where}: {f.message} {f.way_out}" for each in found for f in each.findings]
    terminal.say("\n".join(terminal.paragraph(each, hanging="  ") for each in bad))
    unknown = [f"{each.label}: {words}" for each in found for words in each.unknown]
    terminal.say(reasons((*told["assumptions"], *unknown), tuple(told["cautions"])))
    return DONE
