"""The table of a route as a form sends it: cells by pitch, and below each pitch its anchors and other guides."""

import re
from collections.abc import Mapping
from typing import Any

from django.http.request import QueryDict
from django.utils.translation import gettext as _

from tethera.rigging.route import too_large

#: p3.depth, p3.a0.down, p3.e1.source: a cell of a pitch, of one of its anchors, of another guide's words.
_CELL = re.compile(r"p(\d{1,3})\.(?:([ae])(\d{1,3})\.)?([a-z_]{1,20})")
_ROW = {"a": "anchor", "e": "edition"}
_MOST_LETTERS, _MOST_IN_A_NAME = 2000, 200


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
    full = [each for each in found if not _is_empty(each)]
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
        "anchor": [row for row in cells["anchor"] if row.get("role", "").strip() or not _is_empty(row)],
        "edition": [row for row in cells["edition"] if not _is_empty(row)],
    }


def _is_empty(cells: Mapping[str, Any]) -> bool:
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
