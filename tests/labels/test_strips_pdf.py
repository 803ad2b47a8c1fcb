"""The strips as printed: read back from the PDF in millimetres, by another library."""

import io
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import pdfplumber
import pypdfium2
import pytest

from tethera.basics import PartialDate
from tethera.labels import PAPERS, EndMark, end_marks, strip_size_mm, strip_svg, strips_pdf
from tethera.labels.strip_pdf import lay
from tethera.store import RopeState, StoreDescribed

ON = date(2026, 11, 25)
RULES = StoreDescribed(happened=PartialDate(2026), code="UG", owner="Ulvergarth Caving Club", ends_lettered=True)
MM = 25.4 / 72
#: What may differ between what was asked for and what is read back [mm].
TOLERANCE = 0.05


def rope(number: str, length_cm: int, diameter_mm: float | None) -> RopeState:
    return RopeState(number, length_cm, "measured", diameter_mm=diameter_mm, rope_type="A", since=PartialDate(2026, 9))


ROPES = [rope("UG41", 3040, 9.0), rope("UG7", 10_060, 10.5), rope("UG102", 1870, 8.0)]
MARKS = [end_marks(each, RULES, ON) for each in ROPES]


def opened(pdf: bytes) -> Sequence[Any]:
    return pdfplumber.open(io.BytesIO(pdf)).pages


@pytest.mark.parametrize("paper", PAPERS)
def test_the_same_marks_give_the_same_bytes(paper: str) -> None:
    assert strips_pdf(MARKS, paper) == strips_pdf(MARKS, paper)


@pytest.mark.parametrize("paper", PAPERS)
def test_the_check_line_is_100_mm_and_the_printer_is_told_not_to_scale(paper: str) -> None:
    pdf = strips_pdf(MARKS, paper)
    long = [max(line["width"], line["height"]) * MM for line in opened(pdf)[0].lines]
    assert any(abs(each - 100.0) < TOLERANCE for each in long)
    assert b"/PrintScaling /None" in pdf


@pytest.mark.parametrize(("paper", "sides"), [("a4", (297.0, 210.0)), ("letter", (279.4, 215.9))])
def test_sheets_have_their_size_and_every_strip_lies_on_one(paper: str, sides: tuple[float, float]) -> None:
    many = [end_marks(rope(f"UG{n}", 3000 + n, 9.0), RULES, ON) for n in range(1, 24)]
    pages = opened(strips_pdf(many, paper))
    assert len(pages) > 1
    assert all((page.width * MM, page.height * MM) == pytest.approx(sides, abs=TOLERANCE) for page in pages)
    placed = lay(many, paper, {}).placed
    assert [each.strip.mark.rope for each in placed] == [f"UG{n}" for n in range(1, 24) for _ in range(2)]
    for one in placed:
        assert one.left >= 5
        assert one.left + one.strip.length_mm <= sides[0] - 5
        assert one.top >= 5
        assert one.top + one.strip.around_mm + one.strip.tab_mm <= sides[1] - 5
    for at, one in enumerate(placed):
        for other in placed[at + 1 :]:
            beside = one.left + one.strip.length_mm <= other.left or other.left + other.strip.length_mm <= one.left
            below = one.top + one.strip.around_mm + one.strip.tab_mm <= other.top
            assert one.page != other.page or beside or below


def test_the_outline_to_cut_is_once_round_the_rope_and_the_edge_that_goes_underneath() -> None:
    page = opened(strips_pdf(MARKS, "a4"))[0]
    outlines = [
        curve for curve in [*page.curves, *page.rects] if curve["width"] * MM > 60 and curve["height"] * MM > 20
    ]
    for one in lay(MARKS, "a4", {}).placed:
        high = one.strip.diameter_mm * 3.14159265 + 3.0
        found = [
            each
            for each in outlines
            if abs(each["x0"] * MM - one.left) < TOLERANCE
            and abs(each["top"] * MM - one.top) < TOLERANCE
            and abs(each["width"] * MM - one.strip.length_mm) < TOLERANCE
            and abs(each["height"] * MM - high) < TOLERANCE
        ]
        assert found, one.strip.mark.rope


@pytest.mark.parametrize("paper", PAPERS)
def test_a_module_of_every_code_is_0_254_mm_on_the_paper(paper: str) -> None:
    """Black pixels of a raster at 1200 dpi, 12 to a module: the finder pattern of a QR code is seven modules wide."""
    laid = lay(MARKS[:1], paper, {})
    document = pypdfium2.PdfDocument(strips_pdf(MARKS[:1], paper))
    one, item = next((p, i) for p in laid.placed for i in p.strip.items if i.what == "qr")
    raster = document[one.page].render(scale=1200 / 72, grayscale=True).to_numpy()
    per_mm = 1200 / 25.4
    left, top = (one.left + item.x) * per_mm, (one.top + item.tops[0]) * per_mm
    row = raster[round(top + 6), round(left) - 40 : round(left) + 12 * 21 + 40] < 128
    first, last = row.argmax(), len(row) - 1 - row[::-1].argmax()
    assert (first - 40) / per_mm == pytest.approx(0.0, abs=TOLERANCE)
    assert (last - first + 1) / per_mm == pytest.approx(21 * 0.254, abs=TOLERANCE)
    assert row[first : first + 84].all()
    assert not row[first + 86 : first + 94].any()


@pytest.mark.parametrize("width", [12, 18, 24])
def test_tape_is_as_wide_as_it_is_and_as_long_as_needed(width: int) -> None:
    pages = opened(strips_pdf(MARKS, f"tape-{width}"))
    assert len(pages) == 1 + 2 * len(MARKS)
    laid = lay(MARKS, f"tape-{width}", {})
    for number, page in enumerate(pages[1:], 1):
        pieces = [each.strip for each in laid.placed if each.page == number]
        high = sum(each.around_mm + each.tab_mm for each in pieces)
        assert (page.width * MM, page.height * MM) == pytest.approx((width, high), abs=TOLERANCE)
        cuts = [line["top"] * MM for line in page.lines if abs(line["width"] * MM - width) < TOLERANCE]
        assert len(cuts) >= len(pieces) - 1


def test_what_is_printed_can_be_searched_and_has_its_words() -> None:
    text = opened(strips_pdf(MARKS, "a4"))[0].extract_text()
    for said in ("30", "UG41", "9 mm type A", "in service Sep 2026", "Ulvergarth Caving Club", "end A", "end B"):
        assert text.count(said) >= 6, said
    assert "Lay a ruler on it before you cut" in text


def test_a_zero_is_slashed_so_that_it_is_no_letter_o() -> None:
    """The middle of the figure 0, as printed, is black; that of the letter O is white."""

    def middle(letter: str) -> int:
        from tethera.labels.page import Page, Text
        from tethera.labels.pdf import pages_to_pdf

        page = Page(40.0, 40.0, [Text(10.0, 30.0, letter, 60.0, bold=True)])
        picture = pypdfium2.PdfDocument(pages_to_pdf([page], title="0", subject="0"))[0]
        raster = picture.render(scale=4, grayscale=True).to_numpy() < 128
        rows, columns = raster.any(axis=1).nonzero()[0], raster.any(axis=0).nonzero()[0]
        return int(raster[(rows[0] + rows[-1]) // 2, (columns[0] + columns[-1]) // 2])

    assert (middle("0"), middle("O")) == (1, 0)


def test_a_rope_of_unknown_diameter_is_named_and_a_measured_one_is_taken() -> None:
    unknown = end_marks(rope("UG9", 3000, None), RULES, ON)
    with pytest.raises(ValueError, match="diameter of UG9"):
        strips_pdf([unknown], "a4")
    placed = lay([unknown], "a4", {"UG9": 11.2}).placed
    assert placed[0].strip.diameter_mm == 11.2
    with pytest.raises(ValueError, match="at least one rope"):
        strips_pdf([], "a4")
    with pytest.raises(ValueError, match="paper is one of"):
        strips_pdf([unknown], "a5")


def test_the_size_told_is_the_size_printed() -> None:
    for paper in PAPERS:
        along, round_ = strip_size_mm(MARKS[0], paper, 9.3)
        assert round_ == pytest.approx(9.3 * 3.14159265 + 3.0, abs=1e-6)
        strips = [each.strip for each in lay(MARKS[:1], paper, {}).placed if each.strip.mark.end == "A"]
        pieces = sum(each.around_mm if each.laid_along else each.length_mm for each in strips)
        assert along == pytest.approx(pieces, abs=1.0)


def test_the_picture_on_the_screen_is_the_same_strip_with_its_words_said() -> None:
    mark: EndMark = MARKS[0][0]
    svg = strip_svg(mark, 9.3)
    assert 'aria-label="(30 m) UG41 · 9 mm type A · in service Sep 2026 · Ulvergarth Caving Club, end A"' in svg
    assert svg.count(">UG41<") == 6
    assert "style=" not in svg


def test_a_sheet_says_why_a_strip_says_less_than_was_counted() -> None:
    doubted = replace(ROPES[0], doubted_cm=3500, length_doubt="It has become longer: measured 35 m, 30.4 m before.")
    marks = [end_marks(doubted, RULES, ON), MARKS[1]]
    said = " ".join(opened(strips_pdf(marks, "a4"))[0].extract_text().replace("\u00a0", " ").split())
    assert "UG41: It has become longer: measured 35 m, 30.4 m before. Until it is counted again, 30.4 m counts." in said
    both = [end_marks(replace(each, length_doubt="The counts do not agree."), RULES, ON) for each in ROPES[:2]]
    said = " ".join(opened(strips_pdf(both, "a4"))[0].extract_text().replace("\u00a0", " ").split())
    assert "In doubt, until counted again: UG41, UG7." in said
    assert "In doubt" not in opened(strips_pdf(MARKS, "a4"))[0].extract_text()
