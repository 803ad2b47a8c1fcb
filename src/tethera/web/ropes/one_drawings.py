"""A rope's life on one line and its length over time, as plain facts for the drawings."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from tethera import labels
from tethera.store import (
    Bought,
    Cut,
    Inspected,
    LifeLine,
    Marked,
    Measured,
    RecordedAsFound,
    RopeState,
    Washed,
    length_band_cm,
)
from tethera.web.accounts.visit import Visit

_MOMENTS = {Washed: "washed", Measured: "measured", Inspected: "inspected", Cut: "cut"}


@dataclass(frozen=True)
class Drawings:
    """Each for a desk and, narrow, for a telephone; empty where there is nothing to draw."""

    life: SafeString
    life_narrow: SafeString
    length: SafeString
    length_narrow: SafeString


def drawings(visit: Visit, state: RopeState, lines: Sequence[LifeLine]) -> Drawings:
    """The drawings of a rope's page. They are made of our own numbers and words, so they need no escaping here."""
    standing = [each for each in lines if not each.struck]
    life = _life(visit, state, standing)
    points, marks = _lengths(state, standing)
    return Drawings(
        mark_safe(labels.life_svg(life, visit.today)) if life else SafeString(),
        mark_safe(labels.life_svg(life, visit.today, narrow=True, name="life-narrow")) if life else SafeString(),
        mark_safe(labels.length_chart_svg(points, marks, visit.today, rope=state.id)),
        mark_safe(labels.length_chart_svg(points, marks, visit.today, rope=state.id, wide=340, name="length-narrow")),
    )


def _life(visit: Visit, state: RopeState, lines: Sequence[LifeLine]) -> dict[str, Any]:
    passage = [(day, said) for day, said in visit.register.passage(state.id) if day <= visit.today]
    if not passage:
        return {}
    first = lines[0].event
    begins: Any = passage[0][0]
    # A rope older than this record lay ready in the store, as far as anybody knows.
    if isinstance(first, RecordedAsFound) and state.since and state.since.earliest < begins:
        begins = state.since
        passage = [(begins.earliest, "ready"), *passage]
    ends = passage[-1][0] if passage[-1][1] == "retired" else None
    return {
        "rope": state.id,
        "begins": begins,
        "begins_with": "bought" if isinstance(first, Bought) or state.bought else "first known",
        "ends": ends,
        "ended": "cut" if state.cut_on else "retired",
        "periods": [{"state": said, "begins": day, "ends": None} for day, said in passage if said != "retired"],
        "moments": [
            {
                "kind": _MOMENTS[type(each.event)],
                "date": each.happened,
                "length_cm": getattr(each.event, "length_cm", 0),
            }
            for each in lines
            if type(each.event) in _MOMENTS and each.happened.earliest <= visit.today
        ],
    }


def _lengths(state: RopeState, lines: Sequence[LifeLine]) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    points: list[dict[str, Any]] = []
    marks: list[dict[str, Any]] = []
    for line in lines:
        match line.event:
            case Measured(rope=state.id, length_cm=cm):
                points.append(_point(line, cm, "measured"))
            case Bought(rope=state.id, length_cm=cm):
                points.append(_point(line, cm, "bought"))
            case RecordedAsFound(rope=state.id, length_cm=int() as cm, known_by=how):
                points.append(_point(line, cm, how))
            case Cut(rope=state.id):
                marks.append({"date": line.happened, "length_m": None})
            case Cut(into=pieces):
                points += [_point(line, piece.length_cm, "cut") for piece in pieces if piece.rope == state.id]
            case Marked(rope=state.id, length_m=metres):
                marks.append({"date": line.happened, "length_m": metres})
    return points, marks


def _point(line: LifeLine, length_cm: int, source: str) -> dict[str, Any]:
    low, high = length_band_cm(length_cm, source)
    return {
        "date": line.happened,
        "length_cm": length_cm,
        "low_cm": low,
        "high_cm": high,
        "source": source,
    }
