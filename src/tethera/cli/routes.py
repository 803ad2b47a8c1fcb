"""Routes at the terminal: read one, and tell the metres each pitch takes."""

import argparse
import json
import math
from pathlib import Path
from statistics import NormalDist

from tethera.basics import Finding
from tethera.cli import places, terminal
from tethera.cli.errors import WrongInput
from tethera.cli.main import DONE
from tethera.rigging import KnotLengths, RopeNeed, Route, RouteReading, read_route, read_route_rows, rope_needs

#: Spreads either side that hold nine tenths of a normal distribution.
_NINETY = NormalDist().inv_cdf(0.95)
#: Stands beside the low end of a band that is the least there can be.
_LEAST = "*"
SPREADSHEETS = (".xlsx", ".xls", ".ods", ".csv")


def load(file: str) -> RouteReading:
    """Read a route file or a spreadsheet of pitches."""
    path = Path(file)
    if not path.is_file():
        raise WrongInput(f"{file}: there is no such file. Name a route file (.toml) or a spreadsheet of pitches.")
    if path.suffix.lower() in SPREADSHEETS:
        from tethera.web.importing.workbook_child import read_workbook_safely

        sheets = read_workbook_safely(path)
        return read_route_rows(sheets[0].rows, source=path.name, name=path.stem)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise WrongInput(f"{file}: not a text file in UTF-8 (byte {error.start}). Save it as UTF-8 text.") from None
    return read_route(text, source=path.name)


def load_known(word: str, store: places.OpenStore | None, knots: KnotLengths) -> RouteReading:
    """A route from its file or, by its name, from the store's record; with what the store's ropes told of it."""
    from tethera.planning import taught_route
    from tethera.store import seen_on, written_routes

    if store is None:
        return load(word)
    fold = store.register.caught_up()
    if Path(word).is_file():
        reading, names = load(word), set[str]()
    else:
        written = [each for each in written_routes(fold) if each.put_away is None]
        readings = {each.key: read_route(each.newest.text, source=each.key) for each in written}
        asked = word.strip().casefold()
        key = next((k for k, each in readings.items() if asked in (k, each.route.name.casefold())), None)
        if key is None:
            known = ", ".join(sorted(readings)) or "none yet"
            raise WrongInput(f"{word}: there is no such file, and no route of the store is called so. It has: {known}.")
        reading, names = readings[key], {key}
    route, _ = taught_route(reading.route, seen_on(fold, {reading.route.name, *names}), knots)
    return RouteReading(route, reading.findings)


def store_if_any(named: str | None) -> places.OpenStore | None:
    """The store where there is one: to tell what a route takes, none is needed."""
    if named is None and not places.store_folder(None).exists():
        return None
    return places.open_store(named)


def knots_of(store: str | None) -> KnotLengths:
    """The store's own measured knots where it has some, else the defaults."""
    own = places.store_folder(store) / "knots.toml"
    return KnotLengths.from_toml(own.read_text(encoding="utf-8")) if own.is_file() else KnotLengths.default()


def needs(words: argparse.Namespace) -> int:
    """Tell the metres each pitch takes, rigged on a rope of its own."""
    knots = knots_of(words.store)
    reading = load_known(words.route, store_if_any(words.store), knots)
    per_pitch = rope_needs(reading.route, knots)
    z = NormalDist().inv_cdf(words.confidence / 100)
    if words.json:
        print(json.dumps(_as_mapping(reading, per_pitch, z, words.confidence), indent=2, ensure_ascii=False))
        return DONE
    terminal.say(terminal.bold(reading.route.name))
    terminal.say(f"Metres of washed rope each pitch takes on a rope of its own, {words.confidence:g} % sure:\n")
    terminal.say(_needs_table(reading.route, per_pitch, z))
    if words.why:
        sources: dict[str, int] = {}
        for need in per_pitch:
            terminal.say("\n" + _why(need, z, sources))
        terminal.say("\n" + terminal.bold("Sources"))
        for source, number in sources.items():
            terminal.say(terminal.paragraph(f"[{number}] {source}", hanging="    "))
    else:
        terminal.say("\nEvery leg, knot and loop with its source:  --why")
    findings = (*reading.findings, *(finding for need in per_pitch for finding in need.findings))
    if findings:
        terminal.say("\n" + terminal.doubts(findings))
    terminal.say("\n" + terminal.paragraph(CAUTION))
    return DONE


CAUTION = (
    "Estimates for trained people, who decide on the rope. A stopper knot in every bottom end; the foot must be "
    "reached by an unloaded rope."
)


def _needs_table(route: Route, per_pitch: tuple[RopeNeed, ...], z: float) -> str:
    rows = [
        (str(number), pitch.name, terminal.depth(pitch.depth_m), terminal.capsule(need.at(z)), _band(need))
        for number, (pitch, need) in enumerate(zip(route.pitches, per_pitch, strict=True), start=1)
    ]
    head = ("", "Pitch", "Depth", "Rope", "90 % of such pitches take")
    table = terminal.table(head, rows, ("right", "left", "right", "right", "left"))
    least = any(_LEAST in row[-1] for row in rows)
    note = f"{_LEAST} No less can do: the depth and any traverse, a tail at either end, a stopper."
    return f"{table}\n{note}" if least else table


def _band(need: RopeNeed) -> str:
    """What nine in ten such pitches take; where that would begin below the least there can be, it begins there."""
    low, high = need.band(_NINETY)
    if low > need.least_m or not need.sd_m:
        return f"{low:.1f} to {high:.1f} m"
    least = math.ceil(low * 10 - 1e-6) / 10
    return f"{least:.1f}{_LEAST} to {max(high, least):.1f} m"


def _why(need: RopeNeed, z: float, sources: dict[str, int]) -> str:
    """The items of one pitch, each with the number of its source below."""
    told = need.account(z)
    rows = [
        (item.what, f"{shown_m:.2f}", f"±{item.sd_m:.2f}", f"[{sources.setdefault(item.source, len(sources) + 1)}]")
        for item, shown_m in told.items
    ]
    rows.append(("expected", f"{told.expected_m:.2f}", f"±{told.sd_m:.2f}", ""))
    rows.append((f"margin: {z:.2f} × spread, rounded up", f"{told.margin_m:.2f}", "", ""))
    rows.append(("to take", f"{told.takes_m:.2f}", "", ""))
    table = terminal.table(("", "m", "spread", "source"), rows, ("left", "right", "right", "left"))
    return terminal.bold(need.pitch) + "\n" + table


def findings_json(findings: tuple[Finding, ...]) -> list[dict[str, str]]:
    """Findings as machines read them."""
    return [
        {"code": finding.code, "where": finding.where, "message": finding.message, "way_out": finding.way_out}
        for finding in findings
    ]


def _as_mapping(
    reading: RouteReading, per_pitch: tuple[RopeNeed, ...], z: float, confidence_percent: float
) -> dict[str, object]:
    return {
        "route": reading.route.name,
        "confidence_percent": confidence_percent,
        "pitches": [
            {
                "pitch": need.pitch,
                "depth_m": pitch.depth_m,
                "need_cm": need.at(z),
                "mean_m": round(need.mean_m, 3),
                "sd_m": round(need.sd_m, 3),
                "items": [
                    {"what": i.what, "metres": round(i.metres, 3), "sd_m": round(i.sd_m, 3), "source": i.source}
                    for i in need.items
                ],
                "findings": findings_json(need.findings),
            }
            for pitch, need in zip(reading.route.pitches, per_pitch, strict=True)
        ],
        "findings": findings_json(reading.findings),
    }
