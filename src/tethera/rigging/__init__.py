"""Rigging: what a cave asks of rope."""

from tethera.rigging.estimate import little_left
from tethera.rigging.knots import KnotLengths, UnreadableKnots
from tethera.rigging.lines import Joint, Line, Place, Run, explain_run, rope_lines
from tethera.rigging.metres import Item, RopeNeed, rope_needs
from tethera.rigging.route import Anchor, Measure, Pitch, Route, RouteReading, Together, Totals, UnreadableRoute
from tethera.rigging.route_file import read_route

__all__ = [
    "Anchor",
    "Item",
    "Joint",
    "KnotLengths",
    "Line",
    "Measure",
    "Pitch",
    "Place",
    "RopeNeed",
    "Route",
    "RouteReading",
    "Run",
    "Together",
    "Totals",
    "UnreadableKnots",
    "UnreadableRoute",
    "explain_run",
    "little_left",
    "read_route",
    "rope_lines",
    "rope_needs",
]
