"""A route as the text of a route file: what is not the usual is written, one key on a line, read back the same."""

import json
import re
from collections.abc import Iterator
from decimal import Decimal

from tethera.rigging.route import Anchor, Edition, Measure, Pitch, Route
from tethera.rope import figure

Lines = Iterator[tuple[str, str]]


def write_route(route: Route) -> str:
    """The route file of a route; `read_route` gives the same route again. What trips taught is not written."""
    parts = ["\n".join(_assigned(_route_lines(route)))]
    for pitch in route.pitches:
        parts.append("\n".join(("[[pitch]]", *_assigned(_pitch_lines(pitch)))))
        parts += ["\n".join(("[[pitch.anchor]]", *_assigned(_anchor_lines(each)))) for each in pitch.anchors]
        parts += ["\n".join(("[[pitch.edition]]", *_assigned(_edition_lines(each)))) for each in pitch.editions]
    for group in route.together:
        lines = (("pitches", quoted_list(group.pitches)), *_length("guide_rope", group.guide_rope))
        parts.append("\n".join(("[[together]]", *_assigned(iter(lines)))))
    totals = list(_total_lines(route))
    if totals:
        parts.append("\n".join(("[totals]", *_assigned(iter(totals)))))
    return "\n\n".join(parts) + "\n"


def _assigned(lines: Lines) -> list[str]:
    return [f"{key} = {value}" for key, value in lines]


def quoted(words: str) -> str:
    """Words as TOML writes them.

    >>> quoted('the "thick" ash')
    '"the \\\\"thick\\\\" ash"'
    """
    return json.dumps(words, ensure_ascii=False).replace("\x7f", "\\u007f")


def quoted_list(words: tuple[str, ...]) -> str:
    """One or several words as a list."""
    return f"[{', '.join(quoted(each) for each in words)}]"


def length_words(measure: Measure) -> str:
    """A length as people write it, quoted; ValueError where it is no whole centimetre and needs a key with its unit."""
    words = [_whole(piece) for piece in measure.pieces] or [_whole(measure.low_m)]
    said = " + ".join(words)
    if not measure.pieces and measure.high_m != measure.low_m:
        said = f"{said} or {_whole(measure.high_m)}"
    return quoted(f"{'about ' if measure.about else ''}{said} m")


def _whole(metres: float) -> str:
    if not is_whole_cm(metres):
        raise ValueError(f"{metres} m is no whole centimetre")
    return plain_number(metres)


def is_whole_cm(metres: float) -> bool:
    """Whether a length is exactly so many centimetres, as every length written in words is."""
    return round(metres * 100) / 100 == metres


def plain_number(value: float) -> str:
    """A number to its last digit and no further, never with an exponent.

    >>> plain_number(22.0), plain_number(21.9456), plain_number(1e-7)
    ('22', '21.9456', '0.0000001')
    """
    words = format(Decimal(repr(float(value))), "f")
    return words.rstrip("0").rstrip(".") if "." in words else words


def _length(key: str, measure: Measure | None) -> Lines:
    """A length under its key, or to the last digit under the key with its unit."""
    if measure is None:
        return
    try:
        yield key, length_words(measure)
    except ValueError:
        if measure.high_m != measure.low_m:
            raise
        yield f"{key}_m", repr(float(measure.low_m))


def _metres(key: str, metres: float | None, usual: float | None = None) -> Lines:
    if metres is not None and metres != usual:
        if metres < 0:
            try:
                yield key, quoted(f"-{_whole(-metres)} m")
            except ValueError:
                yield f"{key}_m", repr(float(metres))
        else:
            yield from _length(key, Measure(metres, metres))


def _plain(key: str, value: float | None) -> Lines:
    if value is not None:
        yield key, repr(value)


def _flag(key: str, value: bool, usual: bool = False) -> Lines:
    if value != usual:
        yield key, "true" if value else "false"


def _words(key: str, value: str | None, usual: str = "") -> Lines:
    if value and value != usual:
        yield key, quoted(value)


def _several(key: str, values: tuple[str, ...]) -> Lines:
    if values:
        yield key, quoted_list(values)


def _route_lines(route: Route) -> Lines:
    yield "name", quoted(route.name)
    yield from _plain("team", route.team_size)
    yield from _several("notes", route.notes)


def _pitch_lines(pitch: Pitch) -> Lines:
    yield "name", quoted(pitch.name)
    yield from _length("depth", pitch.depth)
    yield from _words("depth_known_by", pitch.depth_known_by, "guide")
    yield from _metres("depth_spread", pitch.depth_spread_m)
    yield from _words("direction", pitch.direction, "down")
    yield from _metres("traverse", pitch.traverse_m, 0.0)
    yield from _length("guide_rope", pitch.guide_rope)
    yield from _plain("anchors", pitch.anchor_count)
    for key in ("rebelays", "deviations", "naturals"):
        yield from _plain(key, getattr(pitch, key))
    yield from _metres("to_next", pitch.to_next_m)
    yield from _flag("rope_goes_on", pitch.rope_goes_on, goes_on(pitch.to_next_m))
    for key in ("pull_through", "left_in_place", "type_a_only"):
        yield from _flag(key, getattr(pitch, key))
    yield from _words("second_line", pitch.second_line)
    yield from _several("instead_of", pitch.instead_of)
    yield from _metres("rope_above_floor", pitch.rope_above_floor_m, 0.0)
    yield from _plain("min_diameter_mm", pitch.min_diameter_mm)
    yield from _plain("max_g_per_m", pitch.max_g_per_m)
    yield from _several("notes", pitch.notes)


def goes_on(to_next_m: float | None) -> bool:
    """Whether a rope may run on over a passage of that length, unless the route says otherwise."""
    return to_next_m is not None and to_next_m <= figure("rigging", "metres", "longest_passage").value


def _anchor_lines(anchor: Anchor) -> Lines:
    yield "role", quoted(anchor.role)
    yield from _words("kind", anchor.kind, "bolt")
    yield from _metres("along", anchor.along_m, 0.0)
    yield from _metres("down", anchor.down_m, 0.0)
    if anchor.bolts != (2 if anchor.role == "y-hang" else 1):
        yield "bolts", str(anchor.bolts)
    for key in ("loop", "leg", "apart", "sling"):
        yield from _metres(key, getattr(anchor, f"{key}_m"))
    yield from _flag("rub", anchor.rub)
    yield from _plain("min_diameter_mm", anchor.min_diameter_mm)
    yield from _words("knot", anchor.knot)
    yield from _words("note", anchor.note)


def _edition_lines(edition: Edition) -> Lines:
    yield "source", quoted(edition.source)
    yield from _length("depth", edition.depth)
    yield from _length("guide_rope", edition.guide_rope)
    yield from _plain("anchors", edition.anchors)
    yield from _words("note", edition.note)


def _total_lines(route: Route) -> Lines:
    yield from _length("rope", route.stated_totals.rope)
    yield from _length("depth", route.stated_totals.depth)
    yield from _plain("anchors", route.stated_totals.anchors)


_NUMBER = r"\d+(?:[.,]\d+)?"
_BARE = re.compile(rf"-?\s*{_NUMBER}")
#: One number, a choice, a range or a sum of them, perhaps in doubt, and nowhere a unit.
_UNITLESS = re.compile(
    rf"((?:(?:about|approx\.?|ca\.?|c\.|roughly|~|≈)\s*)?{_NUMBER}(?:\s*(?:\bor\b|\bto\b|[-–—/+])\s*{_NUMBER})*)"
    r"(\s*\?+)?",
    re.IGNORECASE,
)
#: A comma before three digits may part thousands; the reader of lengths judges it.
_DECIMAL_COMMA = re.compile(r",(?!\d{3}(?!\d))")
_FINE = re.compile(r"(-?)\s*(\d+\.\d{3,})(?:\s*m)?")


def as_length(text: str, unit: str) -> str:
    """A length as it was typed in a cell: a number without a unit is in the reader's.

    >>> as_length(" 22,5 ", "m"), as_length("98' 6\\"", "m"), as_length("−2", "ft")
    ('22.5 m', '98\\' 6"', '-2 ft')
    >>> as_length("10 or 15", "m"), as_length("30 + 20?", "ft")
    ('10 or 15 m', '30 + 20 ft?')
    """
    words = " ".join(text.split()).replace("−", "-")
    if _BARE.fullmatch(words):
        return f"{_DECIMAL_COMMA.sub('.', words)} {unit}"
    if match := _UNITLESS.fullmatch(words):
        return f"{match[1]} {unit}{(match[2] or '').strip()}"
    return words


def finer_than_cm(text: str, unit: str) -> float | None:
    """Metres typed to more than whole centimetres, as the table shows such lengths; None for any other words [m].

    >>> finer_than_cm("21.9456", "m"), finer_than_cm("21.9456 m", "ft"), finer_than_cm("21.95", "m")
    (21.9456, 21.9456, None)
    """
    words = " ".join(text.split()).replace("−", "-")
    match = _FINE.fullmatch(words)
    if match is None or (unit != "m" and not words.endswith("m")):
        return None
    return float(match[1] + match[2])
