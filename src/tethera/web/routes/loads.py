"""What each anchor of a route is asked to hold, the bad ones first."""

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from tethera.rigging import Holding, loads_mapping, route_loads
from tethera.web.accounts.visit import Visit, page
from tethera.web.routes.views import known_route
from tethera.web.sums.asked import Asked
from tethera.web.sums.fields import Field, caver


@page()
def loads(visit: Visit, key: str) -> HttpResponse:
    """Every anchor with its loads and its worst fall."""
    known = known_route(visit, key)
    if known.route is None:
        return redirect("route", visit.store.slug, key)
    asked = Asked(visit.request.GET, visit.units)
    mass, weight = caver(asked, bag=True)
    declared = asked.choice("type", ("", "A", "B", "dynamic"), "")
    types = [("", _("not declared")), ("A", _("low-stretch, type A")), ("B", _("low-stretch, type B"))]
    fields = [
        weight,
        Field("type", _("Type of the rope"), declared, options=[*types, ("dynamic", _("dynamic"))]),
    ]
    route = known.route
    with visit.let_go():
        holding = Holding(rope_type=declared or None)  # type: ignore[arg-type]
        told = loads_mapping(route_loads(route, mass_kg=mass, holding=holding), mass)
    context = {"known": known, "told": told, "fields": fields, "wrong": asked.wrong}
    return visit.page("routes/loads.html", context, 422 if asked.wrong else 200)
