"""What the papers of a plan say beside the ropes: loads by what each rope's leaflet declares."""

from dataclasses import replace
from typing import Any

from planning.test_trip import ROUTE, STORE, planned
from tethera.planning.papers import Papers
from tethera.planning.trip import Trip
from tethera.store import RopeState


def _worst(ropes: tuple[RopeState, ...]) -> dict[str, float]:
    papers = Papers(Trip(ROUTE), planned(ropes).uses, {each.id: each for each in ropes})
    anchors: list[dict[str, Any]] = papers.sheet()["loads"]["anchors"]
    return {each["anchor"]: each["fall_kn"]["high"] for each in anchors if each["fall_kn"]}


def test_the_loads_on_a_sheet_go_by_what_is_declared_of_the_rope_that_hangs_there() -> None:
    """Undeclared, a rope counts as the stiffest its standard allows: 6 kN in its drop test."""
    undeclared = _worst(STORE)
    declared = _worst(tuple(replace(each, impact_force_kn=4.2) for each in STORE))
    unbelieved = _worst(tuple(replace(each, impact_force_kn=42.0) for each in STORE))
    assert undeclared
    assert undeclared.keys() == declared.keys()
    # Not every fall ends on the rope: none grows, and those on rope lessen.
    assert all(declared[anchor] <= most for anchor, most in undeclared.items())
    assert any(declared[anchor] < 0.9 * most for anchor, most in undeclared.items())
    assert unbelieved == undeclared
