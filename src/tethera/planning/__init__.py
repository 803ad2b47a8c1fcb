"""What to decide: which rope rigs which pitch, and what goes into which bag."""

from typing import TYPE_CHECKING

from tethera.planning.alternatives import Alternative, WhyNot, next_best, why_not
from tethera.planning.bags import Caver, Load, Sharing, share_out
from tethera.planning.buy_problem import Reel
from tethera.planning.check import faults
from tethera.planning.choices import Choices, UnknownWish
from tethera.planning.holds import GONE, Broken, as_it_is, no_longer_holds
from tethera.planning.kept import plan_of_values, plan_values
from tethera.planning.packing import PackingList, pack
from tethera.planning.papers import USUAL_PARTY, Papers, begins, booked_where, ends, second_line, uses_of_trip
from tethera.planning.plan import Bounds, Hang, Plan, Shortfall
from tethera.planning.problem import ANY_ROPE, KnottedRun, Line, Pin, PlanningProblem, RopeRule, Run, StockRope
from tethera.planning.reach import Reach, pitches_reached
from tethera.planning.taught import as_seen, taught_route
from tethera.planning.trip import ConfidenceCost, RopeUse, Trip, TripPlan, Unmet, plan_trip

if TYPE_CHECKING:
    from tethera.planning.buy import buy as what_to_buy
    from tethera.planning.buy_chance import Habit
    from tethera.planning.buy_plan import BuyPlan
    from tethera.planning.buy_question import BuyQuestion, NewRope, Offers
    from tethera.planning.buy_routes import Owned
    from tethera.planning.buy_years import BuyYear, shares_of_years, years_ahead
    from tethera.planning.cut import cut as how_to_cut
    from tethera.planning.cut_plan import CutDone, CutPlan, CutQuestion, CutStep, ReelAtHand, Rest

__all__ = [
    "ANY_ROPE",
    "GONE",
    "USUAL_PARTY",
    "Alternative",
    "Bounds",
    "Broken",
    "BuyPlan",
    "BuyQuestion",
    "BuyYear",
    "Caver",
    "Choices",
    "ConfidenceCost",
    "CutDone",
    "CutPlan",
    "CutQuestion",
    "CutStep",
    "Habit",
    "Hang",
    "KnottedRun",
    "Line",
    "Load",
    "NewRope",
    "Offers",
    "Owned",
    "PackingList",
    "Papers",
    "Pin",
    "Plan",
    "PlanningProblem",
    "Reach",
    "Reel",
    "ReelAtHand",
    "Rest",
    "RopeRule",
    "RopeUse",
    "Run",
    "Sharing",
    "Shortfall",
    "StockRope",
    "Trip",
    "TripPlan",
    "UnknownWish",
    "Unmet",
    "WhyNot",
    "as_it_is",
    "as_seen",
    "assign_ropes",
    "begins",
    "booked_where",
    "ends",
    "faults",
    "how_to_cut",
    "next_best",
    "no_longer_holds",
    "pack",
    "pitches_reached",
    "plan_by_hand",
    "plan_of_values",
    "plan_trip",
    "plan_values",
    "second_line",
    "share_out",
    "shares_of_years",
    "taught_route",
    "uses_of_trip",
    "what_to_buy",
    "why_not",
    "years_ahead",
]

#: What is bought is reckoned with numpy and scipy: each name with the module that has it, and what it is called there.
#: (A function called as its module would be hidden by it.)
_OF_BUYING = {
    "what_to_buy": ("buy", "buy"),
    "Habit": ("buy_chance", "Habit"),
    "BuyPlan": ("buy_plan", "BuyPlan"),
    "BuyQuestion": ("buy_question", "BuyQuestion"),
    "NewRope": ("buy_question", "NewRope"),
    "Offers": ("buy_question", "Offers"),
    "Owned": ("buy_routes", "Owned"),
    "shares_of_years": ("buy_years", "shares_of_years"),
    "how_to_cut": ("cut", "cut"),
    "CutDone": ("cut_plan", "CutDone"),
    "CutPlan": ("cut_plan", "CutPlan"),
    "CutQuestion": ("cut_plan", "CutQuestion"),
    "CutStep": ("cut_plan", "CutStep"),
    "ReelAtHand": ("cut_plan", "ReelAtHand"),
    "Rest": ("cut_plan", "Rest"),
    "BuyYear": ("buy_years", "BuyYear"),
    "years_ahead": ("buy_years", "years_ahead"),
}


def __getattr__(name: str) -> object:
    # The solver brings numpy and scipy with it: they are loaded by the first plan, not by the first word.
    if name == "assign_ropes":
        from tethera.planning.assign import assign_ropes

        return assign_ropes
    if name == "plan_by_hand":
        from tethera.planning.by_hand import plan_by_hand

        return plan_by_hand
    if name in _OF_BUYING:
        from importlib import import_module

        module, there = _OF_BUYING[name]
        return getattr(import_module(f"tethera.planning.{module}"), there)
    raise AttributeError(name)
