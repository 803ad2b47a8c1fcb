"""The rigging sheet read back from its PDF: what stands where, in millimetres, and that nothing covers anything."""

import io
import itertools
import re
import subprocess
import sys
from types import ModuleType
from typing import Any

import pdfplumber
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pdfminer.pdftypes import resolve1

from tethera.labels import packing_list_pdf, rigging_sheet_pdf
from tethera.labels.packing_pdf import packing_pages
from tethera.labels.page import Box, Page, Stroke, Text
from tethera.labels.sheet_pdf import sheet_pages

MM = 25.4 / 72  # a PDF unit is 1/72 inch (ISO 32000-1, 8.3.2.3); an inch is 25.4 mm
A5_MM = (148.0, 210.0)  # ISO 216


def opened(pdf: bytes) -> pdfplumber.pdf.PDF:
    return pdfplumber.open(io.BytesIO(pdf))


def overlaps(one: tuple[float, ...], other: tuple[float, ...], slack: float = 0.05) -> bool:
    return (
        one[0] < other[2] - slack
        and other[0] < one[2] - slack
        and one[1] < other[3] - slack
        and other[1] < one[3] - slack
    )


def assert_nothing_overlaps(page: Page) -> None:
    texts = [item for item in page.primitives if isinstance(item, Text)]
    for one, other in itertools.combinations(texts, 2):
        assert not overlaps(one.box, other.box), (one, other)
    capsules = [item for item in page.primitives if isinstance(item, Box) and item.role == "capsule"]
    outlines = [(box.x, box.y, box.x + box.width, box.y + box.height) for box in capsules]
    for one_box, other_box in itertools.combinations(outlines, 2):
        assert not overlaps(one_box, other_box), (one_box, other_box)
    for text in texts:
        left, top, right, bottom = text.box
        assert left >= 5, text
        assert top >= 5, text
        assert right <= A5_MM[0] - 5, text
        assert bottom <= A5_MM[1] - 5, text


def test_every_page_is_a5_and_prints_at_its_own_size(sheet: dict[str, Any]) -> None:
    pdf = rigging_sheet_pdf(sheet)
    with opened(pdf) as read:
        for page in read.pages:
            assert (float(page.width) * MM, float(page.height) * MM) == pytest.approx(A5_MM, abs=0.01)
        assert resolve1(read.doc.catalog["ViewerPreferences"])["PrintScaling"].name == "None"


def test_the_same_sheet_gives_the_same_bytes(sheet: dict[str, Any], samples: ModuleType) -> None:
    assert rigging_sheet_pdf(sheet) == rigging_sheet_pdf(sheet)
    assert packing_list_pdf(samples.packing()) == packing_list_pdf(samples.packing())


def test_no_printed_word_lies_over_another_or_off_the_page(sheet: dict[str, Any]) -> None:
    with opened(rigging_sheet_pdf(sheet)) as read:
        for page in read.pages:
            words = page.extract_words(use_text_flow=True, keep_blank_chars=True)
            assert words
            # A box of pdfplumber is as high as the type size; letters fill about the middle 7 tenths of it.
            boxes = [(w["x0"], w["top"] + 0.15 * w["height"], w["x1"], w["bottom"] - 0.15 * w["height"]) for w in words]
            for one, other in itertools.combinations(boxes, 2):
                assert not overlaps(one, other, slack=0.3)
            assert all(b[0] > 0 and b[1] > 0 and b[2] < page.width and b[3] < page.height for b in boxes)


def test_a_thirty_metre_pitch_measures_thirty_metres_at_the_stated_scale(samples: ModuleType) -> None:
    plain = samples.sheet("Hogg Hole", [], [samples.pitch("Only", 30.0, count_anchors=2)])
    with opened(rigging_sheet_pdf(plain)) as read:
        page = read.pages[2]
        scale = int(re.search(r"1:(\d+)", page.extract_text())[1])  # type: ignore[index]
        lengths = [abs(line["bottom"] - line["top"]) * MM for line in page.lines if abs(line["x1"] - line["x0"]) < 0.01]
        expected = 30_000 / scale
        # The dimension line and the rope both: 0.05 mm is a hair beside the thinnest line of 0.2 mm.
        assert sum(abs(length - expected) < 0.05 for length in lengths) == 2
        bar = max((r for r in page.rects if r["height"] * MM < 2), key=lambda rect: rect["width"])
        metres = int(re.search(r"(\d+)\sm\s+1:", page.extract_text())[1])  # type: ignore[index]
        assert bar["width"] * MM == pytest.approx(metres * 1000 / scale, abs=0.05)


def test_every_length_of_rope_stands_in_a_capsule_and_no_depth_does(sheet: dict[str, Any]) -> None:
    pages = sheet_pages(sheet)
    in_capsules = set()
    for page in pages:
        capsules = [item for item in page.primitives if isinstance(item, Box) and item.role == "capsule"]
        texts = [item for item in page.primitives if isinstance(item, Text)]
        for box in capsules:
            inside = [
                t
                for t in texts
                if t.x >= box.x and t.x + t.width <= box.x + box.width and box.y < t.y < box.y + box.height
            ]
            assert len(inside) == 1
            assert inside[0].words.endswith("\u00a0m")
            in_capsules.add(inside[0].words)
    for rope in sheet["ropes"]:
        assert f"{rope['length_cm'] / 100:g}\u00a0m" in {words.replace(".0", "") for words in in_capsules}
    bold_metres = [
        t for p in pages for t in p.primitives if isinstance(t, Text) and t.bold and t.words.endswith("\u00a0m")
    ]
    assert len(bold_metres) == sum(isinstance(i, Box) and i.role == "capsule" for p in pages for i in p.primitives)


def test_a_depth_has_a_dimension_line_with_two_arrowheads(sheet: dict[str, Any]) -> None:
    strokes = [item for page in sheet_pages(sheet) for item in page.primitives if isinstance(item, Stroke)]
    assert sum(stroke.role == "depth" for stroke in strokes) == len(sheet["pitches"])
    assert sum(stroke.role == "arrowhead" for stroke in strokes) == 2 * len(sheet["pitches"])


def test_the_sheet_says_the_cautions_the_doubts_and_the_warning(samples: ModuleType) -> None:
    with opened(rigging_sheet_pdf(samples.short_sheet())) as read:
        said = " ".join(" ".join(page.extract_text().split()) for page in read.pages)
    for words in (
        *samples.CAUTIONS, "Last Step:", "Take TV34 or rig it as a hand-line.", "(28.5 to 31).",
        "Measure it before the trip.", "2 anchors, places not known", "rope rubs: protect it", "head of First",
    ):  # fmt: skip
        assert words in said


def test_a_need_is_printed_rounded_up_and_what_is_left_rounded_down(samples: ModuleType) -> None:
    rope = samples.rope("TV1", 4509, 4213, "head of A", "foot of A")
    with opened(rigging_sheet_pdf(samples.sheet("A", [rope], []))) as read:
        said = read.pages[0].extract_text().replace("\u00a0", " ")
    assert "45.0 m" in said
    assert "42.3 m" not in said
    assert "42.2 m" in said
    assert "2.8 m" in said  # 45.0 less 42.2: 2.96 m are left, and the three figures of the row subtract


@given(st.integers(500, 9999), st.integers(1, 9999))
def test_the_three_lengths_of_a_row_subtract_as_they_are_shown(length: int, need: int) -> None:
    """A rope that reaches: never more left over than there is."""
    from tethera.labels.facts import need_up, rope_words
    from tethera.labels.rope_table import left_shown_cm

    need = min(need, length)
    left = left_shown_cm({"length_cm": length, "need_cm": need, "left_cm": length - need})
    shown = [float(rope_words(cm, up=up).split("\u00a0")[0])
             for cm, up in ((length, False), (need, need_up(need, length)), (left or 0, False))]  # fmt: skip
    assert shown[0] - shown[1] == pytest.approx(shown[2])
    assert left is not None
    assert 0 <= left <= length - need


def test_an_anchor_nobody_described_is_no_bolt_in_the_drawing_of_the_whole_route_nor_in_its_key(
    samples: ModuleType,
) -> None:
    """Of “2 anchors” nobody knows what they are: a cross, as in the pitch's own drawing; a listed natural is a ring."""
    from tethera.labels.drawing import draw_overview
    from tethera.labels.key import signs_of
    from tethera.labels.page import Ring

    unknown = samples.pitch("Well", 9.0, count_anchors=2)
    assert not [p for p in draw_overview([unknown], 0, 0, 80, 80).primitives if isinstance(p, Ring)]
    assert signs_of([unknown]) == {"head or foot", "anchor not known"}
    natural = samples.pitch("Well", 9.0, anchors=[samples.anchor(1, "natural", "backup", 0, 0)])
    rings = [p for p in draw_overview([natural], 0, 0, 80, 80).primitives if isinstance(p, Ring)]
    assert [ring.fill for ring in rings] == [False]
    bolt = samples.pitch("Well", 9.0, anchors=[samples.anchor(1, "bolt", "backup", 0, 0)])
    assert [p.fill for p in draw_overview([bolt], 0, 0, 80, 80).primitives if isinstance(p, Ring)] == [True]


def test_a_letter_the_typeface_lacks_is_written_plainly_or_refused_by_name(samples: ModuleType) -> None:
    plain = samples.sheet("Ḫölle ① ↓12 m", [], [])
    with opened(rigging_sheet_pdf(plain)) as read:
        assert "Hölle 1" in read.pages[0].extract_text()
    with pytest.raises(ValueError, match=r"“洞” \(U\+6D1E"):
        rigging_sheet_pdf(samples.sheet("洞", [], []))


def test_the_packing_list_says_what_goes_in_first_and_when_it_is_used(samples: ModuleType) -> None:
    for page in packing_pages(samples.packing()):
        assert_nothing_overlaps(page)
    with opened(packing_list_pdf(samples.packing())) as read:
        said = " ".join(page.extract_text().replace("\u00a0", " ") for page in read.pages)
    for words in (
        "bottom, used 2nd", "top, used 1st", "17.3 of 22 litres, 6.9 kg", "Tie the stopper in the bottom end",
        "9 hangers, 9 maillons, 1 sling",
    ):  # fmt: skip
        assert words in said
    ticks = [item for page in packing_pages(samples.packing()) for item in page.primitives
             if isinstance(item, Box) and item.role == "tick box"]  # fmt: skip
    assert len(ticks) == 8


def said_on(pages: Any) -> list[str]:
    texts = ([t.words for t in page.primitives if isinstance(t, Text)] for page in pages)
    return [" ".join(" ".join(words).split()) for words in texts]


def test_a_way_that_is_not_rigged_is_named_and_not_drawn(samples: ModuleType) -> None:
    """Two ways of a choice begin at the same head, so that drawn together they lie on one another."""
    left = samples.pitch("Fernside", 18.0, rigged=False, count_anchors=4)
    right = samples.pitch("Right", 16.0, rigged=True, count_anchors=6)
    pages = sheet_pages(samples.sheet("Fork", [samples.rope("TV1", 3000, 2500, "a", "b")], [left, right]))
    said = said_on(pages)
    assert "Not rigged on this plan: Fernside" in said[1]
    assert not any("Fernside" in words for number, words in enumerate(said) if number != 1)
    drops = [i for page in pages for i in page.primitives if isinstance(i, Stroke) and i.role == "drop"]
    assert len(drops) == 2  # Right in the elevation and in its block


def test_mind_doubts_and_key_take_no_side_of_their_own_while_there_is_room(samples: ModuleType) -> None:
    """Four sides: ropes and what to mind, the elevation, the Well, and the Step with the key under it."""
    pitches = [samples.pitch("Well", 60.0, count_anchors=3), samples.pitch("Step", 5.0, count_anchors=2)]
    pages = said_on(sheet_pages(samples.sheet("Rift", [], pitches)))
    assert len(pages) == 4
    assert "Mind" in pages[0]
    assert "Step" in pages[3]
    assert "Key" in pages[3]


@pytest.mark.parametrize(("doubts", "sides"), [(0, 4), (3, 4), (12, 5), (20, 5), (60, 7)])
def test_the_key_stands_whole_on_one_side_with_or_before_the_doubts(
    samples: ModuleType, doubts: int, sides: int
) -> None:
    """Four sides with the Step; what to mind may take more, but the key stands under something wherever it fits."""
    findings = [{"where": f"Pitch {n}", "message": "No anchors are known.", "way_out": "Ask."} for n in range(doubts)]
    ropes = [samples.rope(f"TV{n}", 3000, 2500, "head", "foot") for n in range(7)]
    pitches = [samples.pitch("Well", 60.0, count_anchors=3), samples.pitch("Step", 5.0, count_anchors=2)]
    pages = sheet_pages(samples.sheet("Rift", ropes, pitches, findings=findings))
    said = said_on(pages)
    [side] = [words for words in said if "Key" in words.split()]
    assert "anchor not known" in side
    assert "a depth, never rope" in side
    assert sum(words.count("No anchors are known.") for words in said) == doubts
    assert len(said) == sides
    for page in pages:
        assert_nothing_overlaps(page)


def test_however_much_is_left_of_the_last_side_the_key_is_never_torn(samples: ModuleType) -> None:
    for lines in range(30):
        step = samples.pitch("Step", 5.0, count_anchors=2, notes=["Wet."] * lines)
        said = said_on(sheet_pages(samples.sheet("Rift", [], [samples.pitch("Well", 60.0, count_anchors=3), step])))
        [side] = [words for words in said if "Key" in words.split()]
        assert "a depth, never rope" in side
        assert len(said) <= 5


def test_the_key_explains_the_signs_of_the_sheet_and_no_others(samples: ModuleType) -> None:
    """Every sign of the short sheet is named by its mapping; it has no hand-line."""
    full = said_on(sheet_pages(samples.short_sheet()))[-1]
    for sign in ("bolt", "natural", "thread", "anchor not known", "backup", "Y-hang", "rebelay", "deviation",
                 "traverse", "change of rope", "rope rubs", "head or foot", "way between pitches"):  # fmt: skip
        assert sign in full
    assert "hand-line" not in full.split("Key")[1]
    plain = said_on(sheet_pages(samples.sheet("Rift", [], [samples.pitch("Well", 9.0, count_anchors=3)])))[-1]
    assert "rebelay" not in plain


@pytest.mark.parametrize("listed", [True, False])
def test_a_traverse_has_metres_along_and_no_depth(samples: ModuleType, listed: bool) -> None:
    anchors = [samples.anchor(1, "bolt", "backup", 0, 0), samples.anchor(2, "bolt", "traverse", 14, 0)]
    more = {"anchors": anchors} if listed else {"traverse_m": 14.0, "count_anchors": 7}
    pages = sheet_pages(samples.sheet("Rift", [], [samples.pitch("Gallery", 0.0, **more), samples.pitch("Well", 20.0)]))
    said = " ".join(said_on(pages[1:]))
    assert said.count("14 m along") >= 2
    assert not re.search(r"(?<![\d.])0 m", said)
    strokes = [item for page in pages for item in page.primitives if isinstance(item, Stroke)]
    assert sum(stroke.role == "depth" for stroke in strokes) == 1
    for page in pages:
        assert_nothing_overlaps(page)


def test_a_need_beside_a_pitch_is_written_as_in_the_list_of_ropes(samples: ModuleType) -> None:
    """A rope of 76.91 m reaches a need of 76.91 m: 76.9 m in both places, not 77 m, which it would not reach."""
    rope = samples.rope("TV1", 7691, 7691, "head of Well", "foot of Well")
    well = samples.pitch("Well", 60.0, ropes=["TV1"], rope_needed_cm=7691)
    pages = said_on(sheet_pages(samples.sheet("Deep", [rope], [well])))
    assert "takes 76.9 m" in pages[2]
    assert "77 m" not in pages[2]


words = st.text(alphabet="abc DEW'-é12", max_size=60)
maybe = st.none() | words
metres = st.floats(0, 160).map(lambda m: round(m, 2))
lengths = st.none() | st.integers(0, 25_000)
anchors = st.fixed_dictionaries(
    {
        "number": st.none() | st.integers(1, 99),
        "kind": st.sampled_from([None, "bolt", "natural", "thread"]),
        "role": st.sampled_from([None, "backup", "traverse", "y-hang", "rebelay", "deviation", "hand-line"]),
        "along_m": st.none() | st.floats(-3, 30),
        "down_m": st.none() | st.floats(-2, 160),
        "bolts": st.sampled_from([None, 1, 2]),
        "sling_m": st.none() | metres,
        "rub": st.booleans(),
        "rope": st.sampled_from([None, "TV41", "LONGSTORE-1041"]),
        "change": st.booleans(),
        "note": maybe,
    }
)
pitches = st.fixed_dictionaries(
    {
        "name": maybe,
        "depth_m": st.none() | metres,
        "traverse_m": st.none() | metres,
        "direction": st.sampled_from([None, "down", "up"]),
        "rigged": st.sampled_from([None, True, True, False]),
        "depth_known_by": maybe,
        "ropes": st.lists(st.sampled_from(["TV41", "LONGSTORE-1041", "X"]), max_size=3),
        "rope_needed_cm": lengths,
        "top_m": st.none() | metres,
        "x_m": st.none() | metres,
        "anchors": st.none() | st.lists(anchors, max_size=14),
        "count_anchors": st.none() | st.integers(0, 9),
        "guide_rope_cm": lengths,
        "flags": st.lists(words, max_size=3),
        "notes": st.lists(words, max_size=2),
        "hangers": st.none() | st.integers(0, 9),
        "lines": st.none() | st.just([{"rope": "TV9", "length_cm": 3000}]),
    }
)
ropes = st.fixed_dictionaries(
    {
        "rope": st.none() | st.sampled_from(["TV41", "LONGSTORE-1041", "A VERY LONG STORE NAME OF MANY WORDS 12"]),
        "length_cm": lengths,
        "diameter_mm": st.none() | st.floats(5, 14).map(lambda d: round(d, 1)),
        "type": st.sampled_from([None, "A", "dynamic"]),
        "bag": maybe,
        "begins": maybe,
        "ends": maybe,
        "need_cm": lengths,
        "left_cm": st.none() | st.integers(-9000, 9000),
        "joined_to": maybe,
        "warning": maybe,
    }
)
sheets = st.fixed_dictionaries(
    {
        "title": maybe,
        "subtitle": maybe,
        "store": maybe,
        "date": st.sampled_from([None, "2026-11-28", "2026-11", "next week"]),
        "party": st.none() | st.integers(1, 20),
        "confidence_percent": st.none() | st.integers(50, 99),
        "ropes": st.none() | st.lists(ropes, max_size=14),
        "pitches": st.none() | st.lists(pitches, max_size=8),
        "kit": st.none() | st.just({"hangers": 4, "maillons": None, "spare_note": None}),
        "totals": st.none() | st.just({"ropes": 1, "length_cm": None, "mass_g": 1234, "depth_m": None}),
        "findings": st.lists(st.fixed_dictionaries({"where": maybe, "message": maybe, "way_out": maybe}), max_size=3),
        "cautions": st.lists(words, max_size=3),
    }
)


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(sheet=sheets)
def test_whatever_is_not_known_a_sheet_is_drawn_and_no_label_lies_over_another(sheet: dict[str, Any]) -> None:
    for page in sheet_pages(sheet):
        assert_nothing_overlaps(page)


def test_an_empty_mapping_still_gives_a_sheet_and_a_list() -> None:
    assert rigging_sheet_pdf({}).startswith(b"%PDF")
    assert packing_list_pdf({}).startswith(b"%PDF")


def test_the_room_is_light_to_import() -> None:
    script = "import sys, tethera.labels; print('reportlab' in sys.modules)"
    assert (
        subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout == "False\n"
    )
