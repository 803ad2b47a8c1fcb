"""A plan kept as plain values comes back the same, also through JSON."""

import json
from dataclasses import replace

import pytest

from tethera.planning import Plan, Trip, plan_of_values, plan_trip, plan_values
from tethera.rigging import read_route
from tethera.store import RopeState

ROUTE = read_route(
    """
name = "Tallow Hole"
[[pitch]]
name = "Entrance"
depth = "12 m"
anchors = 3
[[pitch]]
name = "Chandler"
depth = "31 m"
guide_rope = "45 m"
anchors = 5
"""
).route
ROPES = [
    RopeState(f"UG{n}", length, "measured", diameter_mm=9.0, born=True, waits=())
    for n, length in enumerate((2500, 5000, 6000))
]


@pytest.mark.parametrize("ropes", [ROPES, ROPES[:1]])
def test_a_plan_kept_as_json_comes_back_the_same(ropes: list[RopeState]) -> None:
    plan = plan_trip([Trip(ROUTE)], ropes)
    assert plan.found is (ropes is ROPES)
    back = plan_of_values(json.loads(json.dumps(plan_values(plan))))
    assert back == replace(plan, plan=Plan("unknown"))


def test_what_was_kept_otherwise_says_to_plan_anew() -> None:
    for broken in ({}, {**plan_values(plan_trip([Trip(ROUTE)], ROPES)), "uses": [{"rope": "UG1"}]}):
        with pytest.raises(ValueError, match="plan anew"):
            plan_of_values(broken)
