"""Rigging: what a cave asks of rope.

Loads of anchors work on arrays: those names are looked up only when somebody asks, so that NumPy is loaded only then.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from tethera.rigging.estimate import little_left
from tethera.rigging.kit import Kit, PitchKit, kit
from tethera.rigging.knots import KNOTS, KnotLengths, UnreadableKnots
from tethera.rigging.learning import PitchLearnt, Weighed, learn, with_learnt
from tethera.rigging.lines import Joint, Line, Place, Run, explain_run, rope_lines
from tethera.rigging.metres import Account, Item, RopeNeed, rope_needs
from tethera.rigging.observed import Seen, seen_of
from tethera.rigging.route import (
    Anchor,
    Edition,
    Learnt,
    Measure,
    Pitch,
    Route,
    RouteReading,
    Together,
    Totals,
    UnreadableRoute,
    rigged_pitches,
)
from tethera.rigging.route_cells import table_of
from tethera.rigging.route_changes import PitchChange, changed_pitches
from tethera.rigging.route_file import read_route
from tethera.rigging.route_more_sheets import guide_rows, together_rows, with_guide_rows, with_together_rows
from tethera.rigging.route_rows import read_route_rows
from tethera.rigging.route_sheets import anchor_rows, route_rows, with_anchor_rows
from tethera.rigging.route_table import CellError, TableReading, route_from_table
from tethera.rigging.route_text import write_route
from tethera.rigging.sheet import rigging_sheet

if TYPE_CHECKING:
    from tethera.rigging.across import ask_deviations, ask_traverse
    from tethera.rigging.anchors import AnchorAnswer, usual_mass_kg
    from tethera.rigging.bridle import BridleForces, bridle_forces, y_share
    from tethera.rigging.deviations import deviation_forces, deviation_pull
    from tethera.rigging.equilibrium import NoRest
    from tethera.rigging.holding import Holding
    from tethera.rigging.leg_failure import leg_failures
    from tethera.rigging.loads import AnchorLoads, loads_mapping, route_loads
    from tethera.rigging.traverse import elastic_catenary, running_load, tied_load
    from tethera.rigging.y_hang import ask_y

_WHERE = {
    "across": (
        "ask_deviations",
        "ask_traverse",
    ),
    "anchors": (
        "AnchorAnswer",
        "usual_mass_kg",
    ),
    "bridle": (
        "BridleForces",
        "bridle_forces",
        "y_share",
    ),
    "deviations": (
        "deviation_forces",
        "deviation_pull",
    ),
    "equilibrium": ("NoRest",),
    "holding": ("Holding",),
    "leg_failure": ("leg_failures",),
    "loads": (
        "AnchorLoads",
        "loads_mapping",
        "route_loads",
    ),
    "traverse": (
        "elastic_catenary",
        "running_load",
        "tied_load",
    ),
    "y_hang": ("ask_y",),
}
_MODULE_OF = {name: module for module, names in _WHERE.items() for name in names}


def __getattr__(name: str) -> Any:
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)


__all__ = [
    "KNOTS",
    "Account",
    "Anchor",
    "AnchorAnswer",
    "AnchorLoads",
    "BridleForces",
    "CellError",
    "Edition",
    "Holding",
    "Item",
    "Joint",
    "Kit",
    "KnotLengths",
    "Learnt",
    "Line",
    "Measure",
    "NoRest",
    "Pitch",
    "PitchChange",
    "PitchKit",
    "PitchLearnt",
    "Place",
    "RopeNeed",
    "Route",
    "RouteReading",
    "Run",
    "Seen",
    "TableReading",
    "Together",
    "Totals",
    "UnreadableKnots",
    "UnreadableRoute",
    "Weighed",
    "anchor_rows",
    "ask_deviations",
    "ask_traverse",
    "ask_y",
    "bridle_forces",
    "changed_pitches",
    "deviation_forces",
    "deviation_pull",
    "elastic_catenary",
    "explain_run",
    "guide_rows",
    "kit",
    "learn",
    "leg_failures",
    "little_left",
    "loads_mapping",
    "read_route",
    "read_route_rows",
    "rigged_pitches",
    "rigging_sheet",
    "rope_lines",
    "rope_needs",
    "route_from_table",
    "route_loads",
    "route_rows",
    "running_load",
    "seen_of",
    "table_of",
    "tied_load",
    "together_rows",
    "usual_mass_kg",
    "with_anchor_rows",
    "with_guide_rows",
    "with_learnt",
    "with_together_rows",
    "write_route",
    "y_share",
]
