"""What waits today, and the way to a rope by its number."""

from collections.abc import Sequence

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from tethera.store import RopeState, UnknownRope, trips_ahead
from tethera.web.accounts.visit import Visit, page
from tethera.web.today.acts import ACTS


@page()
def today(visit: Visit) -> HttpResponse:
    """What waits, what is out, and the trips ahead."""
    by_act: dict[str, list[object]] = {}
    for each in visit.opened.waiting(visit.today):
        by_act.setdefault(each.what, []).append(each)
    acts = [(act, by_act[act.what]) for act in ACTS if act.what in by_act]
    # Who is late stands above, among what needs a hand at once.
    out = [rope for rope in visit.ropes if rope.state == "out" and not rope.is_late(visit.today)]
    return visit.page(
        "today/today.html",
        {
            "hand": [(act, rows) for act, rows in acts if act.at_once],
            "steps": [(act, rows) for act, rows in acts if not act.at_once],
            "out": out,
            "trips": trips_ahead(visit.ropes, visit.today),
            "in_store": [rope for rope in visit.ropes if rope.state != "retired"],
            "ready": [rope for rope in visit.ropes if rope.usable],
            "ready_cm": sum(rope.length_cm or 0 for rope in visit.ropes if rope.usable),
            "doubts": doubts(visit.ropes),
            "shown": 8,
        },
    )


def doubts(ropes: Sequence[RopeState]) -> list[tuple[str, str, str, list[str]]]:
    """Each kind of doubt once: its code, one sentence, its way out, and which ropes."""
    found: dict[str, tuple[str, str, str, list[str]]] = {}
    waiting = {act.finding for act in ACTS}
    for rope in ropes:
        for finding in rope.findings:
            if rope.state != "retired" and finding.code not in waiting:
                numbers = found.setdefault(finding.code, (finding.code, finding.message, finding.way_out, []))[3]
                if rope.id not in numbers:
                    numbers.append(rope.id)
    return sorted(found.values(), key=lambda each: -len(each[3]))


@page()
def find(visit: Visit) -> HttpResponse:
    """From a number to its rope; from anything else to the list, with the words in its search."""
    words = visit.request.GET.get("number", "").strip()
    try:
        return redirect("rope", visit.store.slug, visit.register.find(words))
    except UnknownRope:
        return redirect(f"{reverse('ropes', args=[visit.store.slug])}?{urlencode({'q': words})}")
