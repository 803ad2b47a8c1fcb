"""What somebody wishes of a plan, pressed beside a rope; and what they ask of it: why not that one, what else."""

import hashlib
import json
from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera import planning
from tethera.planning import TripPlan, plan_of_values, plan_values
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.store.opened import held
from tethera.web.trips.models import Trip
from tethera.web.trips.planned import CONFIDENCES, Ground, ground_of, mass_so_far
from tethera.web.trips.views import context_of, plan_anew, trip_of
from tethera.web.work.doing import Progress, does, start
from tethera.web.work.models import Work
from tethera.web.work.watch import Watch

WHY_NOT, OTHERS = "trip-why-not", "trip-others"
PREFERENCES = ("least-left-over", "long-ropes-kept")
_SECONDS = 30.0
_MOST_WISHES = 60


@page(May.TAKE, post=May.TAKE)
def wish(visit: Visit, number: int) -> HttpResponse:
    """Keep a rope on its pitch, leave one at home, be surer: the plan is made anew."""
    trip = trip_of(visit, number)
    if visit.request.method == "POST" and _wished(trip, visit.request.POST):
        trip.save(update_fields=["wishes", "apart_from"])
        plan_anew(visit, trip)
    if not getattr(visit.request, "htmx", False):
        return redirect("trip", visit.store.slug, number)
    return visit.page("trips/plan.html", context_of(visit, trip_of(visit, number)))


def _wished(trip: Trip, told: Any) -> bool:
    """Change the wishes as told; False where what is told is no wish."""
    wishes = trip.wishes
    take, leave = wishes.setdefault("take", []), wishes.setdefault("leave", [])
    rope, route, pitch = (str(told.get(name, ""))[:200] for name in ("rope", "route", "pitch"))
    match told.get("wish"):
        case "keep" if rope and route in trip.routes and pitch and len(take) < _MOST_WISHES:
            wishes["leave"] = [each for each in leave if each != rope]
            others = [each for each in take if each["rope"] != rope]
            wishes["take"] = [*others, {"rope": rope, "route": route, "pitch": pitch}]
        case "free" if rope:
            wishes["take"] = [each for each in take if each["rope"] != rope]
            wishes["leave"] = [each for each in leave if each != rope]
        case "leave" if rope and len(leave) < _MOST_WISHES:
            wishes["take"] = [each for each in take if each["rope"] != rope]
            wishes["leave"] = [*(each for each in leave if each != rope), rope]
        case "none":
            wishes["take"], wishes["leave"] = [], []
        case "sure" if told.get("confidence") in [str(each) for each in CONFIDENCES]:
            wishes["confidence"] = int(told["confidence"])
            if told.get("prefer") in PREFERENCES:
                wishes["prefer"] = told["prefer"]
        case "apart" | "together" as which if str(told.get("trip", "")).isdecimal():
            others = [each for each in trip.apart_from if each != int(told["trip"])]
            trip.apart_from = [*others, int(told["trip"])] if which == "apart" else others
        case _:
            return False
    return True


@page(May.READ, post=May.TAKE)
def why_not(visit: Visit, number: int) -> HttpResponse:
    """Ask why a rope is not in the plan, and what it would cost to take it."""
    trip = trip_of(visit, number)
    rope = str(visit.request.POST.get("rope", ""))[:20]
    if visit.request.method == "POST" and rope:
        known = visit.register.known(rope)
        if known is None:
            visit.tell(_("No rope is called {rope}.").format(rope=rope))
            return redirect("trip", visit.store.slug, number)
        work = start(visit, WHY_NOT, _("Why not {rope}").format(rope=known), trip=trip.pk, rope=known)
        return redirect("work", visit.store.slug, work.pk)
    return redirect("trip", visit.store.slug, number)


@page(May.READ, post=May.TAKE)
def others(visit: Visit, number: int) -> HttpResponse:
    """Ask for the next best plans; or take one of them."""
    trip = trip_of(visit, number)
    if visit.request.method != "POST":
        return redirect("trip", visit.store.slug, number)
    if chosen := visit.request.POST.get("choose", ""):
        # By what it is, not by its place in the list: somebody may have asked again meanwhile.
        listed = trip.asked.get("others", []) if trip.asked.get("of") == trip.planned_from else []
        plan = next((each["plan"] for each in listed if each.get("id") == chosen), None)
        if plan is None:
            visit.tell_refused(_("That plan is not in the list any more. Ask for other plans again."))
        else:
            Trip.objects.filter(pk=trip.pk).update(plan=plan, asked={})
            visit.tell(_("This is the plan now. Planning anew brings back the lightest."))
        return redirect("trip", visit.store.slug, number)
    work = start(visit, OTHERS, _("Other plans for {trip}").format(trip=trip.name), trip=trip.pk)
    return redirect("work", visit.store.slug, work.pk)


def _answer(trip: Trip, seal: str, **told: Any) -> None:
    """Keep an answer beside the plan it is about; answers about an earlier plan go."""
    fresh = Trip.objects.get(pk=trip.pk)
    kept: dict[str, Any] = fresh.asked if fresh.asked.get("of") == seal else {"of": seal}
    for name, value in told.items():
        kept[name] = {**kept.get(name, {}), **value} if isinstance(value, dict) else value
    Trip.objects.filter(pk=trip.pk).update(asked=kept)


def _asked_about(work: Work) -> tuple[Trip, Ground, TripPlan]:
    """The trip a question is about, what its plan was made from, and the plan; ValueError when that has changed."""
    with held(work.store_id) as opened:
        trip = Trip.objects.get(pk=work.asked["trip"], store=work.store_id)
        ground = ground_of(opened, trip)
    if trip.plan is None or trip.planned_from != ground.seal:
        raise ValueError(_("The store or a route has changed since the ropes were chosen. Plan anew, then ask again."))
    return trip, ground, plan_of_values(trip.plan)


@does(WHY_NOT)
def say_why_not(work: Work, progress: Progress) -> None:
    """Why a rope is not in the plan."""
    work.leads_to = reverse("trip", args=[work.store.slug, work.asked["trip"]]) + "#why-not"
    trip, ground, plan = _asked_about(work)
    watch = Watch(progress, _SECONDS, mass_so_far)
    watch.tell(_("trying {rope}").format(rope=work.asked["rope"]), None, None)
    answer = planning.why_not(
        ground.trips,
        ground.ropes,
        ground.choices,
        plan,
        work.asked["rope"],
        knots=ground.knots,
        seconds=watch.seconds,
    )
    _answer(trip, ground.seal, why={work.asked["rope"]: list(answer.sentences)})


@does(OTHERS)
def find_others(work: Work, progress: Progress) -> None:
    """The next best plans."""
    work.leads_to = reverse("trip", args=[work.store.slug, work.asked["trip"]]) + "#other-plans"
    trip, ground, plan = _asked_about(work)
    watch = Watch(progress, _SECONDS, mass_so_far)
    watch.tell(_("looking for other plans"), None, None)
    found = planning.next_best(
        ground.trips,
        ground.ropes,
        ground.choices,
        plan,
        knots=ground.knots,
        seconds=watch.seconds,
    )
    plans = [plan_values(each.plan) for each in found]
    listed = [{"said": list(e.differs), "plan": p, "id": _id_of(p)} for e, p in zip(found, plans, strict=True)]
    _answer(trip, ground.seal, others=listed)


def _id_of(plan: dict[str, Any]) -> str:
    return hashlib.sha256(json.dumps(plan, sort_keys=True).encode()).hexdigest()[:16]
