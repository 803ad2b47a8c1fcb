"""The usual accidents: how far somebody falls, on how much rope, and the force that stops it, as a band.

Each function takes numbers or arrays that broadcast, lengths in metres, masses in kilograms, and gives a `Fall`. Each
end of each band takes the end of every uncertainty that makes it so; knots get no credit for slipping tight.
"""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tethera.rope.fall_stiffness import FallModulus, force_band_kn
from tethera.rope.falls import (
    arrest_distance_m,
    impact_force_kn,
    impact_force_of_law_kn,
    taut_speed_m_s,
    wave_increment_kn,
    weight_kn,
)
from tethera.rope.quantities import Band, Numbers, within
from tethera.rope.tables import figure

Scenario = Literal["backup", "rebelay", "second anchor", "cow's tail", "traverse"]
ASSUMED = (
    "No edge, no slip of a device, knots already tight: no credit for them.",
    "One mass on a rigid anchor; the body's own give is not counted.",
)
_TYPICAL_ROPE_KG_PER_M = 0.07


@dataclass(frozen=True, slots=True)
class Fall:
    """One fall, or an array of them.

    free_fall_m : fall until the rope is taut; rope_m : rope in play; factor : the one by the other
    force_kn : most force on the one who falls [kN]; anchor_kn : on the anchor that holds (on each, of a traverse)
    stop_m : how far below where it began the fall stops (of a traverse, the line's sag)
    """

    scenario: Scenario
    free_fall_m: Numbers
    rope_m: Numbers
    factor: Numbers
    force_kn: Band
    anchor_kn: Band
    stop_m: Band
    assumptions: tuple[str, ...]


def force_level(force_kn: Numbers) -> Numbers:
    """0 below the 4 kN from which we warn (own proposal), 1 from there, 2 from the 6 kN of the European standards.

    >>> force_level([3.9, 4.0, 6.0]).tolist()
    [0, 1, 2]
    """
    limits = [figure("rope", "falls", key).value for key in ("warn_from", "ceiling")]
    return np.digitize(within("force_kn", force_kn, 0.0, 1e4, "kN"), limits)


def backup_takes_over(
    below_m: Numbers,
    link_m: Numbers,
    mass_kg: Numbers,
    modulus: FallModulus,
    *,
    backup_above_m: Numbers = 0.0,
    mass_kg_per_m: float = _TYPICAL_ROPE_KG_PER_M,
    used: bool = False,
) -> Fall:
    """The main anchor fails and the backup takes over.

    The knot drops by the link less the height of the backup above it: h = link - backup_above, L = below + link.
    Stretch that the rope gives back while it is slack is not credited.

    Parameters
    ----------
    below_m : rope from the main anchor to the caver [m], 0.2 to 1,000
    link_m : rope between the two anchors, knot to knot [m], 0 to 20
    mass_kg : the caver with everything on the harness [kg]
    backup_above_m : height of the backup above the main anchor [m], -10 to 10, never more than the link

    >>> from tethera.rope.fall_stiffness import fall_modulus
    >>> fall = backup_takes_over(1.5, 1.0, 85.0, fall_modulus("A", impact_force_kn=5.1))
    >>> round(float(fall.factor), 2), round(float(fall.force_kn.likely), 1)
    (0.4, 5.2)
    """
    below = within("below_m", below_m, 0.2, 1000.0, "m")
    link = within("link_m", link_m, 0.0, 20.0, "m")
    above = within("backup_above_m", backup_above_m, -10.0, 10.0, "m")
    if np.any(np.abs(above) > link + 1e-9):
        raise ValueError("link_m cannot be shorter than the height between the two anchors, backup_above_m")
    drop = np.maximum(link - above, 0.0)
    return _held_by_rope("backup", drop, below + link, mass_kg, modulus, mass_kg_per_m, used)


def rebelay_failure(
    hang_m: Numbers,
    slack_m: Numbers,
    mass_kg: Numbers,
    modulus: FallModulus,
    *,
    below_m: Numbers = 0.5,
    mass_kg_per_m: float = _TYPICAL_ROPE_KG_PER_M,
    used: bool = False,
) -> Fall:
    """A rebelay fails under the caver, whom the anchor above then holds.

    The loop's slack runs out: h = s, L = H + s + z. A short hang with a fat loop is the bad case.

    Parameters
    ----------
    hang_m : height from the anchor above down to the rebelay, H [m], 0.5 to 500
    slack_m : rope in the loop beyond that height, s [m], 0 to 50
    below_m : rope from the rebelay to the caver, z [m], 0 to 500

    >>> from tethera.rope.fall_stiffness import fall_modulus
    >>> fall = rebelay_failure(5.0, 1.5, 85.0, fall_modulus("A", impact_force_kn=5.1))
    >>> round(float(fall.factor), 2), round(float(fall.force_kn.likely), 1)
    (0.21, 4.1)
    """
    hang = within("hang_m", hang_m, 0.5, 500.0, "m")
    slack = within("slack_m", slack_m, 0.0, 50.0, "m")
    below = within("below_m", below_m, 0.0, 500.0, "m")
    return _held_by_rope("rebelay", slack, hang + slack + below, mass_kg, modulus, mass_kg_per_m, used)


def second_anchor(
    first: Fall,
    fails_at_kn: Numbers,
    fall_on_m: Numbers,
    rope_m: Numbers,
    mass_kg: Numbers,
    modulus: FallModulus,
    *,
    used: bool = False,
) -> Fall:
    """The anchor that should have held a first fall fails too, and the next one takes it: the falls are chained.

    The speed left when the first gives way is kept, v^2 = 2 g (h + x) - F x / m, x the rope's stretch at F; it counts
    as a further free fall of v^2 / 2g. Likely so; the high end takes no credit for what the first took out.

    Parameters
    ----------
    fails_at_kn : force at which the first anchor gives way [kN], 0 to 50; where the first fall never reaches it, the
        first holds and ValueError says so
    fall_on_m : free fall from there until the rope to the next anchor is taut [m], 0 to 50
    rope_m : rope in play below the next anchor [m], 0.2 to 1,000

    References: M. Beverly, S. Attaway, on anchors that fail one after another (abstract): the speed left raises the
    effective fall factor at the next.
    """
    fails = within("fails_at_kn", fails_at_kn, 0.0, 50.0, "kN")
    on = within("fall_on_m", fall_on_m, 0.0, 50.0, "m")
    rope = within("rope_m", rope_m, 0.2, 1000.0, "m")
    weight = weight_kn(mass_kg)
    if np.any(fails > first.force_kn.high):
        raise ValueError("fails_at_kn must not be more than the most the first fall brings: above it the first holds")
    stretch = first.rope_m * fails / modulus.kn.likely
    dropped = first.free_fall_m + stretch
    kept = np.maximum(dropped - fails * stretch / (2 * weight), 0.0)
    band = force_band_kn(mass_kg, _factor(kept + on, rope), modulus, used=used)
    worst = force_band_kn(mass_kg, _factor(dropped + on, rope), modulus, used=used)
    force = replace(band, high=worst.high)
    stop = _stop_m(dropped + on, rope, mass_kg, modulus)
    words = "The speed left after the first anchor is kept; the high end counts the whole height."
    factor = (kept + on) / rope
    return Fall("second anchor", kept + on, rope, factor, force, force, stop, _assumed(modulus, used, words))


def lanyard_fall(
    length_m: Numbers, above_m: Numbers, mass_kg: Numbers, modulus: FallModulus, *, used: bool = False
) -> Fall:
    """A fall on a cow's tail clipped to a fixed anchor.

    h = length + height of the harness above the anchor: factor 1 level with it, 2 at arm's length above it.

    Parameters
    ----------
    length_m : of the tail, krab to harness [m], 0.1 to 3
    above_m : height of the harness above the anchor [m], minus to plus the length

    >>> from tethera.rope.fall_stiffness import fall_modulus
    >>> fall = lanyard_fall(0.5, 0.0, 85.0, fall_modulus("dynamic"))
    >>> float(fall.factor), round(float(fall.force_kn.likely), 1)
    (1.0, 6.8)
    """
    length = within("length_m", length_m, 0.1, 3.0, "m")
    above = within("above_m", above_m, -3.0, 3.0, "m")
    if np.any(np.abs(above) > length + 1e-9):
        raise ValueError("above_m must lie between minus and plus the length of the tail, length_m")
    return _held_by_rope("cow's tail", np.maximum(length + above, 0.0), length, mass_kg, modulus, None, used)


def _factor(free_fall_m: Numbers, rope_m: Numbers) -> Numbers:
    return within("fall factor (free fall by rope in play)", free_fall_m / rope_m, 0.0, 2.0, "")


def _held_by_rope(
    scenario: Scenario,
    free_fall_m: Numbers,
    rope_m: Numbers,
    mass_kg: Numbers,
    modulus: FallModulus,
    mass_kg_per_m: float | None,
    used: bool,
) -> Fall:
    free, rope = np.broadcast_arrays(free_fall_m, rope_m)
    factor = _factor(free, rope)
    force = force_band_kn(mass_kg, factor, modulus, used=used)
    words = ""
    if mass_kg_per_m is not None:
        long_from = figure("rope", "falls", "wave", "from_length").value
        wave = wave_increment_kn(taut_speed_m_s(free), modulus.kn.high, mass_kg_per_m)
        force = replace(force, high=force.high + np.where(rope > long_from, wave, 0.0))
        if np.any(rope > long_from):
            words = f"Over {long_from:g} m of rope, its own mass adds to the high end."
    stop = _stop_m(free, rope, mass_kg, modulus)
    assumed = _assumed(modulus, used, words)
    return Fall(scenario, free[()], rope[()], factor, force, force, stop, assumed)


def _stop_m(free_fall_m: Numbers, rope_m: Numbers, mass_kg: Numbers, modulus: FallModulus) -> Band:
    """Where the fall stops: stiff rope at the low end, the softest law at the high end."""
    factor = free_fall_m / rope_m

    def stops(kn: Numbers) -> Numbers:
        return arrest_distance_m(free_fall_m, rope_m, impact_force_kn(mass_kg, factor, kn), kn)

    low, likely, high = (stops(kn) for kn in (modulus.kn.high, modulus.kn.likely, modulus.kn.low))
    if modulus.soft is not None:
        law = modulus.soft
        stretch = law.c * (impact_force_of_law_kn(mass_kg, factor, law) * 1000) ** law.n
        high = np.maximum(high, free_fall_m + rope_m * stretch)
    return Band(low, likely, high)


def _assumed(modulus: FallModulus, used: bool, words: str = "") -> tuple[str, ...]:
    more = "Used rope: 20 % more at the high end, a judgement." if used else "Rope as new."
    return tuple(each for each in (*modulus.assumptions, more, *ASSUMED, words) if each)
