"""Out and back: who has what, and taking out."""

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.outback.lists import holders, rigged, trips
from tethera.web.outback.taking import TakeForm
from tethera.web.paper.forms import when_doubts
from tethera.web.paper.offered import trips_of


@page(May.READ, post=May.TAKE)
def out_and_back(visit: Visit) -> HttpResponse:
    """Who has what. Ropes are taken out here; those brought back have a screen of their own."""
    if visit.request.method != "POST":
        return _page(visit, TakeForm.asked_for(visit))
    form = TakeForm(visit.request.POST, visit=visit)
    may_be_taken = form.is_valid()
    if "look" in visit.request.POST:
        if visit.request.headers.get("HX-Request"):
            return visit.page("outback/looked.html", {"looked": form.looked()})
        return _page(visit, form)
    if not may_be_taken:
        return _page(visit, form, status=422)
    seal = form.looked().seal
    if seal and visit.request.POST.get("sure") != seal:
        return _page(visit, form, sure=seal, status=422)
    ropes = form.cleaned_data["ropes"]
    findings = visit.record(form.events(ropes))
    visit.tell(_told(form), (*findings, *when_doubts(form)))
    # The form was sent to its own place on the page; what was recorded is told at the head of it.
    return redirect(f"{reverse('out-and-back', args=[visit.store.slug])}#page")


def _told(form: TakeForm) -> str:
    who, due = form.cleaned_data["person"].strip(), form.cleaned_data["due"]
    ropes = ", ".join(form.cleaned_data["ropes"])
    done = _("Taken out by {who}: {ropes}.") if who else _("Taken out: {ropes}.")
    back = " " + _("Due back {day}.").format(day=due.spoken()) if due else ""
    return done.format(who=who, ropes=ropes) + back


def _page(visit: Visit, form: TakeForm, *, sure: str = "", status: int = 200) -> HttpResponse:
    held = holders(visit)
    context = {
        "form": form,
        "looked": form.looked(),
        "sure": sure,
        "holders": held,
        "rigged": rigged(visit),
        "trips": trips(visit),
        "picked": set(visit.request.GET.getlist("back")),
        "people": visit.known_names,
        "known_trips": trips_of(visit.ropes),
        "late": sum(row.late for holder in held for row in holder.rows),
        "out": sum(len(holder.rows) for holder in held),
    }
    return visit.page("outback/out_and_back.html", context, status)
