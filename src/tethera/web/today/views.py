"""What waits today, and the way to a rope by its number."""

from django.http import HttpResponse
from django.shortcuts import redirect

from tethera.store import UnknownRope
from tethera.web.accounts.visit import Visit, page


@page()
def today(visit: Visit) -> HttpResponse:
    """What waits."""
    return visit.page("today/today.html")


@page()
def find(visit: Visit) -> HttpResponse:
    """From a number to its rope; from anything else to the list."""
    words = visit.request.GET.get("number", "").strip()
    try:
        return redirect("rope", visit.store.slug, visit.register.find(words))
    except UnknownRope:
        return redirect("today", visit.store.slug)
