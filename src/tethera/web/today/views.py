"""What waits today, and the way to a rope by its number."""

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from tethera.store import Booking, RopeState, UnknownRope, Waiting, trips_ahead
from tethera.store.trips import trip_key
from tethera.web.accounts.not_for_you import examiners
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.preparation.board import waits_since
from tethera.web.ropes.one_next import way_out
from tethera.web.today.acts import ACTS, SAID, Act, address
from tethera.web.trips.holding import promised
from tethera.web.trips.models import Trip
from tethera.web.trips.rigged import hanging


@dataclass(frozen=True)
class Line:
    """One rope that waits: why, and for a step of its preparation since when."""

    rope: RopeState
    why: str
    since: str = ""
    then: tuple[str, ...] = ()


@dataclass(frozen=True)
class Doubted:
    """One kind of doubt: a sentence, its way out and where that is gone, and the ropes it is about."""

    code: str
    message: str
    way_out: str
    ropes: tuple[RopeState, ...]
    url: str = ""


@page()
def today(visit: Visit) -> HttpResponse:
    """What waits, what is out, and the trips ahead."""
    by_act: dict[str, list[Line]] = {}
    ropes = {rope.id: rope for rope in visit.ropes}
    for each in visit.opened.waiting(visit.today):
        by_act.setdefault(each.what, []).append(_line(visit, ropes[each.rope], each))
    acts = [_waiting(visit, act, by_act[act.what]) for act in ACTS if act.what in by_act]
    papers = {trip_key(each.name): each for each in Trip.objects.filter(store=visit.store)}
    # Who is late stands above, among what needs a hand at once.
    out = [rope for rope in visit.ropes if rope.state == "out" and not rope.is_late(visit.today)]
    return visit.page(
        "today/today.html",
        {
            "hand": [each for each in acts if each[0].at_once],
            "steps": [each for each in acts if not each[0].at_once],
            "out": out,
            "hang": [each for each in hanging(visit) if each.due],
            "trips": [_ahead(visit, *each, papers) for each in trips_ahead(visit.ropes, visit.today)],
            "in_store": [rope for rope in visit.ropes if rope.state != "retired"],
            "ready": [rope for rope in visit.ropes if rope.usable],
            "ready_cm": sum(rope.length_cm or 0 for rope in visit.ropes if rope.usable),
            "doubts": doubts(visit),
            "shown": 8,
            "examine": [] if visit.may(May.INSPECT) else examiners(visit.store),
        },
    )


def _ahead(
    visit: Visit, booking: Booking, ropes: list[RopeState], papers: dict[str, Trip]
) -> tuple[Booking, list[RopeState], int | None, dict[str, str]]:
    """A trip ahead with its ropes, its paper, and why any of them does not hold any more."""
    paper = papers.get(trip_key(booking.trip))
    return booking, ropes, paper.pk if paper is not None else None, promised(visit, booking, ropes, paper)


def _waiting(visit: Visit, act: Act, rows: list[Line]) -> tuple[Act, list[Line], str]:
    """An act, the ropes that wait for it, and where this visitor may do it; the empty string where they may not."""
    url = address(visit.store.slug, act, [each.rope.id for each in rows]) if visit.may(act.needs) else ""
    return act, rows, url


def _line(visit: Visit, rope: RopeState, each: Waiting) -> Line:
    if rope.state == "in preparation" and each.what in rope.waits:
        return Line(rope, each.why, waits_since(rope, visit.register.events(rope.id)), tuple(rope.waits[1:]))
    return Line(rope, each.why)


def doubts(visit: Visit) -> list[Doubted]:
    """Each kind of doubt once, those of most ropes first."""
    found: dict[str, tuple[str, str, dict[str, RopeState]]] = {}
    for rope in visit.ropes:
        for finding in rope.findings:
            if rope.state != "retired" and finding.code not in SAID:
                found.setdefault(finding.code, (finding.message, finding.way_out, {}))[2][rope.id] = rope
    doubted = []
    for code, (message, way, ropes) in found.items():
        first = next(iter(ropes.values()))
        url = way_out(visit, first, code) if len(ropes) == 1 else ""
        # What is answered in a rope's life is answered on its page.
        url = f"{reverse('rope', args=[visit.store.slug, first.id])}{url}" if url.startswith("#") else url
        doubted.append(Doubted(code, message, way, tuple(ropes.values()), url))
    return sorted(doubted, key=lambda each: -len(each.ropes))


@page()
def find(visit: Visit) -> HttpResponse:
    """From a number to its rope; from anything else to the list, with the words in its search."""
    words = visit.request.GET.get("number", "").strip()
    try:
        return redirect("rope", visit.store.slug, visit.register.find(words))
    except UnknownRope:
        return redirect(f"{reverse('ropes', args=[visit.store.slug])}?{urlencode({'q': words})}")
