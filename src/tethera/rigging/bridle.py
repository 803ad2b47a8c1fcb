"""A load on several legs: a Y-hang of two legs or three, in space, straight or pulled aside.

Legs pull and never push; a slack one comes out slack by itself. A knotted Y does not share by itself: pulled aside, one
leg carries more. Metres and kilonewtons, z up. Left out: the size of knots, karabiners and hangers; what the rope above
a knot does to the rock.
"""

from dataclasses import dataclass

import numpy as np

from tethera.rigging.equilibrium import Floats, NoRest, settle
from tethera.rope import Numbers, within

#: Axial stiffness of a leg that counts as not stretching [kN]: a person stretches 1 m of it by a hundred-millionth.
STIFF_KN = 1e8
#: ... and in loads: stiffer, and a double's last digit is a force.
_STIFF_LOADS = 1e8
#: A leg that carries more than this many loads is stretched like a bowstring: the legs do not meet.
_MOST_LOADS = 2000.0


@dataclass(frozen=True, slots=True)
class BridleForces:
    """Where the point of the legs hangs and what each carries; arrays of one batch, or of one bridle.

    point_m : (..., 3); tension_kn : (..., n), 0 on a slack leg; share : (..., n) tension by load
    """

    point_m: Floats
    tension_kn: Floats
    share: Floats


def bridle_forces(
    anchors_m: Floats | list[list[float]],
    legs_m: Floats | list[float],
    load_kn: Floats | list[float],
    stiffness_kn: Floats | float = STIFF_KN,
) -> BridleForces:
    """What each leg of a bridle carries, from the least energy of the load and its legs; unique.

    -F.p + sum 1/2 (K / l) max(0, |p - a| - l)^2 has one lowest place p. All arguments broadcast over leading axes.

    Parameters
    ----------
    anchors_m : (..., n, 3) where the legs are fixed [m], n = 1 to 8, within 200 m of each other
    legs_m : (..., n) their lengths unloaded [m], 0.02 to 200
    load_kn : (..., 3) the pull at their common point [kN], 0.001 to 100 in all
    stiffness_kn : (..., n) force per unit strain [kN]; the default does not stretch

    A right-angled Y with the load straight down and pulled 45 degrees aside:

    >>> anchors = [[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]]
    >>> loads = [[0.0, 0.0, -1.0], [2**-0.5, 0.0, -(2**-0.5)]]
    >>> bridle_forces(anchors, [2**0.5, 2**0.5], loads).share.round(4).tolist()
    [[0.7071, 0.7071], [1.0, 0.0]]

    Raises ValueError for what is not finite or out of range, NoRest where the legs do not meet.

    References: closed forms for two legs, T / W = 1 / (2 cos(A / 2)), and Lami's theorem; both are tests.
    """
    anchors = within("anchors_m", anchors_m, -1000.0, 1000.0, "m")
    legs = within("legs_m", legs_m, 0.02, 200.0, "m")
    load = within("load_kn", load_kn, -100.0, 100.0, "kN")
    stiffness = within("stiffness_kn", stiffness_kn, 0.5, 1e9, "kN")
    _must_fit(anchors, legs, load)
    lead = np.broadcast_shapes(anchors.shape[:-2], legs.shape[:-1], load.shape[:-1])
    count = anchors.shape[-2]
    a = np.broadcast_to(anchors, (*lead, count, 3)).reshape(-1, count, 3)
    lengths = np.broadcast_to(legs, (*lead, count)).reshape(-1, count)
    f = np.broadcast_to(load, (*lead, 3)).reshape(-1, 3)
    strain = np.broadcast_to(stiffness, (*lead, count)).reshape(-1, count)
    size = np.linalg.norm(f, axis=1)
    _must_meet(a, lengths, strain, size)
    point, tension = _settled(a, lengths, f, strain, size)
    share = tension / size[:, None]
    return BridleForces(point.reshape(*lead, 3), tension.reshape(*lead, count), share.reshape(*lead, count))


def legs_meet(anchors_m: Floats, legs_m: Floats, spare: float = 1e-9) -> Numbers:
    """Whether each two legs reach each other, (...,) of bool: no anchors further apart than their legs are long."""
    apart = np.linalg.norm(anchors_m[..., :, None, :] - anchors_m[..., None, :, :], axis=-1)
    reach = legs_m[..., :, None] + legs_m[..., None, :]
    good = (apart <= reach * (1 - spare)) | np.eye(legs_m.shape[-1], dtype=bool)
    return good.all(axis=(-1, -2))[()]


def _must_fit(anchors: Floats, legs: Floats, load: Floats) -> None:
    if anchors.ndim < 2 or anchors.shape[-1] != 3 or load.shape[-1:] != (3,) or legs.shape[-1:] != anchors.shape[-2:-1]:
        raise ValueError("anchors_m must be (..., n, 3), legs_m (..., n) and load_kn (..., 3)")
    if np.any(np.linalg.norm(load, axis=-1) < 0.001):
        raise ValueError("load_kn must be at least 0.001 kN in all")


def _must_meet(a: Floats, lengths: Floats, stiffness: Floats, size: Floats) -> None:
    rigid = (stiffness >= 1000 * size[:, None]).all(axis=1)
    if not np.all(legs_meet(a, lengths) | ~rigid):
        raise NoRest("the legs are too short to meet: each two together must be longer than their anchors are apart")


def _settled(anchors: Floats, lengths: Floats, f: Floats, strain: Floats, size: Floats) -> tuple[Floats, Floats]:
    most = _STIFF_LOADS * size[:, None]
    k = np.where(strain >= STIFF_KN, most, np.minimum(strain, most)) / lengths
    # Seen from the shortest leg's anchor the point is near: no digit goes to where the cave lies.
    near = np.take_along_axis(anchors, lengths.argmin(axis=1)[:, None, None], axis=1)
    a = anchors - near

    def energy(p: Floats, factor: float) -> tuple[Floats, Floats, Floats]:
        stiff = k if factor == 1.0 else np.maximum(k * factor, 0.5 * size[:, None] / lengths)
        apart = p[:, None, :] - a
        far = np.maximum(np.linalg.norm(apart, axis=2), 1e-12)
        along = apart / far[:, :, None]
        over = np.maximum(far - lengths, 0.0)
        tension = stiff * over
        value = -(f * p).sum(axis=1) + 0.5 * (stiff * over**2).sum(axis=1)
        gradient = -f + (tension[:, :, None] * along).sum(axis=1)
        outer = along[:, :, :, None] * along[:, :, None, :]
        taut = np.where(over > 0, stiff, 0.0)[:, :, None, None]
        across = (tension / far)[:, :, None, None]
        return value, gradient, (taut * outer + across * (np.eye(3) - outer)).sum(axis=1)

    # Beyond the reach of every leg the load is sure to pull on one.
    start = a.mean(axis=1) + f / size[:, None] * (lengths.max(axis=1)[:, None] * 1.5 + 0.1)
    point = settle(energy, start, size)
    far = np.linalg.norm(point[:, None, :] - a, axis=2)
    tension = k * np.maximum(far - lengths, 0.0)
    if np.any(tension > _MOST_LOADS * size[:, None]):
        raise NoRest("the legs do not meet at one point: lengthen the shortest")
    return point + near[:, 0], tension


def angle_between_deg(anchors_m: Floats, point_m: Floats, tension_kn: Floats) -> float:
    """The widest angle between two legs that carry something, of one bridle [degrees]; 0 with one leg.

    >>> forces = bridle_forces([[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]], [2.0, 2.0], [0.0, 0.0, -1.0])
    >>> round(angle_between_deg(np.array([[-1.0, 0, 0], [1.0, 0, 0]]), forces.point_m, forces.tension_kn), 6)
    60.0
    """
    away = (np.asarray(anchors_m) - point_m)[np.asarray(tension_kn) > 1e-9]
    along = away / np.linalg.norm(away, axis=1, keepdims=True)
    return float(np.degrees(np.arccos(np.clip((along @ along.T).min(), -1.0, 1.0)))) if len(along) else 0.0


def y_share(angle_deg: Numbers) -> Numbers:
    """Share of the load on each of two equal legs of a Y with a level load: 1 / (2 cos(A / 2)) [-].

    Parameters
    ----------
    angle_deg : between the legs [degrees], 0 to 179.9

    >>> y_share([60.0, 90.0, 120.0]).round(4).tolist()
    [0.5774, 0.7071, 1.0]
    """
    angle = within("angle_deg", angle_deg, 0.0, 179.9, "degrees")
    return 1 / (2 * np.cos(np.radians(angle) / 2))
