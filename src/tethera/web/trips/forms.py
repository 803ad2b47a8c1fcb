"""The form of a trip's working paper."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.planning import USUAL_PARTY
from tethera.store.trips import same_trip
from tethera.web.accounts.visit import Visit
from tethera.web.paper.fields import DayField
from tethera.web.paper.forms import say_plainly
from tethera.web.routes.known import routes
from tethera.web.trips.models import Trip


class TripForm(forms.Form):
    """Which routes, when, who."""

    routes = forms.MultipleChoiceField(
        label=gettext_lazy("Routes"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Choose at least one route.")},
    )
    first_day = DayField(label=gettext_lazy("First day"))
    last_day = DayField(label=gettext_lazy("Last day"), required=False, help_text=gettext_lazy("Empty: the same day."))
    due_back = DayField(
        label=gettext_lazy("Ropes due back"),
        required=False,
        help_text=gettext_lazy("Empty: on the last day. Until then no other trip may have them."),
    )
    party = forms.IntegerField(
        label=gettext_lazy("Cavers"),
        min_value=1,
        max_value=60,
        error_messages={"invalid": gettext_lazy("Write a whole number, as 4.")},
        widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 4, "autocomplete": "off"}),
    )
    leader = forms.CharField(
        label=gettext_lazy("Leader"),
        required=False,
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "known_people"}),
    )
    name = forms.CharField(
        label=gettext_lazy("What the trip is called"),
        required=False,
        max_length=120,
        help_text=gettext_lazy("Empty: its routes and its first day."),
    )

    def __init__(self, *args: Any, visit: Visit, trip: Trip | None = None, **kwargs: Any) -> None:
        self.visit, self.trip = visit, trip
        known = [each for each in routes(visit.opened) if each.route is not None]
        if trip is not None:
            fields = ("routes", "first_day", "last_day", "due_back", "party", "leader", "name")
            kwargs["initial"] = {name: getattr(trip, name) for name in fields}
        super().__init__(*args, **kwargs)
        self.called = {each.key: each.name for each in known}
        chosen = self.fields["routes"]
        assert isinstance(chosen, forms.MultipleChoiceField)
        chosen.choices = list(self.called.items())
        if trip is None:
            self.fields["party"].initial = USUAL_PARTY
            self.fields["leader"].initial = visit.name(visit.membership.person)
            asked = visit.request.GET
            chosen.initial = asked.getlist("route")
            for name in ("name", "first_day", "last_day", "leader"):
                if asked.get(name):
                    self.fields[name].initial = asked[name][:120]
        say_plainly(self)

    def clean(self) -> dict[str, Any]:
        """Days in order, and a name of its own."""
        told: dict[str, Any] = super().clean() or self.cleaned_data
        first, last, due = (told.get(name) for name in ("first_day", "last_day", "due_back"))
        if first and last and last < first:
            self.add_error("last_day", _("That is before the first day."))
        if (last or first) and due and due < (last or first):
            self.add_error("due_back", _("That is before the trip ends."))
        told["last_day"] = last or first
        name = " ".join((told.get("name") or "").split())
        if not name and first and told.get("routes"):
            # In the order of the form, as everywhere.
            routes_said = " and ".join(self.called[key] for key in told["routes"])
            name = f"{routes_said[:90]}, {first.day} {first:%b %Y}"
        told["name"] = name
        others = Trip.objects.filter(store=self.visit.store)
        if self.trip is not None:
            others = others.exclude(pk=self.trip.pk)
        if any(same_trip(name, each) for each in others.values_list("name", flat=True)):
            self.add_error("name", _("Another trip is called so. Give this one a name of its own."))
        return told

    def saved(self) -> Trip:
        """The working paper as it now is."""
        trip = self.trip or Trip(store=self.visit.store)
        told = ("routes", "first_day", "last_day", "due_back", "party", "leader", "name")
        for name in told:
            setattr(trip, name, self.cleaned_data[name])
        # Only what was typed: a plan or a tick that came in meanwhile stays.
        trip.save(update_fields=told if trip.pk else None)
        return trip
