"""The printed record of ropes read back from its PDF: what it says, and that nothing covers anything."""

import io
import itertools
import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pdfplumber
import pytest
from PIL import Image

from tethera.basics import PartialDate
from tethera.labels import record_pdf
from tethera.labels.page import Box, Stroke, Text
from tethera.labels.record_pdf import record_pages

STORE = "Ulvergarth Caving Club"
PRINTED = date(2026, 11, 25)
A4_MM = (210.0, 297.0)  # ISO 216
MM = 25.4 / 72  # a PDF unit is 1/72 inch (ISO 32000-1, 8.3.2.3)


def jpeg(width: int, height: int, mode: str = "RGB") -> bytes:
    out = io.BytesIO()
    Image.new(mode, (width, height)).save(out, "JPEG")
    return out.getvalue()


def line(day: Any, words: str, **more: Any) -> dict[str, Any]:
    plain = {
        "recorded": datetime(2026, 3, 2, 20, 14, tzinfo=UTC),
        "by": "Maud Ellerbeck",
        "was": None,
        "reason": None,
        "struck": False,
    }
    return {"date": day, "words": words, **plain, **more}


def record(number: str = "UG3", **more: Any) -> dict[str, Any]:
    plain = {
        "rope": number,
        "state": "ready",
        "length_cm": 2943,
        "marked_m": 29,
        "facts": [("Product", "Low-stretch, two plaits"), ("Year made", "2019"), ("Mass per metre", None),
                  ("First used", PartialDate(2019, 5))],
        "last_examined": PartialDate(2026, 4, 2),
        "next_due": PartialDate(2027, 4, 2),
        "examinations": [
            {"date": date(2026, 4, 2), "reason": "periodic", "found": "One glazed spot at 12.4 m.",
             "details": "Cut back.", "person": "Tam Askrigg", "next_due": date(2027, 4, 2), "outcome": "fit"},
        ],
        "life": [
            line(PartialDate(2019, 3), "Bought."),
            line(date(2019, 4, 1), "Counted off: (29.43 m).", was="Counted off: (92.43 m).", reason="figures swapped",
                 was_date=date(2019, 4, 2), corrected=datetime(2026, 3, 3, 9, 5, tzinfo=UTC),
                 corrected_by="Tam Askrigg"),
            line(date(2020, 4, 1), "Retired: too old.", struck=True, reason="meant UG4"),
        ],
        "findings": [{"message": "Its mark says (30 m), more than it has.", "way_out": "Mark both ends again."}],
        "photos": [],
        "lacking": ["mass per metre"],
    }  # fmt: skip
    return {**plain, **more}


def said_on(pdf: bytes) -> list[str]:
    """The words of each page; a stop after a capsule stands a little off it, which is read as a space."""
    with pdfplumber.open(io.BytesIO(pdf)) as read:
        pages = [" ".join(page.extract_text().split()) for page in read.pages]
    return [re.sub(r" (?=[.,;])", "", words) for words in pages]


def many_events(count: int) -> list[dict[str, Any]]:
    words = "Came back wet and muddy; used on the second pitch, ↓22 m, for two days, left over (3.4 m) at the foot."
    return [line(date(2015, 1, 1) + timedelta(days=9 * i), f"{i + 1}: {words}") for i in range(count)]


LONG_NOTE = "The sheath was looked at all along and felt by hand. " * 120
CASES = {
    "one": [record()],
    "empty": [{"rope": "UG1"}],
    "no rope": [],
    "forty": [record(f"UG{i}", life=many_events(i % 9), state=state)
              for i, state in zip(range(1, 41), itertools.cycle(("out", "in preparation", "set aside", "retired")))],
    "150 events": [record(life=many_events(150))],
    "long words": [record(state="a state nobody has thought of",
                          life=[line(date(2020, 1, 1), LONG_NOTE), line(date(2020, 1, 2), "x" * 3000)],
                          examinations=[{"found": LONG_NOTE, "person": "A " * 60}],
                          facts=[("A label that is longer than its column", LONG_NOTE[:400]), ("Batch", "9" * 90)],
                          lacking=["this", "that"] * 40, findings=[{"message": LONG_NOTE}])],
}  # fmt: skip


def overlaps(one: tuple[float, ...], other: tuple[float, ...], slack: float = 0.05) -> bool:
    across = one[0] < other[2] - slack and other[0] < one[2] - slack
    return across and one[1] < other[3] - slack and other[1] < one[3] - slack


@pytest.mark.parametrize("case", CASES)
def test_no_word_lies_over_another_or_outside_the_margins(case: str) -> None:
    for page in record_pages(CASES[case], STORE, PRINTED)[0]:
        texts = [item for item in page.primitives if isinstance(item, Text) and item.words.strip()]
        for one, other in itertools.combinations(texts, 2):
            assert not overlaps(one.box, other.box), (one, other)
        outlines = [(b.x, b.y, b.x + b.width, b.y + b.height) for b in page.primitives
                    if isinstance(b, Box) and b.role == "capsule"]  # fmt: skip
        for a_box, b_box in itertools.combinations(outlines, 2):
            assert not overlaps(a_box, b_box), (a_box, b_box)
        for text in texts:
            left, top, right, bottom = text.box
            assert left >= 20, text
            assert top >= 8, text
            assert right <= A4_MM[0] - 12, text
            assert bottom <= A4_MM[1] - 6, text


@pytest.mark.parametrize("case", CASES)
def test_it_is_a4_numbered_cautioned_and_the_same_bytes_each_time(case: str) -> None:
    pdf = record_pdf(CASES[case], STORE, PRINTED)
    assert pdf == record_pdf(CASES[case], STORE, PRINTED)
    with pdfplumber.open(io.BytesIO(pdf)) as read:
        sizes = {(float(page.width) * MM, float(page.height) * MM) for page in read.pages}
        assert all(size == pytest.approx(A4_MM, abs=0.01) for size in sizes)
    pages = said_on(pdf)
    for number, words in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in words
        assert "A competent person decides whether a rope may be used" in words
        assert "This record says nothing on whether it is safe" in words
        assert STORE in words


def test_one_rope_says_what_it_is_what_is_not_recorded_and_what_is_doubted() -> None:
    [words] = said_on(record_pdf([record()], STORE, PRINTED))
    for part in (
        "rope UG3", "UG3 29.43 m ready", "Both ends say 29 m.", f"Equipment record of {STORE}, printed 25 Nov 2026.",
        "Not recorded: mass per metre.", "Its mark says 30 m, more than it has. Mark both ends again.",
        "Mass per metre not recorded", "First used May 2019", "Year made 2019",
    ):  # fmt: skip
        assert part in words, part
    # The word of whoever examined it, the same on every page; the record itself never says that a rope is safe.
    assert "fit to go back" in words
    assert "safe" not in words.split()


def test_an_examination_is_signed_by_name_or_says_that_nobody_signed() -> None:
    [words] = said_on(record_pdf([record()], STORE, PRINTED))
    assert "2 Apr 2026 periodic One glazed spot at 12.4 m." in words
    assert "signed (electronically recorded) by Tam Askrigg on 2 Apr 2026" in words
    assert "2 Apr 2027" in words
    assert "fit to go back" in words
    [words] = said_on(record_pdf([record(examinations=[{"date": "2026-04", "found": "Stiff."}])], STORE, PRINTED))
    assert "Not signed: no name of a competent person is recorded." in words
    assert "signed (electronically" not in words
    [words] = said_on(record_pdf([record(examinations=[])], STORE, PRINTED))
    assert "No examination is recorded." in words


def test_a_correction_shows_what_was_written_struck_through_and_what_stands_with_the_reason() -> None:
    pages, _ = record_pages([record()], STORE, PRINTED)
    texts = [item for item in pages[0].primitives if isinstance(item, Text)]
    strikes = [item for item in pages[0].primitives if isinstance(item, Stroke) and item.role == "struck"]

    def is_struck(words: str) -> bool:
        text = next(text for text in texts if text.words.strip() == words)
        return any(
            s.points[0][0] <= text.x + 0.1 and s.points[1][0] >= text.x + text.width - 1
            and text.box[1] < s.points[0][1] < text.y for s in strikes
        )  # fmt: skip

    assert is_struck("92.43\u00a0m")
    assert is_struck("2 Apr 2019")
    assert not is_struck("29.43\u00a0m")
    assert not is_struck("1 Apr 2019")
    assert is_struck("Retired: too old.")
    assert is_struck("1 Apr 2020")
    said = " ".join(text.words for text in texts).replace("  ", " ")
    assert "Corrected 3 Mar 2026 09:05 by Tam Askrigg: figures swapped" in said
    assert "Struck out: meant UG4" in said


def test_every_length_stands_in_a_capsule() -> None:
    pages, _ = record_pages(CASES["forty"], STORE, PRINTED)
    for page in pages:
        boxes = [item for item in page.primitives if isinstance(item, Box) and item.role == "capsule"]
        lengths = [
            text for text in page.primitives if isinstance(text, Text) and text.bold and text.words.endswith("\u00a0m")
        ]
        assert len(boxes) == len(lengths) > 0
        assert all(any(b.x < t.x and t.x + t.width < b.x + b.width and b.y < t.y < b.y + b.height for b in boxes)
                   for t in lengths)  # fmt: skip


def test_a_store_begins_with_the_list_of_its_ropes_and_the_page_of_each() -> None:
    pdf = record_pdf(CASES["forty"], STORE, PRINTED)
    pages = said_on(pdf)
    listed = " ".join(words for words in pages if "Last examined" in words)
    assert "40 ropes, printed 25 Nov 2026" in pages[0]
    for number in range(1, 41):
        row = re.search(rf"UG{number} 29\.43 m [a-z ]+ 2 Apr 2026 2 Apr 2027 1 (\d+)", listed)
        assert row, number
        first = pages[int(row[1]) - 1]
        assert f"rope UG{number} UG{number} 29.43 m" in first
    begun = [n for n, words in enumerate(pages) for rope in [re.search(r"rope (UG\d+) \1 ", words)] if rope]
    assert len(begun) == 40
    with pdfplumber.open(io.BytesIO(pdf)) as read:
        assert [title for _, title, *_ in read.doc.get_outlines()] == [f"Rope UG{n}" for n in range(1, 41)]


def test_a_long_life_runs_over_pages_under_a_repeated_head_and_loses_nothing() -> None:
    pages = said_on(record_pdf(CASES["150 events"], STORE, PRINTED))
    assert len(pages) > 4
    for words in pages:
        assert "When What happened Recorded By" in words
        assert "rope UG3" in words
    told = " ".join(pages)
    assert [int(n) for n in re.findall(r"(\d+): Came back", told)] == list(range(1, 151))


def test_a_note_longer_than_a_page_is_printed_whole() -> None:
    note = " ".join(f"word{i}" for i in range(2500))
    pages = said_on(record_pdf([record(life=[line(date(2020, 1, 1), note)])], STORE, PRINTED))
    assert len(pages) > 2
    assert [int(n) for n in re.findall(r"\bword(\d+)\b", " ".join(pages))] == list(range(2500))


def test_letters_the_typeface_lacks_are_seen_to_be_missing_and_explained() -> None:
    life = [line(date(2020, 1, 1), "Washed.", by="山田 Aoi"), line(date(2020, 1, 2), "Żółw 🧵 Ångström ①")]
    [words] = said_on(record_pdf([record(life=life)], "山 Club", PRINTED))
    assert "[??] Aoi" in words
    assert "[?] Club" in words
    assert "Żółw [?] Ångström 1" in words
    assert "Each ? in square brackets stands for a letter" in words
    assert "square brackets" not in said_on(record_pdf([record()], STORE, PRINTED))[0]


def test_photographs_keep_their_shape_and_a_damaged_one_is_said_to_be_damaged() -> None:
    photos = [
        {"title": "Glazed spot", "date": date(2026, 4, 2), "jpeg": jpeg(1600, 1200)},
        {"title": "Both ends", "date": None, "jpeg": jpeg(300, 900)},
        {"title": "Old print", "date": None, "jpeg": jpeg(40, 40, "CMYK")},
        {"title": "Broken", "date": None, "jpeg": jpeg(800, 800)[:300]},
        {"title": "Lost", "date": None, "jpeg": None},
    ]
    with pdfplumber.open(io.BytesIO(record_pdf([record(photos=photos)], STORE, PRINTED))) as read:
        shapes = [
            (image["x1"] - image["x0"]) / (image["bottom"] - image["top"])
            for page in read.pages
            for image in page.images
        ]
        places = [
            (i["x0"], i["top"], i["x1"], i["bottom"], page.page_number) for page in read.pages for i in page.images
        ]
        said = " ".join(" ".join(page.extract_text().split()) for page in read.pages)
    assert shapes == pytest.approx([4 / 3, 1 / 3, 1.0], abs=0.01)
    assert said.count("This photograph cannot be read.") == 2
    assert "Glazed spot, 2 Apr 2026" in said
    for one, other in itertools.combinations(places, 2):
        assert one[4] != other[4] or not overlaps(one[:4], other[:4])
    assert all(left > 20 / MM and right < (A4_MM[0] - 13) / MM for left, _, right, _, _ in places)
