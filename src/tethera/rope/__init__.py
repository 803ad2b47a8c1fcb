"""Rope: what a length of rope is and does."""

from tethera.rope.mass import typical_mass_g_per_m
from tethera.rope.specification import RopeSpecification
from tethera.rope.stretch import StretchLaw, hanging_stretch_m, min_natural_length_m, rebelay_slack_m
from tethera.rope.tables import Figure, figure, load_table, read_figure

__all__ = [
    "Figure",
    "RopeSpecification",
    "StretchLaw",
    "figure",
    "hanging_stretch_m",
    "load_table",
    "min_natural_length_m",
    "read_figure",
    "rebelay_slack_m",
    "typical_mass_g_per_m",
]
