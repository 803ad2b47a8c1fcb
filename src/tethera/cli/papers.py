"""The papers of a trip: rigging sheet and packing list, from a plan to the mappings that are printed."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tethera.basics import show_metres
from tethera.cli import places, terminal
from tethera.cli.routes import knots_of
from tethera.planning import Papers, uses_of_trip

if TYPE_CHECKING:
    from tethera.cli.trips import Planned


def store_name(planned: Planned) -> str | None:
    """Whose ropes these are."""
    described = planned.store.register.store()
    return described.owner if described and described.owner else None


def papers_of(planned: Planned, number: int, party: int | None) -> Papers:
    """What the papers of one of the trips are made from."""
    trip = planned.trips[number]
    uses = uses_of_trip(planned.plan.uses, number)
    on = trip.begins or places.today()
    return Papers(
        trip,
        uses,
        # Chosen from what was free on these days: what is booked of them by now is this trip's own.
        {use.rope: replace(planned.store.register.rope(use.rope, on), bookings=()) for use in uses},
        store_name(planned),
        party,
        round(planned.confidence_percent),
        knots_of(str(planned.store.folder)),
        planned.readings[number].findings,
    )


def sheet_mapping(planned: Planned, number: int, party: int | None = None) -> dict[str, Any]:
    """The rigging sheet of one trip as a plain mapping."""
    return papers_of(planned, number, party).sheet()


def packing_mapping(planned: Planned, number: int, party: int | None) -> dict[str, Any]:
    """The packing list of one trip as a plain mapping."""
    return papers_of(planned, number, party).packing()


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
