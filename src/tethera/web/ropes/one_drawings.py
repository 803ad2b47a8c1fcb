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
    KnownLength,
    LifeLine,
    Measured,
    RecordedAsFound,
    RopeState,
    Washed,
    known_lengths,
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
    known = known_lengths(state.id, lines)
    marks: list[dict[str, Any]] = [
        {"date": each.happened, "length_m": each.length_cm // 100} for each in known if each.source == "marked"
    ]
    # A cut makes the marks void.
    marks += [{"date": each.happened, "length_m": None} for each in lines if _is_end(state, each)]
    return [_point(each) for each in known if each.source != "marked"], marks


def _is_end(state: RopeState, line: LifeLine) -> bool:
    return isinstance(line.event, Cut) and line.event.rope == state.id


def _point(known: KnownLength) -> dict[str, Any]:
    low, high = length_band_cm(known.length_cm, known.source)
    return {
        "date": known.happened,
        "length_cm": known.length_cm,
        "low_cm": low,
        "high_cm": high,
        "source": known.source,
    }
