"""An event as a sentence, in the words of the trade. People and lengths are said as the door wants them said."""

from collections.abc import Callable, Iterator
from functools import singledispatch

from tethera.store import events as e

Name = Callable[[str], str]
Length = Callable[[int], str]

_TYPES = {"A": "type A", "B": "type B", "dynamic": "dynamic", "cord": "accessory cord"}
_WASHED = {"machine": " in the machine", "hand": " by hand", "bath": " in a bath", None: ""}


def spoken_event(event: e.Event, name: Name, length: Length) -> str:
    """What was done, in a sentence or two, its note at the end.

    `name` gives what to call a person by id; `length` writes a rope length [cm].

    >>> from tethera.basics import PartialDate, show_metres
    >>> washed = e.Washed(rope="UG3", happened=PartialDate(2024, 5), how="machine", temperature_c=30)
    >>> spoken_event(washed, str, show_metres)
    'Washed in the machine at 30 °C.'
    """
    said = _said(event, name, length).strip()
    said = said if said.endswith((".", "”")) else f"{said}."
    if not event.note:
        return said
    return f"“{event.note}”" if said == "Noted." else f"{said} “{event.note}”"


@singledispatch
def _said(event: e.Event, name: Name, length: Length) -> str:
    return f"{e.kind(event).replace('-', ' ').capitalize()}."


def _told(*parts: str) -> str:
    """What there is to say, each part after a comma."""
    return ", ".join(part for part in parts if part)


def _specified(event: e.Specified) -> Iterator[str]:
    if event.diameter_mm is not None:
        yield f"{event.diameter_mm:g} mm"
    if event.rope_type is not None:
        yield _TYPES[event.rope_type]
    for said, value in (("", event.product), ("made by ", event.maker), ("of ", event.material)):
        if value:
            yield f"{said}{value}"
    for said, told in (("batch or serial ", event.batch), ("made in ", event.year_made), ("owned by ", event.owner)):
        if told:
            yield f"{said}{told}"
    if event.mass_g_per_m is not None:
        yield f"{event.mass_g_per_m:g} g/m"
    if event.elongation_percent is not None:
        yield f"elongation {event.elongation_percent:g} %"
    if event.impact_force_kn is not None:
        yield f"impact force {event.impact_force_kn:g} kN"
    if event.age_limit_years is not None:
        yield f"{event.age_limit_years} years at most by its leaflet"
    if event.supplier:
        yield f"from {event.supplier}"


@_said.register
def _(event: e.StoreDescribed, name: Name, length: Length) -> str:
    more = (
        f"age limit {event.age_limit_years} years" if event.age_limit_years else "",
        f"examined every {event.inspection_months} months" if event.inspection_months else "",
        f"marks keep {event.label_keeps_back_percent} % back" if event.label_keeps_back_percent else "",
        f"knots: {event.knots}" if event.knots else "",
        f"marks with little room say {event.owner_short}" if event.owner_short else "",
        "one end is A and the other B" if event.ends_lettered else "",
        f"bands: {'; '.join(event.bands.splitlines())}" if event.bands else "",
    )
    return f"The store's rules: {_told(f'numbers begin with {event.code}', event.owner, *more)}."


@_said.register
def _(event: e.Bought, name: Name, length: Length) -> str:
    price = "" if event.price_pence is None else f"£{event.price_pence / 100:.2f}"
    return f"Bought {_told(length(event.length_cm), *_specified(event), price)}."


@_said.register
def _(event: e.RecordedAsFound, name: Name, length: Length) -> str:
    known = {"sheet": "by the old sheet", "label": "by its label", "measured": "measured"}[event.known_by]
    how = f"{length(event.length_cm)} {known}" if event.length_cm is not None else "of unknown length"
    days = (
        f"bought {event.bought.spoken()}" if event.bought else "",
        f"first used {event.first_used.spoken()}" if event.first_used else "",
    )
    said = f"Taken into this record as {event.condition}: {_told(how, *_specified(event), *days)}."
    source = f" from {event.source}" if event.source else ""
    return said + (f" Written{source}: {' · '.join(f'“{each}”' for each in event.written)}." if event.written else "")


@_said.register
def _(event: e.Described, name: Name, length: Length) -> str:
    told = _told(*_specified(event))
    return f"Described: {told}." if told else "Noted."


@_said.register
def _(event: e.Cut, name: Name, length: Length) -> str:
    pieces = [f"{piece.rope} {length(piece.length_cm)}" for piece in event.into]
    into = " and ".join((", ".join(pieces[:-1]), pieces[-1])) if len(pieces) > 1 else "".join(pieces)
    said = f"Cut into {into}" if into else "Cut up"
    return f"{said}: {event.reason}" if event.reason else said


@_said.register
def _(event: e.Chained, name: Name, length: Length) -> str:
    return "Chained." if event.strands == 1 else f"Chained in {event.strands} strands."


@_said.register
def _(event: e.Washed, name: Name, length: Length) -> str:
    warm = "" if event.temperature_c is None else f" at {event.temperature_c} °C"
    return f"Washed{_WASHED[event.how]}{warm}{f' with {event.soap}' if event.soap else ''}."


@_said.register
def _(event: e.Spun, name: Name, length: Length) -> str:
    return "Spun; still damp."


@_said.register
def _(event: e.Dried, name: Name, length: Length) -> str:
    return "Dry."


@_said.register
def _(event: e.Measured, name: Name, length: Length) -> str:
    counts = f"; counts {_told(*(length(each) for each in event.counts_cm))}" if event.counts_cm else ""
    return f"Measured {length(event.length_cm)}{counts}."


@_said.register
def _(event: e.Weighed, name: Name, length: Length) -> str:
    return f"Weighed {event.mass_g / 1000:g} kg{', dry' if event.dry else ', not dry'}."


@_said.register
def _(event: e.Marked, name: Name, length: Length) -> str:
    return f"Both ends marked {length(event.length_m * 100)}{f': {event.words}' if event.words else ''}."


@_said.register
def _(event: e.PutIntoService, name: Name, length: Length) -> str:
    return "Put into service."


def _for(event: e.Booked | e.TakenOut, name: Name, word: str) -> str:
    person = f" {word} {name(event.person)}" if event.person else ""
    return f"{person}{f', {event.trip}' if event.trip else ''}"


@_said.register
def _(event: e.Booked, name: Name, length: Length) -> str:
    days = f"{event.first_day.day} {event.first_day:%b %Y} to {event.last_day.day} {event.last_day:%b %Y}"
    return f"Booked {days}{_for(event, name, 'for')}."


@_said.register
def _(event: e.BookingReleased, name: Name, length: Length) -> str:
    return "All its bookings were released." if event.booking is None else "A booking was released."


@_said.register
def _(event: e.TakenOut, name: Name, length: Length) -> str:
    until = f", back by {event.until.spoken()}" if event.until else ""
    return f"Taken out{_for(event, name, 'by')}{until}."


@_said.register
def _(event: e.LeftRigged, name: Name, length: Length) -> str:
    place = _told(event.route, f"pitch {event.pitch}" if event.pitch.isdigit() else event.pitch)
    again = f" To be looked at again by {event.look_again.spoken()}." if event.look_again else ""
    return f"Left rigged in {place or 'a cave'}.{again}"


def _hurt(event: e.Returned | e.Used) -> str:
    fall = " It held a fall." if event.fall else ""
    return f"{fall} It met a chemical: {event.chemical}." if event.chemical else fall


@_said.register
def _(event: e.Returned, name: Name, length: Length) -> str:
    known = [word for word, holds in (("clean", event.clean), ("dry", event.dry), ("checked", event.checked)) if holds]
    person = f" by {name(event.person)}" if event.person else ""
    return f"Brought back{person}, {_told(*known) or 'not known to be clean, dry or checked'}.{_hurt(event)}"


@_said.register
def _(event: e.Used, name: Name, length: Length) -> str:
    pitch = f"pitch {event.pitch}" if event.pitch.isdigit() else event.pitch
    place = _told(" and ".join(event.pitches) or pitch, event.route)
    days = "1 day" if event.days == 1 else f"{event.days} days"
    left = ""
    if event.left_over_cm is not None:
        said = "was short at the foot" if event.left_over_cm < 0 else "left over at the foot"
        left = f"; {length(abs(event.left_over_cm))} {said}"
    changed = f" Rigged otherwise: {event.changed.rstrip('.')}." if event.changed else ""
    return f"Used{f' on {place}' if place else ''} for {days}{left}.{changed}{_hurt(event)}"


@_said.register
def _(event: e.Inspected, name: Name, length: Length) -> str:
    person = f" by {name(event.person)}" if event.person else ""
    reason = f", {event.reason}" if event.reason else ""
    found = f": {event.findings.rstrip('. ')}" if event.findings else ""
    due = f" Next due {event.next_due.spoken()}." if event.next_due else ""
    return f"Examined{person}{reason}{found}. Outcome: {event.outcome}.{due}"


@_said.register
def _(event: e.SetAside, name: Name, length: Length) -> str:
    return f"Set aside: {event.reason}"


@_said.register
def _(event: e.Cleared, name: Name, length: Length) -> str:
    person = f" by {name(event.person)}" if event.person else ""
    return f"Cleared{person}{f': {event.findings}' if event.findings else ''}"


@_said.register
def _(event: e.Missed, name: Name, length: Length) -> str:
    return "Missing."


@_said.register
def _(event: e.Found, name: Name, length: Length) -> str:
    return f"Found: {event.place}" if event.place else "Found."


@_said.register
def _(event: e.Retired, name: Name, length: Length) -> str:
    return f"Retired: {event.reason}"


@_said.register
def _(event: e.DocumentAttached, name: Name, length: Length) -> str:
    return f"Photo or paper attached: {event.title}"


@_said.register
def _(event: e.Stocktaken, name: Name, length: Length) -> str:
    ropes = "1 rope" if len(event.seen) == 1 else f"{len(event.seen)} ropes"
    return f"Stocktake{f', {event.place}' if event.place else ''}: {ropes} seen."


@_said.register
def _(event: e.Corrected, name: Name, length: Length) -> str:
    if event.replacement is None:
        return f"Struck out entry {event.event}: {event.reason}"
    told = spoken_event(event.replacement, name, length)
    return f"Corrected entry {event.event} ({event.reason}): {told}"


@_said.register
def _(event: e.RouteWritten, name: Name, length: Length) -> str:
    return f"The route {event.key} was written down."


@_said.register
def _(event: e.RoutePutAway, name: Name, length: Length) -> str:
    return f"The route {event.key} was put away{f': {event.reason}' if event.reason else ''}."
