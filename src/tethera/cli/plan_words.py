"""A plan in words and as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tethera.basics import Finding
from tethera.cli import places, terminal
from tethera.cli.routes import CAUTION, findings_json
from tethera.planning import RopeUse, Trip, TripPlan, begins, ends, second_line

if TYPE_CHECKING:
    from tethera.cli.trips import Planned


def in_words(planned: Planned) -> str:
    """The answer first, the reasons under it."""
    plan = planned.plan
    parts = [_headline(planned)]
    left_out = [f for reading in planned.readings for f in reading.findings if f.code == "pitch-left-out"]
    if left_out:
        parts.insert(0, "NOT PLANNED: " + " ".join(finding.message for finding in left_out))
    if plan.found and plan.uses:
        for number, trip in enumerate(planned.trips):
            parts.append(_trip(trip, [use for use in plan.uses if use.trip_index == number]))
        parts += [_reasons(plan), _costs(plan)]
    else:
        parts.append("\n".join(terminal.paragraph(unmet.sentence, indent="– ", hanging="  ") for unmet in plan.unmet))
    parts += [terminal.paragraph(note) for note in plan.notes]
    excluded = [(rope, why) for rope, why in plan.excluded if not why.startswith("retired")]
    if excluded:
        reasons = "; ".join(f"{rope} {why}" for rope, why in excluded)
        parts.append(terminal.paragraph(f"Not planned: {reasons}."))
    findings = [finding for reading in planned.readings for finding in reading.findings]
    findings += rope_findings(planned)
    parts += [terminal.doubts(findings), terminal.paragraph(CAUTION)]
    return "\n\n".join(part for part in parts if part)


def rope_findings(planned: Planned) -> list[Finding]:
    """What is doubted about the ropes that were chosen."""
    chosen = {use.rope: planned.trips[use.trip_index].begins for use in planned.plan.uses}
    return [
        f for rope, day in chosen.items() for f in planned.store.register.rope(rope, day or places.today()).findings
    ]


def _headline(planned: Planned) -> str:
    plan = planned.plan
    names = " and ".join(trip.route.name for trip in planned.trips)
    if not plan.found:
        verdict = "cannot be rigged from this store" if plan.status == "impossible" else "was not planned in time"
        return terminal.bold(f"{names} {verdict}.")
    ropes = len(plan.uses)
    if not ropes:
        return terminal.bold(names) + "\nNothing to take: every pitch is rigged already."
    words = [f"{ropes} rope{'s' if ropes != 1 else ''}, {terminal.kilograms(plan.mass_g)}"]
    words.append(_counted(plan.changes, "change of rope inside a pitch", "changes of rope inside a pitch"))
    words.append(_counted(plan.joins, "join in mid-drop", "joins in mid-drop"))
    sure = ""
    if plan.chance_any_short is not None:
        sure = f" {how_sure(1 - plan.chance_any_short)} sure that none is short."
    bound = f" {plan.bound[:1].upper()}{plan.bound[1:].rstrip('.')}." if plan.bound else ""
    return terminal.bold(names) + "\n" + terminal.paragraph(f"{', '.join(words)}.{sure}{bound}")


def how_sure(chance: float) -> str:
    """A probability in percent, never rounded up to certainty.

    >>> how_sure(0.957), how_sure(0.99997), how_sure(0.0004), how_sure(0.062)
    ('95 %', 'over 99 %', 'under 1 %', '6 %')
    """
    percent = int(100 * chance)
    return "over 99 %" if chance > 0.99 else "under 1 %" if chance < 0.01 else f"{percent} %"


def _counted(count: int, one: str, several: str) -> str:
    """A count in words; none is said as no."""
    return f"no {one}" if count == 0 else f"{count} {one if count == 1 else several}"


def _trip(trip: Trip, uses: list[RopeUse]) -> str:
    when = "" if trip.begins is None else f", {trip.begins:%a} {trip.begins.day} {trip.begins:%b %Y}"
    rows = [
        (
            use.rope,
            terminal.capsule(use.length_cm),
            terminal.capsule(use.need_cm),
            f"{use.left_cm / 100:.2f} m",
            _from_where_to_where(trip, use),
        )
        for use in uses
    ]
    head = ("Rope", "Length", "Needs", "Left", "From where to where")
    table = terminal.table(head, rows, ("left", "right", "right", "right", "left"))
    return f"{terminal.bold(trip.route.name)}{when}\n{table}"


def _from_where_to_where(trip: Trip, use: RopeUse) -> str:
    other = second_line(trip, use)
    return f"{begins(use)} → {ends(use)}" + (f" (second line: {other})" if other else "")


def _reasons(plan: TripPlan) -> str:
    lines = [terminal.bold("Why")]
    for use in plan.uses:
        short = f" {100 * use.chance_short:.1f} % that it is short." if use.chance_short >= 0.0005 else ""
        why = use.why[:1].upper() + use.why[1:]
        lines.append(terminal.paragraph(f"{use.rope:<6} {why}.{short}", hanging=" " * 7))
    return "\n".join(lines)


def _costs(plan: TripPlan) -> str:
    if not plan.costs:
        return ""
    rows = []
    for cost in plan.costs:
        confidence = "no margin" if cost.confidence is None else f"{100 * cost.confidence:g} %"
        if not cost.possible:
            rows.append((confidence, "–", "–", "cannot be done from this store"))
            continue
        difference = (cost.mass_g or 0) - plan.mass_g
        heavier = "same" if abs(difference) < 50 else f"{difference / 1000:+.1f} kg"
        short = (
            "" if cost.chance_any_short is None else f"some rope short in {how_sure(cost.chance_any_short)} of trips"
        )
        rows.append((confidence, heavier, str(cost.changes), short))
    table = terminal.table(("How sure", "Mass", "Changes", ""), rows, ("left", "right", "right", "left"))
    return terminal.bold("What another confidence costs") + "\n" + table


def as_mapping(planned: Planned) -> dict[str, Any]:
    """The plan as machines read it; keys are documented in docs/json.md."""
    plan = planned.plan
    return {
        "status": plan.status,
        "confidence_percent": planned.confidence_percent,
        "chance_any_short": plan.chance_any_short,
        "joins": plan.joins,
        "changes": plan.changes,
        "mass_g": plan.mass_g,
        "left_over_cm": plan.left_over_cm,
        "bound": plan.bound,
        "mass_bound_g": plan.plan.bounds.mass_g if plan.plan.bounds else None,
        "proven": list(plan.plan.proven),
        "trips": [
            {
                "route": trip.route.name,
                "begins": trip.begins.isoformat() if trip.begins else None,
                "ends": trip.ends.isoformat() if trip.ends else None,
                "ropes": [use_mapping(use) for use in plan.uses if use.trip_index == number],
            }
            for number, trip in enumerate(planned.trips)
        ],
        "other_confidences": [
            {
                "confidence_percent": None if cost.confidence is None else 100 * cost.confidence,
                "possible": cost.possible,
                "mass_g": cost.mass_g,
                "changes": cost.changes,
                "joins": cost.joins,
                "chance_any_short": cost.chance_any_short,
            }
            for cost in plan.costs
        ],
        "unmet": [
            {
                "kind": unmet.kind,
                "sentence": unmet.sentence,
                "pitch": unmet.pitch,
                "short_cm": unmet.short_cm,
                "nearest_rope": unmet.nearest_rope,
                "buy_m": list(unmet.buy_m),
                "order_cm": list(unmet.order_cm),
            }
            for unmet in plan.unmet
        ],
        "not_planned": [{"rope": rope, "why": why} for rope, why in plan.excluded],
        "notes": list(plan.notes),
        "findings": [
            *(f for reading in planned.readings for f in findings_json(reading.findings)),
            *findings_json(tuple(rope_findings(planned))),
        ],
    }


def use_mapping(use: RopeUse) -> dict[str, Any]:
    """One rope of the plan as machines read it."""
    return {
        "rope": use.rope,
        "line": use.line,
        "begins": use.begins,
        "ends": use.ends,
        "pitches": list(use.pitches),
        "length_cm": use.length_cm,
        "need_cm": use.need_cm,
        "need_mean_m": round(use.need_mean_m, 3),
        "need_sd_m": round(use.need_sd_m, 3),
        "left_cm": use.left_cm,
        "chance_short": round(use.chance_short, 6),
        "mass_g": use.mass_g,
        "joined_to": use.joined_to,
        "why": use.why,
    }
