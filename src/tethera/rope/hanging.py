"""A rope hanging free: where its foot is with nobody on it and with a caver, and what that does to the length to take.

Works on arrays that broadcast. Static, along the rope. Left out: creep, twist, friction over an edge. Natural length
is the length of the washed rope lying slack and dry.
"""

from dataclasses import dataclass, replace

import numpy as np

from tethera.rope.quantities import Band, Numbers, within
from tethera.rope.stretch import StretchLaw
from tethera.rope.tables import figure

_NEWTON_STEPS = 40
_RANGES = {"length_m": (0.0, 2000.0, "m"), "mass_kg_per_m": (0.001, 1.0, "kg/m"), "load_kg": (0.0, 500.0, "kg")}


@dataclass(frozen=True, slots=True)
class ToeLaw:
    """Strain eps = T / K + e0 (1 - exp(-T / T0)): slack in the weave is drawn out first, then a straight line.

    stiffness_n : K [N]; toe : e0 [share]; toe_n : T0 [N]
    """

    stiffness_n: float
    toe: float
    toe_n: float

    def __post_init__(self) -> None:
        within("stiffness_n", self.stiffness_n, 1e3, 1e7, "N")
        within("toe", self.toe, 0.0, 0.2, "share")
        within("toe_n", self.toe_n, 1.0, 1e4, "N")


Law = StretchLaw | ToeLaw


def strain(tension_n: Numbers, law: Law) -> Numbers:
    """Share by which rope is longer under a tension of 0 to 30 kN.

    >>> round(float(strain(833.6, ToeLaw(30e3, 0.01, 200.0))), 4)
    0.0376
    """
    tension = within("tension_n", tension_n, 0.0, 30e3, "N")
    if isinstance(law, ToeLaw):
        return tension / law.stiffness_n - law.toe * np.expm1(-tension / law.toe_n)
    return law.c * tension**law.n


def _gained_m(below_kg: Numbers, length_m: Numbers, mass_kg_per_m: Numbers, law: Law) -> Numbers:
    """Metres that a stretch of hanging rope gains, `below_kg` hanging on its lower end: the integral of the strain."""
    g = figure("rope", "stretch", "g").value
    weight = mass_kg_per_m * g
    foot, top = below_kg * g, (below_kg + mass_kg_per_m * length_m) * g
    if isinstance(law, ToeLaw):
        line = length_m * (foot + top) / 2 / law.stiffness_n
        # exp(-foot) (1 - exp(-weight of it)), so that nothing cancels for a short piece.
        drawn = np.exp(-foot / law.toe_n) * -np.expm1((foot - top) / law.toe_n)
        return line + law.toe * (length_m - law.toe_n / weight * drawn)
    if law.n == 1.0:
        return law.c * length_m * (foot + top) / 2
    return law.c / (weight * (law.n + 1)) * (top ** (law.n + 1) - foot ** (law.n + 1))


def _checked(**named: Numbers) -> list[Numbers]:
    return [within(name, value, *_RANGES[name]) for name, value in named.items()]


def hanging_elongation_m(length_m: Numbers, mass_kg_per_m: Numbers, load_kg: Numbers, law: Law) -> Numbers:
    """Metres a hanging rope gains from a load at its foot and its own weight; for arrays, and for every law.

    length_m : natural length, 0 to 2,000; mass_kg_per_m : 0.001 to 1; load_kg : 0 to 500

    >>> hanging_elongation_m([30.0, 100.0], 0.065, 85.0, StretchLaw.from_en1891(0.035)).round(2).tolist()
    [0.92, 3.14]
    """
    length, mass, load = _checked(length_m=length_m, mass_kg_per_m=mass_kg_per_m, load_kg=load_kg)
    return _gained_m(load, length, mass, law)


@dataclass(frozen=True, slots=True)
class FootDepth:
    """Depth of the caver and of the rope's foot below the anchor [m]."""

    caver_m: Numbers
    foot_m: Numbers


def foot_depth(length_m: Numbers, mass_kg_per_m: Numbers, load_kg: Numbers, caver_at_m: Numbers, law: Law) -> FootDepth:
    """Where caver and foot are while a caver hangs part of the way down.

    Above the caver the rope carries the load and the rope below; below the caver only itself.

    caver_at_m : rope from the anchor to the caver, natural length [m], 0 to length_m

    >>> at = foot_depth(100.0, 0.065, 85.0, [0.0, 50.0, 100.0], StretchLaw.from_en1891(0.035))
    >>> at.foot_m.round(2).tolist()
    [100.12, 101.63, 103.14]
    """
    length, mass, load = _checked(length_m=length_m, mass_kg_per_m=mass_kg_per_m, load_kg=load_kg)
    caver = within("caver_at_m", caver_at_m, 0.0, 2000.0, "m")
    if np.any(caver > length):
        raise ValueError("caver_at_m must lie between 0 and length_m: nobody hangs below the rope's foot")
    below = length - caver
    depth = caver + _gained_m(load + mass * below, caver, mass, law)
    return FootDepth(depth, depth + below + _gained_m(0.0, below, mass, law))


def least_length_m(depth_m: Numbers, mass_kg_per_m: Numbers, load_kg: Numbers, law: Law) -> Numbers:
    """Least natural length whose foot reaches a depth with a load at it: with 0 kg, the length to take.

    L + dL(L) = D by Newton's method from L = D, from above because the left side is convex.

    depth_m : 0 to 2,000

    >>> round(float(least_length_m(100.0, 0.065, 0.0, StretchLaw.linear(28_019.0))), 4)
    99.8865
    """
    depth = within("depth_m", depth_m, 0.0, 2000.0, "m")
    mass, load = _checked(mass_kg_per_m=mass_kg_per_m, load_kg=load_kg)
    length = np.asarray(depth) * np.ones(np.broadcast(mass, load).shape)
    g = figure("rope", "stretch", "g").value
    for _ in range(_NEWTON_STEPS):
        over = length + _gained_m(load, length, mass, law) - depth
        # The slope is what one more metre at the top adds: itself, stretched by all below.
        length = length - over / (1 + strain((load + mass * length) * g, law))
        if np.all(np.abs(over) < 1e-12 * np.maximum(depth, 1.0)):
            break
    return length[()]


@dataclass(frozen=True, slots=True)
class Elasticity:
    """What is known of how a low-stretch rope gives: laws for the least, the likely and the most stretch."""

    least: StretchLaw
    likely: StretchLaw
    most: StretchLaw
    assumptions: tuple[str, ...]


def elasticity(elongation: float | None = None, *, wet: bool = False) -> Elasticity:
    """Laws that agree with a rope's declared elongation, which fixes one number only: the total stretch is a band.

    The straight line gives least; most is eps ~ T^0.7, beyond the field's 3 to 4 % under one caver. Where E is not
    declared the band reaches from a rope that would just pass EN 1891's peak force to one at its limit of elongation.
    Wet rope gives up to a quarter more (a judgement) at the far end.

    elongation : E of EN 1891 [share], 0.001 to 0.2, or None

    >>> laws = elasticity(0.035)
    >>> [round(100 * float(law.strain(85 * 9.80665)), 1) for law in (laws.least, laws.likely, laws.most)]
    [3.0, 3.6, 4.5]
    """
    from tethera.rope.fall_stiffness import modulus_bound_kn

    shares = [figure("rope", "stretch", key).value for key in ("linear_share", "likely_share", "soft_share")]
    if elongation is None:
        low, high = (figure("rope", "stretch", key).value for key in ("load_low", "load_high"))
        stiffest = (high - low) * figure("rope", "stretch", "g").value / 1000 / modulus_bound_kn("B")
        typical, limit = (figure("rope", "stretch", key).value for key in ("likely_elongation", "elongation_limit"))
        known = [stiffest, typical, limit]
        words = f"Elongation not declared: {100 * stiffest:.1f} to {100 * limit:.0f} %, what EN 1891 leaves."
    else:
        known = [elongation] * 3
        words = f"Declared elongation {100 * elongation:.3g} % from 50 to 150 kg; the stretch under a caver is a band."
    least, likely, most = (StretchLaw.from_en1891(e, n) for e, n in zip(known, shares, strict=True))
    told = [words]
    if wet:
        softest = figure("rope", "stretch", "wet", "stiffness_low").value
        likely, most = _softer(likely, (1 + softest) / 2), _softer(most, softest)
        told.append("Wet rope is heavier, and gives up to a quarter more: a judgement, no measurement was found.")
    return Elasticity(least, likely, most, tuple(told))


def _softer(law: StretchLaw, share: float) -> StretchLaw:
    return replace(law, c=law.c / share**law.n)


@dataclass(frozen=True, slots=True)
class Hang:
    """A rope hanging free, each answer a band [m].

    unloaded_foot_m : depth of the foot with nobody on the rope; loaded_foot_m : with the caver at the foot
    stretch_m : what caver and own weight add; recoil_m : how far the foot springs up when the caver steps off
    """

    length_m: Numbers
    unloaded_foot_m: Band
    loaded_foot_m: Band
    stretch_m: Band
    recoil_m: Band
    assumptions: tuple[str, ...]


def wet_mass(mass_kg_per_m: Numbers) -> Numbers:
    """Mass of a metre of soaked rope [kg/m].

    >>> float(wet_mass(0.1))
    0.145
    """
    return mass_kg_per_m * (1 + figure("rope", "stretch", "wet", "mass").value)


def hang(
    length_m: Numbers, mass_kg_per_m: Numbers, load_kg: Numbers, elongation: float | None = None, *, wet: bool = False
) -> Hang:
    """Where the foot of a hanging rope is, unloaded and loaded, dry or wet.

    length_m : natural length, washed [m], 0 to 2,000; mass_kg_per_m : dry [kg/m]; load_kg : the caver with bags [kg]

    >>> hung = hang(100.0, 0.065, 85.0, 0.035)
    >>> round(float(hung.stretch_m.low), 2), round(float(hung.stretch_m.high), 2)
    (3.14, 4.64)
    """
    laws, mass, each = _laws(mass_kg_per_m, elongation, wet=wet)
    bare = [hanging_elongation_m(length_m, mass, 0.0, law) for law in each]
    full = [hanging_elongation_m(length_m, mass, load_kg, law) for law in each]
    length = within("length_m", length_m, *_RANGES["length_m"])
    return Hang(
        length,
        Band(*(length + gained for gained in bare)),
        Band(*(length + gained for gained in full)),
        Band(*full),
        Band(*(loaded - free for loaded, free in zip(full, bare, strict=True))),
        (*laws.assumptions, "Rope hangs free and touches no edge. Length as washed and dry, without knots."),
    )


def _laws(
    mass_kg_per_m: Numbers, elongation: float | None, *, wet: bool
) -> tuple[Elasticity, Numbers, tuple[StretchLaw, StretchLaw, StretchLaw]]:
    """The laws of a rope, its mass dry or wet, and the laws from least to most."""
    laws = elasticity(elongation, wet=wet)
    mass = wet_mass(mass_kg_per_m) if wet else mass_kg_per_m
    return laws, mass, (laws.least, laws.likely, laws.most)


@dataclass(frozen=True, slots=True)
class Reach:
    """Natural lengths for a depth [m].

    take_m : reaches with nobody on it, by the stiffest law, dry
    touches_loaded_m : the shortest rope whose foot touches the floor under the caver, by the softest law: between it
        and `take_m` a rope comes down under load and springs out of reach when the caver steps off
    window_m : how wide that is, stiffest and softest law each by itself
    """

    take_m: Numbers
    touches_loaded_m: Numbers
    window_m: Band
    assumptions: tuple[str, ...]


def reach(
    depth_m: Numbers, mass_kg_per_m: Numbers, load_kg: Numbers, elongation: float | None = None, *, wet: bool = False
) -> Reach:
    """Lengths that reach a depth, and those that only seem to.

    >>> found = reach(100.0, 0.065, 85.0, 0.035)
    >>> round(float(found.window_m.low), 1), round(float(found.window_m.high), 1)
    (2.9, 4.0)
    """
    laws, mass, each = _laws(mass_kg_per_m, elongation, wet=wet)
    free = [least_length_m(depth_m, mass, 0.0, law) for law in each]
    held = [least_length_m(depth_m, mass, load_kg, law) for law in each]
    dry = least_length_m(depth_m, mass_kg_per_m, 0.0, elasticity(elongation).least)
    window = Band(*(a - b for a, b in zip(free, held, strict=True)))
    return Reach(dry, held[2], window, (*laws.assumptions, "Knots and tails come on top."))


def rebelay_loop_m(
    hang_m: Numbers,
    mass_kg_per_m: Numbers,
    load_kg: Numbers,
    slack_after_m: Numbers,
    elongation: float | None = None,
    *,
    wet: bool = False,
) -> Band:
    """Slack to leave in a rebelay's loop while hanging on the rope above: enough is left when that contracts [m].

    s_rig = s_pass + H eps / (1 + eps). The high end is the one to leave.

    hang_m : free hang above the rebelay [m], 0 to 500; slack_after_m : slack wanted afterwards [m], 0 to 20

    >>> band = rebelay_loop_m([20.0, 50.0], 0.065, 85.0, 0.8, 0.035)
    >>> band.low.round(2).tolist(), band.high.round(2).tolist()
    ([1.39, 2.3], [1.67, 2.99])
    """
    height = within("hang_m", hang_m, 0.0, 500.0, "m")
    after = within("slack_after_m", slack_after_m, 0.0, 20.0, "m")
    laws = elasticity(elongation, wet=wet)
    mass = wet_mass(mass_kg_per_m) if wet else mass_kg_per_m
    slacks = []
    for law in (laws.least, laws.likely, laws.most):
        gained = hanging_elongation_m(height, mass, load_kg, law)
        # H eps / (1 + eps) with eps = gained / H, and nothing to divide by for a hang of nought.
        slacks.append(after + gained * height / np.maximum(height + gained, 1e-12))
    return Band(*slacks)
