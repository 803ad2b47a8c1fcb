"""Photographs as they are kept: small JPEGs without a word of where or with what they were taken.

A picture comes from strangers: its size is looked at before it is decoded, only plain kinds of picture are opened, and
nothing of the file but its pixels is kept.
"""

import hashlib
import io
import os
import tempfile
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from django.utils.translation import gettext as _
from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from tethera.store import sync_folder
from tethera.web.store.photos import place_of

#: The longest side [px] and about the most bytes of a kept photograph: enough to judge a sheath by.
LONGEST_SIDE_PX, ABOUT_BYTES = 1600, 400_000
#: A telephone's largest pictures; what claims more is no photograph of a rope.
MOST_PIXELS = 64_000_000
_WANTED = ("JPEG", "PNG", "WEBP", "AVIF", "HEIF")
_QUALITIES = (86, 78, 70, 60)
#: So many are decoded at once in a process: the largest takes some hundred megabytes.
_DECODING = threading.BoundedSemaphore(2)


class NoPicture(ValueError):
    """A file that cannot be taken as a photograph; the message says why and what to do."""


@dataclass(frozen=True)
class Picture:
    """A photograph ready to be kept: JPEG bytes, their SHA-256, and the size [px]."""

    jpeg: bytes
    sha256: str
    width: int
    height: int


def read_picture(file: IO[bytes], name: str) -> Picture:
    """A photograph turned upright, made small, and freed of all that was written beside its pixels. NoPicture."""
    jpeg, (width, height) = _encoded(pixels_of(file, name))
    return Picture(jpeg, hashlib.sha256(jpeg).hexdigest(), width, height)


def pixels_of(file: IO[bytes], name: str, longest_px: int = LONGEST_SIDE_PX) -> Image.Image:
    """The pixels of a photograph alone, upright, at most so long; NoPicture says what is wrong with the file."""
    try:
        with _DECODING:
            return _pixels(file, name, longest_px)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise NoPicture(_("{name} is larger than any photograph.").format(name=name)) from None
    except UnidentifiedImageError:
        told = _("{name} is not a picture that can be read here. Send it as JPEG, PNG or WebP.")
        raise NoPicture(told.format(name=name)) from None
    except (OSError, SyntaxError, ValueError, EOFError, MemoryError) as error:
        if isinstance(error, NoPicture):
            raise
        told = _("{name} is damaged: it ends too soon or cannot be read. Take it from the camera again.")
        raise NoPicture(told.format(name=name)) from None


def _pixels(file: IO[bytes], name: str, longest_px: int) -> Image.Image:
    Image.init()
    with Image.open(file, formats=[each for each in _WANTED if each in Image.OPEN]) as image:
        if image.width * image.height > MOST_PIXELS:
            millions = round(image.width * image.height / 1e6)
            told = _("{name} has {millions} million pixels. Send it smaller: {most} million are taken.")
            raise NoPicture(told.format(name=name, millions=millions, most=MOST_PIXELS // 1_000_000))
        # A JPEG is decoded at an eighth to the whole of its size, whichever still is large enough.
        image.draft("RGB", (longest_px, longest_px))
        image.load()
        upright = ImageOps.exif_transpose(image)
        upright.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
        plain = _to_srgb(upright)
    ground = Image.new("RGB", plain.size, "white")
    ground.paste(plain, mask=plain.getchannel("A") if plain.mode == "RGBA" else None)
    return ground


def _to_srgb(image: Image.Image) -> Image.Image:
    """Colours as every screen shows them, since the profile is not kept."""
    profile = image.info.get("icc_profile")
    see_through = image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info
    if image.mode.startswith("I;16") or image.mode in ("I", "F"):
        image = image.convert("F").point(lambda value: value / 256).convert("L")
    plain = image if image.mode == "CMYK" and profile else image.convert("RGBA" if see_through else "RGB")
    if profile:
        try:
            own = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            turned = ImageCms.profileToProfile(plain, own, ImageCms.createProfile("sRGB"), outputMode="RGB")
        except (ImageCms.PyCMSError, OSError, ValueError):
            turned = None
        if turned is not None:
            if plain.mode == "RGBA":
                turned.putalpha(plain.getchannel("A"))
            return turned
    return plain if plain.mode in ("RGB", "RGBA") else plain.convert("RGB")


def _encoded(pixels: Image.Image) -> tuple[bytes, tuple[int, int]]:
    """JPEG bytes of about ABOUT_BYTES at most: first at lower quality, then smaller."""
    while True:
        for quality in _QUALITIES:
            out = io.BytesIO()
            pixels.save(out, "JPEG", quality=quality, optimize=True, progressive=True)
            if out.tell() <= ABOUT_BYTES:
                return out.getvalue(), pixels.size
        pixels = pixels.resize((max(pixels.width * 4 // 5, 1), max(pixels.height * 4 // 5, 1)))


def keep(folder: Path, picture: Picture) -> Path:
    """Lay a photograph in the folder, whole or not at all."""
    place = place_of(folder, picture.sha256)
    if place.is_file():
        return place
    place.parent.mkdir(parents=True, exist_ok=True)
    descriptor, fresh = tempfile.mkstemp(dir=place.parent, prefix=".", suffix=".new")
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(picture.jpeg)
            file.flush()
            os.fsync(file.fileno())
        Path(fresh).replace(place)
        # Its name, and that of a new folder: an event that names it is acknowledged after this.
        sync_folder(place.parent)
        sync_folder(folder)
    except BaseException:
        Path(fresh).unlink(missing_ok=True)
        raise
    return place
