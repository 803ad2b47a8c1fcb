"""Mass of rope whose mass nobody declared."""

import functools
import itertools
import tomllib
from importlib import resources


@functools.cache
def _table() -> tuple[tuple[float, float], ...]:
    text = resources.files("tethera.rope").joinpath("tables/mass.toml").read_text("utf-8")
    return tuple((row["diameter_mm"], row["g_per_m"]) for row in tomllib.loads(text)["mass"])


def typical_mass_g_per_m(diameter_mm: float) -> float:
    """Mass of a metre of dry rope by its diameter alone [g/m], read off tables/mass.toml.

    Between two rows on a straight line; outside the table as the area of the rope, from its nearest row.
    Left out: construction and fibre, which move it by some 7 % either way.

    Parameters
    ----------
    diameter_mm : nominal diameter [mm], 3 to 20

    >>> typical_mass_g_per_m(10.0)
    67.0
    >>> typical_mass_g_per_m(9.25)
    55.0
    """
    if not 3 <= diameter_mm <= 20:
        raise ValueError(f"a rope is 3 to 20 mm thick, not {diameter_mm} mm")
    rows = _table()
    for nearest, outside in ((rows[0], diameter_mm < rows[0][0]), (rows[-1], diameter_mm > rows[-1][0])):
        if outside:
            return nearest[1] * (diameter_mm / nearest[0]) ** 2
    for (thin, light), (thick, heavy) in itertools.pairwise(rows):
        if diameter_mm <= thick:
            return light + (heavy - light) * (diameter_mm - thin) / (thick - thin)
    return rows[-1][1]
