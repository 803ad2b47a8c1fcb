"""The table of a route: each cell as somebody would type it, so that it reads back the same."""

import math
from collections.abc import Collection
from typing import Any

from tethera.basics import METRES_IN
from tethera.rigging.route import Anchor, Edition, Measure, Pitch, Route
from tethera.rigging.route_text import goes_on, is_whole_cm, plain_number

_METRES_IN_FOOT = float(METRES_IN["ft"])


def table_of(route: Route, unit: str = "m") -> dict[str, Any]:
    """The table of a route, each cell as somebody would type it; a bare number is in `unit`, "m" or "ft"."""
    return {
        "name": route.name,
        "team": "" if route.team_size is None else str(route.team_size),
        "notes": "\n".join(route.notes),
        "pitches": [_pitch_cells(pitch, unit) for pitch in route.pitches],
        "unit": unit,
    }


def _pitch_cells(pitch: Pitch, unit: str) -> dict[str, Any]:
    cells = {
        "name": pitch.name,
        "depth": measure_cell(pitch.depth, unit),
        "depth_known_by": pitch.depth_known_by,
        "depth_spread": _length(pitch.depth_spread_m, unit),
        "direction": pitch.direction,
        "traverse": _length(pitch.traverse_m or None, unit),
        "guide_rope": measure_cell(pitch.guide_rope, unit),
        "anchors": _number(pitch.anchor_count),
        "rebelays": _number(pitch.rebelays),
        "deviations": _number(pitch.deviations),
        "naturals": _number(pitch.naturals),
        "to_next": _length(pitch.to_next_m, unit),
        "rope_goes_on": "" if pitch.rope_goes_on == goes_on(pitch.to_next_m) else str(pitch.rope_goes_on).lower(),
        "second_line": pitch.second_line or "",
        "instead_of": "; ".join(pitch.instead_of),
        "rope_above_floor": _length(pitch.rope_above_floor_m or None, unit),
        "min_diameter_mm": _number(pitch.min_diameter_mm),
        "max_g_per_m": _number(pitch.max_g_per_m),
        "notes": "\n".join(pitch.notes),
        "anchor": [_anchor_cells(each, unit) for each in pitch.anchors],
        "edition": [_edition_cells(each, unit) for each in pitch.editions],
    }
    flags = ("pull_through", "left_in_place", "type_a_only")
    return cells | {key: "true" if getattr(pitch, key) else "" for key in flags}


def _anchor_cells(anchor: Anchor, unit: str) -> dict[str, str]:
    return {
        "role": anchor.role,
        "kind": anchor.kind,
        "along": _length(anchor.along_m or None, unit),
        "down": _length(anchor.down_m or None, unit),
        "bolts": "" if anchor.bolts == (2 if anchor.role == "y-hang" else 1) else str(anchor.bolts),
        "loop": _length(anchor.loop_m, unit),
        "leg": _length(anchor.leg_m, unit),
        "apart": _length(anchor.apart_m, unit),
        "sling": _length(anchor.sling_m, unit),
        "rub": "true" if anchor.rub else "",
        "min_diameter_mm": _number(anchor.min_diameter_mm),
        "knot": anchor.knot or "",
        "note": anchor.note,
    }


def _edition_cells(edition: Edition, unit: str) -> dict[str, str]:
    return {
        "source": edition.source,
        "depth": measure_cell(edition.depth, unit),
        "guide_rope": measure_cell(edition.guide_rope, unit),
        "anchors": _number(edition.anchors),
        "note": edition.note,
    }


def measure_cell(measure: Measure | None, unit: str) -> str:
    """A length, a choice or a sum; only one number by itself goes without its unit."""
    if measure is None:
        return ""
    if measure.pieces:
        said = " + ".join(_length(piece, unit) for piece in measure.pieces)
    elif measure.high_m != measure.low_m:
        said = f"{_length(measure.low_m, unit)} or {_length(measure.high_m, unit)}"
    elif not measure.about:
        return _length(measure.low_m, unit)
    else:
        said = _length(measure.low_m, unit)
    return f"{'about ' if measure.about else ''}{said} {unit}"


def _length(metres: float | None, unit: str) -> str:
    """A length that reads back the same; one that is no whole centimetre is told in metres, whatever the unit."""
    if metres is None:
        return ""
    if unit != "ft":
        return plain_number(metres)
    if not is_whole_cm(metres):
        return f"{plain_number(metres)} m"
    sign, cm = "-" if metres < 0 else "", abs(round(metres * 100))
    return sign + _feet(cm)


def _feet(cm: int) -> str:
    """The fewest digits of feet that are read as these centimetres, for which a reader rounds down.

    >>> _feet(3000), _feet(2987), _feet(0)
    ('98.43', '98', '0')
    """
    for digits in (0, 1, 2):
        feet = math.ceil(cm / (100 * _METRES_IN_FOOT) * 10**digits - 1e-9) / 10**digits
        if feet * _METRES_IN_FOOT * 100 < cm + 1 - 1e-6:
            break
    return plain_number(feet)


def _number(value: float | None) -> str:
    return "" if value is None else plain_number(value)


def names_in(said: str, known: Collection[str]) -> tuple[str, ...]:
    """Names parted by semicolons; a name that holds one itself is known by the names there are.

    >>> names_in("Way In; wet; Ledge", ["Way In; wet", "Ledge"])
    ('Way In; wet', 'Ledge')
    >>> names_in(" First;Second ;; ", ())
    ('First', 'Second')
    """
    words, found = " ".join(said.split()), []
    while words:
        longest = max((name for name in known if _begins(words, name)), key=len, default=words.partition(";")[0])
        found.append(longest.strip())
        words = words[len(longest) :].lstrip().removeprefix(";").lstrip()
    return tuple(name for name in found if name)


def _begins(words: str, name: str) -> bool:
    after = words[len(name) :].lstrip()
    return bool(name) and words.startswith(name) and (not after or after.startswith(";"))
