"""What of a trip's plan does not hold any more: asked by its page, bags and papers, by Today and the list of trips."""

from collections.abc import Sequence
from datetime import date

from tethera.planning import GONE, Broken, no_longer_holds
from tethera.store import Booking, RopeState
from tethera.store.trips import same_trip
from tethera.web.accounts.visit import Visit
from tethera.web.trips.models import Trip
from tethera.web.trips.planned import Ground, Kept, booked_plan, days_of, ground_of, kept_plan


def plan_gone_by(trip: Trip, ground: Ground) -> Kept | None:
    """The plan that bags and papers go by: what was booked goes before what was tried since."""
    return booked_plan(trip) or kept_plan(trip, ground.seal)


def judged(trip: Trip, ropes: Sequence[RopeState], today: date) -> frozenset[str] | None:
    """Numbers of the ropes that the trip still counts on, None for all of its plan.

    Of a trip that is over what stands on its paper is what was; one under way does not count on ropes that are back.
    """
    out = [rope.id for rope in ropes if same_trip(rope.out_trip, trip.name)]
    if trip.over or trip.called_off or (not out and days_of(trip)[1] < today):
        return frozenset()
    if not out:
        return None
    return frozenset(out) | {r.id for r in ropes if any(same_trip(each.trip, trip.name) for each in r.bookings)}


def broken_in(visit: Visit, trip: Trip, ground: Ground, kept: Kept | None) -> tuple[Broken, ...]:
    """The ropes of a plan that do not hold any more for a trip, route by route."""
    if kept is None or not kept.plan.found:
        return ()
    counted = judged(trip, visit.ropes, visit.today)
    return tuple(
        each
        for part, made in zip(ground.parts, ground.trips, strict=True)
        if part.trip.pk == trip.pk
        for each in no_longer_holds(made, kept.uses_of(trip, part.route.key), ground.known, ground.knots, counted)
    )


def broken_of(visit: Visit, trip: Trip) -> tuple[Broken, ...]:
    """The ropes that a trip goes by, planned or only booked, that do not hold any more."""
    try:
        ground = ground_of(visit.opened, trip)
    except ValueError:
        return _booked_alone(visit, trip, frozenset())
    kept = plan_gone_by(trip, ground)
    planned = frozenset(use.rope for use in kept.uses_of(trip)) if kept is not None else frozenset()
    return (*broken_in(visit, trip, ground, kept), *_booked_alone(visit, trip, planned))


def _booked_alone(visit: Visit, trip: Trip, planned: frozenset[str]) -> tuple[Broken, ...]:
    """Ropes booked for it that its plan does not name, as when they were booked at the rack, and are not to be had."""
    if judged(trip, visit.ropes, visit.today) == frozenset():
        return ()
    return tuple(
        Broken(rope.id, booking.pitches, rope.why_not, gone=rope.state in GONE)
        for rope in visit.ropes
        for booking in rope.bookings
        if same_trip(booking.trip, trip.name) and rope.id not in planned
        if rope.why_not is not None and not same_trip(rope.out_trip, trip.name)
    )


def promised(visit: Visit, booking: Booking, ropes: Sequence[RopeState], trip: Trip | None) -> dict[str, str]:
    """Of the ropes booked for a trip, by number why one does not hold any more.

    Without a paper nobody knows what it needs: then only what makes a rope not to be had is said.
    """
    whys = {
        rope.id: rope.why_not
        for rope in ropes
        if rope.why_not is not None and not same_trip(rope.out_trip, booking.trip)
    }
    return whys if trip is None else whys | {each.rope: each.why for each in broken_of(visit, trip)}
