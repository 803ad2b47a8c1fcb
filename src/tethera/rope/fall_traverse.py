"""A fall onto a traverse line: a light elastic line knotted at both ends and a cow's tail, one after the other."""

from dataclasses import dataclass

import numpy as np

from tethera.rope.fall_scenarios import ASSUMED, Fall
from tethera.rope.fall_stiffness import FallModulus
from tethera.rope.falls import weight_kn
from tethera.rope.quantities import Band, Numbers, within
from tethera.rope.tables import figure

_HALVINGS = 60


@dataclass(frozen=True, slots=True)
class TraverseForces:
    """Force on the caver, on each end anchor [kN], and how deep the line sags when it stops the fall [m]."""

    caver_kn: Numbers
    anchor_kn: Numbers
    sag_m: Numbers


def traverse_forces(
    span_m: Numbers,
    line_m: Numbers,
    line_modulus_kn: Numbers,
    mass_kg: Numbers,
    free_fall_m: Numbers,
    tail_m: Numbers,
    tail_modulus_kn: Numbers,
) -> TraverseForces:
    """Forces when a caver falls at the middle of a traverse, from the balance of energy at the lowest point.

    W (h + y - y0 + x) = l0 T^2 / (2 K) + F^2 Lc / (2 Kc), with F = 4 T y / l for a load at the middle, l the stretched
    length of the line, y0 the sag at which it is just taut and x = F Lc / Kc. Solved for y by halving the bracket.

    Parameters
    ----------
    span_m : between the anchors, level [m], 0.3 to 50
    line_m : rope between them, knot to knot, lying slack [m]; not less than the span, 1.5 spans at most
    line_modulus_kn, tail_modulus_kn : K of line and tail [kN], 0.5 to 5,000
    free_fall_m : fall until line and tail are taut, h [m], 0 to 5
    tail_m : length of the cow's tail [m], 0.1 to 3

    >>> forces = traverse_forces(3.0, 3.15, 28.019, 85.0, 0.5, 0.5, 21.218)
    >>> round(float(forces.caver_kn), 3), round(float(forces.anchor_kn), 3), round(float(forces.sag_m), 3)
    (3.805, 3.558, 0.949)
    """
    weight = weight_kn(mass_kg)
    span = within("span_m", span_m, 0.3, 50.0, "m")
    line = within("line_m", line_m, 0.3, 75.0, "m")
    if np.any(line < span - 1e-9) or np.any(line > 1.5 * span):
        raise ValueError("line_m must lie between the span and one and a half spans: a tight line is not known")
    modulus = within("line_modulus_kn", line_modulus_kn, 0.5, 5000.0, "kN")
    tail_modulus = within("tail_modulus_kn", tail_modulus_kn, 0.5, 5000.0, "kN")
    fall = within("free_fall_m", free_fall_m, 0.0, 5.0, "m")
    tail = within("tail_m", tail_m, 0.1, 3.0, "m")
    return _lowest(span, line, modulus, weight, fall, tail / tail_modulus)


def _lowest(
    span: Numbers, line: Numbers, modulus: Numbers, weight: Numbers, fall: Numbers, give: Numbers
) -> TraverseForces:
    """The sag at which line and tail have taken all the energy; `give` is the tail's, m/kN."""
    taut = np.sqrt(np.maximum(line**2 - span**2, 0.0)) / 2

    def at(sag: Numbers) -> tuple[Numbers, Numbers]:
        length = 2 * np.sqrt(span**2 / 4 + sag**2)
        tension = np.maximum(modulus * (length - line) / line, 0.0)
        return 4 * tension * sag / length, tension

    low = np.broadcast_arrays(taut, weight, modulus, fall, give)[0].astype(float)
    # Deeper than this below taut no line of the range is still falling: K would have to be below 0.5 kN.
    high = low + 15.0 + 3 * span
    for _ in range(_HALVINGS):
        sag = (low + high) / 2
        force, tension = at(sag)
        taken = line * tension**2 / (2 * modulus) + force**2 * give / 2
        stopped = taken >= weight * (fall + sag - taut + force * give)
        low, high = np.where(stopped, low, sag), np.where(stopped, sag, high)
    force, tension = at(high)
    return TraverseForces(force[()], tension[()], high[()])


def traverse_fall(
    span_m: Numbers,
    slack_m: Numbers,
    mass_kg: Numbers,
    line: FallModulus,
    tail: FallModulus,
    *,
    tail_m: Numbers = 0.5,
    above_m: Numbers = 0.0,
    used: bool = False,
) -> Fall:
    """A fall at the middle of a traverse line between two anchors, both knotted.

    Free fall is the tail's length plus the height of the harness above the line. A tight line stops shorter and its
    anchors carry more, a loose one falls further: the high end is the worse of the slack given and half of it.

    Parameters
    ----------
    span_m : [m]; slack_m : rope beyond the span [m], half the span at most
    above_m : height of the harness above the line [m], minus to plus the length of the tail
    """
    span = within("span_m", span_m, 0.3, 50.0, "m")
    slack = within("slack_m", slack_m, 0.0, 25.0, "m")
    tail_length = within("tail_m", tail_m, 0.1, 3.0, "m")
    above = within("above_m", above_m, -3.0, 3.0, "m")
    if np.any(np.abs(above) > tail_length + 1e-9):
        raise ValueError("above_m must lie between minus and plus the length of the tail, tail_m")
    fall = np.maximum(tail_length + above, 0.0)

    def forces(kept: float, a: Numbers, b: Numbers) -> TraverseForces:
        return traverse_forces(span, span + slack * kept, a, mass_kg, fall, tail_length, b)

    low = forces(1.0, line.kn.low, tail.kn.low)
    likely = forces(1.0, line.kn.likely, tail.kn.likely)
    loose, tight = (forces(kept, line.kn.high, tail.kn.high) for kept in (1.0, 0.5))
    share = max(line.spread, tail.spread)
    over = 1 + share + (figure("rope", "falls", "spread", "used").value if used else 0.0)
    weight = weight_kn(mass_kg)
    most = [np.maximum(a, b) * over for a, b in ((loose.caver_kn, tight.caver_kn), (loose.anchor_kn, tight.anchor_kn))]
    force = Band(np.maximum(low.caver_kn * (1 - share), weight), likely.caver_kn, most[0])
    anchor = Band(low.anchor_kn * (1 - share), likely.anchor_kn, most[1])
    sag = Band.of(tight.sag_m, likely.sag_m, low.sag_m)
    return Fall("traverse", fall, span + slack, fall / tail_length, force, anchor, sag, _assumed(line, tail, used))


def _assumed(line: FallModulus, tail: FallModulus, used: bool) -> tuple[str, ...]:
    return (
        *(f"Line: {each}" for each in line.assumptions),
        *(f"Tail: {each}" for each in tail.assumptions),
        "Used rope: 20 % more at the high end, a judgement." if used else "Rope as new.",
        *ASSUMED,
        "A fall at the middle of a level span knotted at both ends; the high end counts the slack, or half of it.",
    )
