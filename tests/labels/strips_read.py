"""Strips printed, wound round ropes, photographed and read: shared by the test and the benchmark of codes."""

from collections.abc import Iterator
from datetime import date
from functools import cache

import numpy as np
import pypdfium2
import zxingcpp
from PIL import Image

from labels.wrapped import Camera, Grey, photograph
from tethera.basics import PartialDate
from tethera.labels import end_marks, strips_pdf
from tethera.labels.strip import What
from tethera.labels.strip_pdf import lay
from tethera.store import RopeState, StoreDescribed

#: Printed at 600 dpi.
PRINTED_DPI = 600
RULES = StoreDescribed(happened=PartialDate(2026), code="UG", owner="Ulvergarth Caving Club")
_FORMATS = (zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.Code128)


def rope(number: str, diameter_mm: float) -> RopeState:
    """A rope of 30 m that may be marked."""
    return RopeState(number, 3040, "measured", diameter_mm=diameter_mm, rope_type="A", since=PartialDate(2026, 9))


@cache
def printed(number: str, diameter_mm: float) -> Grey:
    """Once round of the strip of a rope as it is printed, cut out along its line: 0 black, 1 white."""
    ends = [end_marks(rope(number, diameter_mm), RULES, date(2026, 11, 25))]
    page = pypdfium2.PdfDocument(strips_pdf(ends, "a4"))[0]
    raster = page.render(scale=PRINTED_DPI / 72, grayscale=True).to_numpy().astype(float) / 255
    one = lay(ends, "a4", {}).placed[0]
    per_mm = PRINTED_DPI / 25.4
    top, left = round(one.top * per_mm), round(one.left * per_mm)
    high, long = round(one.strip.around_mm * per_mm), round(one.strip.length_mm * per_mm)
    # The line to cut along is cut away.
    return np.ascontiguousarray(np.asarray(raster[top + 2 : top + high, left + 2 : left + long - 2]))


@cache
def on_tape(number: str, diameter_mm: float, tape_mm: int, what: What) -> Grey:
    """The first piece of tape with such a code, once round the rope: of one laid along it the rest is blank."""
    ends = [end_marks(rope(number, diameter_mm), RULES, date(2026, 11, 25))]
    paper = f"tape-{tape_mm}"
    one = next(each for each in lay(ends, paper, {}).placed if what in {item.what for item in each.strip.items})
    page = pypdfium2.PdfDocument(strips_pdf(ends, paper))[one.page]
    raster = page.render(scale=PRINTED_DPI / 72, grayscale=True).to_numpy().astype(float) / 255
    per_mm = PRINTED_DPI / 25.4
    top = round(one.top * per_mm)
    piece = np.ascontiguousarray(raster[top + 2 : top + round(one.strip.around_mm * per_mm) - 1])
    if not one.strip.laid_along:
        return piece
    around = np.ones((round(np.pi * one.strip.diameter_mm * per_mm), len(piece)))
    around[: piece.shape[1]] = piece.T
    return around


def over_tape(number: str, diameter_mm: float) -> float:
    """The diameter over the tape for which that strip is made [mm]."""
    return lay([end_marks(rope(number, diameter_mm), RULES, date(2026, 11, 25))], "a4", {}).placed[0].strip.diameter_mm


def read(image: Image.Image) -> dict[str, set[str]]:
    """What an independent decoder reads in a picture: kind of code and what it says."""
    found: dict[str, set[str]] = {"qr": set(), "code128": set()}
    for each in zxingcpp.read_barcodes(np.asarray(image), formats=_FORMATS):
        found["qr" if each.format == zxingcpp.BarcodeFormat.QRCode else "code128"].add(each.text)
    return found


def cameras(count: int, blur_px: float, seed: int) -> Iterator[Camera]:
    """Pictures from all round, each tilted a little."""
    chance = np.random.default_rng(seed)
    for number in range(count):
        roll = 360 * number / count + chance.uniform(0, 360 / count)
        yield Camera(float(roll), float(chance.uniform(-15, 15)), blur_px)


def taken(number: str, diameter_mm: float, count: int, blur_px: float, seed: int) -> list[dict[str, set[str]]]:
    """What is read in each of so many pictures of a marked rope."""
    strip = printed(number, diameter_mm)
    over = over_tape(number, diameter_mm)
    per_mm = PRINTED_DPI / 25.4
    return [
        read(photograph(strip, per_mm, over, camera, seed + place))
        for place, camera in enumerate(cameras(count, blur_px, seed))
    ]
