"""What must be doubted about an event, what a declaration lacks, and what stays odd about a rope until it is mended.

A fact is never refused, only doubted with a Finding. Only the declarations PutIntoService, Cleared and Booked may be
refused, with the list of what is missing.
"""

import functools
import math
import tomllib
from collections.abc import Iterator
from datetime import date
from importlib import resources

from tethera.basics import Finding, show_metres
from tethera.store import events as e
from tethera.store.rope_state import RopeState, length_sd_cm

DECLARATIONS = (e.PutIntoService, e.Cleared, e.Booked)


class Refused(Exception):
    """A declaration that cannot be made yet; `missing` lists what to do first."""

    def __init__(self, event: e.RopeEvent, missing: tuple[str, ...]) -> None:
        self.rope, self.missing = event.rope, missing
        lines = "".join(f"\n  – {each}" for each in missing)
        super().__init__(f"Rope {event.rope} cannot be {_DECLARED[type(event)]} yet:{lines}")


_DECLARED = {e.PutIntoService: "put into service", e.Cleared: "cleared", e.Booked: "booked"}


@functools.cache
def _limit(name: str) -> float:
    text = resources.files("tethera.store").joinpath("tables/doubts.toml").read_text("utf-8")
    return float(tomllib.loads(text)[name]["value"])


def doubts(state: RopeState, event: e.Event) -> tuple[Finding, ...]:
    """What is odd about an event, given the rope before it."""
    found = (*_order(state, event), *_lengths(state, event), *_comings_and_goings(state, event))
    return tuple(Finding(code, f"rope {state.id}", message, way_out) for code, message, way_out in found)


_Doubt = tuple[str, str, str]
_HARMLESS_AFTER = (e.DocumentAttached, e.Described, e.Inspected, e.Retired, e.BookingReleased, e.Missed, e.Measured)


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
    if state.retired is not None and not isinstance(event, _HARMLESS_AFTER):
        what = e.kind(event).replace("-", " ")
        yield (
            "after-retirement",
            f"{what.capitalize()} ({when}) after it was retired.",
            "Take it off the rack, or correct the retirement.",
        )
    if isinstance(event, e.Specified) and event.year_made and _made_too_late(state, event):
        yield "made-later", f"Made in {event.year_made}, which is after it was bought.", "Check both years."


def _made_too_late(state: RopeState, event: e.Specified) -> bool:
    bought = event.happened if isinstance(event, e.Bought) else state.bought
    if isinstance(event, e.RecordedAsFound):
        bought = event.bought
    return bought is not None and event.year_made is not None and event.year_made > bought.year


def _lengths(state: RopeState, event: e.Event) -> Iterator[_Doubt]:
    if isinstance(event, e.Measured):
        yield from _measured(state, event)
    elif isinstance(event, e.Cut):
        yield from _cut(state, event)
    elif isinstance(event, e.Weighed) and event.dry and state.mass_g_per_m and state.length_cm:
        by_weight_cm = event.mass_g * 100 / state.mass_g_per_m
        if abs(by_weight_cm - state.length_cm) > _limit("weight_astray") * 100:
            yield (
                "weight-astray",
                f"Its weight speaks for about {by_weight_cm / 100:.0f} m, its record for "
                f"{show_metres(state.length_cm)} m.",
                "Measure it again; is it dry, and is it this rope?",
            )


def _measured(state: RopeState, event: e.Measured) -> Iterator[_Doubt]:
    counts = event.counts_cm
    if counts and max(counts) - min(counts) > _limit("counts_agree") * 100:
        told = ", ".join(f"{show_metres(each)} m" for each in counts)
        yield "counts-disagree", f"The counts do not agree: {told}.", "Count once more."
    if "dry" in state.waits and state.washed:
        yield "measured-wet", "It was measured before it was dry.", "Measure it again when it is dry."
    old = state.length_cm
    if old is None:
        return
    spread = math.hypot(length_sd_cm(old, state.known_by), length_sd_cm(event.length_cm, "measured"))
    told = f"measured {show_metres(event.length_cm)} m, {show_metres(old)} m before"
    if event.length_cm > old + 2 * spread:
        yield "longer-than-before", f"It has become longer: {told}.", "Count again; is it this rope?"
    elif event.length_cm < old * (1 - _limit("most_lost")) - 2 * spread:
        yield "much-shorter", f"Much shorter than washing explains: {told}.", "Count again; was a piece cut off?"


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
        case e.Used():
            if state.set_aside is not None or (
                state.born and state.since is None and "put into service" in state.waits
            ):
                yield "used-unready", f"Used {when} while {state.state}.", "Inspect it."
        case e.Returned():
            if state.out_since is None and state.rigged is None and state.born:
                yield "never-taken", f"Returned {when}, but nobody had taken it.", "Record who took it, and when."
        case e.Found():
            if state.missing is None:
                yield "not-missing", f"Found {when}, but it was not missing.", "Check its number."
        case e.Cleared():
            if state.set_aside is None:
                yield "not-set-aside", f"Cleared {when}, but it was not set aside.", "Check its number."
        case e.Stocktaken():
            if state.retired is not None or state.out_since is not None:
                yield "seen-on-rack", f"Seen on the rack {when} while {state.state}.", "Check its number."
        case e.BookingReleased(booking=int() as number):
            if all(each.number != number for each in state.bookings):
                yield "no-such-booking", f"There was no booking {number} to release.", "Check the booking."


def missing(state: RopeState, event: e.Event) -> tuple[str, ...]:
    """What a declaration lacks, as things to do; nothing for a fact."""
    if not isinstance(event, DECLARATIONS):
        return ()
    if state.retired is not None:
        return (f"it is retired ({state.retired}), and that is final",)
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
    if state.known_by != "measured":
        yield "it was never measured: count it off twice and record the length"
    if state.marked_m is None:
        yield "its ends are not marked"
    elif state.length_cm is not None and state.marked_m * 100 > state.length_cm:
        yield f"its mark says {state.marked_m} m but it measures {show_metres(state.length_cm)} m: mark it anew"
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
        yield f"it is booked from {booking.first_day} to {booking.last_day} {booking.trip}".rstrip()


def standing(state: RopeState, on: date) -> tuple[Finding, ...]:
    """What is odd about a rope on a day, until it is mended."""
    if state.state == "retired":
        return ()
    return tuple(Finding(code, f"rope {state.id}", message, way_out) for code, message, way_out in _standing(state, on))


def _standing(state: RopeState, on: date) -> Iterator[_Doubt]:
    length = state.length_cm
    if length is None:
        yield "length-unknown", "Its length is not known.", "Measure it."
    elif state.marked_m is not None and state.marked_m * 100 > length:
        told = f"Its mark says {state.marked_m} m but it has {show_metres(length)} m."
        yield "mark-overstates", told, "Take the mark off and mark it anew."
    elif state.known_by in ("sheet", "label") and not state.waits:
        yield "never-measured", f"Its {show_metres(length)} m stand on a {state.known_by} only.", "Measure it."
    if state.born and state.rope_type is None:
        yield "type-unknown", "Nobody declared whether it is type A, type B, dynamic or cord.", "Read its leaflet."
    if state.next_due is not None and state.next_due.latest < on:
        yield "inspection-due", f"Its inspection was due {state.next_due.spoken()}.", "Have it inspected."
    if state.out_until is not None and state.out_until.latest < on and state.out_since is not None:
        yield "overdue", f"It should have been back {state.out_until.spoken()}.", "Ask who took it."
    for place, booking in enumerate(state.bookings):
        if any(each.overlaps(booking.first_day, booking.last_day) for each in state.bookings[:place]):
            yield "booked-twice", f"It is booked twice around {booking.first_day}.", "Release one booking."
