"""What is drawn of a route is what its numbers say: coordinates read back from the SVG, times the scale."""

import re
import xml.etree.ElementTree as ET
from importlib import resources

import pytest

from tethera.labels import elevation_svg, key_svg, pitch_svg
from tethera.rigging import read_route, rigging_sheet

SVG = "{http://www.w3.org/2000/svg}"
ROUTES = ("short", "classic", "deep")


def sheet(name: str):  # type: ignore[no-untyped-def]
    text = (resources.files("tethera.cli") / "demo_data" / f"{name}.toml").read_text("utf-8")
    return rigging_sheet(read_route(text).route, ())


PITCHES = [(name, pitch) for name in ROUTES for pitch in sheet(name)["pitches"]]


def points(element: ET.Element) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in element.attrib["points"].split())]


def lines(svg: ET.Element, role: str) -> list[list[tuple[float, float]]]:
    return [points(each) for each in svg.iter(f"{SVG}polyline") if each.attrib.get("class") == role]


@pytest.mark.parametrize(
    ("name", "pitch"), PITCHES, ids=lambda value: value if isinstance(value, str) else value["name"]
)
def test_the_depth_drawn_is_the_depth_told(name: str, pitch) -> None:  # type: ignore[no-untyped-def]
    svg = ET.fromstring(pitch_svg(pitch))
    scale = float(svg.attrib["data-scale"])
    drawn = lines(svg, "depth")
    if not pitch["depth_m"]:
        assert drawn == []
        return
    extension = sorted(each[0][1] for each in lines(svg, "extension"))
    assert (extension[-1] - extension[0]) * scale / 1000 == pytest.approx(
        pitch["depth_m"], abs=0.002 * scale / 1000 + 0.005
    )
    assert f"1:{scale:g}" in (svg.findtext(f"{SVG}title") or "")


def anchored() -> list:  # type: ignore[type-arg]
    return [pitch for _, pitch in PITCHES if len(pitch["anchors"]) > 2]


@pytest.mark.parametrize("pitch", anchored(), ids=lambda pitch: pitch["name"])
def test_rebelays_hang_where_the_route_says(pitch) -> None:  # type: ignore[no-untyped-def]
    """The rope turns at each rebelay: its corner lies so far below the head as the anchor is down."""
    svg = ET.fromstring(pitch_svg(pitch))
    scale = float(svg.attrib["data-scale"])
    head = min(each[0][1] for each in lines(svg, "extension"))
    corners = {
        round((y - head) * scale / 1000, 2) for role in ("rope", "drop") for line in lines(svg, role) for _, y in line
    }
    for anchor in pitch["anchors"]:
        if anchor["role"] == "rebelay":
            near = min(corners, key=lambda down: abs(down - anchor["down_m"]))
            assert near == pytest.approx(anchor["down_m"], abs=0.06), anchor
    said = svg.findtext(f"{SVG}desc") or ""
    assert all(anchor["kind"] in said for anchor in pitch["anchors"])


@pytest.mark.parametrize("name", ROUTES)
def test_the_key_explains_every_sign_drawn_and_no_other(name: str) -> None:
    told = sheet(name)
    words = set(re.findall(r"<text[^>]*>([^<]+)</text>", key_svg(told["pitches"])))
    roles = {anchor["role"] for pitch in told["pitches"] for anchor in pitch["anchors"]}
    kinds = {anchor["kind"] for pitch in told["pitches"] for anchor in pitch["anchors"]}
    for role, said in (("rebelay", "rebelay"), ("deviation", "deviation"), ("y-hang", "Y-hang"), ("backup", "backup")):
        assert (said in words) is (role in roles), role
    for kind in ("natural", "thread"):
        assert (kind in words) is (kind in kinds), kind
    assert key_svg([]) == ""


def test_words_of_a_route_cannot_break_out_of_the_drawing() -> None:
    told = sheet("short")
    told["pitches"][0]["name"] = '<script>"&'
    assert "<script>" not in pitch_svg(told["pitches"][0])
    assert "<script>" not in elevation_svg(told)


def test_a_name_nobody_can_print_is_missed_in_the_drawing_and_nothing_fails() -> None:
    drawn = dict(sheet("short"))
    drawn["title"] = "Hole 山"
    drawn["pitches"] = [{**drawn["pitches"][0], "name": "Entrance 山 😀"}, *drawn["pitches"][1:]]
    assert "[?]" in elevation_svg(drawn)
    assert "Entrance [?] [?]" in pitch_svg(drawn["pitches"][0])
