"""The line of a rope with what was found along it, read back from its SVG."""

import itertools
import xml.etree.ElementTree as ET

import pytest

from tethera.labels import fault_line_svg

NS = "{http://www.w3.org/2000/svg}"


def fault(number: int, at_cm: int, what: str = "flat spot") -> dict[str, object]:
    return {"number": number, "at_cm": at_cm, "what": what}


def part(svg: str, name: str) -> ET.Element:
    return next(each for each in ET.fromstring(svg) if name in (each.get("class") or "").split())


def points(line: ET.Element) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in line.get("points", "").split())]


@pytest.mark.parametrize("wide", [340, 640])
def test_a_fault_stands_to_scale_along_the_line(wide: int) -> None:
    svg = fault_line_svg(3000, [fault(1, 1240)], rope="UG3", wide=wide)
    (rope,) = (each for each in part(svg, "rope-line") if each.get("class") == "rope")
    (left, y), (right, _) = points(rope)
    (x, _), _ = points(next(iter(part(svg, "found"))))
    assert x == pytest.approx(left + (right - left) * 12.4 / 30, abs=0.01)
    assert y > 0
    assert "style" not in svg
    assert "flat spot at 12.4" in ET.fromstring(svg).findtext(f"{NS}desc", "")


@pytest.mark.parametrize("wide", [340, 640])
def test_numbers_of_faults_side_by_side_do_not_cover_each_other(wide: int) -> None:
    svg = fault_line_svg(3000, [fault(n, 1200 + 5 * n) for n in range(1, 7)], wide=wide)
    rings = [(float(each.get("cx", "")), float(each.get("cy", "")), float(each.get("r", "")))
             for each in part(svg, "found").iter(f"{NS}circle")]  # fmt: skip
    assert len(rings) == 6
    for at, (x, y, r) in enumerate(rings):
        for x2, y2, r2 in rings[at + 1 :]:
            assert ((x - x2) ** 2 + (y - y2) ** 2) ** 0.5 > r + r2
        assert y - r >= 0


@pytest.mark.parametrize("length_cm", [120, 900, 3000, 20_000])
def test_the_metres_under_the_line_have_room_and_the_length_stands_in_its_capsule(length_cm: int) -> None:
    svg = fault_line_svg(length_cm, [], wide=340)
    xs = sorted(float(each.get("x", "")) for each in part(svg, "ticks").iter(f"{NS}text"))
    assert all(b - a > 30 for a, b in itertools.pairwise(xs))
    assert [each.get("class") for each in part(svg, "length").iter(f"{NS}rect")] == ["capsule"]


def test_a_place_beyond_the_end_is_said_and_not_drawn() -> None:
    svg = fault_line_svg(1000, [fault(1, 1240)])
    assert "1 of these lie beyond its end." in svg
    assert not [each for each in ET.fromstring(svg) if each.get("class") == "found"]
    assert "nothing is noted" in fault_line_svg(1000, [])
