"""From a trip's working paper to its plan: what it is made from, how it is made, and whether it still holds."""

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from django.db.models import Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from tethera import planning
from tethera.planning import Choices, RopeUse, TripPlan, plan_of_values, plan_values
from tethera.rigging import KnotLengths
from tethera.store import RopeState
from tethera.store.trips import same_trip, trip_key
from tethera.web.routes.known import KnownRoute, knots, routes
from tethera.web.store.opened import OpenedStore, held
from tethera.web.trips.models import Trip
from tethera.web.work.doing import Progress, Stopped, does
from tethera.web.work.models import Work
from tethera.web.work.watch import Watch

PLAN = "plan-trip"
#: How sure one may wish to be that no rope is short [%].
CONFIDENCES = (80, 90, 95, 99)
#: Longest time to look for a better plan [s].
LIMIT_SECONDS = 60.0


@dataclass(frozen=True)
class Part:
    """One route of one of the trips planned together."""

    trip: Trip
    route: KnownRoute

    @property
    def mark(self) -> list[Any]:
        """What tells it from the others, for keeping."""
        return [self.trip.pk, self.route.key]


@dataclass(frozen=True)
class Ground:
    """All that a plan is made from. `seal` tells whether another was made from the same."""

    parts: tuple[Part, ...]
    trips: tuple[planning.Trip, ...]
    ropes: tuple[RopeState, ...]
    choices: Choices
    knots: KnotLengths
    seal: str
    lost: tuple[str, ...] = ()
    #: Every rope by its number, retired ones too: a plan may name one that is retired since.
    known: dict[str, RopeState] = field(default_factory=dict, repr=False)

    def number(self, trip: Trip, key: str) -> int | None:
        """Which of the trips planned together a route of a trip is."""
        return next((n for n, part in enumerate(self.parts) if part.mark == [trip.pk, key]), None)


def days_of(trip: Trip) -> tuple[date, date]:
    """The days on which its ropes are away, both included."""
    return trip.first_day, max(trip.last_day, trip.due_back or trip.last_day)


def is_booked(trip: Trip, ropes: Iterable[RopeState]) -> bool:
    """Whether the record holds a rope for it."""
    first, last = days_of(trip)
    held = (booking for rope in ropes for booking in rope.bookings if same_trip(booking.trip, trip.name))
    return any(booking.first_day <= last and first <= booking.last_day for booking in held)


def others_at_once(trip: Trip, ropes: Sequence[RopeState]) -> list[Trip]:
    """Other trips of the same days that still choose their ropes: those with ropes booked have theirs."""
    first, last = days_of(trip)
    others = Trip.objects.filter(store=trip.store, called_off=False, over=False, first_day__lte=last).exclude(
        pk=trip.pk
    )
    others = others.filter(Q(last_day__gte=first) | Q(due_back__gte=first))
    gone = {trip_key(rope.out_trip) for rope in ropes}
    return [each for each in others if each.routes and trip_key(each.name) not in gone and not is_booked(each, ropes)]


def ground_of(opened: OpenedStore, trip: Trip) -> Ground:
    """What a plan for this trip is made from; ValueError when it names no route that can be read."""
    today = timezone.localdate()
    first, _last = days_of(trip)
    ropes = opened.register.ropes(max(first, today))
    together = [each for each in others_at_once(trip, ropes) if each.pk not in trip.apart_from]
    # Everything from here on is the same from whichever of them it is looked at.
    together = sorted([trip, *together], key=lambda each: each.pk or 0)
    ropes = opened.register.ropes(max(today, min(days_of(each)[0] for each in together)))
    known = {each.key: each for each in routes(opened) if each.route is not None}
    parts = [Part(each, known[key]) for each in together for key in each.routes if key in known]
    lost = tuple(key for key in trip.routes if key not in known)
    if not any(part.trip.pk == trip.pk for part in parts):
        raise ValueError(_("Choose a route that can be read first."))
    twice = Counter(part.route.name for part in parts)
    planned = []
    for part in parts:
        route = part.route.route
        assert route is not None
        own = part.route.name if twice[part.route.name] == 1 else f"{part.route.name} ({part.trip.name})"
        planned.append(planning.Trip(replace(route, name=own), *days_of(part.trip)))
    # What the record holds for this very trip does not stand in its own way.
    every = {rope.id: _as_if_free_for(rope, trip) for rope in ropes}
    free = tuple(rope for rope in every.values() if rope.state != "retired")
    choices = _choices(together, parts, planned)
    seal = _seal(parts, planned, free, choices)
    return Ground(tuple(parts), tuple(planned), free, choices, knots(), seal, lost, every)


def _as_if_free_for(rope: RopeState, trip: Trip) -> RopeState:
    """A rope without what the record holds for this very trip: its bookings, and that it is out for it."""
    rope = replace(rope, bookings=tuple(each for each in rope.bookings if not same_trip(each.trip, trip.name)))
    if not same_trip(rope.out_trip, trip.name):
        return rope
    return replace(rope, out_since=None, out_with=None, out_until=None, out_trip="")


def _choices(trips: Sequence[Trip], parts: Sequence[Part], planned: Sequence[planning.Trip]) -> Choices:
    """The wishes of all trips planned together, in the words of the planner; the surest of them goes for all."""
    take = []
    for part, made in zip(parts, planned, strict=True):
        names = [pitch.name for pitch in made.route.pitches]
        take += [
            f"{wish['rope']}@{made.route.name}:{names.index(wish['pitch']) + 1}"
            for wish in part.trip.wishes.get("take", [])
            if wish["route"] == part.route.key and wish["pitch"] in names
        ]
    wishes = [trip.wishes for trip in trips]
    kept_home = any(each.get("prefer") == "long-ropes-kept" for each in wishes)
    return Choices(
        take=tuple(take),
        leave=tuple(sorted({rope for each in wishes for rope in each.get("leave", [])})),
        confidence=max(each.get("confidence", 95) for each in wishes) / 100,
        prefer="long-ropes-kept" if kept_home else "least-left-over",
    )


def _seal(parts: Sequence[Part], planned: Sequence[planning.Trip], ropes: Sequence[RopeState], choices: Choices) -> str:
    first = min(each.begins for each in planned if each.begins)
    last = max(each.ends for each in planned if each.ends)
    routed = [
        [*part.mark, repr(part.route.route), str(each.begins), str(each.ends)]
        for part, each in zip(parts, planned, strict=True)
    ]
    stock = [
        [r.id, r.length_cm, r.known_by, r.diameter_mm, r.rope_type, r.mass_g_per_m, r.wear, r.why_not_on(first, last)]
        for r in ropes
    ]
    said = [routed, stock, repr(choices), repr(knots())]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()


@dataclass(frozen=True)
class Kept:
    """The plan that lies beside a trip. `holds` when everything it was made from is still so."""

    plan: TripPlan
    planned_for: tuple[tuple[int, str], ...]
    holds: bool

    def uses_of(self, trip: Trip, key: str | None = None) -> tuple[RopeUse, ...]:
        """The ropes for a trip, or for one of its routes, in order of use."""
        return tuple(
            use
            for use in self.plan.uses
            if self.planned_for[use.trip_index][0] == trip.pk
            and (key is None or self.planned_for[use.trip_index][1] == key)
        )

    def key_of(self, use: RopeUse) -> str:
        """The route on which a rope is used."""
        return self.planned_for[use.trip_index][1]


def kept_plan(trip: Trip, seal: str) -> Kept | None:
    """The plan that lies beside a trip; None where there is none that can be read."""
    return None if trip.plan is None else _kept(trip.plan, trip.planned_for, trip.planned_from == seal)


def booked_plan(trip: Trip) -> Kept | None:
    """The plan whose ropes were booked, whatever was tried since; None where none was kept."""
    kept = trip.booked_plan
    return None if kept is None else _kept(kept["plan"], kept["planned_for"], False)


def _kept(values: dict[str, Any], planned_for: Sequence[Any], holds: bool) -> Kept | None:
    try:
        plan = plan_of_values(values)
    except ValueError:
        return None
    pairs = tuple((int(pk), str(key)) for pk, key in planned_for)
    if any(use.trip_index >= len(pairs) for use in plan.uses):
        return None
    return Kept(plan, pairs, holds)


def mass_so_far(best: float) -> str:
    """The mass of the best plan so far [g], in words that follow what is being done."""
    return _(", {kg} kg so far").format(kg=f"{best / 1000:.1f}")


@does(PLAN)
def plan_the_trip(work: Work, progress: Progress) -> None:
    """Plan a trip, with the others of the same days; on Stop the best plan so far is kept."""
    with held(work.store_id) as opened:
        trip = Trip.objects.get(pk=work.asked["trip"], store=work.store_id)
        ground = ground_of(opened, trip)
        measured = opened.register.shrinkages()
    work.leads_to = reverse("trip", args=[work.store.slug, trip.pk])
    watch = Watch(progress, LIMIT_SECONDS, mass_so_far)
    plan = planning.plan_trip(
        ground.trips,
        ground.ropes,
        ground.choices,
        knots=ground.knots,
        shrinkages=lambda: measured,
        seconds=watch.seconds,
        progress=watch.tell,
    )
    if watch.stopped and not plan.found:
        raise Stopped
    with held(work.store_id) as opened:
        group = Trip.objects.filter(pk__in={part.trip.pk for part in ground.parts})
        # One answer for all that were planned together, where they still are what they were.
        same = [each.pk for each in group if _seal_of(opened, each) == ground.seal]
    Trip.objects.filter(pk__in=same).update(
        plan=plan_values(plan), planned_from=ground.seal, planned_for=[part.mark for part in ground.parts]
    )
    if trip.pk not in same:
        raise ValueError(_("The store, a route or the trip changed while they were being chosen. Choose anew."))


def _seal_of(opened: OpenedStore, trip: Trip) -> str:
    try:
        return ground_of(opened, trip).seal
    except ValueError:
        return ""
