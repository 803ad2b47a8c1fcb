"""Rope: what a length of rope is and does."""

from tethera.rope.chaining import chain_length_m, strands_to_fold
from tethera.rope.first_washes import Loss, common_loss, published_loss
from tethera.rope.mass import typical_mass_g_per_m
from tethera.rope.specification import RopeSpecification
from tethera.rope.stretch import StretchLaw, hanging_stretch_m, min_natural_length_m, rebelay_slack_m
from tethera.rope.tables import Figure, figure, load_table, read_figure
from tethera.rope.tubes import Tube, over_tape_mm, tube_batch_m, tube_cautions, tube_cut_mm, tubes

__all__ = [
    "Figure",
    "Loss",
    "RopeSpecification",
    "StretchLaw",
    "Tube",
    "chain_length_m",
    "common_loss",
    "figure",
    "hanging_stretch_m",
    "load_table",
    "min_natural_length_m",
    "over_tape_mm",
    "published_loss",
    "read_figure",
    "rebelay_slack_m",
    "strands_to_fold",
    "tube_batch_m",
    "tube_cautions",
    "tube_cut_mm",
    "tubes",
    "typical_mass_g_per_m",
]
