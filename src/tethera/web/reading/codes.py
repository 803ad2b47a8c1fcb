"""What the codes in a photograph say. The photograph is looked at and forgotten."""

import time
from collections.abc import Iterator
from typing import IO, Any

from PIL import Image, ImageOps

from tethera.web.ropes.one_pictures import pixels_of

#: Longest side at which a photograph is looked at [px]: a telephone's picture of a rope's end from a hand's breadth.
LONGEST_PX = 3000
#: No further try is begun after so long [s]: somebody waits at the rack, and others for the store.
LONGEST_S = 3.0
#: So much of a picture's size: one out of focus is read better smaller.
_SMALLER = (1.0, 0.6, 0.35)
#: Turned so far [degrees]: lines of a Code 128 are only found upright or across.
_TURNED = (45, 22, -22)
#: At most so long when turned or made larger [px].
_TURNED_PX, _SMALL_PX = 1600, 900
_GREY = 140
_MOST_LETTERS = 200


def codes_in(file: IO[bytes], name: str) -> Iterator[tuple[str, ...]]:
    """What the QR codes and Code 128 in a photograph say: those of one try together, each code once; NoPicture.

    Whoever found what was looked for stops asking: then nothing more is tried.
    """
    import zxingcpp

    formats: Any = (zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.Code128)
    grey = pixels_of(file, name, LONGEST_PX).convert("L")
    said = set[str]()
    began = time.monotonic()
    for picture in _tries(grey):
        texts = (each.text[:_MOST_LETTERS] for each in zxingcpp.read_barcodes(picture, formats=formats))
        if new := tuple(dict.fromkeys(each for each in texts if each and each not in said)):
            said.update(new)
            yield new
        if time.monotonic() - began > LONGEST_S:
            return


def _tries(grey: Image.Image) -> Iterator[Image.Image]:
    """The picture, then what a bad one may be read from: smaller, with more contrast, larger, turned."""
    for share in _SMALLER:
        size = (max(1, int(grey.width * share)), max(1, int(grey.height * share)))
        seen = grey if share == 1.0 else grey.resize(size)
        yield seen
        yield ImageOps.autocontrast(seen, cutoff=2)
    if max(grey.size) <= _SMALL_PX:
        yield grey.resize((grey.width * 2, grey.height * 2), Image.Resampling.BICUBIC)
    small = grey.copy()
    small.thumbnail((_TURNED_PX, _TURNED_PX))
    strong = ImageOps.autocontrast(small, cutoff=2)
    for degrees in _TURNED:
        yield strong.rotate(degrees, Image.Resampling.BICUBIC, expand=True, fillcolor=_GREY)
