"""A Y-hang asked about whole: what each leg carries, and each leg failing in turn."""

from collections.abc import Iterable, Sequence
from itertools import product
from typing import Any

import numpy as np

from tethera.basics import Finding
from tethera.rigging.anchors import AnchorAnswer, Load, assumed_of, load_on, places, usual, weight_of_kn
from tethera.rigging.bridle import angle_between_deg, bridle_forces, legs_meet, y_share
from tethera.rigging.equilibrium import Floats, NoRest
from tethera.rigging.holding import Holding
from tethera.rigging.leg_failure import LegFailure, leg_failures
from tethera.rope import Band, figure


def ask_y(
    anchors_m: Sequence[Sequence[float]],
    legs_m: Sequence[float],
    mass_kg: float,
    holding: Holding,
    *,
    aside_deg: float = 0.0,
    below_m: float = 0.5,
) -> AnchorAnswer:
    """A Y-hang of two legs or more, in space, and each leg failing in turn.

    Parameters
    ----------
    anchors_m : (across, out, up) of each anchor [m]
    legs_m : their legs, anchor to knot [m]; each may be a tenth longer or shorter
    mass_kg : hanging on it, 20 to 500 kg
    aside_deg : pull of the load to the right of straight down [degrees], -80 to 80; failures count it straight down
    below_m : rope from the knot to the caver [m]

    >>> answer = ask_y([[-0.5, 0, 0], [0.5, 0, 0]], [0.7071, 0.7071], 100.0, Holding(rope_type="A"))
    >>> answer.facts["angle_deg"], round(float(answer.loads[0].hanging_kn.likely), 2), answer.facts["drop_m"]
    (90.0, 0.69, 0.21)
    """
    if not -80 <= aside_deg <= 80:
        raise ValueError(f"aside_deg must lie between -80 and 80 degrees, not {aside_deg:g}")
    a, legs, weight = np.asarray(anchors_m, float), np.asarray(legs_m, float), weight_of_kn(mass_kg)
    if not 2 <= len(legs) <= 8:
        raise ValueError("a Y-hang has 2 to 8 legs")
    pull = np.radians(aside_deg)
    load = weight * np.array([np.sin(pull), 0.0, -np.cos(pull)])
    forces = bridle_forces(a, legs, load)
    failures = leg_failures(a, legs, mass_kg, holding.modulus(), below_m=below_m, used=holding.used)
    loads = _each_leg(_tied_by_eye(a, legs, load, forces.tension_kn), failures, holding)
    angle = angle_between_deg(a, forces.point_m, forces.tension_kn)
    findings = [*wide_y(angle), *_slack_legs(forces.tension_kn), *(f for each in loads for f in each.findings())]
    facts = {
        "mass_kg": mass_kg,
        "weight_kn": round(weight, 3),
        "angle_deg": round(angle, 1),
        "aside_deg": aside_deg,
        "drop_m": round(max(f.drop_m for f in failures), 2),
        "swing_m": round(max(f.swing_m for f in failures), 2),
    }
    drawn = {"anchors": places(a), "aside_deg": aside_deg} | _knots(forces.point_m, failures)
    return AnchorAnswer("y", tuple(loads), facts, tuple(findings), assumed_of(holding, _TIED), drawn)


def _knots(point_m: Floats, failures: Sequence[LegFailure]) -> dict[str, Any]:
    """Where the knot hangs, and where with each leg gone, for the picture."""
    gone = [{"leg": f.leg, "knot": places(f.point_m[None])[0], "how": f.how} for f in failures]
    return {"knot": places(point_m[None])[0], "failed": gone}


_TIED = "Legs tied by eye: each up to a tenth longer or shorter. A knotted Y does not share by itself."


def _each_leg(
    hanging_kn: tuple[Floats, Floats, Floats], failures: Sequence[LegFailure], holding: Holding
) -> list[Load]:
    """Each leg with the other leg whose failing brings most on it."""
    low, likely, high = hanging_kn
    loads = []
    for leg in range(len(likely)):
        at = [(f, leg - (leg > f.leg)) for f in failures if f.leg != leg]
        worst, place = max(at, key=lambda each: float(np.asarray(each[0].peak_kn.high)[each[1]]))
        fall = Band(
            *(float(np.asarray(end)[place]) for end in (worst.peak_kn.low, worst.peak_kn.likely, worst.peak_kn.high))
        )
        words = f"leg {worst.leg + 1} fails: " + _how(worst.how, worst.drop_m, worst.swing_m, worst.free_fall_m)
        hanging = Band(float(low[leg]), float(likely[leg]), float(high[leg]))
        loads.append(load_on(f"leg {leg + 1}", hanging, fall, words, holding))
    return loads


def _tied_by_eye(a: Floats, legs: Floats, load: Floats, tension_kn: Floats) -> tuple[Floats, Floats, Floats]:
    """The least of each leg, as told, and the most, with every leg as told or a tenth longer or shorter [kN]."""
    spread = figure("rigging", "metres", "y_hang_leg_spread").value
    tried = (
        legs * (1 + spread * np.array(list(product((-1.0, 0.0, 1.0), repeat=len(legs)))))
        if len(legs) < 5
        else legs[None]
    )
    tried = tried[np.asarray(legs_meet(a, tried, spare=1e-3))]
    found = [tension_kn]
    try:
        found += list(bridle_forces(a, tried, load).tension_kn)
    except NoRest:
        for each in tried:
            try:
                found.append(bridle_forces(a, each, load).tension_kn)
            except NoRest:
                continue  # nobody can tie these legs to one knot
    return np.min(found, axis=0), tension_kn, np.max(found, axis=0)


def _how(how: str, drop_m: float, swing_m: float, free_m: float) -> str:
    where = f"{drop_m:.2f} m down and {swing_m:.2f} m aside"
    return f"a swing, {where}" if how == "swing" else f"a fall of {free_m:.2f} m until the rope is taut, {where}"


def wide_y(angle_deg: float) -> Iterable[Finding]:
    """What is to be said of a Y whose legs are further apart than is usually allowed."""
    if angle_deg > usual("wide_y") + 0.05:
        share = float(y_share(min(angle_deg, 179.0)))
        told = f"Looks bad: {angle_deg:.0f}° between the legs; level, each would carry {share:.2f} times the load."
        yield Finding("y-wide", "Y-hang", told, "Lengthen the legs.")


def _slack_legs(tension_kn: Floats) -> Iterable[Finding]:
    for leg in np.flatnonzero(tension_kn <= 1e-9):
        told = "It hangs slack: the others carry everything, and if one of them fails this is a fall."
        yield Finding("leg-slack", f"leg {leg + 1}", told, "Tie the legs to the way the load pulls.")
