"""Where a rope's foot hangs against the floor: with nobody on it, and with a caver at it. The last metres are to scale.

The rope above them is left out between two breaks, as on an engineering drawing: a metre of stretch on forty of rope
could not be seen otherwise.
"""

from collections.abc import Mapping
from typing import Any

from tethera.labels.figure import BOLD, FINE, PLAIN, SMALL_PT, TEXT_PT, Part, figure, words
from tethera.labels.page import THIN_SPACE, Box, Primitive, Stroke, Text

Facts = Mapping[str, Any]
_ANCHOR, _BREAK, _ZONE, _TALL, _HEIGHT = 46.0, 74.0, 118.0, 240.0, 400.0
#: Where the numbers stand: under the breaks and above any foot, so that no line crosses them.
_NUMBER, _BAND = 101.0, 121.0


def stretch_svg(facts: Facts, *, wide: int = 640, name: str = "stretch") -> str:
    """The drawing, `wide` px wide at its own size (340 for a telephone).

    facts : floor_m, and unloaded and loaded, each (low, likely, high) depth of the foot below the anchor [m]
    """
    floor = float(facts["floor_m"])
    unloaded, loaded = ((float(a), float(b), float(c)) for a, b, c in (facts["unloaded"], facts["loaded"]))
    least, most = min(unloaded[0], floor), max(loaded[2], floor)
    margin = max(0.25, 0.12 * (most - least))
    zone = (least - margin, most + margin)
    span = zone[1] - zone[0]

    def y(depth_m: float) -> float:
        return _ZONE + (depth_m - zone[0]) / span * _TALL

    right = wide - 8.0
    columns = [0.30 * wide, 0.66 * wide] if wide > 400 else [0.25 * wide, 0.57 * wide]
    parts = [
        Part("rock", [*_rock(10.0, right, _ANCHOR, up=True), *_rock(10.0, right, y(floor))]),
        Part("floor", _dimension(24.0, y(floor), _metres(floor), "floor")),
        *_column(columns[0], y, unloaded, "nobody on it" if wide > 400 else "nobody", wide > 400),
        *_column(columns[1], y, loaded, "caver at the foot" if wide > 400 else "caver on it", wide > 400),
        Part("scale", _scale_bar(10.0, _HEIGHT - 14, _TALL / span)),
    ]
    told = (
        f"Floor {_metres(floor)} below the anchor. The foot hangs {_told(unloaded)} below it with nobody on the rope, "
        f"{_told(loaded)} with a caver at the foot."
    )
    return figure("stretch-drawing", name, "Where the rope's foot hangs", told, (wide, _HEIGHT), parts)


def _column(x: float, y: Any, band: tuple[float, float, float], title: str, roomy: bool) -> list[Part]:
    """One rope: down to its likely foot, a frame from the least to the most, its depth as a dimension."""
    top, foot, bottom = (y(each) for each in band)
    rope: list[Primitive] = [
        Stroke(((x, _ANCHOR), (x, _BREAK - 5)), BOLD, role="rope"),
        Stroke(((x, _BREAK + 5), (x, foot - BOLD / 2)), BOLD, role="rope"),
        *_breaks(x),
    ]
    frame: list[Primitive] = [
        Box(x - 11, top, 22, max(bottom - top, 1.0), 0.0, FINE),
        Stroke(((x - 11, foot), (x + 11, foot)), PLAIN),
    ]
    # On a telephone the ends of the band are read off the table beneath.
    told = f"{band[0]:.1f} to {_metres(band[2])}" if roomy else ""
    return [
        Part("rope", rope),
        Part("doubt", frame),
        Part("depth", _dimension(x + 30, foot, _metres(band[1]), "", told)),
        Part("title", [words(x - 11, 18, title, TEXT_PT)]),
    ]


def _dimension(x: float, foot: float, number: str, title: str = "", band: str = "") -> list[Primitive]:
    """A vertical dimension (ISO 129) from the anchor to `foot`, with a break; its number beside the line."""
    drawn: list[Primitive] = [
        Stroke(((x, _ANCHOR + 3), (x, _BREAK - 5)), FINE, role="depth"),
        Stroke(((x, _BREAK + 5), (x, foot - 2)), FINE, role="depth"),
        *_breaks(x),
        Stroke(((x, _ANCHOR + 1), (x - 4, _ANCHOR + 12), (x + 4, _ANCHOR + 12)), 0.0, fill=True),
        Stroke(((x, foot), (x - 4, foot - 11), (x + 4, foot - 11)), 0.0, fill=True),
        Stroke(((x - 8, foot), (x + 8, foot)), FINE),
        Text(x + 9, _NUMBER, number, TEXT_PT, True),
    ]
    if title:
        drawn.append(words(x - 14, 18, title, TEXT_PT))
    if band:
        drawn.append(words(x + 9, _BAND, band))
    return drawn


def _breaks(x: float) -> list[Primitive]:
    """Two short waves across a line that is left out between them."""
    return [
        Stroke(((x - 7, at + 2), (x - 2, at - 2), (x + 2, at + 2), (x + 7, at - 2)), FINE)
        for at in (_BREAK - 4, _BREAK + 4)
    ]


def _rock(left: float, right: float, y: float, up: bool = False) -> list[Primitive]:
    away = -8.0 if up else 8.0
    strokes: list[Primitive] = [Stroke(((left, y), (right, y)), PLAIN)]
    x = left + 12.0
    while x < right:
        strokes.append(Stroke(((x, y), (x - 7, y + away)), FINE))
        x += 16.0
    return strokes


def _scale_bar(x: float, y: float, px_per_m: float) -> list[Primitive]:
    """Standing beside what it measures it would be in the way: a lying bar with its ends ticked."""
    metres = next((each for each in (5.0, 2.0, 1.0, 0.5, 0.2, 0.1) if each * px_per_m <= 170), 0.1)
    end = x + metres * px_per_m
    return [
        Stroke(((x, y), (end, y)), PLAIN),
        *(Stroke(((each, y - 5), (each, y + 5)), FINE) for each in (x, end)),
        words(end + 9, y + 5, f"{metres:g}{THIN_SPACE}m, up and down", SMALL_PT),
    ]


def _metres(depth_m: float) -> str:
    return f"{depth_m:.1f}".removesuffix(".0") + f"{THIN_SPACE}m"


def _told(band: tuple[float, float, float]) -> str:
    return f"{_metres(band[1])} ({band[0]:.1f} to {band[2]:.1f})"
