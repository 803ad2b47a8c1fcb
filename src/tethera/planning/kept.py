"""A plan as plain values and back, so that it can be kept until somebody goes by it."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from tethera.planning.trip import ConfidenceCost, RopeUse, TripPlan, Unmet

#: What is not kept: the planner's own numbers behind the plan.
_INSIDE = "plan"


def plan_values(plan: TripPlan) -> dict[str, Any]:
    """The plan in values that JSON holds."""
    kept = {name: getattr(plan, name) for name in plan.__dataclass_fields__ if name != _INSIDE}
    for name in ("uses", "costs", "unmet"):
        kept[name] = [asdict(each) for each in kept[name]]
    return kept


def plan_of_values(values: Mapping[str, Any]) -> TripPlan:
    """The plan that these values were made from; ValueError where they are of another making."""
    try:
        told = dict(values)
        told["uses"] = tuple(RopeUse(**_tuples(each)) for each in told["uses"])
        told["costs"] = tuple(ConfidenceCost(**each) for each in told["costs"])
        told["unmet"] = tuple(Unmet(**_tuples(each)) for each in told["unmet"])
        told["excluded"] = tuple((rope, why) for rope, why in told["excluded"])
        told["notes"] = tuple(told["notes"])
        return TripPlan(**told)
    except (KeyError, TypeError, ValueError) as error:
        raise ValueError(f"a plan kept by another version of Tethera ({error}): plan anew") from None


def _tuples(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: tuple(value) if isinstance(value, list) else value for name, value in values.items()}
