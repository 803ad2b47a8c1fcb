"""Traverse lines and other ropes across: slack, stretch, a load on the span, and the sag of a line nobody hangs on.

Next to a person a few metres of rope weigh nothing: loads use a light line. Its own weight matters only for the sag
with nobody on it and for long hand-lines (`elastic_catenary`). Metres and kilonewtons. The formula for a line that does
not stretch is not here: it is infinite for a tight line.
"""

from dataclasses import dataclass

import numpy as np

from tethera.rigging.bridle import bridle_forces
from tethera.rigging.equilibrium import Floats, NoRest
from tethera.rope import Numbers, within

_HALVINGS = 100


@dataclass(frozen=True, slots=True)
class SpanForces:
    """A loaded span: tension left and right [kN], and where from the left end the load hangs [m]."""

    left_kn: Numbers
    right_kn: Numbers
    along_m: Numbers
    sag_m: Numbers


def running_load(
    span_m: Numbers, line_m: Numbers, load_kn: Numbers, stiffness_kn: Numbers, *, drop_m: Numbers = 0.0
) -> SpanForces:
    """A load on a krab that runs along a span: both sides pull alike and at the same slope.

    2 T sin(th) = P and cos(th) = L / (l0 (1 + T / EA)); with level ends also a load tied at the middle. Halving
    the bracket; all arguments broadcast.

    Parameters
    ----------
    span_m : level distance between the anchors [m], 0.1 to 1,000
    line_m : rope between them lying slack [m], 0.8 to 3 spans; less than the span is a line pulled tight
    load_kn : [kN], 0.001 to 50
    stiffness_kn : force per unit strain of the rope, EA [kN], 0.5 to 100,000
    drop_m : how much lower the right end is [m]; negative is higher

    >>> forces = running_load(5.0, [5.0, 5.25], 0.8335653, 28.019)
    >>> (forces.left_kn * 1000).round(1).tolist()
    [1377.6, 1050.7]

    Raises NoRest where the load would run into an end.
    """
    span = within("span_m", span_m, 0.1, 1000.0, "m")
    line = within("line_m", line_m, 0.08, 3000.0, "m")
    load = within("load_kn", load_kn, 0.001, 50.0, "kN")
    stiffness = within("stiffness_kn", stiffness_kn, 0.5, 1e5, "kN")
    drop = within("drop_m", drop_m, -1000.0, 1000.0, "m")
    if np.any(line < 0.8 * span) or np.any(line > 3 * span):
        raise ValueError("line_m must lie between 0.8 and 3 times span_m")
    span, line, load, stiffness, drop = np.broadcast_arrays(span, line, load, stiffness, drop)
    low = np.maximum(stiffness * (span / line - 1), 0.0)
    # Half the load holds it hanging straight down; beyond, a tight line: T^3 is near EA P^2 / 8.
    high = low + load + np.cbrt(load**2 * stiffness)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        enough = 2 * middle * _sine(span, line, middle, stiffness) >= load
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    length = line * (1 + high / stiffness)
    rise = np.sqrt(np.maximum(length**2 - span**2, 0.0))
    if np.any(np.abs(drop) > rise):
        raise NoRest("the load runs into the lower end: there is too little slack for ends so far apart in height")
    left_rise = (rise + drop) / 2
    along = span * left_rise / np.maximum(rise, 1e-300)
    return SpanForces(high[()], high[()], along[()], left_rise[()])


def _sine(span: Numbers, line: Numbers, tension: Numbers, stiffness: Numbers) -> Numbers:
    cosine = np.minimum(span / (line * (1 + tension / stiffness)), 1.0)
    return np.sqrt((1 - cosine) * (1 + cosine))


def tied_load(
    span_m: float, line_m: float, at_share: float, load_kn: float, stiffness_kn: float, *, drop_m: float = 0.0
) -> SpanForces:
    """A load tied to one place of a span: the shorter side carries more.

    Parameters
    ----------
    at_share : share of the rope left of the load [-], 0.01 to 0.99; the others as in `running_load`

    >>> forces = tied_load(5.0, 5.25, 0.1, 0.8335653, 27.5)
    >>> round(float(forces.left_kn / 0.8335653), 2), round(float(forces.right_kn / 0.8335653), 2)
    (1.06, 0.46)
    """
    span = float(within("span_m", span_m, 0.1, 100.0, "m"))
    line = float(within("line_m", line_m, 0.8 * span, 3 * span, "m"))
    share = float(within("at_share", at_share, 0.01, 0.99, ""))
    load = float(within("load_kn", load_kn, 0.001, 50.0, "kN"))
    stiffness = float(within("stiffness_kn", stiffness_kn, 0.5, 1e5, "kN"))
    drop = float(within("drop_m", drop_m, -100.0, 100.0, "m"))
    ends = np.array([[0.0, 0.0, 0.0], [span, 0.0, -drop]])
    parts = np.array([line * share, line * (1 - share)])
    forces = bridle_forces(ends, parts, np.array([0.0, 0.0, -load]), stiffness)
    left, right = forces.tension_kn
    return SpanForces(left, right, forces.point_m[0], -forces.point_m[2])


@dataclass(frozen=True, slots=True)
class Catenary:
    """A line under its own weight: level pull, pull down at the left and at the right end [kN], sag [m]."""

    level_kn: float
    left_kn: float
    right_kn: float
    sag_m: float


def elastic_catenary(
    span_m: float, line_m: float, weight_n_per_m: float, stiffness_kn: float, *, drop_m: float = 0.0
) -> Catenary:
    """A stretching line under its own weight between two ends, from Irvine's equations by Newton.

    x = H s / EA + H/w (asinh(V/H) - asinh((V - w s)/H)), z = s/EA (V - w s/2) + H/w (sqrt(1 + (V/H)^2) - ...), s the
    rope lying slack. Sag is how far the lowest point lies below the left end.

    Parameters
    ----------
    span_m : level distance [m], 0.1 to 2,000; line_m : rope lying slack [m], 0.9 to 5 spans
    weight_n_per_m : [N/m], 0.001 to 1,000; stiffness_kn : EA [kN], 0.5 to 1e10
    drop_m : how much lower the right end is [m]

    >>> hung = elastic_catenary(100.0, 102.0, 0.63743225, 27.529)
    >>> round(hung.level_kn * 1000, 3), round(hung.sag_m, 4)
    (85.382, 9.4108)

    References: H. M. Irvine's elastic catenary as code_aster's validation manual V6.02.114 gives it.
    """
    span = float(within("span_m", span_m, 0.1, 2000.0, "m"))
    line = float(within("line_m", line_m, 0.9 * span, 5 * span, "m"))
    weight = float(within("weight_n_per_m", weight_n_per_m, 0.001, 1000.0, "N/m"))
    stiffness = float(within("stiffness_kn", stiffness_kn, 0.5, 1e10, "kN")) * 1000
    drop = float(within("drop_m", drop_m, -2000.0, 2000.0, "m"))
    level, left = _pulls(span, -drop, line, weight, stiffness)
    right = weight * line - left
    # The lowest point is where the rope runs level, or an end.
    lowest = min(max(left / weight, 0.0), line)
    below = -_rise(level, left, lowest, weight, stiffness)
    return Catenary(level / 1000, left / 1000, right / 1000, max(below, 0.0, drop))


def _reach(level: float, left: float, s: float, weight: float, stiffness: float) -> float:
    a, b = left / level, (left - weight * s) / level
    return float(level * s / stiffness + level / weight * (np.arcsinh(a) - np.arcsinh(b)))


def _rise(level: float, left: float, s: float, weight: float, stiffness: float) -> float:
    """Height of the rope's point s above the left end [m], for `left` the upward pull at that end [N]."""
    a, b = left / level, (left - weight * s) / level
    return float(-s / stiffness * (left - weight * s / 2) - level / weight * (np.hypot(1, a) - np.hypot(1, b)))


def _pulls(span: float, rise: float, line: float, weight: float, stiffness: float) -> tuple[float, float]:
    """Level pull and upward pull at the left end [N]: Newton, with the level pull as its logarithm."""
    slack = max((line**2 - rise**2) / span**2 - 1, 0.0)
    over = max(float(np.sqrt(3 * slack)), 0.05)
    level = max(weight * span / (2 * over), stiffness * (np.hypot(span, rise) / line - 1), 1e-6)
    state = np.array([np.log(level), weight / 2 * line - rise / span * level])

    def off(at: Floats) -> Floats:
        h = float(np.exp(min(max(at[0], -60.0), 60.0)))
        return np.array(
            [_reach(h, at[1], line, weight, stiffness) - span, _rise(h, at[1], line, weight, stiffness) - rise]
        )

    miss = off(state)
    for _ in range(200):
        if np.abs(miss).max() < 1e-11 * max(span, line):
            break
        step = np.linalg.solve(_slopes(state, line, weight, stiffness), -miss)
        share = min(1.0, 1.0 / max(abs(step[0]), 1e-300))
        while share > 1e-12 and np.linalg.norm(off(state + share * step)) >= np.linalg.norm(miss) * (1 - 1e-4 * share):
            share /= 2
        if share <= 1e-12:
            break
        state = state + share * step
        miss = off(state)
    if not np.all(np.isfinite(state)) or np.abs(miss).max() > 1e-7 * max(span, line):
        raise NoRest("no rest was found for this line: check its length against the span")
    return float(np.exp(state[0])), float(state[1])


def _slopes(state: Floats, line: float, weight: float, stiffness: float) -> Floats:
    h, v = float(np.exp(state[0])), float(state[1])
    a, b = v / h, (v - weight * line) / h
    root_a, root_b = np.hypot(1, a), np.hypot(1, b)
    reach_h = line / stiffness + (np.arcsinh(a) - np.arcsinh(b)) / weight - (a / root_a - b / root_b) / weight
    reach_v = (1 / root_a - 1 / root_b) / weight
    rise_h = -(root_a - root_b) / weight + (a * a / root_a - b * b / root_b) / weight
    rise_v = -line / stiffness - (a / root_a - b / root_b) / weight
    return np.array([[reach_h * h, reach_v], [rise_h * h, rise_v]])
