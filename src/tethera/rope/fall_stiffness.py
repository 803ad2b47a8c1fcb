"""How stiff a rope is in a fall, from the best that is known of it: its drop test, its elongation, its type alone."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tethera.rope.falls import impact_force_kn, modulus_from_test_kn, weight_kn
from tethera.rope.quantities import Band, Numbers
from tethera.rope.specification import RopeSpecification, RopeType, between
from tethera.rope.stretch import StretchLaw
from tethera.rope.tables import figure

KnownBy = Literal["impact force", "elongation", "standard", "tape"]


@dataclass(frozen=True, slots=True)
class FallModulus:
    """Force per unit strain in a fall as a band [kN], how it is known, and how far a force from it may be off.

    `spread` is the share of the force on either side (judgement, tables/falls.toml). `soft` is the softest law of the
    rope, for the distance a fall goes; None where only the band is known.
    """

    kn: Band
    known_by: KnownBy
    spread: float
    assumptions: tuple[str, ...]
    soft: StretchLaw | None = None

    def wet(self) -> "FallModulus":
        """The same rope wet: stiffer in a fall, by nothing at the least."""
        likely, high = (figure("rope", "falls", "wet", key).value for key in ("modulus_likely", "modulus_high"))
        words = f"Wet: stiffer in a fall by up to {100 * (high - 1):.0f} %, as makers found with dynamic rope."
        band = Band(self.kn.low, self.kn.likely * likely, self.kn.high * high)
        softer = figure("rope", "stretch", "wet", "stiffness_low").value
        soft = None if self.soft is None else StretchLaw(self.soft.c / softer**self.soft.n, self.soft.n)
        return FallModulus(band, self.known_by, self.spread, (*self.assumptions, words), soft)


def drop_test(rope_type: RopeType) -> tuple[float, float]:
    """Mass [kg] and fall factor [-] of the drop test of a type's standard.

    >>> drop_test("A"), drop_test("dynamic")
    ((100.0, 0.3), (80.0, 1.77))
    """
    if rope_type == "dynamic":
        return figure("rope", "falls", "en892", "mass").value, figure("rope", "falls", "en892", "factor").value
    return (
        figure("rope", "falls", "en1891", "mass", rope_type).value,
        figure("rope", "falls", "en1891", "factor").value,
    )


def modulus_bound_kn(rope_type: RopeType) -> float:
    """The most a new rope of this type can have: it would just pass its standard's drop test [kN].

    >>> round(modulus_bound_kn("A"), 1), round(modulus_bound_kn("B"), 1)
    (41.2, 56.5)
    """
    standard = "en892" if rope_type == "dynamic" else "en1891"
    return float(modulus_from_test_kn(figure("rope", "falls", standard, "peak").value, *drop_test(rope_type)))


def modulus_floor_kn(rope_type: RopeType) -> float:
    """The least a rope of this type can have: it would just pass its standard's limit of elongation [kN].

    Type A and B: 100 g / 5 %. EN 892 sets no such limit on dynamic rope: nineteen in twenty on the market have more
    than this (mean less 1.645 standard deviations of 101 ropes).

    >>> round(modulus_floor_kn("A"), 2)
    19.61
    """
    if rope_type == "dynamic":
        known = figure("rope", "falls", "en892", "modulus")
        return known.value - 1.645 * known.sd
    return _secant_kn(figure("rope", "stretch", "elongation_limit").value)


def _secant_kn(elongation: float) -> float:
    low, high = (figure("rope", "stretch", key).value for key in ("load_low", "load_high"))
    return (high - low) * figure("rope", "stretch", "g").value / 1000 / elongation


def fall_modulus(
    rope_type: RopeType, elongation: float | None = None, impact_force_kn: float | None = None, *, wet: bool = False
) -> FallModulus:
    """How stiff a rope is in a fall, from the best of what is declared.

    Its published impact force where there is one; else, for types A and B, 100 g / E, with a wider
    spread; else what the limits of its standard leave. For dynamic rope the elongation says too little (27 % low on 101
    ropes) and is not used.

    Parameters
    ----------
    rope_type : "A", "B" or "dynamic"
    elongation : E of EN 1891 [share], 0.001 to 0.2, or None
    impact_force_kn : peak force of the standard's drop test [kN], 2 to 20, or None
    wet : whether the rope is wet

    >>> known = fall_modulus("A", impact_force_kn=5.2)
    >>> round(float(known.kn.likely), 1), known.known_by, known.spread
    (28.6, 'impact force', 0.2)
    >>> fall_modulus("A").known_by
    'standard'
    """
    if rope_type not in ("A", "B", "dynamic"):
        raise ValueError(f"rope_type must be A, B or dynamic, not {rope_type}")
    if elongation is not None:
        between("elongation", elongation, 0.001, 0.2, "share")
    if impact_force_kn is not None:
        between("impact_force_kn", impact_force_kn, 2.0, 20.0, "kN")
        found = _by_test(rope_type, elongation, impact_force_kn)
    elif elongation is not None and rope_type != "dynamic":
        found = _by_elongation(elongation)
    else:
        found = _by_standard(rope_type)
    return found.wet() if wet else found


def fall_modulus_of(rope: RopeSpecification, *, wet: bool = False) -> FallModulus:
    """How stiff a rope is in a fall, as its maker declares it; without a type it counts as low-stretch, type B.

    Type B is dropped with the lighter mass: of the two it may be the stiffer rope.
    """
    return fall_modulus(rope.rope_type or "B", rope.elongation, rope.impact_force_kn, wet=wet)


def tape_modulus() -> FallModulus:
    """Sewn tape, as stiff as the tests of 2006 found it at the least: never to be computed as if it were rope."""
    likely, high = (figure("rope", "falls", "tape", key).value for key in ("modulus_likely", "modulus_high"))
    words = "Sewn tape: at least as stiff as published tests of tape cow's tails found, 15 kN in a fall of factor 1."
    return FallModulus(Band(likely, likely, high), "tape", _spread("impact_force"), (words,))


def _by_test(rope_type: RopeType, elongation: float | None, force_kn: float) -> FallModulus:
    mass, factor = drop_test(rope_type)
    modulus = float(modulus_from_test_kn(force_kn, mass, factor))
    words = f"Stiffness from the rope's own drop test: {force_kn:g} kN with {mass:g} kg at factor {factor:g}."
    soft = None if rope_type == "dynamic" else _soft(elongation)
    return FallModulus(Band(modulus, modulus, modulus), "impact force", _spread("impact_force"), (words,), soft)


def _by_elongation(elongation: float) -> FallModulus:
    secant = _secant_kn(elongation)
    words = (
        f"Stiffness only from the declared elongation, {100 * elongation:.3g} % between 50 and 150 kg: "
        "the force can be off by a third. The maker's impact force would tell more."
    )
    band = Band(secant, secant, secant)
    return FallModulus(band, "elongation", _spread("elongation"), (words,), _soft(elongation))


def _by_standard(rope_type: RopeType) -> FallModulus:
    floor, bound = modulus_floor_kn(rope_type), modulus_bound_kn(rope_type)
    if rope_type == "dynamic":
        likely = figure("rope", "falls", "en892", "modulus").value
        words = "Nothing declared but dynamic rope: as the mean of 101 ropes, at most what EN 892 allows a new rope."
        return FallModulus(Band(floor, likely, bound), "standard", _spread("impact_force"), (words,))
    likely = (floor * bound) ** 0.5
    words = f"Nothing declared but type {rope_type}: at most as stiff as EN 1891 allows a new rope to be."
    return FallModulus(Band(floor, likely, bound), "standard", _spread("impact_force"), (words,), _soft(None))


def _soft(elongation: float | None) -> StretchLaw:
    """The softest law of a low-stretch rope: for how far a fall goes, much stretch is the careful end."""
    most = figure("rope", "stretch", "elongation_limit").value if elongation is None else elongation
    return StretchLaw.from_en1891(most, figure("rope", "stretch", "soft_share").value)


def _spread(known_by: str) -> float:
    return figure("rope", "falls", "spread", known_by).value


def force_band_kn(mass_kg: Numbers, fall_factor: Numbers, modulus: FallModulus, *, used: bool = False) -> Band:
    """Peak force on a rigid anchor as a band [kN]: each end takes the end of each uncertainty that makes it so.

    Low is the softest rope less the spread, high the stiffest plus the spread; 30 % more at the high end for a mass
    over 100 kg in a fall over factor 1, and 20 % more for a `used` rope. No credit for knots that slip. Low is never
    less than the weight, likely never less than twice the weight.

    >>> band = force_band_kn(85.0, 0.3, fall_modulus("A", impact_force_kn=5.2))
    >>> [round(float(each), 2) for each in (band.low, band.likely, band.high)]
    [3.77, 4.71, 5.65]
    """
    low = impact_force_kn(mass_kg, fall_factor, modulus.kn.low) * (1 - modulus.spread)
    likely = impact_force_kn(mass_kg, fall_factor, modulus.kn.likely)
    high = impact_force_kn(mass_kg, fall_factor, modulus.kn.high) * (1 + modulus.spread)
    over = [figure("rope", "falls", "spread", key).value for key in ("heavy_mass", "heavy_factor", "heavy")]
    heavy = (np.asarray(mass_kg) > over[0]) & (np.asarray(fall_factor) > over[1])
    high = high * np.where(heavy, 1 + over[2], 1.0)
    if used:
        high = high * (1 + _spread("used"))
    return Band(np.maximum(low, weight_kn(mass_kg)), likely, high)
