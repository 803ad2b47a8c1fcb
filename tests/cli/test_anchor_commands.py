"""Anchors and the loads of a route at the terminal."""

import json
from collections.abc import Callable
from typing import Any

import pytest


def test_a_y_hang_is_told_with_its_angle_and_what_failing_brings(tethera: Callable[..., Any]) -> None:
    ran = tethera("anchor", "y", "--apart", "1.41m", "--leg", "1m", "--leg", "1m", "--mass", "100")
    assert ran.status == 0
    assert "90° between the legs" in ran.out
    assert "leg 2 fails" in ran.out
    assert "never that it will hold" in ran.out
    told = json.loads(tethera("anchor", "y", "--apart", "1.41m", "--leg", "1m", "--leg", "1m", "--json").out)
    # A right angle: each leg carries 1 / (2 cos 45°) of 100 kg.
    assert told["loads"][0]["hanging_kn"]["likely"] == pytest.approx(0.9807 * 0.7071, abs=0.004)


def test_a_declared_rating_stands_beside_the_load_and_none_is_guessed(tethera: Callable[..., Any]) -> None:
    assert "nobody declared a rating" in tethera("anchor", "traverse").out
    told = json.loads(tethera("anchor", "traverse", "--rating", "2", "--json").out)
    assert told["loads"][0]["against"][0]["held_kn"] == 2.0
    assert any(each["code"].endswith("over-what-held") for each in told["findings"])


def test_three_anchors_take_three_places(tethera: Callable[..., Any]) -> None:
    places = ("--place", "0,0,0", "--place", "1.2,0.3,0.1", "--place", "0.5,0.9,-0.2")
    legs = ("--leg", "1.4m", "--leg", "1.5m", "--leg", "1.3m")
    told = json.loads(tethera("anchor", "y", *places, *legs, "--json").out)
    assert len(told["loads"]) == 3
    assert "Give one leg a place" in tethera("anchor", "y", *places, "--leg", "1m").err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("y", "--leg", "x", "--leg", "1m"), "is not a length that can be read"),
        (("y", "--leg", "0.1m", "--leg", "0.1m", "--apart", "2m"), "leg"),
        (("y", "--aside", "95"), "--aside"),
        (("y", "--mass", "5"), "--mass"),
        (("deviation", "--at", "1,5"), "aside,down,sling"),
        (("traverse", "--span", "80m"), "--span"),
    ],
)
def test_what_cannot_be_is_told_in_the_words_that_were_typed(
    tethera: Callable[..., Any], words: tuple[str, ...], told: str
) -> None:
    ran = tethera("anchor", *words)
    assert ran.status == 2
    assert told in ran.err
    assert "Traceback" not in ran.err


def test_the_loads_of_a_route_come_bad_ones_first_and_stand_on_the_sheet(store: Callable[..., Any]) -> None:
    told = json.loads(store("loads", "quillet.toml", "--json").out)
    badness = [each["badness"] for each in told["anchors"]]
    assert badness == sorted(badness, reverse=True)
    assert told["weight_kn"] == 0.98
    (sheet,) = json.loads(store("sheet", "quillet.toml", "--json").out)
    assert {each["anchor"] for each in sheet["loads"]["anchors"]} <= {each["anchor"] for each in told["anchors"]}
    assert sheet["loads"]["anchors"]
    assert "the bad ones first" in store("loads", "quillet.toml").out
