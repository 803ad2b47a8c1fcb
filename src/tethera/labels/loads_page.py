"""The back of the rigging sheet: what each anchor is asked to hold, the bad ones first."""

from collections.abc import Mapping, Sequence
from typing import Any

from tethera.labels.columns import Column, Table
from tethera.labels.flow import RIGHT, Flow
from tethera.labels.page import Token, rich

_COLUMNS = (
    Column("Anchor", 11.0, 45.0),
    Column("Still", 47.0, 56.0, numbers=True),
    Column("Moving", 58.0, 69.0, numbers=True),
    Column("Worst fall, likely to most", 72.0, RIGHT),
)


def loads_pages(flow: Flow, loads: Mapping[str, Any]) -> None:
    """Every anchor of `loads` (the mapping `rigging.loads_mapping` gives), on a side of its own and those after it."""
    anchors: Sequence[Mapping[str, Any]] = loads.get("anchors") or ()
    if not anchors:
        return
    flow.turn()
    flow.heading("Loads on the anchors, the bad ones first")
    flow.say(rich("Kilonewtons. What looks bad is said; what is not said to look bad has not been found to hold."), 10)
    for sentence in loads.get("assumptions") or ():
        flow.say(rich(sentence), 9)
    table = Table(flow, _COLUMNS, 9.0)
    for each in _heads_together(anchors):
        table.row((_who(each), *_told(each)[1:]))
    cautions = loads.get("cautions") or ()
    if cautions:
        flow.heading("Mind")
    for sentence in cautions:
        flow.say(rich(sentence), 10)
        flow.gap(0.6)


def _heads_together(anchors: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Pitch heads of which the same is known, and the same is not, as one row where the first of them stands.

    >>> bare = {"number": None, "hanging_kn": {"high": 1.0}, "moving_kn": 2.0, "unknown": ["where its anchors are"]}
    >>> rows = [{**bare, "pitch": name, "anchor": f"head of {name}"} for name in ("Porch", "Candle", "Wick")]
    >>> [each["anchor"] for each in _heads_together(rows)]
    ['heads of Porch, Candle and Wick']
    """
    rows: list[Mapping[str, Any]] = []
    for each in anchors:
        alike = [
            n for n, row in enumerate(rows) if row["number"] is each["number"] is None and _told(row) == _told(each)
        ]
        if not alike:
            rows.append(each)
            continue
        names = [*rows[alike[0]].get("names", [rows[alike[0]]["pitch"]]), each["pitch"]]
        label = f"heads of {', '.join(names[:-1])} and {names[-1]}"
        rows[alike[0]] = {**rows[alike[0]], "names": names, "anchor": label}
    return rows


def _told(each: Mapping[str, Any]) -> Any:
    """What its row says beside the name."""
    return _who(each)[1:], _number(each["hanging_kn"]["high"]), _number(each["moving_kn"]), _fall(each)


def _who(each: Mapping[str, Any]) -> list[list[Token]]:
    legs = each.get("legs") or ()
    lines = [rich(str(each["anchor"]), bold=bool(each.get("badness")))]
    if legs:
        said = ", ".join(f"{leg['leg_kn']:.1f}" for leg in legs)
        angles = " / ".join(f"{leg['angle_deg']:g}°" for leg in legs)
        lines.append(rich(f"a leg of the Y at {angles}: {said}"))
    return lines


def _number(kn: float) -> list[list[Token]]:
    return [rich(f"{kn:.1f}")]


def _fall(each: Mapping[str, Any]) -> list[list[Token]]:
    lines: list[list[Token]] = []
    if each.get("fall_kn"):
        band = each["fall_kn"]
        lines.append([*rich(f"{band['likely']:.1f} to {band['high']:.1f}", bold=True), *rich(str(each["fall"]))])
    lines += [
        rich(words, bold=True) for words in _together([str(bad["message"]) for bad in each.get("looks_bad") or ()])
    ]
    lines += [rich(f"Not known: {words[:1].lower()}{words[1:]}") for words in each.get("unknown") or ()]
    return lines or [rich("none worked out")]


def _together(messages: Sequence[str]) -> list[str]:
    """Sentences that begin alike up to their comma, said as one.

    >>> _together(["Looks bad: up to 9 kN, over a.", "Looks bad: up to 9 kN, over b.", "Alone."])
    ['Looks bad: up to 9 kN, over a and over b.', 'Alone.']
    """
    said: dict[str, list[str]] = {}
    for message in messages:
        begin, comma, rest = message.partition(", ")
        said.setdefault(begin, []).append(rest.rstrip(".") if comma else "")
    return [f"{begin}, {' and '.join(rests)}." if any(rests) else begin for begin, rests in said.items()]
