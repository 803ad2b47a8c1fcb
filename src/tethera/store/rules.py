"""What must be doubted about an event, what a declaration lacks, and what stays odd about a rope until it is mended.

A fact is never refused, only doubted with a Finding. Only the declarations PutIntoService, Cleared and Booked may be
refused, with the list of what is missing.
"""

from collections.abc import Iterator
from datetime import date

from tethera.basics import Finding, PartialDate, show_metres, spoken_days
from tethera.rope import declared_within, figure
from tethera.store import events as e
from tethera.store.faults import names_a_fault
from tethera.store.limits import limit, speaks_for, warmest_wash_c
from tethera.store.measuring import measuring_doubts
from tethera.store.rope_state import RopeState

DECLARATIONS = (e.PutIntoService, e.Cleared, e.Booked)


class Refused(Exception):
    """A declaration that cannot be made yet, or ever (`final`); `missing` lists what to do first, or why."""

    def __init__(self, event: e.RopeEvent, missing: tuple[str, ...], *, final: bool = False) -> None:
        self.rope, self.missing, self.final = event.rope, missing, final
        lines = "".join(f"\n  – {each}" for each in missing)
        super().__init__(f"Rope {event.rope} cannot be {_DECLARED[type(event)]}{'' if final else ' yet'}:{lines}")


_DECLARED = {e.PutIntoService: "put into service", e.Cleared: "cleared", e.Booked: "booked"}


def doubts(state: RopeState, event: e.Event) -> tuple[Finding, ...]:
    """What is odd about an event, given the rope before it."""
    found = (*_order(state, event), *_lengths(state, event), *_comings_and_goings(state, event))
    return tuple(Finding(code, f"rope {state.id}", message, way_out) for code, message, way_out in found)


_Doubt = tuple[str, str, str]
_BY_MONTH = "What took it away on a date known to the month or year counts from the last day of that."
_HARMLESS_AFTER: tuple[type[e.Event], ...] = (
    *(e.DocumentAttached, e.Described, e.Inspected, e.Retired),
    *(e.BookingReleased, e.Missed, e.Measured, e.Stocktaken),
)


def _order(state: RopeState, event: e.Event) -> Iterator[_Doubt]:
    when = event.happened.spoken()
    birth = isinstance(event, e.Bought | e.RecordedAsFound)
    if birth and state.born:
        yield "number-twice", f"A rope with this number was already there on {when}.", "Correct one, with a new number."
    elif isinstance(event, e.Bought) and any(each.code == "unknown-rope" for each in state.findings):
        yield "before-bought", f"Something happened to it before it was bought ({when}).", "Check the dates."
    elif not birth and not state.born and not any(each.code == "unknown-rope" for each in state.findings):
        yield "unknown-rope", "Nothing says where this rope came from.", "Check its number, or record it as bought."
    if state.born_on is not None and event.happened.latest < state.born_on.earliest:
        yield "before-it-was", f"{when} is before the rope had this number.", "Check the dates."
    retired_when_found = isinstance(event, e.RecordedAsFound) and event.condition == "retired"
    # Whoever had it when it was retired brings it back, as they should.
    fetched = isinstance(event, e.Returned) and state.with_somebody
    if state.retired is not None and not (retired_when_found or fetched) and not isinstance(event, _HARMLESS_AFTER):
        yield _after_the_end(state, event)
    if isinstance(event, e.RecordedAsFound):
        for name, day in (("bought", event.bought), ("first used", event.first_used)):
            if day is not None and day.earliest > event.happened.latest:
                yield "not-yet", f"It was {name} in {day.spoken()}, but already there {when}.", "Check the date."
    if isinstance(event, e.Specified) and event.year_made and event.year_made > event.happened.year:
        yield "made-later", f"Made in {event.year_made}, which is after {when}.", "Check the year."
    elif isinstance(event, e.Specified) and event.year_made and _made_too_late(state, event):
        yield "made-later", f"Made in {event.year_made}, which is after it was bought.", "Check both years."
    if isinstance(event, e.Specified):
        yield from _declared(state, event)


def _declared(state: RopeState, event: e.Specified) -> Iterator[_Doubt]:
    """Figures of a leaflet that the standard of its type does not allow, or that no formula takes."""
    rope_type = event.rope_type or state.rope_type
    low_stretch = rope_type in ("A", "B")
    percent, force = event.elongation_percent, event.impact_force_kn
    most_percent = 100 * figure("rope", "stretch", "elongation_limit").value
    if percent is not None and (
        not declared_within("elongation_percent", percent) or (low_stretch and percent > most_percent)
    ):
        told = f"An elongation of {percent:g} % is declared; EN 1891 allows {most_percent:g} % at most."
        yield "odd-elongation", told, "Read it again in the leaflet: from 50 to 150 kg, in per cent."
    standard = "en1891" if low_stretch else "en892"
    most_kn = figure("rope", "falls", standard, "peak").value
    if force is not None and (not declared_within("impact_force_kn", force) or force > most_kn):
        named = "EN 1891" if low_stretch else "EN 892"
        told = f"An impact force of {force:g} kN is declared; {named} allows {most_kn:g} kN at most."
        yield "odd-impact-force", told, "Read it again in the leaflet: it is not the strength."


def _after_the_end(state: RopeState, event: e.Event) -> _Doubt:
    """What happened to a rope that had been cut or retired."""
    when, what = event.happened.spoken(), e.kind(event).replace("-", " ").capitalize()
    if state.cut_on is None:
        if isinstance(event, e.RecordedAsFound):
            told = f"It was retired before it was recorded as found ({when}), not as retired."
            return "after-retirement", told, "Correct the retirement, or its condition when found."
        way_out = "Correct the retirement, or this."
        if isinstance(event, e.TakenOut | e.Used | e.Returned | e.LeftRigged | e.Found):
            way_out = "Take it off the rack, or correct the retirement."
        return "after-retirement", f"{what} ({when}) after it was retired.", way_out
    cut = state.cut_on.spoken()
    if isinstance(event, e.Cut):
        told = f"It was already cut on {cut}: correct one of them."
        return "cut-twice", told, "Strike out the cut that is wrong; the pieces of the second are kept back until then."
    if isinstance(event, e.RecordedAsFound):
        told = f"It was cut on {cut}, but recorded as found whole on {when}."
        return "cut-before-found", told, "Correct the day of the cut, or record its pieces as found instead."
    told = f"{what} ({when}) after it was cut on {cut}."
    return "after-retirement", told, "Record it for the piece it happened to, or correct the cut."


def _made_too_late(state: RopeState, event: e.Specified) -> bool:
    bought = event.happened if isinstance(event, e.Bought) else state.bought
    if isinstance(event, e.RecordedAsFound):
        bought = event.bought
    return bought is not None and event.year_made is not None and event.year_made > bought.year


def _lengths(state: RopeState, event: e.Event) -> Iterator[_Doubt]:
    if (
        isinstance(event, e.Bought | e.RecordedAsFound | e.Measured)
        and (event.length_cm or 0) > limit("longest_reel") * 100
    ):
        told = f"{show_metres(event.length_cm or 0)} m is longer than a reel usually is."
        yield "longer-than-a-reel", told, "Check the number and its unit, and correct it."
    if isinstance(event, e.Measured):
        yield from measuring_doubts(state, event)
    elif isinstance(event, e.Cut):
        yield from _cut(state, event)
    elif isinstance(event, e.Washed):
        yield from _washed(event)
    elif isinstance(event, e.Weighed) and event.dry and state.mass_g_per_m and state.length_cm:
        by_weight_cm, far = speaks_for(event.mass_g, state.mass_g_per_m, state.length_cm)
        if far:
            yield (
                "weight-astray",
                f"Its weight speaks for about {by_weight_cm / 100:.0f} m, its record for "
                f"{show_metres(state.length_cm)} m.",
                "Measure it again; is it dry, and is it this rope?",
            )


def _washed(event: e.Washed) -> Iterator[_Doubt]:
    most = warmest_wash_c()
    if event.temperature_c is not None and event.temperature_c > most:
        told = f"Washed at {event.temperature_c} °C, {event.happened.spoken()}: {most} °C is the most that is usual."
        yield "washed-hot", told, "Measure it and have it examined; or correct the figure."


def _cut(state: RopeState, event: e.Cut) -> Iterator[_Doubt]:
    total = sum(piece.length_cm for piece in event.into)
    if state.length_cm is not None and total > state.length_cm:
        yield (
            "pieces-too-long",
            f"Its pieces make {show_metres(total)} m, more than the {show_metres(state.length_cm)} m it had.",
            "Measure each piece.",
        )
    names = [piece.rope for piece in event.into]
    if state.id in names or len(set(names)) < len(names):
        yield "number-twice", "A piece has a number that is already taken.", "Correct the cut, with new numbers."


def _comings_and_goings(state: RopeState, event: e.Event) -> Iterator[_Doubt]:
    when = event.happened.spoken()
    match event:
        case e.PutIntoService():
            if "wash" in state.waits and not state.washed:
                yield "not-washed", f"Put into service {when} without a first wash.", "Expect it to shrink; measure it."
            elif "dry" in state.waits:
                yield "not-dried", f"Put into service {when} with no word that it was dry.", "See that it is dry."
            if state.known_by != "measured":
                yield "not-measured", f"Put into service {when} but never measured.", "Measure it."
            if state.marked_m is None:
                yield "not-marked", f"Put into service {when} without marks.", "Mark both ends."
        case e.TakenOut():
            if state.state not in ("ready", "retired"):
                yield "taken-unready", f"Taken out {when} while {state.state}.", "Fetch it back, or correct the record."
        case e.Retired():
            if state.out_since is not None:
                yield "retired-while-out", f"Retired {when} while somebody has it.", "Fetch it back, then cut it up."
        case e.Used():
            if state.set_aside is not None or (
                state.born and state.since is None and "put into service" in state.waits
            ):
                yield "used-unready", f"Used {when} while {state.state}.", "Inspect it."
        case e.Returned():
            if state.out_since is None and state.rigged is None and state.born:
                yield "never-taken", f"Returned {when}, but nobody had taken it.", "Record who took it, and when."
        case e.Inspected(outcome="fit") if names_a_fault(event.findings):
            told = f"“Fit to go back” stands beside what was found, {when}: {event.findings.rstrip('. ')}."
            yield "fit-with-faults", told, "Look at that place: have it examined again, or cut it out."
        case e.Found():
            if state.missing is None:
                yield "not-missing", f"Found {when}, but it was not missing.", f"Check its number. {_BY_MONTH}"
        case e.Cleared():
            if state.set_aside is None:
                yield "not-set-aside", f"Cleared {when}, but it was not set aside.", f"Check its number. {_BY_MONTH}"
        case e.Stocktaken():
            if state.state in _SEEN:
                yield "seen-on-rack", f"Seen on the rack {when} while {state.state}.", _SEEN[state.state]
        case e.BookingReleased(booking=int() as number):
            if all(each.number != number for each in state.bookings):
                yield "no-such-booking", f"There was no booking {number} to release.", "Check the booking."


_SEEN = {
    "retired": "Take it off the rack, or check its number, or correct the retirement.",
    "out": "Record that it was returned, or check its number.",
    "rigged": "Record that it was returned, or check its number.",
}


def missing(state: RopeState, event: e.Event) -> tuple[str, ...]:
    """What a declaration lacks, as things to do; nothing for a fact."""
    if not isinstance(event, DECLARATIONS):
        return ()
    if state.retired is not None:
        return (f"it is {state.why_not}; that is final",)
    if not state.born:
        return ("nothing says where it came from: record it as bought or as found",)
    match event:
        case e.PutIntoService():
            return tuple(_lacks_for_service(state))
        case e.Cleared():
            return tuple(_lacks_for_clearing(state, event))
        case e.Booked():
            return tuple(_lacks_for_booking(state, event))
    return ()


def _lacks_for_service(state: RopeState) -> Iterator[str]:
    if state.state in ("missing", "set aside", "out", "rigged"):
        yield f"it is {state.state}"
    if state.known_by != "measured" and state.length_doubt:
        yield f"its length is in doubt: {state.length_doubt[:1].lower()}{state.length_doubt[1:]} Count it again"
    elif state.known_by != "measured":
        yield "it was never measured: count it off twice and record the length"
    if state.marked_m is None:
        yield "its ends are not marked"
    elif state.mark_overstates:
        yield f"its mark says {state.marked_m} m but it measures {show_metres(state.length_cm or 0)} m: mark it anew"
    elif state.marks_void:
        yield f"its marks are void, {state.marks_void}: mark it anew"
    if state.over_age is not None:
        yield f"it is {state.over_age}"
    if "put into service" not in state.waits:
        yield f"it is in service already; what it waits for: {', '.join(state.waits) or 'nothing'}"


def _lacks_for_clearing(state: RopeState, event: e.Cleared) -> Iterator[str]:
    if state.set_aside is None:
        yield "it is not set aside"
    if not event.person:
        yield "the competent person is not named"
    if not event.findings.strip():
        yield "what the competent person found is not written"
    if state.found_unfit:
        yield "its last inspection found it not fit: a new one must find it fit"


def _lacks_for_booking(state: RopeState, event: e.Booked) -> Iterator[str]:
    # A rope that is out may well be back by then; one that is lost, set aside or unfinished is no promise to make.
    if state.why_not is not None and state.state != "out":
        yield state.why_not
    elif state.state == "out" and (state.out_until is None or state.out_until.latest >= event.first_day):
        yield "it is out and not said to be back before then"
    booking = state.booked_on(event.first_day, event.last_day)
    if booking is not None:
        days = spoken_days(booking.first_day, booking.last_day)
        yield f"it is booked {days}, {booking.trip}" if booking.trip else f"it is booked {days}"


def standing(state: RopeState, on: date) -> tuple[Finding, ...]:
    """What is odd about a rope on a day, until it is mended."""
    if state.state == "retired":
        return ()
    return tuple(Finding(code, f"rope {state.id}", message, way_out) for code, message, way_out in _standing(state, on))


def _standing(state: RopeState, on: date) -> Iterator[_Doubt]:
    length = state.length_cm
    if length is None:
        yield "length-unknown", "Its length is not known.", "Measure it."
    elif state.mark_overstates:
        told = f"Its mark says {state.marked_m} m but it has {show_metres(length)} m."
        yield "mark-overstates", told, "Take the mark off and mark it anew."
    elif state.known_by in ("sheet", "label") and not state.waits:
        yield "never-measured", f"Its {show_metres(length)} m stand on a {state.known_by} only.", "Measure it."
    if state.marks_void and not state.mark_overstates:
        yield "mark-void", f"Its marks are void: {state.marks_void}.", "Take them off and mark both ends anew."
    if state.marks_void and (booked := next((b for b in state.bookings if b.last_day >= on), None)) is not None:
        days = spoken_days(booked.first_day, booked.last_day)
        told = f"It is booked {days}{f', {booked.trip}' if booked.trip else ''}, but its marks are void."
        yield "booked-mark-void", told, "Mark both ends anew before then."
    if state.born and state.rope_type is None:
        yield "type-unknown", "Nobody declared whether it is type A, type B, dynamic or cord.", "Read its leaflet."
    if state.inspection_due is not None and state.inspection_due < on:
        when = state.next_due or PartialDate.of(state.inspection_due)
        yield "inspection-due", f"Its inspection was due {when.spoken()}.", "Have it inspected."
    if state.out_until is not None and state.is_late(on):
        yield "overdue", f"It should have been back {state.out_until.spoken()}.", "Ask who took it."
    for place, booking in enumerate(state.bookings):
        if any(each.overlaps(booking.first_day, booking.last_day) for each in state.bookings[:place]):
            yield (
                "booked-twice",
                f"It is booked twice around {PartialDate.of(booking.first_day).spoken()}.",
                "Release one booking.",
            )
