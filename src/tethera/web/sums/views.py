"""The list of the sums."""

from django.http import HttpResponse

from tethera.web.accounts.visit import Visit, page


@page()
def sums(visit: Visit) -> HttpResponse:
    """What can be worked out here."""
    return visit.page("sums/sums.html")
