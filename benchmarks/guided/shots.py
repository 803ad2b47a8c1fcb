"""Pictures of the odder kinds that cameras and programs make, small."""

import io
from typing import Any

from PIL import Image, ImageCms


def more_pictures() -> tuple[bytes, ...]:
    """Turned, with a profile of colours, see-through, of sixteen bits, of four inks, of few colours, moving."""
    plain = Image.linear_gradient("L").resize((48, 32))
    colours = Image.merge("RGB", (plain, plain.rotate(180), plain))
    exif = Image.Exif()
    exif[0x0112] = 6  # to be turned
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    see_through = colours.copy()
    see_through.putalpha(plain)
    few = colours.quantize(8)
    few.info["transparency"] = 0
    return (
        _as(colours, "JPEG", exif=exif.tobytes(), icc_profile=profile),
        _as(colours.convert("CMYK"), "JPEG", icc_profile=profile),
        _as(colours, "JPEG", progressive=True),
        _as(see_through, "PNG", icc_profile=profile),
        _as(plain.convert("I;16"), "PNG"),
        _as(few, "PNG", transparency=0),
        _as(colours.convert("1"), "PNG"),
        _as(see_through, "WEBP", exif=exif.tobytes()),
        _as(colours, "WEBP", save_all=True, append_images=[colours.rotate(90)]),
    )


def _as(picture: Image.Image, kind: str, **how: Any) -> bytes:
    file = io.BytesIO()
    picture.save(file, kind, **how)
    return file.getvalue()
