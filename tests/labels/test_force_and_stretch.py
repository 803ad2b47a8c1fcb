"""The drawings of forces and of stretch say their facts, and stay within their frame."""

import re
import xml.etree.ElementTree as ET

import pytest

from tethera.labels import force_band_svg, force_chart_svg, ranking_svg, stretch_svg

SVG = "{http://www.w3.org/2000/svg}"
BAND, LIMITS = (2.8, 4.3, 6.3), (4.0, 6.0)
SLACK = [0.0, 0.5, 1.0]
CHART = (SLACK, ([1.3, 2.8, 3.4], [1.7, 4.3, 5.2], [2.0, 6.3, 7.8]), 0.5, LIMITS)
FEET = {"floor_m": 40.0, "unloaded": (39.0, 39.1, 39.2), "loaded": (39.6, 40.6, 42.0)}


@pytest.mark.parametrize("wide", [640, 340])
@pytest.mark.parametrize(
    "draw",
    [
        lambda wide: force_band_svg(BAND, LIMITS, wide=wide),
        lambda wide: force_chart_svg(*CHART, wide=wide),
        lambda wide: ranking_svg([("slack", 0.82), ("mass", 0.44), ("stiffness", -0.29)], wide=wide),
        lambda wide: stretch_svg(FEET, wide=wide),
        lambda wide: stretch_svg({**FEET, "floor_m": 60.0}, wide=wide),
        lambda wide: stretch_svg({**FEET, "floor_m": 20.0}, wide=wide),
    ],
)
def test_a_drawing_is_whole_named_and_within_its_frame(draw, wide):
    """Title and description for who cannot see it, no style, nothing drawn outside."""
    text = draw(wide)
    root = ET.fromstring(text)
    assert "style=" not in text
    assert root.find(f"{SVG}title") is not None
    assert len(root.findtext(f"{SVG}desc")) > 20
    _, _, right, bottom = (float(each) for each in root.get("viewBox").split())
    assert right == wide
    for line in root.iter(f"{SVG}polyline"):
        for x, y in (point.split(",") for point in line.get("points").split()):
            assert -1 <= float(x) <= right + 1
            assert -1 <= float(y) <= bottom + 1


def test_the_feet_are_drawn_to_scale():
    """Metres between the frames' edges by the bar beneath: the loaded frame is 2.4 m, the unloaded 0.2 m."""
    root = ET.fromstring(stretch_svg(FEET))
    doubts = [group for group in root.iter(f"{SVG}g") if group.get("class") == "doubt"]
    first, second = (float(group.find(f"{SVG}rect").get("height")) for group in doubts)
    assert second / first == pytest.approx(2.4 / 0.2, rel=0.01)
    scale = next(group for group in root.iter(f"{SVG}g") if group.get("class") == "scale")
    ends = [float(each.split(",")[0]) for each in scale.find(f"{SVG}polyline").get("points").split()]
    metres = float(re.search(r"([\d.]+)\u00a0m, up", ET.tostring(scale, encoding="unicode"))[1])
    assert second / (ends[1] - ends[0]) == pytest.approx(2.4 / metres, rel=0.01)


def test_the_band_of_force_lies_against_its_limits():
    """A box from 2.8 to 6.3 kN holds the line of 4 and that of 6."""
    root = ET.fromstring(force_band_svg(BAND, LIMITS))
    box = next(group for group in root.iter(f"{SVG}g") if group.get("class") == "band").find(f"{SVG}rect")
    left, width = float(box.get("x")), float(box.get("width"))
    limits = next(group for group in root.iter(f"{SVG}g") if group.get("class") == "limits")
    four, six = (float(line.get("points").split(",")[0]) for line in limits.iter(f"{SVG}polyline"))
    per_kn = (six - four) / 2
    assert width / per_kn == pytest.approx(3.5, rel=1e-3)
    assert (four - left) / per_kn == pytest.approx(1.2, rel=1e-3)
