"""Every code is read by a decoder that is not ours, from paper and from round a rope; and the check can fail."""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from labels.strips_read import PRINTED_DPI, RULES, cameras, on_tape, over_tape, printed, read, rope, taken
from labels.wrapped import Camera, Grey, photograph
from tethera.labels import PAPERS, end_marks, strips_pdf
from tethera.labels.codes import qr_runs
from tethera.labels.strip_pdf import lay

PER_MM = PRINTED_DPI / 25.4
#: One of each length that a code holds.
NUMBERS = ("7", "U1", "UG4", "UG41", "UG102", "UG1024", "TETHE12", "TETHE123", "TETHE1234", "TETHE12345")
#: Pictures read of 18 at blur 0.6 and 1.0 px, as measured when this was written; the floor lies well below.
MEASURED = {8.0: (10, 8), 9.0: (11, 9), 10.5: (15, 14), 11.0: (16, 14)}
FLOOR = 0.6
#: Of 12 on a rope of 10.5 mm; squarely from far away 9 are read, and at a lean of 20 degrees none.
WORSE = [({"from_mm": 200.0}, 6), ({"pitch_deg": 10.0}, 7), ({"gloss": 0.5}, 8)]
#: By width of the tape, of 18 on a rope of 9 mm: the first piece with QR codes alone.
ON_TAPE = [(12, 7), (18, 9), (24, 6)]


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


def rate(pictures: Sequence[dict[str, set[str]]], kind: str, number: str = "UG41") -> int:
    return sum(each[kind] == {number} for each in pictures)


@pytest.mark.parametrize("diameter_mm", MEASURED)
def test_codes_are_read_from_round_a_rope_from_every_side(diameter_mm: float) -> None:
    """Single pictures at 300 dpi, turned all the way round, tilted up to 15 degrees; seeds are fixed."""
    for blur, measured in zip((0.6, 1.0), MEASURED[diameter_mm], strict=True):
        pictures = taken("UG41", diameter_mm, 18, blur, seed=7)
        assert all((each["qr"] | each["code128"]) <= {"UG41"} for each in pictures), "another rope's number was read"
        assert rate(pictures, "code128") == 18
        assert rate(pictures, "qr") >= FLOOR * measured


def test_the_longest_number_is_read_from_round_a_rope_too() -> None:
    """Measured 14 of 18, and the Code 128 in all."""
    pictures = taken("TETHE12345", 9.0, 18, 0.6, seed=7)
    assert all((each["qr"] | each["code128"]) <= {"TETHE12345"} for each in pictures)
    assert rate(pictures, "code128", "TETHE12345") == 18
    assert rate(pictures, "qr", "TETHE12345") >= FLOOR * 14


@pytest.mark.parametrize(("worse", "measured"), WORSE, ids=["near", "aslant", "gloss"])
def test_codes_are_read_from_near_aslant_and_under_a_gloss(worse: dict[str, float], measured: int) -> None:
    strip, over = printed("UG41", 10.5), over_tape("UG41", 10.5)
    pictures = [
        read(photograph(strip, PER_MM, over, replace(camera, **worse), 7 + place))
        for place, camera in enumerate(cameras(12, 0.6, 7))
    ]
    assert all((each["qr"] | each["code128"]) <= {"UG41"} for each in pictures)
    assert rate(pictures, "code128") == 12
    assert rate(pictures, "qr") >= FLOOR * measured


@pytest.mark.parametrize(("tape_mm", "measured"), ON_TAPE)
def test_codes_on_tape_are_read_from_round_a_rope(tape_mm: int, measured: int) -> None:
    """Each piece alone: that with QR codes is wound; that with the Code 128 is laid along, and seen from its side."""
    over = over_tape("UG41", 9.0)
    wound = on_tape("UG41", 9.0, tape_mm, "qr")
    pictures = [read(photograph(wound, PER_MM, over, camera, 7)) for camera in cameras(18, 0.6, 7)]
    assert rate(pictures, "qr") >= FLOOR * measured
    along = on_tape("UG41", 9.0, tape_mm, "code128-along")
    middle = math.degrees(tape_mm / over)
    faced = [read(photograph(along, PER_MM, over, Camera(middle + off, off / 3), 7)) for off in range(-30, 31, 10)]
    assert rate(faced, "code128") == len(faced)


def one_code(module_mm: float, diameter_mm: float) -> Grey:
    """A strip with one QR code, its middle half-way round."""
    side = round(module_mm * PER_MM)
    strip = np.ones((round(diameter_mm * np.pi * PER_MM), 45 * side))
    first = len(strip) // 2 - 21 * side // 2
    for column, row, count in qr_runs("UG41"):
        left, top = (12 + column) * side, first + row * side
        strip[top : top + side, left : left + count * side] = 0.0
    return strip


@pytest.mark.parametrize(("module_mm", "at_least", "at_most"), [(0.254, 10, 12), (0.6, 0, 1)])
def test_a_code_too_large_for_the_rope_runs_round_the_horizon_and_is_not_read(
    module_mm: float, at_least: int, at_most: int
) -> None:
    """The check can fail: a code faces the camera, and modules of 0.6 mm are too large for a rope of 9 mm.

    Measured 12 of 12 for the size that is printed, and none for the large one.
    """
    strip = one_code(module_mm, 9.0)
    rolls = np.linspace(170, 190, 12)
    pictures = [read(photograph(strip, PER_MM, 9.0, Camera(float(roll)), 1)) for roll in rolls]
    assert at_least <= rate(pictures, "qr") <= at_most


def test_where_the_codes_are_blank_nothing_is_read() -> None:
    """The check can fail: first the QR codes are taken away, then the Code 128 as well."""
    strip, over = printed("UG41", 10.5), over_tape("UG41", 10.5)
    items = lay([end_marks(rope("UG41", 10.5), RULES, date(2026, 11, 25))], "a4", {}).placed[0].strip.items
    codes = [round(min(each.x for each in items if each.what == what) * PER_MM) - 5 for what in ("qr", "code128")]
    without_qr, without = strip.copy(), strip.copy()
    without_qr[:, codes[0] : codes[1]] = 1.0
    without[:, codes[0] :] = 1.0
    for one, qr, bars in ((strip, 2, 4), (without_qr, 0, 4), (without, 0, 0)):
        pictures = [read(photograph(one, PER_MM, over, camera, 1)) for camera in cameras(4, 0.6, 7)]
        assert (rate(pictures, "qr") >= qr) if qr else not any(each["qr"] for each in pictures)
        assert rate(pictures, "code128") == bars


SHARP = Camera(blur_px=0.01, noise=0.0, px_per_mm=40.0)
FROM = [SHARP, replace(SHARP, roll_deg=35.0), replace(SHARP, pitch_deg=20.0), replace(SHARP, from_mm=100.0)]


def darker(strip: Grey, diameter_mm: float, camera: Camera) -> Grey:
    """How much darker each point of the picture is than of a blank strip."""
    blank, seen = (photograph(each, 40.0, diameter_mm, camera, 1) for each in (np.ones_like(strip), strip))
    return np.asarray(blank).astype(float) - np.asarray(seen).astype(float)


def middle_mm(dark: Grey) -> float:
    """The middle of what is dark in a row of points [mm from the row's middle]."""
    at = (np.arange(len(dark)) + 0.5 - len(dark) / 2) / 40.0
    return float((dark * at).sum() / dark.sum())


@pytest.mark.parametrize("camera", FROM, ids=["squarely", "turned", "aslant", "near"])
@pytest.mark.parametrize("degrees", [-60, -30, 0, 30, 60])
def test_a_line_along_the_rope_is_seen_where_geometry_puts_it(camera: Camera, degrees: int) -> None:
    """At r sin t from the middle; from near larger, by how much nearer than the rope's middle it is."""
    strip = np.ones((round(np.pi * 10.0 * 40.0), 400))
    at = round(np.radians(degrees + camera.roll_deg) * 5.0 * 40.0) % len(strip)
    strip[[at - 1, at]] = 0.0
    dark = darker(strip, 10.0, camera)
    expected = 5.0 * math.sin(math.radians(degrees)) / (1 - 5.0 * math.cos(math.radians(degrees)) / camera.from_mm)
    # Half a line of the strip is 0.013 mm.
    assert middle_mm(dark[:, dark.shape[1] // 2]) == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize("camera", FROM, ids=["squarely", "turned", "aslant", "near"])
def test_what_faces_the_camera_is_seen_in_its_true_length(camera: Camera) -> None:
    """Two lines round the rope, 10 mm apart: shorter by the cosine of the lean, longer from near."""
    strip = np.ones((round(np.pi * 10.0 * 40.0), 800))
    strip[:, 199:201] = strip[:, 599:601] = 0.0
    dark = darker(strip, 10.0, camera)
    row = dark[dark.shape[0] // 2]
    half = len(row) // 2
    apart = middle_mm(row[half:]) - middle_mm(row[:half]) + half / 40.0
    expected = 10.0 * math.cos(math.radians(camera.pitch_deg)) / (1 - 5.0 / camera.from_mm)
    assert apart == pytest.approx(expected, abs=0.02)


def test_a_tilted_rope_is_seen_tilted() -> None:
    """A line round the rope's middle, seen at right angles to the rope: 10 mm long, turned by the tilt."""
    strip = np.ones((round(np.pi * 10.0 * 40.0), 400))
    strip[:, 198:202] = 0.0
    dark = darker(strip, 10.0, replace(SHARP, tilt_deg=15.0)) > 40
    rows, columns = dark.nonzero()
    top, foot = rows.argmin(), rows.argmax()
    turned = math.degrees(math.atan2(columns[top] - columns[foot], rows[foot] - rows[top]))
    assert turned == pytest.approx(15.0, abs=1.5)
