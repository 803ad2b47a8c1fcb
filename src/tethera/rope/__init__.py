"""Rope: what a length of rope is and does.

Falls work on arrays. NumPy takes a tenth of a second to load, which the store and the terminal's other commands need
not wait for: those names are looked up only when somebody asks for them.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from tethera.rope.chaining import chain_length_m, strands_to_fold
from tethera.rope.first_washes import Loss, published_loss
from tethera.rope.mass import typical_mass_g_per_m
from tethera.rope.specification import RopeSpecification, RopeType, declared_within
from tethera.rope.strength import Held, cord_held, rope_held
from tethera.rope.stretch import StretchLaw, hanging_stretch_m, min_natural_length_m, rebelay_slack_m
from tethera.rope.tables import Figure, figure, load_table, read_figure
from tethera.rope.tubes import Tube, over_tape_mm, tube_batch_m, tube_cautions, tube_cut_mm, tubes

if TYPE_CHECKING:
    from tethera.rope.cautions import FALL_CAUTIONS, STRETCH_CAUTIONS, looks_bad
    from tethera.rope.fall_chances import Chances, Uncertain, force_chances
    from tethera.rope.fall_models import FallRun, Solid, simulate_fall
    from tethera.rope.fall_question import FallQuestion, ask_backup, ask_lanyard, ask_rebelay, ask_traverse
    from tethera.rope.fall_scenarios import (
        Fall,
        backup_takes_over,
        force_level,
        lanyard_fall,
        rebelay_failure,
        second_anchor,
    )
    from tethera.rope.fall_stiffness import (
        FallModulus,
        drop_test,
        fall_modulus,
        fall_modulus_of,
        force_band_kn,
        modulus_bound_kn,
        modulus_floor_kn,
        tape_modulus,
    )
    from tethera.rope.fall_traverse import TraverseForces, traverse_fall, traverse_forces
    from tethera.rope.falls import (
        arrest_distance_m,
        impact_force_kn,
        impact_force_of_law_kn,
        modulus_from_test_kn,
        taut_speed_m_s,
        wave_increment_kn,
        weight_kn,
    )
    from tethera.rope.hanging import (
        Elasticity,
        FootDepth,
        Hang,
        Reach,
        ToeLaw,
        elasticity,
        foot_depth,
        hang,
        hanging_elongation_m,
        least_length_m,
        reach,
        rebelay_loop_m,
        strain,
        wet_mass,
    )
    from tethera.rope.quantities import Band, Numbers, within
    from tethera.rope.shrinkage import Shrinkage, fibre_of, prior_for, prior_from_range
    from tethera.rope.shrinkage_lengths import (
        Foreseen,
        foresee,
        length_left_m,
        length_to_buy_m,
        share_left_in_use,
        share_left_together,
    )
    from tethera.rope.shrinkage_pooling import MeasuredShare, Predictions, predictions
    from tethera.rope.shrinkage_words import SHRINKAGE_CAUTIONS, shrinkage_rests_on

_WHERE = {
    "cautions": ("FALL_CAUTIONS", "STRETCH_CAUTIONS", "looks_bad"),
    "fall_question": ("FallQuestion", "ask_backup", "ask_lanyard", "ask_rebelay", "ask_traverse"),
    "hanging": (
        *("Elasticity", "FootDepth", "Hang", "Reach", "ToeLaw", "elasticity", "foot_depth", "hang"),
        *("hanging_elongation_m", "least_length_m", "reach", "rebelay_loop_m", "strain", "wet_mass"),
    ),
    "fall_chances": ("Chances", "Uncertain", "force_chances"),
    "fall_models": ("FallRun", "Solid", "simulate_fall"),
    "fall_stiffness": (
        *("FallModulus", "drop_test", "fall_modulus", "fall_modulus_of"),
        *("force_band_kn", "modulus_bound_kn", "modulus_floor_kn", "tape_modulus"),
    ),
    "fall_scenarios": (
        *("Fall", "backup_takes_over", "force_level", "lanyard_fall", "rebelay_failure", "second_anchor"),
    ),
    "fall_traverse": ("TraverseForces", "traverse_fall", "traverse_forces"),
    "falls": (
        *("arrest_distance_m", "impact_force_kn", "impact_force_of_law_kn", "modulus_from_test_kn"),
        *("taut_speed_m_s", "wave_increment_kn", "weight_kn"),
    ),
    "quantities": ("Band", "Numbers", "within"),
    "shrinkage": (
        "Shrinkage",
        "fibre_of",
        "prior_for",
        "prior_from_range",
    ),
    "shrinkage_lengths": (
        "Foreseen",
        "foresee",
        "length_left_m",
        "length_to_buy_m",
        "share_left_in_use",
        "share_left_together",
    ),
    "shrinkage_pooling": (
        "MeasuredShare",
        "Predictions",
        "predictions",
    ),
    "shrinkage_words": (
        "SHRINKAGE_CAUTIONS",
        "shrinkage_rests_on",
    ),
}
_MODULE_OF = {name: module for module, names in _WHERE.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)


__all__ = [
    "FALL_CAUTIONS",
    "SHRINKAGE_CAUTIONS",
    "STRETCH_CAUTIONS",
    "Band",
    "Chances",
    "Elasticity",
    "Fall",
    "FallModulus",
    "FallQuestion",
    "FallRun",
    "Figure",
    "FootDepth",
    "Foreseen",
    "Hang",
    "Held",
    "Loss",
    "MeasuredShare",
    "Numbers",
    "Predictions",
    "Reach",
    "RopeSpecification",
    "RopeType",
    "Shrinkage",
    "Solid",
    "StretchLaw",
    "ToeLaw",
    "TraverseForces",
    "Tube",
    "Uncertain",
    "arrest_distance_m",
    "ask_backup",
    "ask_lanyard",
    "ask_rebelay",
    "ask_traverse",
    "backup_takes_over",
    "chain_length_m",
    "cord_held",
    "declared_within",
    "drop_test",
    "elasticity",
    "fall_modulus",
    "fall_modulus_of",
    "fibre_of",
    "figure",
    "foot_depth",
    "force_band_kn",
    "force_chances",
    "force_level",
    "foresee",
    "hang",
    "hanging_elongation_m",
    "hanging_stretch_m",
    "impact_force_kn",
    "impact_force_of_law_kn",
    "lanyard_fall",
    "least_length_m",
    "length_left_m",
    "length_to_buy_m",
    "load_table",
    "looks_bad",
    "min_natural_length_m",
    "modulus_bound_kn",
    "modulus_floor_kn",
    "modulus_from_test_kn",
    "over_tape_mm",
    "predictions",
    "prior_for",
    "prior_from_range",
    "published_loss",
    "reach",
    "read_figure",
    "rebelay_failure",
    "rebelay_loop_m",
    "rebelay_slack_m",
    "rope_held",
    "second_anchor",
    "share_left_in_use",
    "share_left_together",
    "shrinkage_rests_on",
    "simulate_fall",
    "strain",
    "strands_to_fold",
    "tape_modulus",
    "taut_speed_m_s",
    "traverse_fall",
    "traverse_forces",
    "tube_batch_m",
    "tube_cautions",
    "tube_cut_mm",
    "tubes",
    "typical_mass_g_per_m",
    "wave_increment_kn",
    "weight_kn",
    "wet_mass",
    "within",
]
