"""What waits today, and the way to a rope by its number."""

from collections.abc import Sequence
from datetime import date

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from tethera.store import Booking, RopeState, UnknownRope
from tethera.web.accounts.visit import Visit, page
from tethera.web.today.acts import ACTS


@page()
def today(visit: Visit) -> HttpResponse:
    """What waits, what is out, and the trips ahead."""
    by_act: dict[str, list[object]] = {}
    for each in visit.opened.waiting(visit.today):
        by_act.setdefault(each.what, []).append(each)
    acts = [(act, by_act[act.what]) for act in ACTS if act.what in by_act]
    # Who is late stands above, among what needs a hand at once.
    out = [rope for rope in visit.ropes if rope.state == "out" and not _is_late(rope, visit.today)]
    return visit.page(
        "today/today.html",
        {
            "hand": [(act, rows) for act, rows in acts if act.at_once],
            "steps": [(act, rows) for act, rows in acts if not act.at_once],
            "out": out,
            "trips": trips_ahead(visit.ropes, visit.today),
            "in_store": [rope for rope in visit.ropes if rope.state != "retired"],
            "ready": [rope for rope in visit.ropes if rope.usable],
            "ready_cm": sum(rope.length_cm or 0 for rope in visit.ropes if rope.usable),
            "doubts": doubts(visit.ropes),
            "shown": 8,
        },
    )


def _is_late(rope: RopeState, on: date) -> bool:
    return rope.out_until is not None and rope.out_until.latest < on


def trips_ahead(ropes: Sequence[RopeState], on: date) -> list[tuple[Booking, list[RopeState]]]:
    """Bookings still to come, the ropes of one trip together, by their first day."""
    trips: dict[tuple[date, date, str, str | None], tuple[Booking, list[RopeState]]] = {}
    for rope in ropes:
        for booking in rope.bookings:
            if booking.last_day >= on:
                key = (booking.first_day, booking.last_day, booking.trip, booking.person)
                trips.setdefault(key, (booking, []))[1].append(rope)
    return [trips[key] for key in sorted(trips, key=lambda each: (each[0], each[1], each[2]))]


def doubts(ropes: Sequence[RopeState]) -> list[tuple[str, str, str, list[str]]]:
    """Each kind of doubt once: its code, one sentence, its way out, and which ropes."""
    found: dict[str, tuple[str, str, str, list[str]]] = {}
    waiting = {act.finding for act in ACTS}
    for rope in ropes:
        for finding in rope.findings:
            if rope.state != "retired" and finding.code not in waiting:
                numbers = found.setdefault(finding.code, (finding.code, finding.message, finding.way_out, []))[3]
                if rope.id not in numbers:
                    numbers.append(rope.id)
    return sorted(found.values(), key=lambda each: -len(each[3]))


@page()
def find(visit: Visit) -> HttpResponse:
    """From a number to its rope; from anything else to the list, with the words in its search."""
    words = visit.request.GET.get("number", "").strip()
    try:
        return redirect("rope", visit.store.slug, visit.register.find(words))
    except UnknownRope:
        return redirect(f"{reverse('ropes', args=[visit.store.slug])}?{urlencode({'q': words})}")
