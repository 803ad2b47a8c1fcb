"""The pages of trips: the list, the working paper, and one trip with its ropes."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from tethera.store import Booking, RopeState, trips_ahead
from tethera.store.trips import same_trip, trip_key
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.routes.known import routes
from tethera.web.trips.forms import TripForm
from tethera.web.trips.holding import broken_of
from tethera.web.trips.models import Trip
from tethera.web.trips.planned import CONFIDENCES, PLAN, days_of, ground_of, is_booked, others_at_once
from tethera.web.trips.shown import shown_plan
from tethera.web.work.doing import start
from tethera.web.work.models import Work


@dataclass(frozen=True)
class Line:
    """A trip in the list."""

    trip: Trip
    routes: str
    ropes: tuple[RopeState, ...]
    out: int
    broken: int = 0


def trip_of(visit: Visit, number: int) -> Trip:
    """A trip of this store."""
    trip = Trip.objects.filter(pk=number, store=visit.store).first()
    if trip is None:
        raise Http404(_("There is no such trip."))
    return trip


def ropes_of(visit: Visit, trip: Trip) -> tuple[RopeState, ...]:
    """The ropes that the record holds for it or that somebody has out for it."""
    return tuple(
        rope
        for rope in visit.ropes
        if same_trip(rope.out_trip, trip.name) or any(same_trip(each.trip, trip.name) for each in rope.bookings)
    )


@page()
def trips(visit: Visit) -> HttpResponse:
    """Trips ahead, and those over."""
    names = {each.key: each.name for each in routes(visit.opened)}
    lines = []
    for trip in Trip.objects.filter(store=visit.store):
        ropes = ropes_of(visit, trip)
        said = ", ".join(names.get(key, key) for key in trip.routes)
        out = sum(same_trip(rope.out_trip, trip.name) for rope in ropes)
        lines.append(Line(trip, said, ropes, out, len(broken_of(visit, trip)) if ropes else 0))
    over = [each for each in lines if (each.trip.over or days_of(each.trip)[1] < visit.today) and not each.out]
    papers = {trip_key(each.trip.name) for each in lines}
    loose = [
        (booking, ropes)
        for booking, ropes in trips_ahead(visit.ropes, visit.today)
        if trip_key(booking.trip) not in papers
    ]
    context = {
        "ahead": [each for each in lines if each not in over],
        "over": over[::-1],
        "routes": list(names),
        "loose": [(booking, ropes, _as_paper(visit, booking)) for booking, ropes in loose],
    }
    return visit.page("trips/trips.html", context)


def _as_paper(visit: Visit, booking: Booking) -> str:
    """What fills in the paper of a trip that was booked without one."""
    names = {each.name.casefold(): each.key for each in routes(visit.opened)}
    told = {
        "name": booking.trip,
        "route": names.get((booking.route or booking.trip).casefold(), ""),
        "first_day": booking.first_day.isoformat(),
        "last_day": booking.last_day.isoformat(),
        "leader": visit.name(booking.person),
    }
    return urlencode({name: value for name, value in told.items() if value})


@page(May.TAKE, post=May.TAKE)
def new_trip(visit: Visit) -> HttpResponse:
    """A new working paper."""
    return _paper(visit, None)


@page(May.TAKE, post=May.TAKE)
def change_trip(visit: Visit, number: int) -> HttpResponse:
    """The working paper of a trip, to be changed."""
    return _paper(visit, trip_of(visit, number))


def _paper(visit: Visit, trip: Trip | None) -> HttpResponse:
    if trip is not None and trip.over:
        visit.tell(_("This trip is over; its paper stays as it is. Plan a new one."))
        return redirect("trip", visit.store.slug, trip.pk)
    sent = visit.request.POST if visit.request.method == "POST" else None
    form = TripForm(sent, visit=visit, trip=trip)
    booked = trip is not None and is_booked(trip, visit.ropes)
    if sent is None or not form.is_valid():
        context = {"form": form, "trip": trip, "booked": booked, "people": visit.known_names}
        return visit.page("trips/paper.html", context, 200 if sent is None else 422)
    if trip is not None and booked and not same_trip(form.cleaned_data["name"], trip.name):
        form.add_error("name", _("Ropes are booked under its name. Give them back first, or leave the name."))
        context = {"form": form, "trip": trip, "booked": booked, "people": visit.known_names}
        return visit.page("trips/paper.html", context, 422)
    saved = form.saved()
    plan_anew(visit, saved)
    # Said also because a page that says what was kept lets the draft of it go.
    visit.tell(_("Kept: {trip}. Its ropes are being chosen.").format(trip=saved.name))
    return redirect("trip", visit.store.slug, saved.pk)


def plan_anew(visit: Visit, trip: Trip) -> None:
    """Begin to plan; what plans it still is told to stop."""
    if trip.work is not None:
        Work.objects.filter(pk=trip.work, ended=None).update(stop_asked=True)
    work = start(visit, PLAN, _("Ropes for {trip}").format(trip=trip.name), trip=trip.pk)
    trip.work = work.pk
    Trip.objects.filter(pk=trip.pk).update(work=work.pk)


@page(May.READ)
def trip(visit: Visit, number: int) -> HttpResponse:
    """One trip: its ropes, why these, and what else could be done."""
    return visit.page("trips/trip.html", context_of(visit, trip_of(visit, number)))


@page(May.READ, post=May.TAKE)
def plan(visit: Visit, number: int) -> HttpResponse:
    """How far the planning is, then the plan; a press on "Plan anew" or Stop."""
    asked = trip_of(visit, number)
    if visit.request.method == "POST":
        if "stop" in visit.request.POST and asked.work is not None:
            Work.objects.filter(pk=asked.work, ended=None).update(stop_asked=True)
        else:
            plan_anew(visit, asked)
    if not getattr(visit.request, "htmx", False):
        return redirect("trip", visit.store.slug, number)
    return visit.page("trips/plan.html", context_of(visit, asked))


def context_of(visit: Visit, trip: Trip) -> dict[str, Any]:
    """What the page of a trip shows."""
    work = Work.objects.filter(pk=trip.work).first() if trip.work is not None else None
    bookings = [each for rope in visit.ropes for each in rope.bookings if same_trip(each.trip, trip.name)]
    booked = bool(bookings)
    moved = any((each.first_day, each.last_day) != days_of(trip) for each in bookings)
    out = [rope for rope in visit.ropes if same_trip(rope.out_trip, trip.name)]
    broken = broken_of(visit, trip)
    context: dict[str, Any] = {
        "trip": trip,
        "broken": broken,
        "gone": {each.rope for each in broken if each.gone},
        "days": days_of(trip),
        "booked": booked,
        "moved": moved,
        # Once ropes are booked or gone, nothing is chosen anew unless somebody asks.
        "open": not (booked or out or trip.over or trip.called_off),
        "ropes": ropes_of(visit, trip),
        "out": out,
        "work": work,
        "planning": work is not None and work.ended is None,
        "trouble": work.trouble if work is not None else "",
        "others": others_at_once(trip, visit.ropes),
        "sure_choices": CONFIDENCES,
        "takes": takes(visit, trip),
    }
    try:
        ground = ground_of(visit.opened, trip)
    except ValueError as error:
        return context | {"trouble": str(error), "shown": None, "lost": trip.routes}
    shown = shown_plan(visit, trip, ground)
    held = {rope.id for rope in context["ropes"]}
    differs = bool(booked and not out and shown and shown.plan.found and (moved or shown.numbers != held))
    return context | {"shown": shown, "lost": ground.lost, "differs": differs}


def takes(visit: Visit, trip: Trip) -> str:
    """What fills in the form that takes the trip's ropes out; empty where none is booked or all are out."""
    booked = [rope for rope in visit.ropes if _waits(rope, trip)]
    told = {
        "take": " ".join(rope.id for rope in booked),
        "person": trip.leader,
        "trip": trip.name,
        "until": days_of(trip)[1].isoformat(),
    }
    return urlencode({name: value for name, value in told.items() if value}) if booked else ""


def _waits(rope: RopeState, trip: Trip) -> bool:
    held = any(same_trip(each.trip, trip.name) for each in rope.bookings)
    here = rope.state not in ("rigged", "set aside", "missing", "retired")
    return held and not same_trip(rope.out_trip, trip.name) and here
