"""Leaving ropes rigged in a cave, on purpose."""

from collections.abc import Sequence

from django import forms
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.store import LeftRigged
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.outback.several import OfRope, OfVisit, asks_again, listed, offered, picked, screen
from tethera.web.paper.fields import WhenField
from tethera.web.paper.forms import when_doubts


class LeaveForm(OfVisit):
    """What is said of all of them."""

    route = forms.CharField(
        label=gettext_lazy("Route"), required=False, max_length=200, widget=forms.TextInput(attrs=offered("routes"))
    )
    happened = WhenField(label=gettext_lazy("Left rigged"))
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)


class OneLeft(OfRope):
    """On which pitch one of them stays."""

    pitch = forms.CharField(
        label=gettext_lazy("Pitch"), required=False, max_length=200, widget=forms.TextInput(attrs=offered("pitches"))
    )


@page(May.TAKE, post=May.TAKE)
def leave_rigged(visit: Visit) -> HttpResponse:
    """The ropes that stay in a cave, and where."""
    numbers = picked(visit, "numbers")
    states = [visit.rope(each) for each in numbers.ropes]
    if visit.request.method != "POST":
        return _page(visit, LeaveForm(visit=visit), [OneLeft(visit=visit, state=each) for each in states])
    form = LeaveForm(visit.request.POST, visit=visit)
    each_form = [OneLeft(visit.request.POST, visit=visit, state=each) for each in states]
    whole = all([form.is_valid(), *(each.is_valid() for each in each_form)])
    if asks_again(visit) or not states:
        return _page(visit, form, each_form)
    if not whole or numbers.unknown:
        return _page(visit, form, each_form, status=422)
    told = form.cleaned_data
    findings = visit.record([
        LeftRigged(rope=each.state.id, happened=told["happened"], route=told["route"].strip(),
                   pitch=each.cleaned_data["pitch"].strip(), note=told["note"])
        for each in each_form
    ])  # fmt: skip
    visit.tell(_("Left rigged: {ropes}.").format(ropes=listed(numbers.ropes)), (*findings, *when_doubts(form)))
    return redirect("out-and-back", visit.store.slug)


def _page(visit: Visit, form: LeaveForm, each_form: Sequence[OneLeft], status: int = 200) -> HttpResponse:
    out = [rope for rope in visit.ropes if rope.with_somebody and rope.state != "retired"]
    return visit.page("outback/leave_rigged.html", screen(visit, form, each_form, out), status)
