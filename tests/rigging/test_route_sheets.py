"""A route goes out as a workbook of two sheets and comes back."""

from importlib import resources

import pytest

from tethera.basics import Cell
from tethera.rigging import Route, anchor_rows, read_route, read_route_rows, route_rows, with_anchor_rows


def demo(name: str) -> Route:
    return read_route((resources.files("tethera.cli") / "demo_data" / f"{name}.toml").read_text("utf-8")).route


@pytest.mark.parametrize("name", ["short", "classic", "deep"])
def test_pitches_and_anchors_go_out_and_come_back(name: str) -> None:
    route = demo(name)
    reading = with_anchor_rows(read_route_rows(route_rows(route), name=route.name), anchor_rows(route))
    assert reading.route.name == route.name
    for back, was in zip(reading.route.pitches, route.pitches, strict=True):
        assert (back.name, back.depth, back.guide_rope, back.anchor_count) == (
            was.name, was.depth, was.guide_rope, was.anchor_count,
        )  # fmt: skip
        assert back.anchors == was.anchors
        assert (back.traverse_m, back.to_next_m, back.depth_known_by) == (
            was.traverse_m, was.to_next_m, was.depth_known_by,
        )  # fmt: skip
    assert [each for each in reading.findings if each.code == "cell-unreadable"] == []


def test_a_bad_cell_of_an_anchor_is_told_with_its_address_and_the_rest_stays() -> None:
    route = demo("classic")
    rows: list[list[Cell]] = anchor_rows(route)
    rows[3][4] = "deep"
    rows.append(["Nowhere", "rebelay", *[None] * 11])
    reading = with_anchor_rows(read_route_rows(route_rows(route), name="x"), rows)
    told = {each.where: each.message for each in reading.findings}
    assert "“deep”" in told["Anchors, cell E4"]
    assert "no pitch of this route" in told[f"Anchors, cell A{len(rows)}"]
    assert sum(len(pitch.anchors) for pitch in reading.route.pitches) == len(rows) - 2


def test_a_sheet_of_anchors_without_its_headings_is_told() -> None:
    route = demo("short")
    reading = with_anchor_rows(read_route_rows(route_rows(route)), [["What", "Where"]])
    assert [each.code for each in reading.findings if each.code == "anchors-left-out"] == ["anchors-left-out"]
