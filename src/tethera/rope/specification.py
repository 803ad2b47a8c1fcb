"""What a maker declares about a rope, as far as stretch needs it."""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RopeSpecification:
    """A rope as its maker declares it.

    Parameters
    ----------
    mass_kg_per_m : mass per metre, dry [kg/m]
    elongation : E of EN 1891, length gained between 50 kg and 150 kg, as a share of the length at 50 kg [-]
    diameter_mm : diameter [mm], None where not declared
    """

    mass_kg_per_m: float
    elongation: float
    diameter_mm: float | None = None

    def __post_init__(self) -> None:
        between("mass_kg_per_m", self.mass_kg_per_m, 0.001, 1.0, "kg/m")
        between("elongation", self.elongation, 0.001, 0.2, "share")
        if self.diameter_mm is not None:
            between("diameter_mm", self.diameter_mm, 2.0, 20.0, "mm")


def between(name: str, value: float, low: float, high: float, unit: str) -> float:
    """The value, or ValueError naming the range in which the formula holds.

    >>> between("mass", 85.0, 0.0, 500.0, "kg")
    85.0
    """
    if not math.isfinite(value) or not low <= value <= high:
        raise ValueError(f"{name} must lie between {low:g} and {high:g} {unit}, not {value:g}")
    return value
