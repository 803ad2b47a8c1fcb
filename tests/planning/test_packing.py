"""Bags: order of use, stopper first, metal with its rope, size against order.

Room a rope takes: a tube of 23 cm by 60 cm (25 litres) holds 200 m of 9 mm rope: course notes of a caving group on the
cave bag (2009), quoting Marbach and Rocourt.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.planning import RopeUse, pack
from tethera.planning.packing import rope_litres
from tethera.rigging import kit, read_route


def route_of(depths: list[int]) -> str:
    """A route of plain pitches named P1, P2 …"""
    pitches = [f'[[pitch]]\nname = "P{n}"\ndepth = "{d} m"\nanchors = 3\n' for n, d in enumerate(depths, start=1)]
    return 'name = "Invented"\n' + "\n".join(pitches)


def use(pitch: str, length_cm: int, mass_g: int) -> RopeUse:
    """A rope on one pitch."""
    return RopeUse("Invented", "Invented", f"T{pitch}", "", "", (pitch,), 1, 0, 100, length_cm, 0, 0.0, mass_g, "")


def packed(lengths_m: list[int], cavers: int = 4):
    """The packing list of one rope a pitch."""
    counted = kit(read_route(route_of([10] * len(lengths_m))).route)
    uses = [use(f"P{n}", 100 * m, 65 * m) for n, m in enumerate(lengths_m, start=1)]
    return pack(uses, dict.fromkeys([u.rope for u in uses], 10.0), cavers=cavers, kit=counted, title="Invented")


def test_a_published_tube_holds_the_rope_it_is_said_to_hold() -> None:
    tube_litres = math.pi / 4 * 2.3**2 * 6.0  # 23 cm by 60 cm
    assert rope_litres(200_00, 9.0) == pytest.approx(tube_litres, rel=0.01)


def test_a_rope_takes_room_with_its_length_and_with_its_diameter_squared() -> None:
    assert rope_litres(100_00, 10.0) == pytest.approx(15.4, abs=0.05)
    assert rope_litres(100_00, 11.0) == pytest.approx(18.7, abs=0.05)
    assert rope_litres(50_00, 11.0) == pytest.approx(rope_litres(100_00, 11.0) / 2)


def test_what_is_used_first_lies_on_top_and_goes_in_last() -> None:
    bag = packed([20, 25, 28], cavers=1).to_mapping()["cavers"][0]["bags"][0]
    assert [item["rope"] for item in bag["contents"] if "rope" in item] == ["TP3", "TP2", "TP1"]
    assert [item["use_order"] for item in bag["contents"] if "rope" in item] == [3, 2, 1]
    assert bag["first_needed"] == "P1"
    assert all("stopper" in item["note"] for item in bag["contents"] if "rope" in item)


def test_a_long_rope_needed_before_a_short_one_goes_into_a_bag_of_its_own_and_the_list_says_why() -> None:
    packing = packed([60, 12], cavers=1).to_mapping()
    bags = packing["cavers"][0]["bags"]
    assert [[item["rope"] for item in bag["contents"] if "rope" in item] for bag in bags] == [["TP1"], ["TP2"]]
    assert any("by size belongs under it" in note for note in packing["notes"])


def test_too_much_for_a_party_is_said() -> None:
    notes = packed([100, 100, 100, 100], cavers=1).to_mapping()["notes"]
    assert any("over 10 kg" in note for note in notes)


def test_a_party_of_nobody_is_an_error() -> None:
    with pytest.raises(ValueError, match="at least one caver"):
        packed([20], cavers=0)


@given(st.lists(st.integers(8, 120), min_size=1, max_size=9), st.integers(1, 6))
def test_every_rope_and_every_piece_is_packed_once_in_order_of_use(lengths_m: list[int], cavers: int) -> None:
    packing = packed(lengths_m, cavers).to_mapping()
    bags = [bag for caver in packing["cavers"] for bag in caver["bags"]]
    order = [item["use_order"] for bag in bags for item in reversed(bag["contents"]) if "rope" in item]
    assert order == list(range(1, len(lengths_m) + 1))
    listed = packed(lengths_m, cavers)
    assert sum(p.pieces["hangers"] for bag in listed.bags for p in bag.contents) == listed.kit["hangers"]
    rope_kg = sum(65 * m for m in lengths_m) / 1000
    assert sum(bag["kg"] for bag in bags) >= rope_kg - 0.05 * len(bags)
    assert all(bag["litres"] <= bag["capacity_litres"] + 0.05 or len(bag["contents"]) <= 2 for bag in bags)
