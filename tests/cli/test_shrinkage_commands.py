"""Shrinkage at the terminal: what a kind loses, and how long to buy."""

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

SHARES = (0.95, 0.94, 0.945)


def measured(tethera: Callable[..., Any]) -> list[str]:
    """Three reels of one kind bought, washed, dried and counted."""
    ropes = []
    for share in SHARES:
        told = tethera(
            *(
                "record",
                "bought",
                "length=50m",
                "diameter=9.5",
                "material=polyamide",
                "product=Nine",
                "--on",
                "2026-03-01",
            ),
            "--json",
        )
        (rope,) = told.json["ropes"]
        for step in (("washed", "--on", "2026-03-02"), ("dried", "--on", "2026-03-03")):
            assert tethera("record", step[0], rope, *step[1:]).status == 0
        assert tethera("record", "measured", rope, f"length={50 * share}m", "--on", "2026-03-04").status == 0
        ropes.append(rope)
    return ropes


def test_how_long_to_buy_is_said_first_and_rounded_up(tethera: Callable[..., Any]) -> None:
    ran = tethera("buy-length", "100")
    assert ran.status == 0
    # 119.957 m, worked out in tests/validation/test_published_shrinkage.py.
    assert ran.out.startswith("Buy (119.96 m) so that (100 m) are left after the first washes\nwith 95 % confidence.")
    assert "Measure one rope of a new reel before cutting the rest" in ran.out
    assert "judgement" in ran.out


def test_the_answer_for_machines_is_the_same(tethera: Callable[..., Any]) -> None:
    answer = tethera("buy-length", "100", "--json").json
    assert (answer["buy_cm"], answer["left_cm"], answer["measured_ropes"], answer["uses"]) == (11996, 10000, 0, 0.0)
    # Bought so, the least that nine ropes in ten have left is what was asked for.
    assert 10000 <= answer["left_least_cm"] <= 10001
    assert answer["left_least_cm"] < answer["left_likely_cm"] < answer["left_most_cm"]
    bought = [each["buy_cm"] for each in answer["other_confidences"]]
    assert bought == sorted(bought)
    assert tethera("buy-length", "100", "--for-life", "--json").json["uses"] is None


def test_a_wanted_length_in_feet_is_rounded_up_too(tethera: Callable[..., Any]) -> None:
    # 130 ft are 39.624 m.
    assert tethera("buy-length", "130ft", "--json").json["left_cm"] == 3963


def test_polyester_needs_less_and_several_ropes_and_a_life_more(tethera: Callable[..., Any]) -> None:
    def buys(*more: str) -> int:
        return int(tethera("buy-length", "40", *more, "--json").json["buy_cm"])

    assert buys("--material", "polyester") < buys() < buys("--ropes", "3") < buys("--ropes", "3", "--for-life")
    assert buys() < buys("--uses", "30") < buys("--for-life")
    assert buys("--confidence", "80") < buys() < buys("--confidence", "99")


def test_washed_and_counted_only_use_takes_length(tethera: Callable[..., Any]) -> None:
    ran = tethera("buy-length", "100", "--washed")
    assert "(111.4 m)" in ran.out
    assert "mark 89 % of what was counted" in ran.out
    assert tethera("buy-length", "100", "--washed", "--json").json["measured_cm"] == 11140


def test_what_the_store_measured_is_shown_and_sharpens_the_length_to_buy(store: Callable[..., Any]) -> None:
    unmeasured = store("buy-length", "40", "--json").json["buy_cm"]
    ropes = measured(store)
    ran = store("shrink", "--rope", ropes[0])
    for rope, share in zip(ropes, SHARES, strict=True):
        assert re.search(rf"{rope} +\(50 m\) +\({50 * share:g} m\) +{100 * (1 - share):.1f} %  label", ran.out)
    told = store("buy-length", "40", "--rope", ropes[1], "--json").json
    assert told["measured_ropes"] == 3
    assert told["buy_cm"] < unmeasured - 100
    assert store("buy-length", "40", "--kind", "9.5mm", "--json").json == told


def test_shrink_tells_every_kind_and_what_a_reel_gives(store: Callable[..., Any]) -> None:
    measured(store)
    answer = store("shrink", "--reel", "200m", "--json").json
    first, *others = answer["kinds"]
    assert (first["kind"], first["measured_ropes"]) == ("9.5 mm, polyamide, Nine", 3)
    assert first["reel_cm"] == 20000
    assert first["left_least_cm"] < first["left_likely_cm"] < first["left_most_cm"] < 20000
    assert first["prediction_most_percent"] < first["prior_most_percent"]
    assert {each["measured_ropes"] for each in others} == {0}
    assert all(word in store("shrink").out for word in ("9.5 mm, polyamide, Nine", "11 mm A"))


def test_every_key_is_in_the_manual(store: Callable[..., Any]) -> None:
    def keys(value: Any) -> Iterator[str]:
        if isinstance(value, dict):
            yield from value
        for part in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
            yield from keys(part)

    manual = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`([a-z_]+)`", manual))
    measured(store)
    answers = (store("shrink", "--json").json, store("buy-length", "40", "--json").json)
    washed = store("buy-length", "40", "--washed", "--json").json
    assert {key for answer in (*answers, washed) for key in keys(answer)} - named == set()
    json.dumps(answers, allow_nan=False)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("buy-length", "long"), "LENGTH: “long” is not a length"),
        (("buy-length", "3000m"), "0.1 to 2,000 m are to be left"),
        (("buy-length", "40", "--confidence", "100"), "50 to 99.9 %, not 100 %"),
        (("buy-length", "40", "--ropes", "0"), "1 to 1,000 ropes, not 0"),
        (("buy-length", "40", "--uses=-1"), "0 to 100,000, not -1"),
        (("buy-length", "40", "--uses", "9", "--for-life"), "not both"),
        (("buy-length", "40", "--kind", "kelp"), "no rope of the store is “kelp”"),
        (("buy-length", "40", "--kind", "mm"), "could be several"),
        (("buy-length", "40", "--kind", "9mm", "--material", "nylon"), "Leave one out"),
        (("shrink", "--kind", "kelp"), "no rope of the store is “kelp”"),
        (("shrink", "--reel", "9km"), "--reel"),
        (("shrink", "--rope", "QT99"), "QT99"),
    ],
)
def test_what_cannot_be_meant_is_told_and_ends_with_an_error(
    store: Callable[..., Any], words: tuple[str, ...], told: str
) -> None:
    ran = store(*words)
    assert ran.status == 2
    assert told in " ".join(ran.err.split())


def test_shrink_without_a_store_says_how_to_have_one(tethera: Callable[..., Any]) -> None:
    ran = tethera("shrink")
    assert ran.status == 2
    assert "There is no store" in ran.err
