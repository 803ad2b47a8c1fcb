"""From when a number is doubted, by the figures of tables/doubts.toml."""

import functools
import tomllib
from importlib import resources


@functools.cache
def limit(name: str) -> float:
    """From when a number is doubted, by its name in tables/doubts.toml, which gives its unit."""
    text = resources.files("tethera.store").joinpath("tables/doubts.toml").read_text("utf-8")
    return float(tomllib.loads(text)[name]["value"])


def warmest_wash_c() -> int:
    """How warm a rope is washed at most without a doubt [°C].

    >>> warmest_wash_c()
    30
    """
    return round(limit("warmest_wash"))


def speaks_for(mass_g: float, mass_g_per_m: float, length_cm: int) -> tuple[float, bool]:
    """The length a dry weight speaks for by a known mass of a metre [cm], and whether that is far from `length_cm`.

    >>> speaks_for(3500, 50.0, 2299)
    (7000.0, True)
    """
    by_weight_cm = mass_g * 100 / mass_g_per_m
    return by_weight_cm, abs(by_weight_cm - length_cm) > limit("weight_astray") * 100
