"""The elevation as SVG for a page on a screen: the same geometry as on paper, black on the page's own ground.

Units are millimetres of the drawing. Classes and presentation attributes only: a strict content security policy
forbids inline styles.
"""

from base64 import b64encode
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any

from tethera.labels.drawing import draw_overview, scale_bar
from tethera.labels.facts import extent_words, metres_words, rigged_of
from tethera.labels.fonts import MM_PER_POINT, legible_values, printable
from tethera.labels.overview import overview_labels
from tethera.labels.page import Blocks, Box, Picture, Primitive, Ring, Stroke, Text

_WIDTH, _FIELD, _DRAWN = 130.0, 56.0, 170.0


def elevation_svg(sheet: Mapping[str, Any]) -> str:
    """The whole route in one drawing, with a title and a description that says the same facts in words."""
    # On the screen a name nobody can print is missed in the drawing; only paper asks for Latin letters.
    sheet = legible_values(sheet)
    pitches = rigged_of(sheet)
    height = max(_DRAWN, 14.0 * len(pitches))
    drawn = draw_overview(pitches, 2.0, 2.0, _FIELD, height)
    labels, bottom = overview_labels(sheet, pitches, drawn, (_FIELD + 8.0, _WIDTH - 2.0, 2.0, height))
    bar_y = max(bottom, height) + 6.0
    parts = [*drawn.primitives, *labels, *scale_bar(drawn.scale, 6.0, bar_y)]
    title = printable(f"Elevation of {sheet.get('title') or 'the route'}, 1:{drawn.scale:g}")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="elevation" role="img" aria-labelledby="elevation-title" '
        f'aria-describedby="elevation-description" viewBox="0 0 {_WIDTH:g} {bar_y + 4:.3f}" fill="none" '
        f'stroke="currentColor" stroke-linecap="round" stroke-linejoin="round" '
        f'font-family="Atkinson Hyperlegible, sans-serif" data-scale="{drawn.scale:g}">'
        f'<title id="elevation-title">{escape(title)}</title>'
        f'<desc id="elevation-description">{escape(_description(pitches))}</desc>'
        f"{''.join(elements(parts))}</svg>\n"
    )


def _description(pitches: Sequence[Mapping[str, Any]]) -> str:
    said = []
    for pitch in pitches:
        depth = pitch.get("depth_m")
        drop = "depth not known" if depth is None else f"{metres_words(depth)} deep"
        how_deep = extent_words(pitch) or drop
        ropes = ", ".join(pitch.get("ropes") or ()) or "no rope named"
        said.append(printable(f"{pitch.get('name') or 'Pitch'}: {how_deep}, rope {ropes}."))
    return " ".join(said) or "No pitches."


def elements(primitives: Iterable[Primitive], bolder: float = 1.0, dash: float = 1.0) -> Iterable[str]:
    """What is drawn, as SVG elements; `bolder` multiplies the weight of lines, `dash` the length of dashes."""
    for item in primitives:
        if isinstance(item, Text):
            weight = ' font-weight="700"' if item.bold else ""
            yield (
                f'<text x="{item.x:.3f}" y="{item.y:.3f}" font-size="{item.size * MM_PER_POINT:.3f}"{weight} '
                f'fill="currentColor" stroke="none">{escape(item.words)}</text>'
            )
        elif isinstance(item, Ring):
            inside = "currentColor" if item.fill else "none"
            yield (
                f'<circle cx="{item.x:.3f}" cy="{item.y:.3f}" r="{item.radius:.3f}" fill="{inside}" '
                f'stroke-width="{item.weight * bolder:g}"/>'
            )
        elif isinstance(item, Box):
            yield (
                f'<rect class="{item.role.replace(" ", "-") or "frame"}" x="{item.x:.3f}" y="{item.y:.3f}" '
                f'width="{item.width:.3f}" height="{item.height:.3f}" rx="{item.radius:.3f}" '
                f'stroke-width="{item.weight * bolder:g}"/>'
            )
        elif isinstance(item, Picture):
            packed = b64encode(item.jpeg).decode("ascii")
            yield (
                f'<image x="{item.x:.3f}" y="{item.y:.3f}" width="{item.width:.3f}" height="{item.height:.3f}" '
                f'href="data:image/jpeg;base64,{packed}"/>'
            )
        elif isinstance(item, Blocks):
            name = f' class="{item.role}"' if item.role else ""
            path = "".join(
                f"M{x:.3f} {y:.3f}h{wide:.3f}v{tall:.3f}h{-wide:.3f}z" for x, y, wide, tall in item.rectangles
            )
            yield f'<path{name} d="{path}" fill="currentColor" stroke="none"/>'
        else:
            yield _stroke(item, bolder, dash)


def _stroke(item: Stroke, bolder: float, dash: float) -> str:
    points = " ".join(f"{x:.3f},{y:.3f}" for x, y in item.points)
    name = f' class="{item.role.replace(" ", "-")}"' if item.role else ""
    if item.fill:
        return f'<polygon{name} points="{points}" fill="currentColor" stroke="none"/>'
    dashes = f' stroke-dasharray="{2.2 * dash:g} {1.8 * dash:g}"' if item.dashed else ""
    return f'<polyline{name} points="{points}" stroke-width="{item.weight * bolder:g}"{dashes}/>'
