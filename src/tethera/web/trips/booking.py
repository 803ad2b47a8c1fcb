"""Booking the ropes of a plan: a declaration that two trips cannot both make."""

from collections.abc import Sequence

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from tethera.basics import PartialDate
from tethera.planning import RopeUse, booked_where
from tethera.store import Booked, BookingReleased, Event, LogMovedOn, Refused
from tethera.store.trips import same_trip
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.trips.models import Trip
from tethera.web.trips.planned import Ground, Kept, days_of, ground_of, kept_plan
from tethera.web.trips.views import plan_anew, trip_of


@page(May.READ, post=May.TAKE)
def book(visit: Visit, number: int) -> HttpResponse:
    """Book the ropes that the plan names, all or none."""
    trip = trip_of(visit, number)
    if visit.request.method != "POST" or visit.sent_before:
        return redirect("trip", visit.store.slug, number)
    if trip.called_off or trip.over or any(same_trip(rope.out_trip, trip.name) for rope in visit.ropes):
        visit.tell_refused(_("Nothing is booked: the trip is called off, under way or over."))
        return redirect("trip", visit.store.slug, number)
    ground = ground_of(visit.opened, trip)
    kept = kept_plan(trip, ground.seal)
    if kept is None or not kept.holds or not kept.plan.found or visit.request.POST.get("plan") != ground.seal:
        plan_anew(visit, trip)
        visit.tell_refused(f"{_changed(visit, trip, kept)} {_('They are chosen anew; look at them, then book.')}")
        return redirect("trip", visit.store.slug, number)
    try:
        findings = visit.record(_bookings(visit, trip, ground, kept.uses_of(trip)))
    except (Refused, LogMovedOn) as refused:
        plan_anew(visit, trip)
        why = "; ".join(refused.missing) if isinstance(refused, Refused) else str(refused)
        rope = f"{refused.rope}: " if isinstance(refused, Refused) else ""
        visit.tell_refused(
            _("Nothing is booked. {rope}{why}. Ropes are chosen anew.").format(rope=rope, why=why.rstrip("."))
        )
        return redirect("trip", visit.store.slug, number)
    Trip.objects.filter(pk=trip.pk).update(booked_plan={"plan": trip.plan, "planned_for": trip.planned_for})
    visit.tell(_("Booked for {trip}.").format(trip=trip.name), findings)
    return redirect("trip", visit.store.slug, number)


def _changed(visit: Visit, trip: Trip, kept: Kept | None) -> str:
    """Why the ropes that were chosen cannot be booked as they stand: who has booked which meanwhile, if anybody."""
    first, last = days_of(trip)
    chosen = {use.rope for use in kept.uses_of(trip)} if kept is not None else set()
    gone: dict[str, list[str]] = {}
    for rope in visit.ropes:
        for booking in rope.bookings if rope.id in chosen else ():
            if not same_trip(booking.trip, trip.name) and booking.first_day <= last and first <= booking.last_day:
                who = ", ".join(filter(None, (booking.trip, visit.name(booking.person))))
                gone.setdefault(who, []).append(rope.id)
    if not gone:
        return _("Nothing is booked: the store, a route or another trip changed after these ropes were chosen.")
    said = "; ".join(_("{ropes} for {trip}").format(ropes=", ".join(ropes), trip=who) for who, ropes in gone.items())
    return _("Nothing is booked: meanwhile somebody has booked {said}.").format(said=said)


def _bookings(visit: Visit, trip: Trip, ground: Ground, uses: Sequence[RopeUse]) -> list[Event]:
    """Give back what the trip held, then book what it takes."""
    today = PartialDate.of(visit.today)
    first, last = days_of(trip)
    person = visit.person(trip.leader)
    events: list[Event] = [*_releases(visit, trip)]
    booked: set[str] = set()
    for use in uses:
        if use.rope in booked:
            continue
        booked.add(use.rope)
        made = ground.trips[use.trip_index]
        part = ground.parts[use.trip_index]
        events.append(
            Booked(
                rope=use.rope,
                happened=today,
                first_day=first,
                last_day=last,
                person=person,
                trip=trip.name,
                route=part.route.name,
                **booked_where(made, use),
            )
        )
    return events


def _releases(visit: Visit, trip: Trip) -> list[BookingReleased]:
    today = PartialDate.of(visit.today)
    return [
        BookingReleased(rope=rope.id, happened=today, booking=booking.number)
        for rope in visit.ropes
        for booking in rope.bookings
        if same_trip(booking.trip, trip.name)
    ]


@page(May.READ, post=May.TAKE)
def give_back(visit: Visit, number: int) -> HttpResponse:
    """Give back every rope that is booked for the trip."""
    trip = trip_of(visit, number)
    if visit.request.method == "POST" and (releases := _releases(visit, trip)):
        visit.record(releases)
        Trip.objects.filter(pk=trip.pk).update(booked_plan=None)
        plan_anew(visit, trip)
        visit.tell(_("Given back: other trips may have these ropes."))
    return redirect("trip", visit.store.slug, number)


@page(May.READ, post=May.TAKE)
def call_off(visit: Visit, number: int) -> HttpResponse:
    """The trip does not take place: its ropes are given back, its paper is kept."""
    trip = trip_of(visit, number)
    if visit.request.method == "POST":
        off = "off" in visit.request.POST
        if off and (releases := _releases(visit, trip)):
            visit.record(releases)
        told = {"called_off": off, **({"booked_plan": None} if off else {})}
        Trip.objects.filter(pk=trip.pk).update(**told)
        visit.tell(_("The trip is called off.") if off else _("The trip takes place."))
        if off:
            return redirect("trips", visit.store.slug)
    return redirect("trip", visit.store.slug, number)
