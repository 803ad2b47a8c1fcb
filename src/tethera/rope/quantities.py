"""Numbers and arrays of numbers: one range check for both, and bands whose ends are what an answer may be."""

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

#: A number, or an array of numbers of any shape that broadcasts. What goes in comes out: numbers give a number, arrays
#: an array. NumPy's types cannot say so, and one that said "array" would be false for every caller with one rope.
Numbers: TypeAlias = Any


def within(name: str, value: Numbers, low: float, high: float, unit: str) -> Numbers:
    """The value as floating point, or ValueError that names the range in which the formula holds.

    >>> float(within("mass_kg", 85, 0.0, 500.0, "kg"))
    85.0
    >>> within("mass_kg", [85, float("nan")], 0.0, 500.0, "kg")
    Traceback (most recent call last):
    ...
    ValueError: mass_kg must lie between 0 and 500 kg, not nan
    """
    found = np.asarray(value, dtype=np.float64)
    good = np.isfinite(found) & (found >= low) & (found <= high)
    if not good.all():
        wrong = found[~good].flat[0]
        raise ValueError(f"{name} must lie between {low:g} and {high:g} {unit}, not {wrong:g}".replace(" ,", ","))
    return found[()]


@dataclass(frozen=True, slots=True)
class Band:
    """Least, likely and most of one quantity: numbers, or arrays of one shape."""

    low: Numbers
    likely: Numbers
    high: Numbers

    @classmethod
    def of(cls, *values: Numbers) -> "Band":
        """Three values in any order of size as a band: the middle one is the likely one.

        >>> band = Band.of(3.0, 1.0, 2.0)
        >>> float(band.low), float(band.likely), float(band.high)
        (1.0, 2.0, 3.0)
        """
        low, likely, high = np.sort(np.stack(np.broadcast_arrays(*values)), axis=0)
        return cls(low, likely, high)
