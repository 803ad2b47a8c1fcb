"""The drawings of a rope's length, of its life, and of what leaves service, read back from their SVG."""

import itertools
import re
import xml.etree.ElementTree as ET
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tethera.basics import PartialDate
from tethera.labels import length_chart_svg, length_rows, life_svg, mark_svg, state_sign_svg, symbols, years_svg

NS = "{http://www.w3.org/2000/svg}"
TODAY = date(2026, 11, 25)
NIGHT = {"none", "currentColor"}


def point(day: Any, cm: int, source: str = "measured", doubt: int | None = None) -> dict[str, Any]:
    band = {"low_cm": None, "high_cm": None} if doubt is None else {"low_cm": cm - doubt, "high_cm": cm + doubt}
    return {"date": day, "length_cm": cm, "source": source, **band}


def thirty() -> list[dict[str, Any]]:
    return [
        point(date(2012, 5, 1) + timedelta(days=170 * i), 5000 - int(900 * (1 - 0.9**i)), doubt=60) for i in range(30)
    ]


CHARTS = {
    "one point": ([point("2021", 3000, "sheet", 300)], []),
    "one measured today, no band": ([point(TODAY, 2999)], []),
    "thirty": (thirty(), [{"date": date(2012, 6, 1), "length_m": 49}, {"date": "2019", "length_m": 43}]),
    "one day": (
        [point(date(2026, 9, 1), 3000, "label", 150), point(date(2026, 9, 1), 2890), point(date(2026, 9, 1), 2893)],
        [{"date": date(2026, 9, 1), "length_m": 28}, {"date": date(2026, 9, 2), "length_m": None}],
    ),
    "short and long": ([point("2020", 40, "sheet"), point("2021", 20000)], []),
}


def drawn(svg: str) -> ET.Element:
    root = ET.fromstring(svg)
    colours = {value for each in root.iter() for name in ("fill", "stroke") if (value := each.get(name))}
    assert colours <= NIGHT
    assert "style" not in svg
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == root.find(f"{NS}title").get("id")  # type: ignore[union-attr]
    assert root.get("aria-describedby") == root.find(f"{NS}desc").get("id")  # type: ignore[union-attr]
    return root


def part(root: ET.Element, name: str) -> ET.Element:
    return next(group for group in root if name in (group.get("class") or "").split())


def told(root: ET.Element) -> str:
    return root.findtext(f"{NS}desc", "").replace("\u00a0", " ")


def boxes(root: ET.Element) -> list[tuple[float, float, float, float]]:
    """Where words and capsules lie [px]; a letter is taken for 0.55 of its size wide, near the typeface's average."""
    found = []
    for text in root.iter(f"{NS}text"):
        size, x, y = (float(text.get(name, "nan")) for name in ("font-size", "x", "y"))
        found.append((x, y - 0.7 * size, x + 0.5 * size * len(text.text or ""), y))
    return found


def assert_words_lie_apart_and_inside(root: ET.Element) -> None:
    _, _, width, height = map(float, root.get("viewBox", "").split())
    all_boxes = boxes(root)
    for one, other in itertools.combinations(all_boxes, 2):
        apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
        assert apart, (one, other)
    assert all(x >= 0 and y >= 0 and right <= width and foot <= height for x, y, right, foot in all_boxes)


def capsules(root: ET.Element) -> list[tuple[float, float, float, float]]:
    return [
        (x, y, x + w, y + h)
        for rect in root.iter(f"{NS}rect")
        if rect.get("class") == "capsule"
        for x, y, w, h in [[float(rect.get(name, "nan")) for name in ("x", "y", "width", "height")]]
    ]


@pytest.mark.parametrize("wide", [720, 340])
@pytest.mark.parametrize("case", CHARTS)
def test_the_length_chart_shows_every_length_and_covers_no_word_with_another(case: str, wide: int) -> None:
    points, marks = CHARTS[case]
    root = drawn(length_chart_svg(points, marks, TODAY, rope="UG3", wide=wide))
    assert_words_lie_apart_and_inside(root)
    for one, other in itertools.combinations(capsules(root), 2):
        assert one[2] < other[0] or other[2] < one[0] or one[3] < other[1] or other[3] < one[1]
    rings = list(part(root, "lengths"))
    assert len(rings) == len(points)
    filled = sum(ring.get("fill") == "currentColor" for ring in rings)
    assert filled == sum(each["source"] == "measured" for each in points)
    assert all(0 < float(ring.get("cx", "nan")) < wide for ring in rings)
    assert len({(ring.get("cx"), ring.get("cy")) for ring in rings}) == len(points)
    newest = max(points, key=lambda each: PartialDate.fromisoformat(str(each["date"])).latest)["length_cm"]
    assert f"{newest / 100:g} m" in [(text.text or "").replace("\u00a0", " ") for text in root.iter(f"{NS}text")]


def test_a_shorter_length_lies_lower_and_to_scale() -> None:
    root = drawn(length_chart_svg([point("2020", 5000), point("2022", 4800), point("2024", 4400)], [], TODAY))
    heights = [float(ring.get("cy", "nan")) for ring in part(root, "lengths")]
    # 2 m and then 4 m less: twice as far down.
    assert (heights[2] - heights[1]) / (heights[1] - heights[0]) == pytest.approx(2.0, rel=1e-3)


def test_a_band_of_doubt_is_a_whisker_as_long_as_the_band() -> None:
    root = drawn(length_chart_svg([point(date(2022, 3, 1), 4000, doubt=100), point(date(2024, 3, 1), 3700)], [], TODAY))
    a_metre = (float(part(root, "lengths")[1].get("cy", "nan")) - float(part(root, "lengths")[0].get("cy", "nan"))) / 3
    ys = [float(pair.split(",")[1]) for line in part(root, "doubt") for pair in line.get("points", "").split()]
    assert max(ys) - min(ys) == pytest.approx(2 * a_metre, rel=1e-3)


def test_a_year_alone_is_as_wide_as_the_year() -> None:
    root = drawn(length_chart_svg([point("2022", 4000), point(date(2024, 1, 1), 3700)], [], TODAY, wide=1000))
    xs = [float(pair.split(",")[0]) for line in part(root, "doubt") for pair in line.get("points", "").split()]
    days_shown = (TODAY - date(2022, 1, 1)).days
    assert max(xs) - min(xs) == pytest.approx(364 / days_shown * (1000 - 30 - 74), abs=0.1)


def test_the_mark_needs_a_hand_only_when_it_says_more_than_the_rope_has_today() -> None:
    lengths = [point(date(2022, 3, 1), 3050), point(date(2024, 3, 1), 2940)]
    says = [{"date": date(2022, 3, 2), "length_m": 30}]
    over = drawn(length_chart_svg(lengths, says, TODAY))
    assert len(part(over, "hand")) == 1
    assert "The mark says more than the rope has" in told(over)
    mended = drawn(length_chart_svg(lengths, [*says, {"date": date(2024, 3, 2), "length_m": 29}], TODAY))
    assert "hand" not in " ".join(group.get("class") or "" for group in mended)
    assert len(part(mended, "mark-says")) == 2
    void = drawn(length_chart_svg(lengths, [*says, {"date": date(2024, 3, 2), "length_m": None}], TODAY))
    assert "hand" not in " ".join(group.get("class") or "" for group in void)


def test_the_chart_and_the_table_beneath_tell_the_same_facts() -> None:
    points, marks = (
        [point("2021-09", 3000, "label", 150), point(date(2022, 3, 1), 2930)],
        [{"date": "2023", "length_m": 29}],
    )
    rows = length_rows(points, marks)
    assert [row["words"] for row in rows] == ["said by a label", "measured", "marked"]
    said = told(drawn(length_chart_svg(points, marks, TODAY)))
    assert said == "Sep 2021, said by a label: 30 m (28.5 to 31.5). 1 Mar 2022, measured: 29.3 m. 2023, marked: 29 m."


def test_without_a_length_there_is_no_chart() -> None:
    assert length_chart_svg([], [], TODAY) == ""
    assert years_svg([]) == ""


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.dates(date(1990, 1, 1), TODAY), st.integers(1, 60000), st.integers(0, 300)),
        min_size=1,
        max_size=30,
    ),
    st.sampled_from([340, 720]),
)
def test_whatever_was_measured_the_chart_can_be_drawn(lengths: list[tuple[date, int, int]], wide: int) -> None:
    root = drawn(length_chart_svg([point(day, cm, doubt=min(d, cm)) for day, cm, d in lengths], [], TODAY, wide=wide))
    heights = [float(ring.get("cy", "nan")) for ring in part(root, "lengths")]
    assert all(0 < y < 300 for y in heights)
    assert capsules(root)


def period(state: str, begins: Any, ends: Any = None) -> dict[str, Any]:
    return {"state": state, "begins": begins, "ends": ends}


def moment(kind: str, day: Any, cm: int | None = None) -> dict[str, Any]:
    return {"kind": kind, "date": day, "length_cm": cm}


def a_life(**more: Any) -> dict[str, Any]:
    return {
        "rope": "UG3",
        "begins": date(2021, 3, 4),
        "begins_with": "bought",
        "ends": None,
        "periods": [
            period("in preparation", date(2021, 3, 4)),
            period("ready", date(2021, 4, 2)),
            period("out", date(2021, 5, 7)),
            period("ready", date(2021, 5, 20)),
            period("rigged", date(2022, 6, 1)),
            period("ready", date(2022, 11, 20)),
            period("set aside", date(2024, 2, 1), date(2024, 5, 3)),
            period("ready", date(2024, 5, 4)),
        ],
        "moments": [
            moment("washed", date(2021, 3, 20)),
            moment("measured", date(2021, 3, 28), 4612),
            moment("inspected", "2022-04"),
            moment("cut", date(2025, 8, 1)),
            moment("measured", date(2025, 8, 2), 2900),
        ],
        **more,
    }


def busy_life() -> dict[str, Any]:
    periods, moments = [period("ready", date(2010, 4, 1))], []
    for week in range(400):
        day = date(2010, 5, 1) + timedelta(days=13 * week)
        periods += [
            period("out", day),
            period("in preparation", day + timedelta(2)),
            period("ready", day + timedelta(9)),
        ]
        moments += [moment("washed", day + timedelta(5)), moment("inspected", day + timedelta(6))]
        moments += [moment("measured", day + timedelta(6), 6000 - week)] if week % 9 == 0 else []
    return a_life(begins="2010", ends=date(2024, 9, 1), ended="retired", periods=periods, moments=moments)


LIVES = {
    "a life": a_life(),
    "busy": busy_life(),
    "new today": a_life(begins=TODAY, periods=[period("in preparation", TODAY)], moments=[]),
    "only a year": a_life(begins="2008", periods=[period("ready", "2008")], moments=[moment("measured", "2023", 3000)]),
    "nothing known since": a_life(periods=[], moments=[]),
    "missing": a_life(periods=[period("ready", "2021"), period("missing", "2025")]),
}


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("case", LIVES)
def test_a_life_is_one_drawing_in_which_no_words_cover_each_other(case: str, narrow: bool) -> None:
    root = drawn(life_svg(LIVES[case], TODAY, narrow=narrow))
    assert root.get("width") == ("360" if narrow else "1000")
    assert_words_lie_apart_and_inside(root)
    for one, other in itertools.combinations(capsules(root), 2):
        assert one[2] < other[0] or other[2] < one[0] or one[3] < other[1] or other[3] < one[1]


def test_the_line_lifts_while_out_hangs_while_rigged_and_is_heavy_only_in_service() -> None:
    line = part(drawn(life_svg(a_life(), TODAY)), "line")
    by_state: dict[str, list[ET.Element]] = {}
    for stroke in line:
        by_state.setdefault(stroke.get("class") or "", []).append(stroke)

    def heights(state: str) -> list[float]:
        return [float(pair.split(",")[1]) for s in by_state[state] for pair in s.get("points", "").split()]

    level = heights("ready")[0]
    assert min(heights("out")) < level
    assert max(heights("rigged")) > level
    weight = {state: max(float(s.get("stroke-width", "nan")) for s in strokes) for state, strokes in by_state.items()}
    assert weight["ready"] > 2 * weight["in-preparation"]
    gap = [float(pair.split(",")[0]) for s in by_state["set-aside"] for pair in s.get("points", "").split()]
    ready = [[float(pair.split(",")[0]) for pair in s.get("points", "").split()] for s in by_state["ready"]]
    assert not any(start < min(gap) + 2 and end > max(gap) - 2 for start, end in ready)


def test_a_weekend_out_in_sixteen_years_can_still_be_seen() -> None:
    life = a_life(
        begins="2010",
        periods=[period("ready", "2010"), period("out", date(2018, 5, 5)), period("ready", date(2018, 5, 6))],
    )
    strokes = [s for s in part(drawn(life_svg(life, TODAY)), "line") if s.get("class") == "out"]
    xs = [float(pair.split(",")[0]) for stroke in strokes for pair in stroke.get("points", "").split()]
    assert max(xs) - min(xs) >= 3.5


def test_a_retired_rope_ends_with_a_stop_and_one_in_use_runs_on() -> None:
    ended = drawn(life_svg(a_life(ends=date(2026, 6, 1), ended="retired"), TODAY))
    assert sum(stroke.get("class") == "end" for stroke in part(ended, "ends")) == 2
    assert told(ended).endswith("Retired 1 Jun 2026.")
    lasting = drawn(life_svg(a_life(), TODAY))
    assert not any(stroke.get("class") == "end" for stroke in part(lasting, "ends"))
    assert told(lasting) == (
        "Bought 4 Mar 2021. Rigged 1 Jun 2022 to 20 Nov 2022. Set aside 1 Feb 2024 to 3 May 2024. Out once. "
        "Washed once. Examined once. Cut once. Measured: 46.12 m on 28 Mar 2021, 29 m on 2 Aug 2025. "
        "Today is 25 Nov 2026."
    )


def test_the_key_names_the_signs_of_this_life_and_no_others() -> None:
    said = " ".join(text.text or "" for text in part(drawn(life_svg(a_life(), TODAY)), "key").iter(f"{NS}text"))
    assert said == "ready in preparation out rigged set aside measured washed examined cut"
    assert "cut" not in life_svg(LIVES["new today"], TODAY)


def test_two_drawings_on_one_page_keep_their_names_apart() -> None:
    text = life_svg(a_life(), TODAY) + life_svg(a_life(), TODAY, narrow=True, name="life-narrow")
    ids = re.findall(r' id="([^"]+)"', text)
    assert len(ids) == len(set(ids)) == 4


def test_what_leaves_service_is_drawn_to_one_scale_with_its_metres_and_ropes() -> None:
    bars = [
        {"year": 2026, "length_cm": 7450, "ropes": 3, "hand": True},
        {"year": 2027, "length_cm": 14900, "ropes": 6},
        {"year": 2028, "length_cm": 0, "ropes": 0},
    ]
    for wide in (640, 340):
        root = drawn(years_svg(bars, wide=wide))
        assert_words_lie_apart_and_inside(root)
        stops = [float(s.get("points", "").split(",")[0]) for s in root.iter(f"{NS}polyline") if s.get("class") is None]
        base, first, second = stops
        assert (second - base) / (first - base) == pytest.approx(2.0, rel=1e-3)
    assert told(root) == "2026: 74 m, 3 ropes. 2027: 149 m, 6 ropes. 2028: none."
    assert len([group for group in root if "hand" in (group.get("class") or "")]) == 1


def test_the_signs_for_running_text_are_as_high_as_the_text_and_not_read_out() -> None:
    for svg in (*(state_sign_svg(state) for state in symbols.STATES), mark_svg()):
        root = ET.fromstring(svg)
        assert root.tag == f"{NS}svg"
        assert root.get("aria-hidden") == "true"
        assert root.get("height") == "1em"
        assert {value for each in root.iter() for name in ("fill", "stroke") if (value := each.get(name))} <= NIGHT
