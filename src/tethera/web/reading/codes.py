"""What the codes in a photograph say. The photograph is looked at and forgotten."""

from typing import IO, Any

from tethera.web.ropes.one_pictures import pixels_of

#: Longest side at which a photograph is looked at [px]: a telephone's picture of a rope's end from a hand's breadth.
LONGEST_PX = 3000
#: Looked at once more so much smaller where nothing was read: a picture out of focus is read better so.
_SMALLER = (1.0, 0.6, 0.35)
_MOST_LETTERS = 200


def codes_in(file: IO[bytes], name: str) -> tuple[str, ...]:
    """Every QR code and Code 128 in a photograph, each once; NoPicture where the file is none."""
    import zxingcpp
    from PIL import ImageOps

    grey = pixels_of(file, name, LONGEST_PX).convert("L")
    formats: Any = (zxingcpp.BarcodeFormat.QRCode, zxingcpp.BarcodeFormat.Code128)
    for share in _SMALLER:
        size = (max(1, round(grey.width * share)), max(1, round(grey.height * share)))
        seen = grey if share == 1.0 else grey.resize(size)
        for picture in (seen, ImageOps.autocontrast(seen, cutoff=2)):
            found = zxingcpp.read_barcodes(picture, formats=formats)
            if said := tuple(dict.fromkeys(each.text[:_MOST_LETTERS] for each in found if each.text)):
                return said
    return ()
