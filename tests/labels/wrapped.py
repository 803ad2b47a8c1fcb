"""A strip wound round a rope and photographed, as a picture: for codes that must be read from a round thing.

The camera looks from far away at right angles to the rope, but for its tilt in the picture. A point at b from the
rope's middle line lies at the angle asin(b / r) round it; light falls from the camera, and a little from all round.
What is left out: ink that spreads, gloss, the tube over it, dirt.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

Grey = NDArray[np.float64]
AMBIENT, BACKGROUND = 0.35, 0.55
_FINER = 2


@dataclass(frozen=True)
class Camera:
    """How a picture is taken: turned round the rope and in the picture [degrees], out of focus [px], noisy [0 to 1]."""

    roll_deg: float = 0.0
    tilt_deg: float = 0.0
    blur_px: float = 0.6
    noise: float = 0.02
    px_per_mm: float = 300 / 25.4


def photograph(strip: Grey, px_per_mm: float, diameter_mm: float, camera: Camera, seed: int) -> Image.Image:
    """The strip (rows round the rope, columns along it; 0 black, 1 white) round a rope of this diameter."""
    radius = diameter_mm / 2
    tilt = np.radians(camera.tilt_deg)
    long = strip.shape[1] / px_per_mm
    width = long * abs(np.cos(tilt)) + diameter_mm * abs(np.sin(tilt)) + 4
    height = long * abs(np.sin(tilt)) + diameter_mm * abs(np.cos(tilt)) + 4
    fine = camera.px_per_mm * _FINER
    u = (np.arange(round(width * camera.px_per_mm) * _FINER) + 0.5) / fine - width / 2
    v = (np.arange(round(height * camera.px_per_mm) * _FINER) + 0.5) / fine - height / 2
    along = u[None, :] * np.cos(tilt) + v[:, None] * np.sin(tilt)
    across = -u[None, :] * np.sin(tilt) + v[:, None] * np.cos(tilt)
    on_rope = (np.abs(across) < radius) & (np.abs(along) < long / 2)
    angle = np.arcsin(np.clip(across / radius, -1, 1))
    round_mm = (angle + np.radians(camera.roll_deg)) * radius
    seen = _sampled(strip, (along + long / 2) * px_per_mm - 0.5, round_mm * px_per_mm - 0.5)
    light = AMBIENT + (1 - AMBIENT) * np.cos(angle)
    picture = np.where(on_rope, seen * light, BACKGROUND)
    rows, columns = picture.shape[0] // _FINER, picture.shape[1] // _FINER
    picture = picture[: rows * _FINER, : columns * _FINER].reshape(rows, _FINER, columns, _FINER).mean(axis=(1, 3))
    image = Image.fromarray(np.round(255 * picture).astype(np.uint8)).filter(ImageFilter.GaussianBlur(camera.blur_px))
    noise = np.random.default_rng(seed).normal(0.0, 255 * camera.noise, (rows, columns))
    return Image.fromarray(np.clip(np.asarray(image) + noise, 0, 255).astype(np.uint8))


def _sampled(strip: Grey, x: Grey, y: Grey) -> Grey:
    """The strip between its pixels; round the rope it begins again."""
    rows, columns = strip.shape
    x = np.clip(x, 0, columns - 1.001)
    x0, y0 = np.floor(x).astype(int), np.floor(y).astype(int)
    fx, fy = x - x0, y - y0
    top, below = y0 % rows, (y0 + 1) % rows
    upper = strip[top, x0] * (1 - fx) + strip[top, x0 + 1] * fx
    lower = strip[below, x0] * (1 - fx) + strip[below, x0 + 1] * fx
    return np.asarray(upper * (1 - fy) + lower * fy)
