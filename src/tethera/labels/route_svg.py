"""A route on a screen: each pitch drawn to scale with its anchors, and the key of the signs that were drawn.

The same drawing as on the rigging sheet. Units are millimetres of the drawing; black on the page's own ground.
"""

from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any

from tethera.labels.drawing import DIMENSION_MM, draw_pitch, pitch_height, scale_bar, scale_of_pitches
from tethera.labels.facts import anchors_of, metres_words
from tethera.labels.fonts import MM_PER_POINT, legible_values, printable, width_mm
from tethera.labels.key import SIGNS, signs_of
from tethera.labels.page import Primitive, Text
from tethera.labels.svg import elements

_FIELD, _TALL = 52.0, 110.0
_ROW, _SIGN, _COLUMN, _COLUMNS = 9.8, 12.0, 40.0, 3
_WORDS_PT = 10.0


def pitch_svg(pitch: Mapping[str, Any]) -> str:
    """One pitch of a rigging sheet's mapping: to scale, its scale on a bar, each anchor numbered from the head."""
    pitch = legible_values(pitch)
    scale = scale_of_pitches([pitch], _FIELD, _TALL)
    drawn = draw_pitch(pitch, DIMENSION_MM, 0.0, _FIELD, scale)
    width, bar = DIMENSION_MM + _FIELD + 4.0, pitch_height(pitch, scale) + 6.0
    parts = [*drawn.primitives, *scale_bar(scale, DIMENSION_MM, bar, longest=24.0)]
    name = printable(str(pitch.get("name") or "A pitch"))
    return _svg("pitch-drawing", parts, width, bar + 2.0, f"{name}, 1:{scale:g}", _said(pitch), scale)


def _said(pitch: Mapping[str, Any]) -> str:
    """What the drawing shows, for a screen reader."""
    depth = pitch.get("depth_m")
    said = ["depth not known" if depth is None else f"{metres_words(depth)} deep"]
    for anchor in anchors_of(pitch):
        where = f"{metres_words(anchor.along_m)} along, {metres_words(anchor.down_m)} down"
        role = anchor.words_of_role or "anchor"
        said.append(f"{anchor.number} {role}, {anchor.kind}{f', {where}' if anchor.place_known else ''}")
    return printable("; ".join(said))


def key_svg(pitches: Sequence[Mapping[str, Any]]) -> str:
    """The key of the signs used in these pitches; empty where there are none."""
    used = signs_of(pitches)
    signs = [sign for sign in SIGNS if sign[0] in used]
    if not signs:
        return ""
    rows = -(-len(signs) // _COLUMNS)
    parts: list[Primitive] = []
    for index, (words, draw) in enumerate(signs):
        x, y = _COLUMN * (index // rows), 1.0 + _ROW * (index % rows + 0.5)
        parts += draw(x + _SIGN / 2 - 0.5, y)
        size = min(_WORDS_PT, _WORDS_PT * (_COLUMN - _SIGN - 1) / width_mm(words, _WORDS_PT))
        parts.append(Text(x + _SIGN, y + 0.35 * size * MM_PER_POINT, words, size))
    said = ", ".join(words for words, _ in signs)
    return _svg("key-drawing", parts, _COLUMN * min(_COLUMNS, len(signs)), rows * _ROW + 2.0, "Key", said, None)


def _svg(
    name: str, parts: Iterable[Primitive], width: float, height: float, title: str, said: str, scale: float | None
) -> str:
    drawn_to = "" if scale is None else f' data-scale="{scale:g}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{name}" role="img" viewBox="0 0 {width:g} {height:.3f}" '
        f'fill="none" stroke="currentColor" stroke-linecap="round" stroke-linejoin="round" '
        f'font-family="Atkinson Hyperlegible, sans-serif"{drawn_to}><title>{escape(title)}</title>'
        f"<desc>{escape(said)}</desc>{''.join(elements(parts))}</svg>\n"
    )
