"""What EN 365 asks of the record of a piece of equipment, for one rope.

A rope is not mended: what stands for its repairs is every cut, with its reason.
The list of fields is clause 4.5 of EN 365:2004 from memory; that a record is kept, and that equipment in doubt stays
out of use until a competent person confirms in writing, was read in its identical adoption GOST R EN 365-2010.
"""

from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from tethera.basics import PartialDate, show_metres
from tethera.store.age import age_counts_from, leaves_on
from tethera.store.events import Bought, Cleared, Cut, Event, Inspected, RecordedAsFound, SetAside
from tethera.store.register import Register
from tethera.store.rope_state import RopeState


@dataclass(frozen=True, slots=True)
class Examination:
    """One examination, clearing, setting aside or cut: when, why, what was found, by whom, what follows."""

    date: PartialDate
    reason: str
    found: str
    details: str
    person: str
    outcome: str
    next_due: PartialDate | None = None

    def as_mapping(self) -> dict[str, Any]:
        """As plain values."""
        return asdict(self) | {"date": self.date, "next_due": self.next_due}


@dataclass(frozen=True, slots=True)
class EquipmentRecord:
    """`facts` are (what EN 365 asks, the answer or None where nobody recorded it); `lacking` names the latter."""

    rope: str
    facts: tuple[tuple[str, str | None], ...]
    examinations: tuple[Examination, ...]
    lacking: tuple[str, ...]


def equipment_record(register: Register, rope: str, on: date, name: Callable[[str], str]) -> EquipmentRecord:
    """The record of a rope on a day, a retired one too; `name` says what to call a person by id."""
    state = register.rope(rope, on)
    events = [entry.event for entry in register.events(state.id) if entry.key[0] <= on]
    lineage = register.lineage(state.id, on)
    own_limit = register.store_rules().age_limit_years
    facts = _facts(state, events, lineage, leaves_on(state, own_limit), own_limit)
    examinations = tuple(found for event in events if (found := _examination(event, name)) is not None)
    asked = ("Product", "Maker or supplier", "Batch or serial number", "Made", "Bought", "First put into use")
    lacking = [label for label, value in facts if value is None and label in asked]
    return EquipmentRecord(state.id, tuple(facts), examinations, (*lacking, *_examinations_lack(events)))


def _examinations_lack(events: list[Event]) -> Iterator[str]:
    """Any examination at all; of each, what was found and who says so."""
    examined = [event for event in events if isinstance(event, Inspected | Cleared)]
    if not any(isinstance(event, Inspected) for event in examined):
        yield "Any examination"
    for event in examined:
        what = "examination" if isinstance(event, Inspected) else "clearing"
        if not event.findings.strip():
            yield f"What the {what} of {event.happened.spoken()} found"
        if not event.person:
            yield f"Who signed the {what} of {event.happened.spoken()}"


def _facts(
    state: RopeState, events: list[Event], lineage: tuple[str, ...], last_day: date | None, own_limit: int | None
) -> list[tuple[str, str | None]]:
    born = next((each for each in events if isinstance(each, Bought | RecordedAsFound)), None)
    made = age_counts_from(state)
    batch = ", ".join(part for part in (state.batch, f"own number {state.id}") if part)
    return [
        ("Product", state.product),
        ("Kind", _kind(state)),
        ("Material", state.material),
        ("Maker or supplier", ", supplied by ".join(each for each in (state.maker, state.supplier) if each) or None),
        ("Batch or serial number", batch if state.batch else None),
        ("Made", str(state.year_made) if state.year_made else None),
        ("Bought", state.bought.spoken() if state.bought else None),
        ("First put into use", _first_used(state)),
        ("Age limit", _limit(state, own_limit)),
        ("Age counts from", made.spoken() if made else None),
        ("Last day of service by age", PartialDate.of(last_day).spoken() if last_day else None),
        ("Owner", state.owner),
        ("Cut from", ", ".join(lineage[:-1]) or None if len(lineage) > 1 else "not cut: as it came"),
        ("Came into this record", f"{born.happened.spoken()}" if born else None),
        ("Days of use recorded", str(state.wear)),
        ("Last examined", state.last_inspected.spoken() if state.last_inspected else None),
        ("Next examination due", PartialDate.of(state.inspection_due).spoken() if state.inspection_due else None),
        ("Out of service", state.why_not),
    ]


def _kind(state: RopeState) -> str | None:
    types = {
        "A": "low-stretch, EN 1891 type A",
        "B": "low-stretch, EN 1891 type B",
        "dynamic": "dynamic, EN 892",
        "cord": "accessory cord, EN 564",
    }
    diameter = f"{state.diameter_mm:g} mm" if state.diameter_mm else None
    return ", ".join(part for part in (types.get(state.rope_type or ""), diameter) if part) or None


def _first_used(state: RopeState) -> str | None:
    # When an old rope was put back into service says nothing of its first use.
    day = state.first_used or (state.bought if state.as_found else state.since)
    return day.spoken() if day else None


def _limit(state: RopeState, own_limit: int | None) -> str | None:
    said = ((state.age_limit_years, "by its leaflet"), (own_limit, "by the store's own rule"))
    return "; ".join(f"{years} years, {whose}" for years, whose in said if years) or None


_OUTCOMES = {"fit": "fit to go back", "not fit": "not fit", "undecided": "undecided"}


def _examination(event: Event, name: Callable[[str], str]) -> Examination | None:
    match event:
        case Inspected():
            person = name(event.person) if event.person else "not named"
            outcome = _OUTCOMES[event.outcome]
            reason = event.reason or "not recorded"
            return Examination(event.happened, reason, event.findings, event.note, person, outcome, event.next_due)
        case Cleared():
            person = name(event.person) if event.person else "not named"
            return Examination(event.happened, "clearing", event.findings, event.note, person, "cleared")
        case SetAside():
            return Examination(
                event.happened, "set aside", event.reason, event.note, "", "out of service until cleared"
            )
        case Cut():
            into = " and ".join(f"{each.rope} ({show_metres(each.length_cm)} m)" for each in event.into)
            outcome = f"cut into {into}" if into else "cut up"
            return Examination(event.happened, "cut", event.reason, event.note, "", outcome)
    return None
