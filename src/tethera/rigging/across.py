"""Rope drawn aside and rope across, asked about whole: deviations, traverse lines."""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from tethera.basics import Finding
from tethera.rigging.anchors import AnchorAnswer, Load, assumed_of, load_on, most_kn, places, usual, weight_of_kn
from tethera.rigging.deviations import DeviationForces, deviation_failure, deviation_forces
from tethera.rigging.holding import Holding
from tethera.rigging.traverse import elastic_catenary, running_load, tied_load
from tethera.rope import Band, fall_modulus, figure, looks_bad, traverse_fall


def ask_deviations(
    deviations: Sequence[tuple[float, float, float]], mass_kg: float, holding: Holding, *, below_m: float = 0.5
) -> AnchorAnswer:
    """One deviation or several in a row below an anchor, and all of them failing at once.

    Parameters
    ----------
    deviations : (metres aside of the anchor, metres below it, metres of sling) of each, from the top
    below_m : rope from the last deviation to the caver [m]

    >>> answer = ask_deviations([(1.0, 5.0, 0.3)], 85.0, Holding(rope_type="A"))
    >>> answer.facts["turns_deg"], round(float(answer.loads[1].hanging_kn.likely), 3)
    ([7.9], 0.115)
    """
    weight = weight_of_kn(mass_kg)
    anchor = np.zeros(3)
    held = np.array([[aside, 0.0, -down] for aside, down, _ in deviations]).reshape(-1, 3)
    slings = np.array([sling for _, _, sling in deviations])
    forces = deviation_forces(anchor, held, slings, weight)
    short, long = (
        deviation_forces(anchor, held, slings * (1 + sign * usual("sling_spread")), weight) for sign in (-1, 1)
    )
    fails = _worst_failure(forces, mass_kg, holding, below_m)
    loads = [load_on("anchor above", Band(weight, weight, weight), *fails, holding)]
    for number in range(len(slings)):
        ends = (float(each.sling_kn[number]) for each in (long, forces, short))
        loads.append(load_on(f"deviation {number + 1}", Band.of(*ends), None, "", holding, sling=True))
    idle = [
        Finding(
            "deviation-idle", f"deviation {n + 1}", "The rope does not touch it.", "Shorten its sling or leave it out."
        )
        for n in range(len(slings))
        if forces.sling_kn[n] == 0
    ]
    facts = {
        "mass_kg": mass_kg,
        "weight_kn": round(weight, 3),
        "turns_deg": [round(float(turn), 1) for turn in forces.turn_deg],
        "swing_m": round(float(np.abs(forces.points_m[:, 0]).max()), 2),
    }
    drawn = {"deviations": places(held), "points": places(forces.points_m)}
    found = (*idle, *(f for each in loads for f in each.findings()))
    assumed = assumed_of(holding, "No friction over the krabs; slings up to a tenth longer or shorter.")
    return AnchorAnswer("deviation", tuple(loads), facts, found, assumed, drawn)


def _worst_failure(forces: DeviationForces, mass_kg: float, holding: Holding, below_m: float) -> tuple[Band, str]:
    """All deviations giving way at once: the rope straightens under a caver just below the last of them."""
    fails = deviation_failure(
        np.zeros(3), forces.points_m[-1], mass_kg, holding.modulus(), below_m=below_m, used=holding.used
    )
    what = "the deviation fails" if len(forces.points_m) == 1 else "all deviations fail"
    words = f"{what}: a swing of {fails.swing_m:.2f} m, the rope slack for {100 * fails.free_fall_m:.0f} cm"
    return Band(*(float(end) for end in (fails.peak_kn.low, fails.peak_kn.likely, fails.peak_kn.high))), words


_ON_A_LINE = "One person on the span, a tail of dynamic rope; at the end that hurts half the slack."


def ask_traverse(
    span_m: float,
    slack_m: float,
    mass_kg: float,
    holding: Holding,
    *,
    drop_m: float = 0.0,
    at_share: float | None = None,
    above_m: float = 0.0,
    tail_m: float | None = None,
) -> AnchorAnswer:
    """A traverse line between two anchors: somebody hanging on it, and somebody falling onto it.

    Parameters
    ----------
    span_m : level distance between the anchors [m], 0.5 to 50
    slack_m : rope beyond the straight line [m], 0 to half of it; the hurting end counts half of it
    drop_m : how much lower the far end is [m]; the fall counts the ends as level
    at_share : where along the rope the load is tied, 0.01 to 0.99; None runs on its krab
    above_m : height of the harness above the line when falling; tail_m : cow's tail

    >>> answer = ask_traverse(5.0, 0.25, 85.0, Holding(rope_type="A", wet=False, used_years=0.0))
    >>> [load.name for load in answer.loads], answer.facts["sag_m"] > 0.7
    (['near end', 'far end', 'caver'], True)
    """
    if not 0.5 <= span_m <= 50 or not 0 <= slack_m <= span_m / 2:
        raise ValueError("span_m must lie between 0.5 and 50 m and slack_m between 0 and half of it")
    weight, modulus = weight_of_kn(mass_kg), holding.modulus()
    straight = float(np.hypot(span_m, drop_m))
    tail = usual("tail") if tail_m is None else tail_m
    cases = ((slack_m, modulus.kn.low), (slack_m, modulus.kn.likely), (0.5 * slack_m, modulus.kn.high))
    ends = [_span(span_m, straight + slack, at_share, weight, float(kn), drop_m) for slack, kn in cases]
    loads = _ends_and_caver(ends, (straight, slack_m), (mass_kg, tail, above_m), holding)
    likely = ends[1]
    facts = {
        "mass_kg": mass_kg,
        "weight_kn": round(weight, 3),
        "line_m": round(straight + slack_m, 2),
        "sag_m": round(likely[3], 2),
        "unloaded_sag_m": round(_unloaded_sag_m(span_m, straight + slack_m, float(modulus.kn.likely), drop_m), 2),
    }
    drawn = {"span_m": span_m, "drop_m": drop_m, "load": [round(likely[2], 3), round(-likely[3], 3)]}
    findings = _findings(loads, weight)
    return AnchorAnswer("traverse", tuple(loads), facts, findings, assumed_of(holding, _ON_A_LINE), drawn)


def _findings(loads: Sequence[Load], weight: float) -> tuple[Finding, ...]:
    """Of a near end, a far end and the caver, in this order."""
    found = [*_end_force(loads[:2], weight), *(f for each in loads for f in each.findings())]
    if loads[2].fall_kn is not None and (bad := looks_bad(loads[2].fall_kn)):
        found.append(Finding("person-force", "caver", bad, "More slack, a shorter tail, or the line higher."))
    return tuple(found)


def _ends_and_caver(
    ends: Sequence[tuple[float, float, float, float]],
    line: tuple[float, float],
    who: tuple[float, float, float],
    holding: Holding,
) -> list[Load]:
    """Loads at both ends and on the caver; `line` its straight length and slack, `who` mass, tail, height above it."""
    mass_kg, tail, above_m = who
    weight = weight_of_kn(mass_kg)
    tails = fall_modulus("dynamic", wet=holding.wet)
    fall = traverse_fall(
        line[0], line[1], mass_kg, holding.modulus(), tails, tail_m=tail, above_m=above_m, used=holding.used
    )
    words = f"a fall of {float(fall.free_fall_m):.2f} m onto the middle of the line"
    on_anchor = Band(*(float(end) for end in (fall.anchor_kn.low, fall.anchor_kn.likely, fall.anchor_kn.high)))
    loads = [
        load_on(name, Band.of(*(float(end[side]) for end in ends)), on_anchor, words, holding)
        for side, name in enumerate(("near end", "far end"))
    ]
    on_caver = Band(*(float(end) for end in (fall.force_kn.low, fall.force_kn.likely, fall.force_kn.high)))
    loads.append(
        Load("caver", Band(weight, weight, weight), most_kn(Band(weight, weight, weight)), on_caver, words, ())
    )
    return loads


def _span(
    span_m: float, line_m: float, at_share: float | None, load_kn: float, stiffness_kn: float, drop_m: float
) -> tuple[float, float, float, float]:
    found: Any = (
        running_load(span_m, line_m, load_kn, stiffness_kn, drop_m=drop_m)
        if at_share is None
        else tied_load(span_m, line_m, at_share, load_kn, stiffness_kn, drop_m=drop_m)
    )
    return float(found.left_kn), float(found.right_kn), float(found.along_m), float(found.sag_m)


def _unloaded_sag_m(span_m: float, line_m: float, stiffness_kn: float, drop_m: float) -> float:
    grams = figure("rigging", "metres", "rope_mass").value
    return elastic_catenary(
        span_m, line_m, grams * figure("rope", "stretch", "g").value, stiffness_kn, drop_m=drop_m
    ).sag_m


def _end_force(ends: Sequence[Load], weight_kn: float) -> Iterable[Finding]:
    rule = figure("rigging", "loads", "end_force")
    for load in ends:
        if load.hanging_kn.high > rule.value * weight_kn:
            times = float(load.hanging_kn.high) / weight_kn
            told = (
                f"Looks bad: up to {times:.1f} times the load at rest, over the rule of {rule.value:g} ({rule.source})."
            )
            yield Finding("end-force", load.name, told, "Give the line more slack.")
