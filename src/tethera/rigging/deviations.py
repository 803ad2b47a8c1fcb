"""A rope drawn aside by one deviation or several in a row: where it hangs, and what each sling carries.

No friction over the krabs: the rope's pull is the load everywhere, and friction would only make the slings' less.
Metres and kilonewtons, z up.
"""

from dataclasses import dataclass

import numpy as np

from tethera.rigging.equilibrium import Floats, settle
from tethera.rope import Band, FallModulus, Numbers, figure, force_band_kn, within

#: A sling that counts as not stretching, in loads per metre: stiffer, and a double's last digit is a force.
_STIFF_PER_M = 1e7
#: Two krabs at one place are this far apart: a pull between them has a direction then [m].
_APART_M = 1e-6


@dataclass(frozen=True, slots=True)
class DeviationForces:
    """Where the rope turns and by how much; n deviations from the top.

    points_m : (n, 3); turn_deg : (n,) [degrees]; sling_kn : (n,), 0 where it does nothing; share : sling by load
    """

    points_m: Floats
    turn_deg: Floats
    sling_kn: Floats
    share: Floats


def deviation_forces(
    anchor_m: Floats | list[float],
    deviations_m: Floats | list[list[float]],
    slings_m: Floats | list[float],
    load_kn: float,
) -> DeviationForces:
    """Where a rope over deviations hangs: as low as its load can go while no sling is longer than it is.

    Minimise |A - P1| + |P1 - P2| + ... + z(Pn) with |Pi - Di| <= si, convex also for several in a row. Each sling then
    pulls 2 W sin(turn / 2) along the bisector of its turn.

    Parameters
    ----------
    anchor_m : (3,) where the rope hangs [m]
    deviations_m : (n, 3) anchors of the deviations, from the top [m], n = 1 to 20
    slings_m : (n,) from there to the rope [m], 0 to 20
    load_kn : on the rope below the last [kN], 0.001 to 50

    >>> hung = deviation_forces([0.0, 0.0, 0.0], [[1.0, 0.0, -5.0]], [0.3], 1.0)
    >>> hung.points_m.round(4).tolist(), hung.turn_deg.round(3).tolist(), hung.share.round(5).tolist()
    ([[0.7007, 0.0, -5.0208]], [7.945], [0.13856])

    Raises ValueError out of range, NoRest where the forces find no balance.
    """
    anchor, held, slings = _places(anchor_m, deviations_m, slings_m)
    load = float(within("load_kn", load_kn, 0.001, 50.0, "kN"))
    # Each krab is sought from its own sling's anchor: a sling is short, the cave is not.
    between = np.diff(np.vstack([anchor, held]), axis=0)

    def energy(state: Floats, factor: float) -> tuple[Floats, Floats, Floats]:
        return _energy(state, (between, slings), _STIFF_PER_M * factor, _APART_M / factor**0.5)

    away = settle(energy, np.zeros((1, held.size)), np.ones(1)).reshape(-1, 3)
    points = held + away
    share = _STIFF_PER_M * np.maximum(np.linalg.norm(away, axis=1) - slings, 0.0)
    turn = _turns_deg(anchor, points)
    # The closed form is exact where the stiff sling's stretch is lost in rounding.
    share = np.where(share > 1e-6, 2 * np.sin(np.radians(turn) / 2), 0.0)
    return DeviationForces(points, turn, load * share, share)


def _places(
    anchor_m: Floats | list[float], deviations_m: Floats | list[list[float]], slings_m: Floats | list[float]
) -> tuple[Floats, Floats, Floats]:
    """The three as (3,), (n, 3) and (n,) [m]; ValueError where they do not go together."""
    anchor = within("anchor_m", anchor_m, -1000.0, 1000.0, "m").reshape(3)
    held = within("deviations_m", deviations_m, -1000.0, 1000.0, "m").reshape(-1, 3)
    slings = within("slings_m", slings_m, 0.0, 20.0, "m").reshape(-1)
    if len(held) != len(slings) or not 1 <= len(held) <= 20:
        raise ValueError("deviations_m and slings_m must be of one length, 1 to 20")
    corners = np.vstack([anchor, held])
    if np.any(np.linalg.norm(np.diff(corners, axis=0), axis=1) < 0.01):
        raise ValueError("deviations_m must lie at least a centimetre from the anchor and from each other")
    return anchor, held, slings


def _energy(state: Floats, where: tuple[Floats, Floats], stiff: float, apart: float) -> tuple[Floats, Floats, Floats]:
    between, slings = where
    away = state.reshape(-1, 3)
    n = len(away)
    gradient, curve = np.zeros((n, 3)), np.zeros((n, 3, n, 3))
    value = away[-1, 2]
    gradient[-1, 2] += 1.0
    for i in range(n):
        span = between[i] + away[i] - (away[i - 1] if i else 0.0)
        length = float(np.sqrt(span @ span + apart**2))
        along = span / length
        value += length
        gradient[i] += along
        bend = (np.eye(3) - np.outer(along, along)) / length
        curve[i, :, i, :] += bend
        if i:
            gradient[i - 1] -= along
            curve[i - 1, :, i - 1, :] += bend
            curve[i - 1, :, i, :] -= bend
            curve[i, :, i - 1, :] -= bend
        far = max(float(np.linalg.norm(away[i])), 1e-12)
        over = far - slings[i]
        if over > 0:
            pull, out = stiff * over, away[i] / far
            value += 0.5 * pull * over
            gradient[i] += pull * out
            curve[i, :, i, :] += stiff * np.outer(out, out) + pull / far * (np.eye(3) - np.outer(out, out))
    return np.array([value]), gradient.reshape(1, -1), curve.reshape(1, 3 * n, 3 * n)


def _turns_deg(anchor: Floats, points: Floats) -> Floats:
    corners = np.vstack([anchor, points, points[-1] - [0.0, 0.0, 1.0]])
    legs = np.diff(corners, axis=0)
    along = legs / np.linalg.norm(legs, axis=1, keepdims=True)
    # atan2 keeps small angles that arccos of a number near 1 loses.
    cross = np.linalg.norm(np.cross(along[:-1], along[1:]), axis=1)
    turned: Floats = np.degrees(np.arctan2(cross, (along[:-1] * along[1:]).sum(axis=1)))
    return turned


def deviation_pull(turn_deg: Numbers) -> Numbers:
    """Pull of a sling by the load on the rope, for a turn of the rope: 2 sin(turn / 2) [-].

    Parameters
    ----------
    turn_deg : change of the rope's direction [degrees], 0 to 180

    >>> deviation_pull([10.0, 20.0, 60.0, 180.0]).round(3).tolist()
    [0.174, 0.347, 1.0, 2.0]
    """
    turn = within("turn_deg", turn_deg, 0.0, 180.0, "degrees")
    return 2 * np.sin(np.radians(turn) / 2)


@dataclass(frozen=True, slots=True)
class DeviationFailure:
    """A deviation fails: how far the rope swings [m], the fall until it is taut again [m], the most it brings [kN]."""

    swing_m: float
    free_fall_m: float
    peak_kn: Band


def deviation_failure(
    anchor_m: Floats | list[float],
    point_m: Floats | list[float],
    mass_kg: float,
    modulus: FallModulus,
    *,
    below_m: float = 0.5,
    used: bool = False,
) -> DeviationFailure:
    """One deviation fails under a caver just below it: the rope straightens, the caver falls a little and swings.

    Parameters
    ----------
    anchor_m, point_m : (3,) where the rope hangs above, and where it turned [m]
    below_m : rope from there to the caver [m], 0 to 500
    used : whether the rope has been used before

    >>> from tethera.rope import fall_modulus
    >>> fails = deviation_failure([0.0, 0.0, 0.0], [0.7007, 0.0, -5.0208], 85.0, fall_modulus("A"))
    >>> round(fails.swing_m, 2), round(fails.free_fall_m, 3)
    (0.7, 0.004)
    """
    anchor, point = np.asarray(anchor_m, float), np.asarray(point_m, float)
    below = float(within("below_m", below_m, 0.0, 500.0, "m"))
    off = point - anchor
    aside, down = float(np.hypot(off[0], off[1])), float(-off[2]) + below
    rope = float(np.linalg.norm(off)) + below
    free = max(float(np.sqrt(max(rope**2 - aside**2, 0.0))) - down, 0.0)
    drop = max(rope - down, 0.0)
    weight = mass_kg * figure("rope", "stretch", "g").value / 1000
    rest = 2 * weight * (drop - free) / rope
    band = force_band_kn(mass_kg, min(free / rope, 2.0), modulus, used=used)
    return DeviationFailure(aside, free, Band(band.low, band.likely + rest, band.high + rest))
