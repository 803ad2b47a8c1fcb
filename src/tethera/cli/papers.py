"""The papers of a trip: rigging sheet and packing list, from a plan to the mappings that are printed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from tethera.basics import Finding, show_metres
from tethera.cli import places, terminal
from tethera.cli.plan_words import begins, ends, second_line
from tethera.cli.routes import knots_of
from tethera.planning import RopeUse, pack
from tethera.rigging import kit, rigged_pitches, rigging_sheet

if TYPE_CHECKING:
    from tethera.cli.trips import Planned

#: Cavers on a trip where neither the words nor the route say.
USUAL_PARTY = 4


def store_name(planned: Planned) -> str | None:
    """Whose ropes these are."""
    described = planned.store.register.store()
    return described.owner if described and described.owner else None


def _uses(planned: Planned, number: int) -> list[RopeUse]:
    return [use for use in planned.plan.uses if use.trip_index == number]


def sheet_mapping(planned: Planned, number: int, party: int | None = None) -> dict[str, Any]:
    """The rigging sheet of one trip as a plain mapping."""
    trip = planned.trips[number]
    bag_of = {
        item["rope"]: bag["bag"]
        for caver in packing_mapping(planned, number, party)["cavers"]
        for bag in caver["bags"]
        for item in bag["contents"]
        if "rope" in item
    }
    findings: list[Finding] = list(planned.readings[number].findings)
    sheet = rigging_sheet(
        trip.route,
        [_row(planned, use, bag_of.get(use.rope)) for use in _uses(planned, number)],
        store=store_name(planned),
        date=trip.begins.isoformat() if trip.begins else None,
        confidence_percent=round(planned.confidence_percent),
        knots=knots_of(str(planned.store.folder)),
        findings=findings,
    )
    return sheet | {"party": party or trip.route.team_size or USUAL_PARTY}


def _row(planned: Planned, use: RopeUse, bag: str | None) -> dict[str, Any]:
    rope = planned.store.register.rope(use.rope, planned.trips[use.trip_index].begins or places.today())
    warning = f"{100 * use.chance_short:.0f} % that it is short." if use.chance_short >= 0.05 else None
    if rope.findings:
        warning = " ".join(filter(None, (warning, *(finding.message for finding in rope.findings))))
    return {
        "rope": use.rope,
        "length_cm": use.length_cm,
        "diameter_mm": rope.diameter_mm,
        "type": rope.rope_type,
        "bag": bag,
        "begins": begins(use),
        "ends": ends(use) + (" (second line)" if second_line(planned.trips[use.trip_index], use) else ""),
        "need_cm": use.need_cm,
        "left_cm": use.left_cm,
        "joined_to": use.joined_to,
        "warning": warning,
        "pitches": list(use.pitches),
        "mass_g": use.mass_g,
        "second_line": second_line(planned.trips[use.trip_index], use) is not None,
        "begins_at_anchor": {use.begin_pitch: use.begin_anchor} if use.begin_anchor else {},
    }


def packing_mapping(planned: Planned, number: int, party: int | None) -> dict[str, Any]:
    """The packing list of one trip as a plain mapping."""
    trip = planned.trips[number]
    ropes = {
        use.rope: planned.store.register.rope(use.rope, trip.begins or places.today()) for use in _uses(planned, number)
    }
    served = {name for use in _uses(planned, number) for name in use.pitches}
    return pack(
        _uses(planned, number),
        {name: rope.diameter_mm for name, rope in ropes.items()},
        cavers=party or trip.route.team_size or USUAL_PARTY,
        kit=kit(trip.route, rigged_pitches(trip.route, served)),
        title=trip.route.name,
        store=store_name(planned),
        date=trip.begins.isoformat() if trip.begins else None,
    ).to_mapping()


def write_sheet(planned: Planned, number: int, path: Path) -> None:
    """Write the rigging sheet of one trip."""
    from tethera.labels import rigging_sheet_pdf

    path.write_bytes(rigging_sheet_pdf(sheet_mapping(planned, number)))


def write_packing(planned: Planned, number: int, party: int | None, path: Path) -> None:
    """Write the packing list of one trip."""
    from tethera.labels import packing_list_pdf

    path.write_bytes(packing_list_pdf(packing_mapping(planned, number, party)))


def packing_in_words(packing: dict[str, Any]) -> str:
    """The packing list for the terminal: bag by bag, what goes in first on top."""
    parts = [f"{terminal.bold(packing['title'])}: bags, packed from the top of each list"]
    for caver in packing["cavers"]:
        for bag in caver["bags"]:
            head = f"Caver {caver['caver']}, bag {bag['bag']}: {bag['litres']:.1f} litres, {bag['kg']:.1f} kg"
            rows = []
            for item in bag["contents"]:
                if "rope" in item:
                    length = f"({show_metres(item['length_cm'])} m)"
                    rows.append((item["rope"], length, item.get("for") or "", str(item.get("use_order") or "")))
                else:
                    rows.append(("", "", item["kit"], ""))
            table = terminal.table(("Rope", "Length", "For", "Used"), rows, ("left", "right", "left", "left"))
            parts.append(f"{head}\n{table}")
    parts += [terminal.paragraph(note) for note in packing["notes"]]
    parts += [terminal.paragraph(caution) for caution in packing["cautions"]]
    return "\n\n".join(parts)
