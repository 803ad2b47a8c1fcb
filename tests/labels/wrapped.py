"""A strip wound round a rope and photographed, as a picture: for codes that must be read from a round thing.

The camera looks at the rope's middle, from far away or from so near, and may lean along the rope. Rays are followed
from the picture back to the rope: looked at squarely from far away, a point at b from the rope's middle line lies at
the angle asin(b / r) round it. Light falls from the camera, and a little from all round; a gloss is a streak of it.
What is left out: ink that spreads, the tube over it, dirt.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

Grey = NDArray[np.float64]
AMBIENT, BACKGROUND = 0.35, 0.55
#: Where the streak of a gloss lies round the rope from the line of sight, and how wide it is [degrees].
GLOSS_AT, GLOSS_WIDE = 15.0, 5.0
_FINER = 2


@dataclass(frozen=True)
class Camera:
    """How a picture is taken: turned round the rope and in the picture [degrees], out of focus [px], noisy [0 to 1].

    `pitch_deg` is how far the rope leans out of the picture [degrees]; `from_mm` how far away the camera is, far
    enough to count as infinite unless said [mm]; `gloss` how much light its streak adds [0 to 1].
    """

    roll_deg: float = 0.0
    tilt_deg: float = 0.0
    blur_px: float = 0.6
    noise: float = 0.02
    px_per_mm: float = 300 / 25.4
    pitch_deg: float = 0.0
    from_mm: float = math.inf
    gloss: float = 0.0


def photograph(strip: Grey, px_per_mm: float, diameter_mm: float, camera: Camera, seed: int) -> Image.Image:
    """The strip (rows round the rope, columns along it; 0 black, 1 white) round a rope of this diameter.

    A millimetre of the rope's middle line is `camera.px_per_mm` in the picture's middle, but for the lean; from near,
    what faces the camera is nearer by the rope's half diameter and so larger.
    """
    radius = diameter_mm / 2
    tilt = np.radians(camera.tilt_deg)
    long = strip.shape[1] / px_per_mm
    width = long * abs(np.cos(tilt)) + diameter_mm * abs(np.sin(tilt)) + 4
    height = long * abs(np.sin(tilt)) + diameter_mm * abs(np.cos(tilt)) + 4
    fine = camera.px_per_mm * _FINER
    u = (np.arange(round(width * camera.px_per_mm) * _FINER) + 0.5) / fine - width / 2
    v = (np.arange(round(height * camera.px_per_mm) * _FINER) + 0.5) / fine - height / 2
    sideways = u[None, :] * np.cos(tilt) + v[:, None] * np.sin(tilt)
    across = -u[None, :] * np.sin(tilt) + v[:, None] * np.cos(tilt)
    hits, along, angle = _met(sideways, across, radius, np.radians(camera.pitch_deg), camera.from_mm)
    on_rope = hits & (np.abs(along) < long / 2)
    # Only there, for a tilted rope leaves most of the picture to the background.
    along, angle = along[on_rope], angle[on_rope]
    round_mm = (angle + np.radians(camera.roll_deg)) * radius
    seen = _sampled(strip, (along + long / 2) * px_per_mm - 0.5, round_mm * px_per_mm - 0.5)
    light = AMBIENT + (1 - AMBIENT) * np.cos(angle) * np.cos(np.radians(camera.pitch_deg))
    streak = camera.gloss * np.exp(-(((np.degrees(angle) - GLOSS_AT) / GLOSS_WIDE) ** 2))
    picture = np.full(on_rope.shape, BACKGROUND)
    picture[on_rope] = np.minimum(seen * light + streak, 1.0)
    rows, columns = picture.shape[0] // _FINER, picture.shape[1] // _FINER
    picture = picture[: rows * _FINER, : columns * _FINER].reshape(rows, _FINER, columns, _FINER).mean(axis=(1, 3))
    image = Image.fromarray(np.round(255 * picture).astype(np.uint8)).filter(ImageFilter.GaussianBlur(camera.blur_px))
    noise = np.random.default_rng(seed).normal(0.0, 255 * camera.noise, (rows, columns))
    return Image.fromarray(np.clip(np.asarray(image) + noise, 0, 255).astype(np.uint8))


def _met(sideways: Grey, across: Grey, radius: float, pitch: float, from_mm: float) -> tuple[Grey, Grey, Grey]:
    """Where the ray through a point of the picture first meets the rope: whether, how far along, at which angle.

    In the rope's own axes (x along it, y across, z towards the camera) the picture goes through the rope's middle.
    """
    x, z = sideways * np.cos(pitch), sideways * np.sin(pitch)
    # From there towards the camera; divided by its distance, so that from infinitely far the rays are parallel.
    to_x, to_y, to_z = -np.sin(pitch) - x / from_mm, -across / from_mm, np.cos(pitch) - z / from_mm
    a, half_b, c = to_y**2 + to_z**2, across * to_y + z * to_z, across**2 + z**2 - radius**2
    under_root = half_b**2 - a * c
    step = (np.sqrt(np.maximum(under_root, 0.0)) - half_b) / a
    return under_root > 0, x + step * to_x, np.arctan2(across + step * to_y, z + step * to_z)


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
