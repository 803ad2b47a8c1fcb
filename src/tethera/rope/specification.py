"""What a maker declares about a rope, as far as stretch needs it."""

import math
from dataclasses import dataclass
from typing import Literal

#: Low-stretch of EN 1891, type A or B, or dynamic rope of EN 892: declared by the maker, never told by the diameter.
RopeType = Literal["A", "B", "dynamic"]


@dataclass(frozen=True, slots=True)
class RopeSpecification:
    """A rope as its maker declares it.

    Parameters
    ----------
    mass_kg_per_m : mass per metre, dry [kg/m]
    elongation : E of EN 1891, length gained between 50 kg and 150 kg, as a share of the length at 50 kg [-]
    diameter_mm : diameter [mm], None where not declared
    rope_type : type A or B of EN 1891, or dynamic (EN 892); None where not declared
    impact_force_kn : peak force of the standard's own drop test [kN], None where not declared; its mass and fall factor
        follow from the type, which must then be declared too
    """

    mass_kg_per_m: float
    elongation: float
    diameter_mm: float | None = None
    rope_type: RopeType | None = None
    impact_force_kn: float | None = None

    def __post_init__(self) -> None:
        between("mass_kg_per_m", self.mass_kg_per_m, 0.001, 1.0, "kg/m")
        between("elongation", self.elongation, 0.001, 0.2, "share")
        if self.diameter_mm is not None:
            between("diameter_mm", self.diameter_mm, 2.0, 20.0, "mm")
        if self.rope_type not in (None, "A", "B", "dynamic"):
            raise ValueError(f"rope_type must be A, B or dynamic, not {self.rope_type}")
        if self.impact_force_kn is not None:
            between("impact_force_kn", self.impact_force_kn, 2.0, 20.0, "kN")
            if self.rope_type is None:
                raise ValueError("impact_force_kn needs the rope_type: the types are dropped with different masses")


#: What the formulas of stretch and falls take, by the name of what is declared.
DECLARED_RANGES = {"elongation_percent": (0.1, 20.0, "%"), "impact_force_kn": (2.0, 20.0, "kN")}


def declared_within(name: str, value: float) -> bool:
    """Whether what a maker is said to declare lies where the formulas take it.

    >>> declared_within("elongation_percent", 3.5), declared_within("impact_force_kn", 52.0)
    (True, False)
    """
    low, high, _unit = DECLARED_RANGES[name]
    return low <= value <= high


def between(name: str, value: float, low: float, high: float, unit: str) -> float:
    """The value, or ValueError naming the range in which the formula holds.

    >>> between("mass", 85.0, 0.0, 500.0, "kg")
    85.0
    """
    if not math.isfinite(value) or not low <= value <= high:
        raise ValueError(f"{name} must lie between {low:g} and {high:g} {unit}, not {value:g}")
    return value
