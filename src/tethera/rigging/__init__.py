"""Rigging: what a cave asks of rope."""

from tethera.rigging.estimate import little_left
from tethera.rigging.kit import Kit, PitchKit, kit
from tethera.rigging.knots import KNOTS, KnotLengths, UnreadableKnots
from tethera.rigging.learning import PitchLearnt, Weighed, learn, with_learnt
from tethera.rigging.lines import Joint, Line, Place, Run, explain_run, rope_lines
from tethera.rigging.metres import Item, RopeNeed, rope_needs
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

__all__ = [
    "KNOTS",
    "Anchor",
    "CellError",
    "Edition",
    "Item",
    "Joint",
    "Kit",
    "KnotLengths",
    "Learnt",
    "Line",
    "Measure",
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
    "changed_pitches",
    "explain_run",
    "guide_rows",
    "kit",
    "learn",
    "little_left",
    "read_route",
    "read_route_rows",
    "rigged_pitches",
    "rigging_sheet",
    "rope_lines",
    "rope_needs",
    "route_from_table",
    "route_rows",
    "seen_of",
    "table_of",
    "together_rows",
    "with_anchor_rows",
    "with_guide_rows",
    "with_learnt",
    "with_together_rows",
    "write_route",
]
