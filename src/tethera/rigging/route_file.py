"""A route file written by hand: TOML in, a Route out, every complaint with its line and column.

Keys are listed in KEYS (and explained in docs/routes.md, which a test holds to this list).
"""

import re
import tomllib
from collections.abc import Mapping
from difflib import get_close_matches
from typing import Any

from tethera.basics import Unit
from tethera.rigging.checks import check_geometry, route_findings
from tethera.rigging.knots import KNOTS
from tethera.rigging.positions import Path, Positions
from tethera.rigging.route import (
    DIRECTIONS,
    KINDS,
    KNOWN_BY,
    ROLES,
    Anchor,
    Edition,
    Measure,
    Pitch,
    Route,
    RouteReading,
    Together,
    Totals,
    UnreadableRoute,
    exactly,
    too_large,
)
from tethera.rigging.route_text import goes_on
from tethera.rigging.words import DEEPEST_M, EXPECTED, read_measure

LARGEST_TEXT = 1_000_000
_LENGTH, _TEXT, _COUNT, _FLAG, _NAMES = "length", "text", "count", "yes or no", "names"
#: Every key, by table, and what its value is. A length key also goes as key_m or key_ft with a bare number.
KEYS: dict[str, dict[str, str]] = {
    "route": {
        "name": _TEXT, "team": _COUNT, "notes": _NAMES, "depth_known_by": "/".join(KNOWN_BY),
        "pitch": "tables", "together": "tables", "totals": "table",
    },
    "pitch": {
        "name": _TEXT, "depth": _LENGTH, "depth_known_by": "/".join(KNOWN_BY), "depth_spread": _LENGTH,
        "direction": "/".join(DIRECTIONS), "traverse": _LENGTH, "guide_rope": _LENGTH, "anchors": _COUNT,
        "rebelays": _COUNT, "deviations": _COUNT, "naturals": _COUNT, "to_next": _LENGTH, "rope_goes_on": _FLAG,
        "pull_through": _FLAG, "left_in_place": _FLAG, "second_line": _TEXT, "instead_of": _NAMES,
        "rope_above_floor": _LENGTH, "min_diameter_mm": "number", "type_a_only": _FLAG, "max_g_per_m": "number",
        "notes": _NAMES, "anchor": "tables", "edition": "tables",
    },
    "anchor": {
        "role": "/".join(ROLES), "kind": "/".join(KINDS), "along": _LENGTH, "down": "length, up is negative",
        "bolts": _COUNT, "loop": _LENGTH, "leg": _LENGTH, "apart": _LENGTH, "sling": _LENGTH, "rub": _FLAG,
        "min_diameter_mm": "number", "knot": "/".join(KNOTS), "note": _TEXT,
    },
    "edition": {
        "source": _TEXT, "depth": _LENGTH, "guide_rope": _LENGTH, "anchors": _COUNT, "note": _TEXT,
    },
    "together": {"pitches": _NAMES, "guide_rope": _LENGTH},
    "totals": {"rope": _LENGTH, "depth": _LENGTH, "anchors": _COUNT},
}  # fmt: skip


def read_route(text: str, *, source: str = "route") -> RouteReading:
    """Read a route file.

    Raises UnreadableRoute (line, column, what was expected) and nothing else, whatever the text.
    """
    if len(text) > LARGEST_TEXT:
        raise UnreadableRoute(1, 1, f"a route file is at most {LARGEST_TEXT:,} characters long", source=source)
    try:
        values = tomllib.loads(text.removeprefix("\ufeff"))
    except RecursionError:
        raise UnreadableRoute(1, 1, "brackets are nested too deeply to be a route", source=source) from None
    except (ValueError, OverflowError) as error:
        raise _toml_error(str(error), text, source) from None
    reader = _Table(values, (), "route", Positions(text), source)
    return _route(reader)


def _toml_error(words: str, text: str, source: str) -> UnreadableRoute:
    match = re.search(r"\(at line (\d+), column (\d+)\)", words)
    line, column = (int(match[1]), int(match[2])) if match else (text.count("\n") + 1, 1)
    what = re.sub(r"\s*\(at .*\)$", "", words)[:200]
    return UnreadableRoute(line, column, f'not TOML: {what}; expected lines such as depth = "22 m"', source=source)


class _Table:
    """One table of the file: fetches values by key, complains with their place."""

    def __init__(self, values: Mapping[str, Any], path: Path, kind: str, spots: Positions, source: str) -> None:
        self.values, self.path, self.kind, self.spots, self.source = values, path, kind, spots, source
        self.allowed = KEYS[kind]
        for key in values:
            if key not in self.allowed and self._base(key) is None:
                raise self.error_at_key(key, self._unknown(key))

    def _base(self, key: str) -> str | None:
        base, _, unit = key.rpartition("_")
        return base if unit in ("m", "ft") and self.allowed.get(base, "").startswith(_LENGTH) else None

    def _unknown(self, key: str) -> str:
        near = get_close_matches(key[:60], self.allowed, n=1)
        hint = f"did you mean “{near[0]}”?" if near else f"known are {', '.join(self.allowed)}"
        return f"“{key[:60]}” is not a key of a {self.kind}; {hint}"

    def error_at_key(self, key: str, expected: str) -> UnreadableRoute:
        spot = self.spots.key((*self.path, key))
        return UnreadableRoute(spot.line, spot.column, expected, source=self.source)

    def error(self, key: str, expected: str) -> UnreadableRoute:
        spot = self.spots.value((*self.path, key))
        return UnreadableRoute(spot.line, spot.column, expected, source=self.source)

    def here(self, expected: str) -> UnreadableRoute:
        spot = self.spots.key(self.path)
        return UnreadableRoute(spot.line, spot.column, expected, source=self.source)

    def text(self, key: str, default: str = "") -> str:
        value = self.values.get(key, default)
        if not isinstance(value, str) or len(value) > 1000:
            raise self.error(key, f"{key}: expected words in quotes, not {_show(value)}")
        return " ".join(value.split())

    def name(self, key: str = "name") -> str:
        words = self.text(key)
        if not words:
            raise (self.error if key in self.values else lambda _, e: self.here(e))(key, f"expected a {key} in quotes")
        if len(words) > 80:
            raise self.error(key, f"{key}: expected at most 80 characters")
        return words

    def choice(self, key: str, words: tuple[Any, ...], default: Any) -> Any:
        value = self.values.get(key, default)
        if value is not None and value not in words:
            near = get_close_matches(str(value)[:40], words, n=1)
            hint = f"; did you mean “{near[0]}”?" if near else ""
            raise self.error(key, f"{key}: expected one of {', '.join(words)}, not {_show(value)}{hint}")
        return value

    def flag(self, key: str, default: bool = False) -> bool:
        value = self.values.get(key, default)
        if not isinstance(value, bool):
            raise self.error(key, f"{key}: expected true or false, not {_show(value)}")
        return value

    def count(self, key: str, least: int = 0, most: int = 1000) -> int | None:
        value = self.values.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise self.error(key, f"{key}: expected a whole number from {least} to {most}, not {_show(value)}")
        return value

    def number(self, key: str, low: float, high: float, unit: str) -> float | None:
        value = self.values.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise self.error(key, f"{key}: expected {low:g} to {high:g} {unit}, not {_show(value)}")
        return float(value)

    def names(self, key: str) -> tuple[str, ...]:
        value = self.values.get(key, [])
        listed = [value] if isinstance(value, str) else value
        if not isinstance(listed, list) or not all(isinstance(item, str) and len(item) <= 1000 for item in listed):
            raise self.error(key, f"{key}: expected words in quotes or a list of them, not {_show(value)}")
        return tuple(" ".join(item.split()) for item in listed if item.strip())

    def measure(self, key: str) -> Measure | None:
        given = [name for name in (key, f"{key}_m", f"{key}_ft") if name in self.values]
        if not given:
            return None
        if len(given) > 1:
            raise self.error_at_key(given[1], f"“{given[0]}” and “{given[1]}” say the same; expected one of them")
        name, value = given[0], self.values[given[0]]
        unit: Unit | None = None if name == key else "m" if name.endswith("_m") else "ft"
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise self.error(name, f"{name}: expected {EXPECTED}, not {_show(value)}")
        if isinstance(value, str):
            try:
                return read_measure(value, unit=unit)
            except ValueError as error:
                raise self.error(name, f"{name}: {error}") from None
        if unit is None:
            raise self.error(name, f"{name}: the unit is missing in {_show(value)}; expected {EXPECTED}")
        metres = value * (0.3048 if unit == "ft" else 1.0) if -1e6 < value < 1e6 else DEEPEST_M + 1
        if not 0 <= metres <= DEEPEST_M:
            raise self.error(name, f"{name}: expected 0 to {DEEPEST_M:g} m, not {_show(value)}")
        return exactly(round(metres, 6) if unit == "ft" else metres)  # 3 ft are 0.9144 m, not 0.9144000000000001

    def metres(self, key: str, default: float | None = None) -> float | None:
        measure = self.measure(key)
        if measure is None:
            return default
        if measure.half_range_m:
            raise self.error(key, f"{key}: expected one length such as “2 m”, not a range")
        return measure.metres

    def signed(self, key: str) -> float:
        """Metres where a minus in front means up."""
        value = self.values.get(key)
        if isinstance(value, str) and re.match(r"\s*[-−]", value):
            self.values = {**self.values, key: re.sub(r"^\s*[-−]\s*", "", value)}
            return -(self.metres(key) or 0.0)
        bare = f"{key}_m" if f"{key}_m" in self.values else f"{key}_ft"
        number = self.values.get(bare)
        if isinstance(number, int | float) and not isinstance(number, bool) and number < 0:
            self.values = {**self.values, bare: -number}
            return -(self.metres(key) or 0.0)
        return self.metres(key) or 0.0

    def tables(self, key: str, kind: str) -> list["_Table"]:
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            raise self.error(key, f"{key}: expected tables [[{'.'.join([*self._names(), key])}]], not {_show(value)}")
        if len(value) > 2000:
            raise self.error(key, f"{key}: expected at most 2,000 of them")
        paths = ((*self.path, key, number) for number in range(len(value)))
        return [_Table(item, path, kind, self.spots, self.source) for item, path in zip(value, paths, strict=True)]

    def _names(self) -> list[str]:
        return [part for part in self.path if isinstance(part, str)]


def _show(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    try:
        words = str(value)
    except ValueError:
        return "a very long number"
    return f"“{words[:40]}”" if isinstance(value, str) else words[:40]


def _route(table: _Table) -> RouteReading:
    name = table.name()
    known_by = table.choice("depth_known_by", KNOWN_BY, "guide")
    tables = table.tables("pitch", "pitch")
    if not tables:
        raise table.here("expected at least one pitch, beginning with a line [[pitch]]")
    if much := too_large([sum(len(one.tables(key, key)) for key in ("anchor", "edition")) for one in tables]):
        raise table.here(f"{much}.")
    pitches: list[Pitch] = []
    names: set[str] = set()
    main: set[str] = set()
    for one in tables:
        pitch = _pitch(one, known_by)
        if pitch.name in names:
            raise one.error("name", f"two pitches are called “{pitch.name}”; expected a name of its own for each")
        wrong = set(pitch.instead_of) - main
        if wrong:
            raise one.error("instead_of", f"“{sorted(wrong)[0]}” is no pitch of the main way written before this one")
        pitches.append(pitch)
        names.add(pitch.name)
        main |= set() if pitch.instead_of else {pitch.name}
    if pitches[0].instead_of or all(pitch.instead_of for pitch in pitches):
        raise tables[0].error("instead_of", "expected the pitch that is replaced before its replacement")
    known = {pitch.name for pitch in pitches}
    together = tuple(_together(one, known) for one in table.tables("together", "together"))
    totals = _totals(table)
    route = Route(name, tuple(pitches), table.count("team", 1, 500), table.names("notes"), together, totals)
    return RouteReading(route, route_findings(route))


def _pitch(table: _Table, known_by: Any) -> Pitch:
    name = table.name()
    traverse = table.metres("traverse", 0.0) or 0.0
    anchors = tuple(_anchor(one) for one in table.tables("anchor", "anchor"))
    depth = table.measure("depth")
    if depth is None:
        if not traverse and not anchors:
            raise table.here(f'pitch “{name}”: expected its depth, such as depth = "22 m"')
        down = round(sum(anchor.down_m for anchor in anchors), 6)  # 12.1 and 6.2 are 18.3, not 18.299999999999997
        depth = exactly(max(down, 0.0))
    if depth.high_m <= 0 and not traverse and not anchors:
        raise table.error("depth", f"pitch “{name}”: expected a depth above 0 m, or a traverse")
    to_next = table.metres("to_next")
    may = goes_on(to_next)
    pitch = Pitch(
        name=name, depth=depth, depth_known_by=table.choice("depth_known_by", KNOWN_BY, known_by),
        depth_spread_m=table.metres("depth_spread"), direction=table.choice("direction", DIRECTIONS, "down"),
        traverse_m=traverse, guide_rope=table.measure("guide_rope"), anchor_count=table.count("anchors"),
        rebelays=table.count("rebelays"), deviations=table.count("deviations"), naturals=table.count("naturals"),
        anchors=anchors, to_next_m=to_next, rope_goes_on=table.flag("rope_goes_on", may),
        pull_through=table.flag("pull_through"), left_in_place=table.flag("left_in_place"),
        second_line=table.text("second_line") or None, instead_of=table.names("instead_of"),
        rope_above_floor_m=table.metres("rope_above_floor", 0.0) or 0.0,
        min_diameter_mm=table.number("min_diameter_mm", 5, 20, "mm"), type_a_only=table.flag("type_a_only"),
        max_g_per_m=table.number("max_g_per_m", 20, 200, "g/m"), notes=table.names("notes"),
        editions=tuple(_edition(one) for one in table.tables("edition", "edition")),
    )  # fmt: skip
    if complaint := check_geometry(pitch):
        key, words = complaint
        if key.startswith("anchor"):
            spot = table.spots.value((*table.path, "anchor", int(key.split()[1]), "down"))
            raise UnreadableRoute(spot.line, spot.column, words, source=table.source)
        raise table.error(key, words)
    return pitch


def _anchor(table: _Table) -> Anchor:
    if "role" not in table.values:
        raise table.here(f"expected the role of this anchor: one of {', '.join(ROLES)}")
    role = table.choice("role", ROLES, None)
    return Anchor(
        role=role, kind=table.choice("kind", KINDS, "bolt"), along_m=table.metres("along", 0.0) or 0.0,
        down_m=table.signed("down"), bolts=table.count("bolts", 1, 20) or (2 if role == "y-hang" else 1),
        loop_m=table.metres("loop"), leg_m=table.metres("leg"), apart_m=table.metres("apart"),
        sling_m=table.metres("sling"),
        rub=table.flag("rub"), min_diameter_mm=table.number("min_diameter_mm", 5, 20, "mm"),
        knot=table.choice("knot", KNOTS, None), note=table.text("note"),
    )  # fmt: skip


def _edition(table: _Table) -> Edition:
    source = table.name("source")
    return Edition(
        source, table.measure("depth"), table.measure("guide_rope"), table.count("anchors"), table.text("note")
    )


def _together(table: _Table, known: set[str]) -> Together:
    pitches, rope = table.names("pitches"), table.measure("guide_rope")
    if len(pitches) < 2:
        raise table.here("together: expected the names of at least two pitches")
    for name in pitches:
        if name not in known:
            near = get_close_matches(name, known, n=1)
            hint = f"; did you mean “{near[0]}”?" if near else ""
            raise table.error("pitches", f"there is no pitch “{name[:40]}”{hint}")
    if rope is None:
        raise table.here('together: expected guide_rope, such as "40 m"')
    return Together(pitches, rope)


def _totals(table: _Table) -> Totals:
    value = table.values.get("totals", {})
    if not isinstance(value, dict):
        raise table.error("totals", f"totals: expected a table [totals], not {_show(value)}")
    totals = _Table(value, ("totals",), "totals", table.spots, table.source)
    return Totals(totals.measure("rope"), totals.measure("depth"), totals.count("anchors", most=100_000))
