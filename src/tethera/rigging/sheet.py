"""The rigging sheet as a plain mapping: what to print is decided here, how it looks elsewhere.

Names of ropes come as plain mappings, so that a sheet can name chosen ropes without knowing who chose them.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from statistics import NormalDist
from typing import Any

from tethera.basics import Finding, need_cm
from tethera.rigging.kit import WHAT, PitchKit, kit
from tethera.rigging.knots import KnotLengths
from tethera.rigging.metres import rope_needs
from tethera.rigging.route import Anchor, Pitch, Route, rigged_pitches
from tethera.rope import StretchLaw, figure, rebelay_slack_m

CAUTIONS = (
    "Estimates only. Trained people decide on the rope and the rig.",
    "A stopper knot in the bottom end of every rope.",
    "The foot must be reached by an unloaded rope.",
)
#: Confidence of a need on a rope of its own where nobody asked for another [%].
_USUAL_PERCENT = 95
#: A confidence rounded to a whole number may say 100 [%].
_MOST_PERCENT = 99.99


def rigging_sheet(
    route: Route,
    ropes: Mapping[str, Any] | Sequence[Mapping[str, Any]],
    *,
    store: str | None = None,
    date: str | None = None,
    confidence_percent: int | None = None,
    knots: KnotLengths | None = None,
    findings: Iterable[Finding] = (),
) -> dict[str, Any]:
    """The whole sheet in plain values: lengths as whole cm, drawing coordinates as metres below the route's head.

    Parameters
    ----------
    ropes : the ropes in order of use, each a mapping with at least "rope", "length_cm" and "pitches" (names or numbers
        from 0 of the pitches it serves); or one mapping {"ropes": [...]}. Where there are ropes, a way of a choice that
        none of them serves is marked "rigged": False and counts neither in the kit nor in the depth. A rope with "gone"
        is not to be had any more, for this reason: it stays in the list, its pitch has no rope, and it is not counted.
    """
    rows = list(ropes.get("ropes", ())) if isinstance(ropes, Mapping) else list(ropes)
    served = [pitch.name for number, pitch in enumerate(route.pitches) if any(_serves(r, route, number) for r in rows)]
    rigged = rigged_pitches(route, served)
    counted = kit(route, rigged if rows else None)
    needs = rope_needs(route, knots)
    z = NormalDist().inv_cdf(min(confidence_percent or _USUAL_PERCENT, _MOST_PERCENT) / 100)
    heads = _heads(route, rigged)
    pitches = [
        _pitch(route, number, heads[pitch.name], needs[number].at(z), counted.pitches[number], rows)
        | {"rigged": pitch.name in rigged}
        for number, pitch in enumerate(route.pitches)
    ]
    doubts = [*findings, *(doubt for need in needs for doubt in need.findings)]
    doubts.sort(key=lambda doubt: doubt.code != "pitch-left-out")  # a pitch without a rope first
    return {
        "title": route.name,
        "subtitle": " ".join(route.notes),
        "store": store,
        "date": date,
        "party": route.team_size,
        "confidence_percent": confidence_percent,
        "ropes": [_rope(row) for row in rows],
        "pitches": pitches,
        "kit": counted.to_mapping(),
        "totals": _totals([pitch for pitch in route.pitches if pitch.name in rigged], rows, heads),
        "findings": [{"where": f.where, "message": f.message, "way_out": f.way_out} for f in doubts],
        "cautions": list(CAUTIONS),
    }


def _rope(row: Mapping[str, Any]) -> dict[str, Any]:
    given = ("rope", "length_cm", "diameter_mm", "type", "bag", "begins", "ends", "need_cm", "left_cm")
    return {key: row.get(key) for key in (*given, "joined_to", "warning", "gone")}


def _totals(
    pitches: Sequence[Pitch], rows: Sequence[Mapping[str, Any]], heads: Mapping[str, tuple[float, float]]
) -> dict[str, Any]:
    rows = [row for row in rows if not row.get("gone")]
    masses = [row.get("mass_g") for row in rows]
    known = [mass for mass in masses if mass is not None]
    feet = [heads[pitch.name][0] + _sign(pitch) * pitch.depth_m for pitch in pitches]
    return {
        "ropes": len(rows),
        "length_cm": sum(row.get("length_cm") or 0 for row in rows),
        "mass_g": sum(known) if len(known) == len(masses) and known else None,
        "depth_m": round(max((*feet, 0.0)), 2),
    }


def _sign(pitch: Pitch) -> int:
    return -1 if pitch.direction == "up" else 1


def _across(pitch: Pitch) -> float:
    return pitch.traverse_m + sum(a.along_m for a in pitch.anchors if a.role != "deviation")


def _after(pitch: Pitch, at: tuple[float, float]) -> tuple[float, float]:
    return at[0] + _sign(pitch) * pitch.depth_m, at[1] + _across(pitch) + (pitch.to_next_m or 5.0)


def _heads(route: Route, rigged: Collection[str]) -> dict[str, tuple[float, float]]:
    """Depth of each pitch's head below the route's head and its distance along, by name, for drawing [m].

    A pitch that replaces others begins where the first of them begins; what follows goes on from the way rigged.
    """
    chain = [pitch.name for pitch in route.pitches if not pitch.instead_of]
    ways: dict[tuple[str, ...], list[Pitch]] = {}
    for pitch in route.pitches:
        if pitch.instead_of:
            ways.setdefault(tuple(sorted(pitch.instead_of, key=chain.index)), []).append(pitch)
    heads: dict[str, tuple[float, float]] = {}
    onward: dict[str, tuple[float, float]] = {}
    at = (0.0, 0.0)
    for pitch in (pitch for pitch in route.pitches if not pitch.instead_of):
        for replaced, others in ways.items():
            if replaced[0] == pitch.name:
                end = at
                for other in others:
                    heads[other.name], end = end, _after(other, end)
                if not any(name in rigged for name in replaced):
                    onward[replaced[-1]] = end
        heads[pitch.name] = at
        at = onward.get(pitch.name) or _after(pitch, at)
    return {name: (round(top, 2), round(across, 2)) for name, (top, across) in heads.items()}


def _serves(row: Mapping[str, Any], route: Route, number: int) -> bool:
    return any(served in (route.pitches[number].name, number) for served in row.get("pitches", ()))


def _pitch(
    route: Route,
    number: int,
    head: tuple[float, float],
    alone_cm: int,
    pieces: PitchKit,
    rows: list[Mapping[str, Any]],
) -> dict[str, Any]:
    pitch = route.pitches[number]
    on_it = [row for row in rows if _serves(row, route, number)]
    there = [row for row in on_it if not row.get("gone")]
    main = [str(row["rope"]) for row in there if not row.get("second_line")]
    guide = pitch.guide_rope_m
    return {
        "name": pitch.name,
        "depth_m": pitch.depth_m,
        "depth_known_by": pitch.depth_known_by,
        "detail": "anchors" if pitch.by_anchors else "coarse",
        "direction": pitch.direction,
        "ropes": main,
        "rope_needed_cm": None if pitch.left_in_place else _needed_cm(on_it, alone_cm),
        "top_m": head[0],
        "x_m": head[1],
        "traverse_m": pitch.traverse_m,
        "anchors": _anchors(pitch, there, main),
        "count_anchors": pitch.count,
        "guide_rope_cm": None if guide is None else need_cm(guide),
        "flags": [*pitch.flags, *_together(route, pitch)],
        "notes": [*pitch.notes, *_loops(pitch)],
        **{what: getattr(pieces, what) for what in WHAT},
        "lines": [str(row["rope"]) for row in there if row.get("second_line")],
    }


def _needed_cm(rows: Sequence[Mapping[str, Any]], alone_cm: int) -> int | None:
    """The need beside a pitch: that of its rope, as in the list of ropes, where the two have only each other.

    A rope over several pitches has one need for all of them, and a pitch on several ropes has several: neither is the
    need of the pitch, so that none is given. Without a rope it is the need on a rope of its own.
    """
    main = [row for row in rows if not row.get("second_line")]
    if not main:
        return alone_cm
    need: int | None = main[0].get("need_cm")
    return need if len(main) == 1 and len(main[0].get("pitches", ())) == 1 else None


def _together(route: Route, pitch: Pitch) -> list[str]:
    groups = [group for group in route.together if pitch.name in group.pitches]
    return [f"or {group.guide_rope.high_m:g} m for {' and '.join(group.pitches)}" for group in groups]


def _anchors(pitch: Pitch, rows: list[Mapping[str, Any]], names: list[str]) -> list[dict[str, Any]]:
    """Anchors with their place below the head, and the rope that leaves each downwards.

    A rope's mapping may say at which anchor it begins: "begins_at_anchor" = {pitch name: number from 1}.
    """
    starts = {
        row.get("begins_at_anchor", {}).get(pitch.name): str(row["rope"]) for row in rows if not row.get("second_line")
    }
    rope = names[0] if names else None
    drawn: list[dict[str, Any]] = []
    along = down = 0.0
    for number, anchor in enumerate(pitch.anchors, start=1):
        down += anchor.down_m
        along += 0.0 if anchor.role == "deviation" else anchor.along_m
        change = number in starts and starts[number] != rope
        rope = starts.get(number, rope)
        drawn.append(_anchor(anchor, number, along, down, rope, change))
    return drawn


def _anchor(anchor: Anchor, number: int, along: float, down: float, rope: str | None, change: bool) -> dict[str, Any]:
    aside = anchor.along_m if anchor.role == "deviation" else 0.0
    return {
        "number": number,
        "kind": anchor.kind,
        "role": anchor.role,
        "along_m": round(along + aside, 2),
        "down_m": round(down, 2),
        "bolts": anchor.bolts,
        "sling_m": anchor.sling_m,
        "rub": anchor.rub,
        "rope": rope,
        "change": change,
        "note": anchor.note,
    }


def _loops(pitch: Pitch) -> list[str]:
    """What to leave in each rebelay loop while hanging on the rope above: the careful end is a soft rope."""
    soft = StretchLaw.from_en1891(
        figure("rope", "stretch", "elongation_limit").value, figure("rope", "stretch", "soft_share").value
    )
    held = figure("rigging", "metres", "rebelay_loop").value
    mass = figure("rigging", "metres", "rigger_mass").value
    weight = figure("rigging", "metres", "rope_mass").value
    notes, hang = [], 0.0
    for number, anchor in enumerate(pitch.anchors, start=1):
        hang += max(anchor.down_m, 0.0)
        if anchor.role == "rebelay":
            slack = rebelay_slack_m(min(hang, 500.0), weight, mass, min(anchor.loop_m or held, 20.0), soft)
            notes.append(f"Rebelay {number}: leave up to {need_cm(slack) / 100:.1f} m of loop while hanging above it.")
        if anchor.role != "deviation":
            hang = 0.0
    return notes
