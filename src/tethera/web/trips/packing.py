"""The bags of a trip, ticked off in the store, and its papers."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _

from tethera.planning import Papers
from tethera.store.trips import same_trip
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.store.opened import writing
from tethera.web.trips.holding import judged, plan_gone_by
from tethera.web.trips.models import Trip
from tethera.web.trips.planned import Ground, Kept, ground_of, is_booked
from tethera.web.trips.shown import with_doubts
from tethera.web.trips.views import takes, trip_of

_METAL = ("hangers", "maillons", "karabiners", "slings")


@dataclass(frozen=True)
class RoutePapers:
    """The papers of one route of a trip."""

    key: str
    name: str
    papers: Papers


def papers_of(visit: Visit, trip: Trip) -> tuple[RoutePapers, ...]:
    """The papers of each route of a trip by the plan beside it, also when that no longer holds; none without a plan.

    What was booked goes before what was tried since.
    """
    ground = ground_of(visit.opened, trip)
    kept = plan_gone_by(trip, ground)
    return tuple(_papers(visit, trip, ground, kept)) if kept is not None and kept.plan.found else ()


def _papers(visit: Visit, trip: Trip, ground: Ground, kept: Kept) -> Iterator[RoutePapers]:
    states = with_doubts(visit, ground)
    counted = judged(trip, visit.ropes, visit.today)
    for number, part in enumerate(ground.parts):
        if part.trip.pk != trip.pk:
            continue
        uses = kept.uses_of(trip, part.route.key)
        papers = Papers(
            ground.trips[number],
            uses,
            {use.rope: states[use.rope] for use in uses if use.rope in states},
            visit.rules.owner or visit.store.name,
            trip.party,
            round(100 * (kept.plan.confidence or 0)) or None,
            ground.knots,
            part.route.findings,
            counted,
        )
        yield RoutePapers(part.route.key, part.route.name, papers)


def _one(visit: Visit, number: int, key: str) -> RoutePapers:
    trip = trip_of(visit, number)
    found = next((each for each in papers_of(visit, trip) if each.key == key), None)
    if found is None:
        raise Http404(_("No ropes are chosen for that route yet."))
    return found


@page()
def sheet_pdf(visit: Visit, number: int, key: str) -> HttpResponse:
    """The rigging sheet of one route, to take underground."""
    from tethera import labels

    paper = _one(visit, number, key)
    with visit.let_go():
        pdf = labels.rigging_sheet_pdf(paper.papers.sheet())
    return _pdf(pdf, f"{key}-rigging-sheet.pdf")


@page()
def packing_pdf(visit: Visit, number: int, key: str) -> HttpResponse:
    """The packing list of one route."""
    from tethera import labels

    paper = _one(visit, number, key)
    with visit.let_go():
        pdf = labels.packing_list_pdf(paper.papers.packing())
    return _pdf(pdf, f"{key}-packing-list.pdf")


def _pdf(content: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        content, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )


@page(May.READ, post=May.TAKE)
def bags(visit: Visit, number: int) -> HttpResponse:
    """Bag by bag what goes in, and what lies in already; a tick more or less."""
    trip = trip_of(visit, number)
    if visit.request.method == "POST":
        trip = _ticked(visit, trip)
        if not getattr(visit.request, "htmx", False):
            return redirect("trip-bags", visit.store.slug, number)
    try:
        papers = papers_of(visit, trip)
    except ValueError:
        papers = ()
    routes = [_bags_of(trip, each) for each in papers]
    things = [thing for route in routes for bag in route["bags"] for thing in bag["things"] if not thing.get("gone")]
    part = "trips/bags_part.html" if getattr(visit.request, "htmx", False) else "trips/bags.html"
    return visit.page(
        part,
        {
            "trip": trip,
            "routes": routes,
            "broken": [each for route in papers for each in route.papers.broken],
            "things": len(things),
            "packed": sum(bool(thing["packed"]) for thing in things),
            "booked": is_booked(trip, visit.ropes),
            "takes": takes(visit, trip),
            "out": [rope for rope in visit.ropes if same_trip(rope.out_trip, trip.name)],
        },
    )


def _ticked(visit: Visit, trip: Trip) -> Trip:
    """One thing more or less in the bags; two people who pack at once lose no tick."""
    what = str(visit.request.POST.get("what", ""))[:120]
    with writing(visit.opened.key):
        fresh = Trip.objects.get(pk=trip.pk)
        packed = {name: told for name, told in fresh.packed.items() if name != what}
        if "in" in visit.request.POST and what and len(packed) < 500:
            now = timezone.localtime()
            person = visit.membership.person
            packed[what] = {"by": visit.name(person), "person": person, "at": f"{now:%H:%M}"}
        fresh.packed = packed
        fresh.save(update_fields=["packed"])
    return fresh


def _bags_of(trip: Trip, each: RoutePapers) -> dict[str, Any]:
    """The bags of a route, each with its things and whether they are in."""
    packing = each.papers.packing()
    bags = []
    for caver in packing["cavers"]:
        for bag in caver["bags"]:
            things = []
            for item in bag["contents"]:
                what = f"{each.key}/{item.get('rope') or 'metal ' + bag['bag']}"
                things.append({**item, "what": what, "packed": trip.packed.get(what)})
            bags.append({**bag, "caver": caver["caver"], "things": things})
    kit = [(what, packing["kit"].get("totals", packing["kit"]).get(what)) for what in _METAL]
    return {
        "key": each.key,
        "name": each.name,
        "bags": bags,
        "kit": [(what, count) for what, count in kit if count],
        "notes": packing["notes"],
        "cautions": packing["cautions"],
    }
