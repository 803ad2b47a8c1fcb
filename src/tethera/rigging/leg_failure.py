"""One leg of a Y-hang fails: how far the load drops and swings, and what the legs that are left get.

With the load in the knot itself, a taut leg that is left makes a pendulum. With rope between knot and caver the knot
jumps into line at once and the rope goes slack: the caver falls, and the impact equation says what stops that.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tethera.rigging.bridle import BridleForces, bridle_forces
from tethera.rigging.equilibrium import Floats
from tethera.rope import Band, FallModulus, Numbers, figure, force_band_kn

How = Literal["swing", "fall"]
#: Less than this the rope is not slack, whatever rounding says [m].
_SLACK_M = 1e-6
#: Where nobody hangs this much below the knot, the load counts as in the knot [m].
_IN_THE_KNOT_M = 0.01


@dataclass(frozen=True, slots=True)
class LegFailure:
    """What happens when leg `leg` (from 0) fails.

    after_kn : on each leg that is left, at rest (n - 1) [kN]; peak_kn : the most on each, a band of (n - 1) [kN]
    drop_m, swing_m : how far the knot goes down and sideways; free_fall_m : fall until the rope is taut again
    how : "swing", or "fall" where the rope goes slack
    """

    leg: int
    point_m: Floats
    after_kn: Floats
    peak_kn: Band
    drop_m: float
    swing_m: float
    free_fall_m: float
    how: How


def leg_failures(
    anchors_m: Floats | list[list[float]],
    legs_m: Floats | list[float],
    mass_kg: float,
    modulus: FallModulus,
    *,
    below_m: float = 0.0,
    used: bool = False,
) -> tuple[LegFailure, ...]:
    """Each leg of a bridle failing in turn, with the load hanging straight down.

    Parameters
    ----------
    anchors_m, legs_m : of one bridle of 2 to 8 legs, as in `bridle_forces`
    mass_kg : hanging on it [kg], 1 to 1,000
    modulus : stiffness in a fall of the rope the legs are of
    below_m : rope from the knot to the caver [m], 0 to 500; 0 is the caver in the knot
    used : whether the rope has been used before, which makes falls on it harder

    >>> from tethera.rope import fall_modulus
    >>> anchors, legs = [[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]], [2.0, 2.0]
    >>> one, _ = leg_failures(anchors, legs, 100.0, fall_modulus("A"))
    >>> one.how, round(one.drop_m, 2), one.swing_m.__round__(2), round(float(one.peak_kn.high[0] / 0.980665), 2)
    ('swing', 0.27, 1.0, 1.27)
    >>> leg_failures(anchors, legs, 100.0, fall_modulus("A"), below_m=2.0)[0].how
    'fall'
    """
    a, lengths = np.asarray(anchors_m, float), np.asarray(legs_m, float)
    if not 0.0 <= below_m <= 500.0:
        raise ValueError(f"below_m must lie between 0 and 500 m, not {below_m:g}")
    weight = mass_kg * figure("rope", "stretch", "g").value / 1000
    load = np.array([0.0, 0.0, -weight])
    before = bridle_forces(a, lengths, load)
    below = 0.0 if below_m < _IN_THE_KNOT_M else below_m
    return tuple(
        _fails(leg, a, lengths, before, (mass_kg, weight), (modulus, used), below) for leg in range(len(lengths))
    )


def _fails(
    leg: int,
    a: Floats,
    lengths: Floats,
    before: BridleForces,
    load: tuple[float, float],
    stiff: tuple[FallModulus, bool],
    below_m: float,
) -> LegFailure:
    (mass_kg, weight), (modulus, used) = load, stiff
    left = np.arange(len(lengths)) != leg
    a, lengths = a[left], lengths[left]
    after = bridle_forces(a, lengths, np.array([0.0, 0.0, -weight]))
    moved = after.point_m - before.point_m
    drop, swing = max(float(-moved[2]), 0.0), float(np.hypot(moved[0], moved[1]))
    taut = after.share > 1e-6
    free = _free_fall_m(a[taut], lengths[taut], before.point_m, below_m, drop)
    turned = _turned(a, taut, after)
    if free <= _SLACK_M:
        # v^2 / r at the lowest point comes on top of the load at rest.
        peak = after.tension_kn + 2 * weight * drop * turned
        return LegFailure(
            leg, after.point_m, after.tension_kn, Band(after.tension_kn, peak, peak), drop, swing, 0, "swing"
        )
    # What is left of the drop once the rope is taut is swung through, by most on the shortest radius.
    rope = float(lengths[taut].min()) + below_m
    rest = 2 * weight * max(drop - free, 0.0) / rope
    band = force_band_kn(mass_kg, min(free / rope, 2.0), modulus, used=used)
    share = np.maximum(after.share, 0.0)
    peak_band = Band(*(share * (kn + more) for kn, more in ((band.low, 0.0), (band.likely, rest), (band.high, rest))))
    return LegFailure(leg, after.point_m, after.tension_kn, peak_band, drop, swing, free, "fall")


def _free_fall_m(a: Floats, lengths: Floats, knot: Floats, below_m: float, drop_m: float) -> float:
    """Fall of the load, straight down, until what is left is taut; with several legs left at most the knot's drop."""
    if len(a) != 1:
        slack = below_m > 0 or np.any(np.linalg.norm(a - knot, axis=1) < lengths - _SLACK_M)
        return drop_m if slack else 0.0
    aside = float(np.hypot(*(knot - a[0])[:2]))
    down = float(a[0][2] - knot[2]) + below_m
    return max(float(np.sqrt(max((lengths[0] + below_m) ** 2 - aside**2, 0.0))) - down, 0.0)


def _turned(a: Floats, taut: Numbers, after: BridleForces) -> Floats:
    """What each leg gets of the pull towards the middle of the swing, by its radius [1/m]: one leg, or two sharing."""
    found = np.zeros(len(a))
    held = np.flatnonzero(taut)
    if len(held) > 2:
        return found  # three legs leave no way to swing
    away = a[held] - after.point_m
    if len(held) == 1:
        found[held] = 1 / np.linalg.norm(away[0])
        return found
    axis = away[1] - away[0]
    foot = away[0] - axis * (away[0] @ axis) / (axis @ axis)
    radius = float(np.linalg.norm(foot))
    along = (away / np.linalg.norm(away, axis=1, keepdims=True)).T
    found[held] = np.linalg.lstsq(along, foot / radius, rcond=None)[0] / radius
    return found
