"""Drawings of the sums: to scale, with their facts in words, and nothing sticking out."""

import re
from typing import Any

import pytest

from tethera import labels
from tethera.rigging import Holding, ask_deviations, ask_traverse, ask_y

HOLDING = Holding(rope_type="A")
ANSWERS = {
    "y": ask_y([[0, 0, 0], [1, 0, 0]], [0.8, 0.8], 100, HOLDING),
    "three": ask_y([[0, 0, 0], [1, 0, 0], [0.5, 0.5, 0]], [0.9, 0.9, 0.9], 100, HOLDING, aside_deg=20),
    "deviation": ask_deviations([(1, 5, 0.3), (-0.2, 10, 0.4)], 100, HOLDING),
    "traverse": ask_traverse(3, 0.15, 100, HOLDING, drop_m=0.5),
}
REEL = {
    "length_cm": 20_000,
    "spans": [(0, 2600), (2600, 8900), (9030, 14_030)],
    "gone": [(8970, 9030)],
    "off_cut_cm": 0,
}
LOSSES = [-0.02 + 0.01 * step for step in range(28)]
SHRINKAGE = {
    "losses": LOSSES, "prior": [1.0] * 28, "prediction": [2.0 + step for step in range(28)],
    "band": (0.05, 0.1, 0.15), "count_on": 0.16, "measured": [0.09, 0.12],
}  # fmt: skip


def drawings(wide: int) -> dict[str, str]:
    found = {name: labels.anchor_svg(each.to_mapping(), wide=wide) for name, each in ANSWERS.items()}
    found["reel"] = labels.reel_svg(REEL, wide=wide)
    found["costs"] = labels.costs_svg([{"year": 2027, "pence": 31_000}, {"year": 2028, "pence": 0}], wide=wide)
    found["shrinkage"] = labels.shrinkage_svg(SHRINKAGE, wide=wide)
    return found


@pytest.mark.parametrize("wide", [640, 340])
def test_nothing_sticks_out_and_every_drawing_says_what_it_is(wide: int) -> None:
    for name, svg in drawings(wide).items():
        box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
        assert box, name
        width, height = float(box[1]), float(box[2])
        assert "<title" in svg
        assert "<desc" in svg
        assert "style=" not in svg
        for x, y in re.findall(r'x="(-?[\d.]+)" y="(-?[\d.]+)"', svg):
            assert -1 <= float(x) <= width + 1, name
            assert -1 <= float(y) <= height + 1, name
        for points in re.findall(r'points="([^"]+)"', svg):
            for pair in points.split():
                x, y = map(float, pair.split(","))
                assert -1 <= x <= width + 1, (name, x)
                assert -1 <= y <= height + 1, (name, y)


def test_the_legs_carry_their_numbers() -> None:
    svg = drawings(640)["y"]
    assert svg.count("0.6") >= 2
    assert "leg 1 0.6" in svg


def test_a_reel_names_its_pieces_and_what_is_cut_out() -> None:
    svg = drawings(640)["reel"]
    said = re.search(r"<desc[^>]*>([^<]+)", svg)
    assert said
    assert all(each in said[1] for each in ("26", "63", "50", "Cut out as damaged: 0.6"))


def facts(**changed: Any) -> dict[str, Any]:
    return {**SHRINKAGE, **changed}


def test_a_chart_of_shrinkage_says_its_band_and_how_many_were_measured() -> None:
    svg = labels.shrinkage_svg(facts(measured=[]))
    assert "10.0 % likely, 5.0 to 15.0" in svg
    assert "0 ropes measured" in svg
    assert labels.shrinkage_svg(SHRINKAGE).count("<circle") == 2
