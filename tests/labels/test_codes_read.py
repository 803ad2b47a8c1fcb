"""Every code is read by a decoder that is not ours, from paper and from round a rope; and the check can fail."""

from collections.abc import Sequence
from datetime import date

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from labels.strips_read import PRINTED_DPI, RULES, over_tape, printed, read, rope, taken
from labels.wrapped import Camera, photograph
from tethera.labels import PAPERS, end_marks, strips_pdf
from tethera.labels.strip_pdf import lay

PER_MM = PRINTED_DPI / 25.4
NUMBERS = ("U1", "UG41", "UG102", "TETHE12345", "7")
#: Pictures read of 18 at blur 0.6 and 1.0 px, as measured when this was written; the floor lies well below.
MEASURED = {8.0: (10, 8), 9.0: (11, 9), 10.5: (15, 14), 11.0: (16, 14)}
FLOOR = 0.6


@pytest.mark.parametrize("paper", PAPERS)
def test_every_code_on_every_paper_is_read_flat_at_300_dpi_and_says_its_own_rope(paper: str) -> None:
    ends = [end_marks(rope(number, 10.0), RULES, date(2026, 11, 25)) for number in NUMBERS]
    laid = lay(ends, paper, {})
    document = pypdfium2.PdfDocument(strips_pdf(ends, paper))
    per_mm = 300 / 25.4
    sheets = [document[n].render(scale=300 / 72, grayscale=True).to_numpy() for n in range(len(document))]
    read_of: dict[str, set[str]] = {number: set() for number in NUMBERS}
    for one in laid.placed:
        for item in one.strip.items:
            if not item.what.startswith(("qr", "code128")):
                continue
            for top in item.tops[:1] if item.what == "code128" else item.tops:
                x, y = (one.left + item.x) * per_mm, (one.top + top) * per_mm
                pad = 12 if item.what == "qr" else 30
                box = sheets[one.page][
                    max(round(y) - 12, 0) : round(y + item.height * per_mm) + 12,
                    max(round(x) - pad, 0) : round(x + item.width * per_mm) + pad,
                ]
                found = read(Image.fromarray(np.pad(box, 20, constant_values=255)))
                kind = "qr" if item.what == "qr" else "code128"
                assert found[kind] == {one.strip.mark.rope}, (one.strip.mark.rope, item.what, top)
                read_of[one.strip.mark.rope].add(kind)
    assert all(kinds == {"qr", "code128"} for kinds in read_of.values())


def rate(pictures: Sequence[dict[str, set[str]]], kind: str) -> int:
    return sum(each[kind] == {"UG41"} for each in pictures)


@pytest.mark.parametrize("diameter_mm", MEASURED)
def test_codes_are_read_from_round_a_rope_from_every_side(diameter_mm: float) -> None:
    """Single pictures at 300 dpi, turned all the way round, tilted up to 15 degrees; seeds are fixed."""
    for blur, measured in zip((0.6, 1.0), MEASURED[diameter_mm], strict=True):
        pictures = taken("UG41", diameter_mm, 18, blur, seed=7)
        assert all((each["qr"] | each["code128"]) <= {"UG41"} for each in pictures), "another rope's number was read"
        assert rate(pictures, "code128") == 18
        assert rate(pictures, "qr") >= FLOOR * measured


def test_a_code_too_large_for_the_rope_runs_round_the_horizon_and_is_not_read() -> None:
    """The check can fail: modules of 0.6 mm on a rope of 9 mm."""
    from tethera.labels.codes import qr_runs

    side = round(0.6 * PER_MM)
    strip = np.ones((round(9.0 * np.pi * PER_MM), 45 * side))
    for column, row, count in qr_runs("UG41"):
        left, top = (12 + column) * side, (4 + row) * side
        strip[top : top + side, left : left + count * side] = 0.0
    rolls = np.linspace(0, 360, 24, endpoint=False)
    pictures = [read(photograph(strip, PER_MM, 9.0, Camera(float(roll)), 1)) for roll in rolls]
    assert rate(pictures, "qr") <= 2


def test_where_the_codes_are_blank_nothing_is_read() -> None:
    strip = printed("UG41", 9.0).copy()
    strip[:, round(62 * PER_MM) :] = 1.0
    picture = photograph(strip, PER_MM, over_tape("UG41", 9.0), Camera(), 1)
    assert read(picture) == {"qr": set(), "code128": set()}


def test_the_picture_of_a_round_thing_is_where_geometry_puts_it() -> None:
    """A line at the angle t round the rope is seen at r sin t from its middle; on the middle line scale is 1:1."""
    diameter, per_mm = 10.0, 20.0
    rows = round(np.pi * diameter * per_mm)
    for degrees in (-60, -30, 0, 30, 60):
        strip = np.ones((rows, 400))
        at = round(np.radians(degrees) * diameter / 2 * per_mm) % rows
        strip[at : at + 2] = 0.0
        camera = Camera(blur_px=0.01, noise=0.0, px_per_mm=20.0)
        picture = np.asarray(photograph(strip, per_mm, diameter, camera, 1)).astype(float)
        column = picture[:, picture.shape[1] // 2]
        lit = np.gradient(column)
        inside = slice(round(2.3 * 20), round(11.7 * 20))
        dark = inside.start + int(np.argmin(column[inside]))
        seen_mm = (dark + 0.5) / 20.0 - 7.0
        assert abs(seen_mm - 5.0 * np.sin(np.radians(degrees))) < 0.15, (degrees, seen_mm, lit.min())
    strip = np.ones((rows, 400))
    strip[:, 100:102] = strip[:, 300:302] = 0.0
    flat = np.asarray(photograph(strip, per_mm, diameter, Camera(blur_px=0.01, noise=0.0, px_per_mm=20.0), 1))
    middle = flat[flat.shape[0] // 2, 45:-45]
    first, second = np.flatnonzero(middle < 100)[[0, -1]]
    assert second - first == pytest.approx(201, abs=2)
