"""Bringing back: how the ropes are, what happened to each, and what follows from it."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import Finding
from tethera.store import Event, Returned, Used
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.outback.lists import holders, rigged
from tethera.web.outback.several import OfRope, OfVisit, asks_again, listed, offered, picked, screen
from tethera.web.paper.fields import LeftOverField, WhenField
from tethera.web.paper.forms import when_doubts

#: How a rope is: in the record's words (clean, dry), and what to call it. A rope not washed is noted as it is.
HOW: dict[str, tuple[bool, bool]] = {
    "muddy": (False, False),
    "wet": (False, False),
    "dry": (False, True),
    "washed, still wet": (True, False),
    "washed and dry": (True, True),
}
HOW_WORDS = [
    ("muddy", gettext_lazy("muddy")),
    ("wet", gettext_lazy("wet, not washed")),
    ("dry", gettext_lazy("dry, not washed")),
    ("washed, still wet", gettext_lazy("washed, still wet")),
    ("washed and dry", gettext_lazy("washed and dry")),
]


class BackForm(OfVisit):
    """What is said of all of them."""

    how = forms.ChoiceField(
        label=gettext_lazy("How they are"), widget=forms.RadioSelect, choices=HOW_WORDS, initial="muddy"
    )
    checked = forms.BooleanField(
        label=gettext_lazy("I ran each of them through my hands, end to end, and found nothing"), required=False
    )
    person = forms.CharField(
        label=gettext_lazy("Who brings them"), required=False, max_length=200,
        widget=forms.TextInput(attrs=offered("people")),
    )  # fmt: skip
    happened = WhenField()
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, visit=visit, **kwargs)
        self.fields["person"].initial = visit.name(visit.membership.person)
        if not visit.may(May.INSPECT):
            # Whoever may not examine a rope may not make it ready by a tick either.
            del self.fields["checked"]


class OneBack(OfRope):
    """What is said of one of them."""

    fall = forms.BooleanField(label=gettext_lazy("It held a fall"), required=False)
    chemical = forms.CharField(
        label=gettext_lazy("Chemical it met"), required=False, max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=gettext_lazy("Battery acid, bleach, fuel: say which."),
    )  # fmt: skip
    how = forms.ChoiceField(
        label=gettext_lazy("How it is"), required=False, choices=[("", gettext_lazy("as the others")), *HOW_WORDS]
    )
    route = forms.CharField(
        label=gettext_lazy("Used on route"), required=False, max_length=200,
        widget=forms.TextInput(attrs=offered("routes")),
    )  # fmt: skip
    pitch = forms.CharField(
        label=gettext_lazy("Pitch"), required=False, max_length=200, widget=forms.TextInput(attrs=offered("pitches"))
    )
    days = forms.IntegerField(
        label=gettext_lazy("Days"), required=False, min_value=1, max_value=1000,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 4, "autocomplete": "off"}),
    )  # fmt: skip
    left_over_cm = LeftOverField(required=False)
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)

    @property
    def use(self) -> list[forms.BoundField]:
        """What is said of its use."""
        return [self[name] for name in ("route", "pitch", "days", "left_over_cm", "how", "note")]

    @property
    def opened(self) -> bool:
        """Whether something is said of its use, or cannot be read."""
        return any(each.value() or each.errors for each in self.use)

    def events(self, shared: dict[str, Any], person: str | None) -> list[Event]:
        """What to record of it: its use, if anything is said of it, and that it came back."""
        told, when = self.cleaned_data, shared["happened"]
        how = told["how"] or shared["how"]
        clean, dry = HOW[how]
        found: list[Event] = []
        if told["route"] or told["pitch"] or told["days"] or told["left_over_cm"] is not None:
            found.append(
                Used(rope=self.state.id, happened=when, route=told["route"], pitch=told["pitch"],
                     days=told["days"] or 1, left_over_cm=told["left_over_cm"])
            )  # fmt: skip
        notes = ("" if clean else how, told["note"].strip(), shared["note"].strip())
        found.append(
            Returned(rope=self.state.id, happened=when, person=person, clean=clean, dry=dry, fall=told["fall"],
                     checked=bool(shared.get("checked")), chemical=told["chemical"].strip() or None,
                     note="; ".join(each for each in notes if each))
        )  # fmt: skip
        return found


@page(May.TAKE, post=May.TAKE)
def bring_back(visit: Visit) -> HttpResponse:
    """The ropes that came back, each with what happened to it."""
    numbers = picked(visit, "numbers")
    states = [visit.rope(each) for each in numbers.ropes]
    if visit.request.method != "POST":
        return _page(visit, BackForm(visit=visit), [OneBack(visit=visit, state=each) for each in states])
    form = BackForm(visit.request.POST, visit=visit)
    each_form = [OneBack(visit.request.POST, visit=visit, state=each) for each in states]
    whole = all([form.is_valid(), *(each.is_valid() for each in each_form)])
    if asks_again(visit) or not states:
        return _page(visit, form, each_form)
    if not whole or numbers.unknown:
        return _page(visit, form, each_form, status=422)
    person = visit.person(form.cleaned_data["person"])
    findings = visit.record([event for each in each_form for event in each.events(form.cleaned_data, person)])
    visit.tell(*_what_follows(visit, numbers.ropes, (*findings, *when_doubts(form))))
    return redirect("out-and-back", visit.store.slug)


def _what_follows(visit: Visit, ropes: Sequence[str], findings: Sequence[Finding]) -> tuple[str, list[Finding]]:
    """Who is back and what waits, in a sentence or two; which ropes nobody may take now, as what must be minded."""
    said = [_("Back in the store: {ropes}.").format(ropes=listed(ropes))]
    states = [visit.rope(each) for each in ropes]
    waiting: dict[tuple[str, ...], list[str]] = {}
    for state in states:
        if state.state == "in preparation":
            waiting.setdefault(state.waits, []).append(state.id)
    for waits, numbers in waiting.items():
        steps = ", ".join(_(each) for each in waits)
        said.append(_("Not ready yet, {ropes}: to {steps}.").format(ropes=listed(numbers), steps=steps))
    stopped = [
        Finding(
            "set-aside",
            f"rope {state.id}",
            _("It is set aside: {why}.").format(why=state.set_aside),
            _("Nobody may take it until a competent person has examined it and cleared it in writing."),
        )
        for state in states
        if state.state == "set aside"
    ]
    return " ".join(said), [*stopped, *findings]


def _page(visit: Visit, form: BackForm, each_form: Sequence[OneBack], status: int = 200) -> HttpResponse:
    away = [row.rope for holder in holders(visit) for row in holder.rows] + [each.rope for each in rigged(visit)]
    return visit.page("outback/bring_back.html", screen(visit, form, each_form, away), status)
