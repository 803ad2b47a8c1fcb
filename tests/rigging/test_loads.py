"""From a route: each anchor's loads and worst fall, the bad ones first."""

import json
import math
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rigging.any_route import routes as any_routes
from tethera.rigging import Holding, loads_mapping, read_route, route_loads
from tethera.rope import backup_takes_over, fall_modulus, rebelay_failure

KG = 9.80665 / 1000
NEW = Holding(rope_type="A", wet=False, used_years=0.0)


def loads_of(text: str, mass_kg: float = 85.0, holding: Holding = NEW):  # type: ignore[no-untyped-def]
    found = route_loads(read_route('name = "R"\n' + text).route, mass_kg=mass_kg, holding=holding)
    return {each.label: each for each in found}


PITCH = '[[pitch]]\nname = "P"\ndepth = "30 m"\n'


def anchor(role: str, **more: str) -> str:
    return f'[[pitch.anchor]]\nrole = "{role}"\n' + "".join(f'{key} = "{value}"\n' for key, value in more.items())


def test_a_failing_rebelay_falls_on_the_anchor_above_as_the_impact_equation_says() -> None:
    """Straight below: h is the loop, the rope in play the hang, the loop and half a metre."""
    found = loads_of(PITCH + anchor("y-hang") + anchor("rebelay", down="10 m", loop="1.5 m"))
    expected = rebelay_failure(10.0, 1.5, 85.0, fall_modulus("A"), below_m=0.5)
    y = found["Y-hang 1 of P"]
    assert "rebelay 2 of P fails" in found["rebelay 2 of P"].if_fails
    assert "Y-hang 1 of P must hold" in found["rebelay 2 of P"].if_fails
    assert y.fall is not None
    assert any(word in y.fall.words for word in ("rebelay 2", "one leg"))
    assert f"likely {float(expected.force_kn.likely):.1f}" in found["rebelay 2 of P"].if_fails


def test_a_short_hang_with_a_fat_loop_is_worse_than_a_long_one() -> None:
    short, long = (
        loads_of(PITCH + anchor("rebelay") + anchor("rebelay", down=down, loop="3 m"))["rebelay 1 of P"]
        for down in ("5 m", "25 m")
    )
    assert short.fall is not None
    assert long.fall is not None
    assert float(short.fall.kn.likely) > float(long.fall.kn.likely)
    assert short.fall.free_fall_m == pytest.approx(3.4)  # the loop and two spreads of it


def test_a_backup_takes_over_a_main_anchor_straight_below_it() -> None:
    found = loads_of(PITCH + anchor("backup") + anchor("y-hang", down="1 m"))["backup 1 of P"]
    assert found.fall is not None
    # A metre of link with 15 % of slack, the backup a metre above, half a metre of rope below.
    plain = backup_takes_over(0.5, 1.15, 85.0, fall_modulus("A"), backup_above_m=1.0)
    assert float(found.fall.kn.likely) == pytest.approx(float(plain.force_kn.likely), rel=1e-6)
    assert found.fall.free_fall_m == pytest.approx(0.25)


def test_a_caver_hanging_on_an_anchor_is_his_weight_and_twice_that_when_moving() -> None:
    found = loads_of(PITCH + anchor("rebelay"), mass_kg=100.0)["rebelay 1 of P"]
    assert float(found.hanging_kn.likely) == pytest.approx(100 * KG)
    assert found.moving_kn == pytest.approx(200 * KG)


def test_a_y_whose_angle_the_route_does_not_say_is_shown_at_three() -> None:
    found = loads_of(PITCH + anchor("y-hang"))["Y-hang 1 of P"]
    weight = 85 * KG
    assert [(angle, round(kn / weight, 4)) for angle, kn in found.legs_kn] == [(60, 0.5774), (90, 0.7071), (120, 1.0)]
    assert any("angle of the Y" in words for words in found.unknown)


def test_a_y_whose_legs_and_bolts_were_measured_is_told_at_its_angle() -> None:
    """Against the closed form of two equal legs, 1 / (2 cos(A / 2)): 0.7 m legs, bolts 0.7 m apart, 60 degrees."""
    found = loads_of(PITCH + anchor("y-hang", leg="0.7 m", apart="0.7 m"))["Y-hang 1 of P"]
    ((angle, kn),) = found.legs_kn
    assert (angle, kn) == (60.0, pytest.approx(85 * KG / (2 * math.cos(math.radians(30))), rel=1e-6))
    assert not any("angle of the Y" in words for words in found.unknown)
    wider = loads_of(PITCH + anchor("y-hang", leg="0.7 m", apart="1.1 m"))["Y-hang 1 of P"]
    assert wider.legs_kn[0][1] > kn
    # A wider Y lets its knot fall further when one leg goes.
    assert wider.fall is not None
    assert found.fall is not None
    assert wider.fall.free_fall_m >= found.fall.free_fall_m


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"leg": "0.7 m"}, "How far its bolts are apart and how long a leg is tell it."),
        ({"apart": "0.7 m"}, "How far its bolts are apart and how long a leg is tell it."),
        (
            {"leg": "0.4 m", "apart": "1.2 m"},
            "Legs of 0.4 m do not meet between bolts 1.2 m apart: measure both again.",
        ),
        (
            {"leg": "0.6 m", "apart": "1.2 m"},
            "Legs of 0.6 m do not meet between bolts 1.2 m apart: measure both again.",
        ),
    ],
)
def test_a_y_says_what_its_angle_wants(more: dict[str, str], said: str) -> None:
    found = loads_of(PITCH + anchor("y-hang", **more))["Y-hang 1 of P"]
    assert any(words.endswith(said) for words in found.unknown)
    assert len(found.legs_kn) == 3


def test_a_wide_y_looks_bad() -> None:
    flat = loads_of(PITCH + anchor("y-hang", leg="0.5 m", apart="0.95 m"))["Y-hang 1 of P"]
    assert any(each.message.startswith("Looks bad: 144° between the legs") for each in flat.findings)
    nearly_straight = loads_of(PITCH + anchor("y-hang", leg="1 m", apart="1.99999 m"))["Y-hang 1 of P"]
    assert nearly_straight.badness


def test_a_deviation_pulls_as_its_turn_says_and_says_when_the_turn_is_not_known() -> None:
    told = loads_of(PITCH + anchor("y-hang") + anchor("deviation", down="8 m", along="1 m"))["deviation 2 of P"]
    turn = math.atan(1 / 8)
    assert float(told.hanging_kn.likely) == pytest.approx(85 * KG * 2 * math.sin(turn / 2), rel=1e-9)
    assert told.unknown == ()
    unknown = loads_of(PITCH + anchor("y-hang") + anchor("deviation", down="8 m"))["deviation 2 of P"]
    assert "How far it pulls" in unknown.unknown[0]
    assert float(unknown.hanging_kn.high) > float(told.hanging_kn.high)


def test_an_anchor_between_two_spans_leaves_a_long_one_when_it_fails() -> None:
    text = '[[pitch]]\nname = "T"\ndepth = "0 m"\n'
    found = loads_of(text + anchor("backup") + anchor("traverse", along="3 m") + anchor("traverse", along="3 m"))
    middle, end = found["traverse 2 of T"], found["traverse 3 of T"]
    assert "6.0 m that is left" in middle.if_fails
    assert "backup 1 of T and traverse 3 of T must hold" in middle.if_fails
    assert float(end.hanging_kn.likely) != pytest.approx(85 * KG)


def test_a_first_anchor_alone_looks_bad_and_stands_first() -> None:
    route = read_route(
        'name = "R"\n' + PITCH + anchor("y-hang") + PITCH.replace('"P"', '"Q"') + anchor("rebelay")
    ).route
    first = route_loads(route, holding=NEW, mass_kg=60.0)[0]
    assert first.label == "rebelay 1 of Q"
    assert [found.code for found in first.findings] == ["no-backup"]


def test_a_pitch_known_by_number_says_what_it_cannot_tell() -> None:
    found = loads_of('[[pitch]]\nname = "P"\ndepth = "30 m"\nanchors = 4\nrebelays = 2\n')["head of P"]
    assert found.fall is None
    assert "no fall is worked out" in found.unknown[0]
    assert "rebelays" in found.unknown[1]


def test_a_traverse_known_by_number_is_cut_into_even_spans() -> None:
    found = loads_of('[[pitch]]\nname = "G"\ndepth = "0 m"\ntraverse = "12 m"\nanchors = 5\n')["each anchor of G"]
    assert found.fall is not None
    assert "spans of 3.0 m" in found.unknown[0]


def test_the_bad_ones_come_first(routes) -> None:  # type: ignore[no-untyped-def]
    for route in routes.values():
        found = route_loads(route)
        order = [(-each.badness, -each.worst_kn) for each in found]
        assert order == sorted(order)
        listed = sum(len(pitch.anchors) or 1 for pitch in route.pitches)
        assert len(found) == listed


def test_a_declared_rating_too_low_is_told_of_each_anchor(routes) -> None:  # type: ignore[no-untyped-def]
    weak = route_loads(routes["deep"], holding=Holding(rating_kn=0.5))
    assert sum(any("of the anchor" in f.message for f in each.findings) for each in weak) > 20


@given(any_routes(), st.booleans())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_route_gets_numbers_and_no_promise(route, down) -> None:  # type: ignore[no-untyped-def]
    if down:
        turned = [replace(p, anchors=tuple(replace(a, down_m=abs(a.down_m)) for a in p.anchors)) for p in route.pitches]
        route = replace(route, pitches=tuple(turned))
    # allow_nan refuses what is not a number.
    assert json.dumps(loads_mapping(route_loads(route)), allow_nan=False)
    for each in route_loads(route):
        if each.fall is not None:
            assert float(each.fall.kn.low) <= float(each.fall.kn.likely) * 1.0001 <= each.fall.most_kn * 1.001
