"""What to decide: which rope rigs which pitch, and what goes into which bag."""

from tethera.planning.check import faults
from tethera.planning.plan import Bounds, Hang, Plan, Shortfall
from tethera.planning.problem import ANY_ROPE, KnottedRun, Line, Pin, PlanningProblem, RopeRule, Run, StockRope

__all__ = [
    "ANY_ROPE",
    "Bounds",
    "Hang",
    "KnottedRun",
    "Line",
    "Pin",
    "Plan",
    "PlanningProblem",
    "RopeRule",
    "Run",
    "Shortfall",
    "StockRope",
    "assign_ropes",
    "faults",
    "plan_by_hand",
]


def __getattr__(name: str) -> object:
    # The solver brings numpy and scipy with it: they are loaded by the first plan, not by the first word.
    if name == "assign_ropes":
        from tethera.planning.assign import assign_ropes

        return assign_ropes
    if name == "plan_by_hand":
        from tethera.planning.by_hand import plan_by_hand

        return plan_by_hand
    raise AttributeError(name)
