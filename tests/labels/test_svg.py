"""The elevation as SVG: to scale, readable by a screen reader, and fit for a strict content security policy."""

import re
import xml.etree.ElementTree as ET
from types import ModuleType
from typing import Any

import pytest

from tethera.labels import elevation_svg, symbols

NS = "{http://www.w3.org/2000/svg}"


def test_the_drawing_names_itself_and_says_its_facts_in_words(samples: ModuleType) -> None:
    svg = ET.fromstring(elevation_svg(samples.short_sheet()))
    assert svg.get("role") == "img"
    assert svg.findtext(f"{NS}title", "").startswith("Elevation of Grey Ewe Pot")
    description = svg.findtext(f"{NS}desc", "").replace("\u00a0", " ")
    assert "Chimney: 28 m deep, rope TV41, TV12." in description


def test_the_drawing_is_black_and_white_and_carries_no_style(sheet: dict[str, Any]) -> None:
    text = elevation_svg(sheet)
    assert "style" not in text
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', text)) <= {"none", "currentColor"}


def test_a_pitch_and_the_scale_bar_measure_right(samples: ModuleType) -> None:
    svg = ET.fromstring(elevation_svg(samples.sheet("Hogg Hole", [], [samples.pitch("Only", 30.0)])))
    scale = float(svg.get("data-scale", "nan"))
    drop = next(line for line in svg.iter(f"{NS}polyline") if line.get("class") == "drop")
    heights = [float(point.split(",")[1]) for point in drop.get("points", "").split()]
    assert heights[-1] - heights[0] == pytest.approx(30_000 / scale, abs=0.05)
    bar = next(box for box in svg.iter(f"{NS}rect") if box.get("class") == "scale-bar")
    said = next(t.text for t in svg.iter(f"{NS}text") if t.text and "1:" in t.text)
    metres = float(said.split("\u00a0")[0])
    assert float(bar.get("width", "nan")) == pytest.approx(metres * 1000 / scale, abs=0.05)


def test_a_name_with_angle_brackets_stays_a_name(samples: ModuleType) -> None:
    drawn = ET.fromstring(elevation_svg(samples.sheet("<b> & co", [], [samples.pitch("<script>", 3.0)])))
    assert "<b> & co" in "".join(drawn.itertext())
    assert "<script>" in "".join(drawn.itertext())
    assert {each.tag for each in drawn.iter()} & {f"{NS}b", f"{NS}script"} == set()
    assert ET.fromstring(elevation_svg({})).tag == f"{NS}svg"


def test_a_way_that_is_not_rigged_is_not_drawn_and_a_climb_leads_up(samples: ModuleType) -> None:
    left = samples.pitch("Left", 18.0, rigged=False)
    climb = samples.pitch("Climb", 7.0, top_m=16.0, x_m=9.0, direction="up")
    svg = ET.fromstring(elevation_svg(samples.sheet("Fork", [], [left, samples.pitch("Right", 16.0), climb])))
    description = svg.findtext(f"{NS}desc", "").replace("\u00a0", " ")
    assert "Left" not in description
    assert "Climb: 7 m up" in description
    drops = [line.get("points", "") for line in svg.iter(f"{NS}polyline") if line.get("class") == "drop"]
    heights = [[float(point.split(",")[1]) for point in drop.split()] for drop in drops]
    assert [ends[-1] > ends[0] for ends in heights] == [True, False]


def test_every_state_of_a_rope_has_a_sign_of_its_own() -> None:
    """State by word and form, for black and white: no two states are drawn alike."""
    drawn = {word: tuple(map(repr, symbols.state(word, 0.0, 0.0))) for word in symbols.STATES}
    assert set(drawn) == {"ready", "in preparation", "out", "rigged", "set aside", "missing", "retired"}
    assert len(set(drawn.values())) == len(drawn)
