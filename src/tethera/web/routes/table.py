"""The table of a route as a form sends it: cells by pitch, and below each pitch its anchors and other guides."""

import re
from collections.abc import Mapping
from typing import Any

from django.http.request import QueryDict
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.rigging.route import too_large

#: p3.depth, p3.a0.down, p3.e1.source: a cell of a pitch, of one of its anchors, of another guide's words.
_CELL = re.compile(r"p(\d{1,3})\.(?:([ae])(\d{1,3})\.)?([a-z_]{1,20})")
_ROW = {"a": "anchor", "e": "edition"}
_MOST_LETTERS, _MOST_IN_A_NAME = 2000, 200

#: What the page calls a cell, where something is wrong in it.
_CALLED: dict[str, Promise] = {
    "name": gettext_lazy("Name"),
    "team": gettext_lazy("Cavers, usually"),
    "notes": gettext_lazy("Notes"),
    "pitches": gettext_lazy("Pitches"),
    "depth": gettext_lazy("Depth"),
    "depth_known_by": gettext_lazy("Depth known by"),
    "depth_spread": gettext_lazy("Depth may be out by"),
    "direction": gettext_lazy("Direction"),
    "traverse": gettext_lazy("Traverse"),
    "guide_rope": gettext_lazy("Guide's rope"),
    "anchors": gettext_lazy("Anchors"),
    "rebelays": gettext_lazy("Rebelays"),
    "deviations": gettext_lazy("Deviations"),
    "naturals": gettext_lazy("Naturals"),
    "to_next": gettext_lazy("To the next"),
    "rope_goes_on": gettext_lazy("The rope may go on to the next"),
    "second_line": gettext_lazy("A second line, for what"),
    "instead_of": gettext_lazy("Instead of these pitches"),
    "rope_above_floor": gettext_lazy("Rope ends above the floor"),
    "min_diameter_mm": gettext_lazy("Thinnest rope, mm"),
    "max_g_per_m": gettext_lazy("Heaviest rope, g/m"),
    "role": gettext_lazy("What it does"),
    "kind": gettext_lazy("What it is"),
    "along": gettext_lazy("Along"),
    "down": gettext_lazy("Down"),
    "bolts": gettext_lazy("Bolts"),
    "loop": gettext_lazy("Loop"),
    "leg": gettext_lazy("Leg of a Y-hang"),
    "apart": gettext_lazy("Bolts of a Y-hang apart"),
    "sling": gettext_lazy("Sling"),
    "rub": gettext_lazy("Rubs"),
    "knot": gettext_lazy("Knot"),
    "note": gettext_lazy("Note"),
    "source": gettext_lazy("Which guide"),
    "pull_through": gettext_lazy("pulled through"),
    "left_in_place": gettext_lazy("a rope is left in place"),
    "type_a_only": gettext_lazy("type A only"),
}


def cell_called(key: str) -> str:
    """What the page calls a cell: its column or its label."""
    return str(_CALLED[key])


def sent_table(told: QueryDict) -> dict[str, Any]:
    """The table that was sent, rows in the order in which they came; a row without a word in it is none.

    ValueError for more than any route has: cut off, a route would be kept that nobody wrote.
    """
    pitches: dict[str, dict[str, Any]] = {}
    below: dict[tuple[str, str, str], dict[str, str]] = {}
    for name in told:
        match = _CELL.fullmatch(name)
        if match is None:
            continue
        pitch, kind, number, key = match.groups()
        value = _words(told, name, _MOST_LETTERS)
        cells = pitches.setdefault(pitch, {"at": pitch, "anchor": [], "edition": []})
        if kind is None:
            cells[key] = value
            continue
        row = below.get((pitch, kind, number))
        if row is None:
            row = below[pitch, kind, number] = {}
            cells[_ROW[kind]].append(row)
        row[key] = value
    found = [_without_empty_rows(cells) for cells in pitches.values()]
    full = [each for each in found if not is_empty(each)]
    if much := too_large([len(each["anchor"]) + len(each["edition"]) for each in full]):
        raise ValueError(_("Nothing is kept: {much}.").format(much=much))
    return {
        "name": _words(told, "name", _MOST_IN_A_NAME),
        "team": _words(told, "team", _MOST_IN_A_NAME),
        "notes": _words(told, "notes", _MOST_LETTERS),
        "pitches": full,
    }


def _words(told: QueryDict, name: str, most: int) -> str:
    value = str(told.get(name, ""))
    if len(value) > most:
        much = _("Nothing is kept: “{begin}…” has {n:,} letters; at most {most:,} fit. Go back and shorten it.")
        raise ValueError(much.format(begin=value[:30], n=len(value), most=most))
    return value


def sent_pitches(told: QueryDict) -> list[str]:
    """The numbers of all pitches that were sent, also of those without a word in them."""
    found = (_CELL.fullmatch(name) for name in told)
    return list(dict.fromkeys(match[1] for match in found if match))


#: What a new row says before anybody typed in it.
_USUAL = {"role": "", "kind": "bolt", "depth_known_by": "guide", "direction": "down"}


def _without_empty_rows(cells: dict[str, Any]) -> dict[str, Any]:
    return {
        **cells,
        "anchor": [row for row in cells["anchor"] if row.get("role", "").strip() or not is_empty(row)],
        "edition": [row for row in cells["edition"] if not is_empty(row)],
    }


def is_empty(cells: Mapping[str, Any]) -> bool:
    """Whether nobody wrote anything into a row yet."""
    for key, value in cells.items():
        if isinstance(value, list):
            if value:
                return False
        elif key != "at" and str(value).strip() and str(value) != _USUAL.get(key):
            return False
    return True


def acted_on(table: dict[str, Any], act: str) -> dict[str, Any]:
    """The table after a press on a button that adds, moves or takes out a row: for browsers without scripts.

    Acts are add, anchor:2, edition:2, up:2, down:2, out:2 and out:2:a:1; what is none of them changes nothing.
    """
    what, *places = act.split(":")
    pitches = table["pitches"]
    numbers = [int(each) for each in places if each.isdecimal()]
    if what == "add":
        pitches.append({"anchor": [], "edition": []})
    elif numbers and numbers[0] < len(pitches):
        at = numbers[0]
        if what in ("anchor", "edition"):
            pitches[at][what].append({})
        elif what == "up" and at:
            pitches[at - 1], pitches[at] = pitches[at], pitches[at - 1]
        elif what == "down" and at + 1 < len(pitches):
            pitches[at + 1], pitches[at] = pitches[at], pitches[at + 1]
        elif what == "out" and len(places) == 1:
            del pitches[at]
        elif (
            what == "out" and len(places) == 3 and places[1] in _ROW and numbers[1] < len(pitches[at][_ROW[places[1]]])
        ):
            del pitches[at][_ROW[places[1]]][numbers[1]]
    return table
