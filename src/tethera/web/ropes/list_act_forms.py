"""Forms of what can be recorded of several ropes at once; one event for each, all alike."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.store import months_on
from tethera.web.paper.fields import DayField, MaybeWhenField
from tethera.web.paper.forms import say_plainly
from tethera.web.paper.offered import trips_of
from tethera.web.paper.words import OUTCOMES
from tethera.web.ropes.one_forms import ActForm
from tethera.web.ropes.one_retire import RetireForm


class _ForSomebody(ActForm):
    """Who, for which trip; people and trips the store knows are offered."""

    person = forms.CharField(label=gettext_lazy("Who"), required=False, max_length=200)
    trip = forms.CharField(label=gettext_lazy("Trip"), required=False, max_length=200)

    def suit(self) -> None:
        """Whoever fills it in, unless somebody else is named."""
        self.fields["person"].initial = self.visit.name(self.visit.membership.person)
        self.fields["person"].widget.attrs["autocomplete"] = "off"

    def suggestions(self) -> dict[str, tuple[str, ...]]:
        """The people and the trips ahead."""
        return {"person": tuple(self.visit.known_names), "trip": tuple(trips_of(self.visit.ropes))}


class BookForm(_ForSomebody):
    """For which days, both included."""

    happened = None  # type: ignore[assignment]
    first_day = DayField(label=gettext_lazy("First day"))
    last_day = DayField(
        label=gettext_lazy("Last day"), required=False, help_text=gettext_lazy("Empty is the same day.")
    )
    first = ("first_day", "last_day", "trip", "person")

    def clean(self) -> dict[str, Any]:
        """A booking does not end before it begins."""
        told: dict[str, Any] = super().clean() or self.cleaned_data
        begins, ends = told.get("first_day"), told.get("last_day")
        told["last_day"] = ends = ends or begins
        if begins is not None and ends is not None and ends < begins:
            self.add_error("last_day", _("That is before the first day."))
        return told


class TakeForm(_ForSomebody):
    """Who takes them, and when they should be back."""

    until = MaybeWhenField(label=gettext_lazy("Due back"))
    first = ("person", "until", "trip")


class ExaminedForm(ActForm):
    """What a competent person found, the same for all of them."""

    reason = forms.CharField(label=gettext_lazy("Why they were examined"), required=False, max_length=200)
    findings = forms.CharField(
        label=gettext_lazy("What was found"), max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )
    outcome = forms.ChoiceField(
        label=gettext_lazy("Outcome"),
        widget=forms.RadioSelect,
        choices=OUTCOMES,
    )
    next_due = MaybeWhenField(label=gettext_lazy("Next due"))
    first = ("reason", "findings", "outcome", "next_due")

    def suit(self) -> None:
        """The usual reason, and the day that the store's own rule gives."""
        self.fields["reason"].initial = _("periodic")
        months = self.visit.rules.inspection_months
        if months:
            self.fields["next_due"].initial = months_on(self.visit.today, months).isoformat()


class RetireManyForm(RetireForm):
    """Why they leave service; one reason for all."""

    def __init__(self, *args: Any, visit: object, state: object, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        say_plainly(self)

    def clean(self) -> dict[str, Any]:
        """When, and the reason in words."""
        told = super().clean() or {}
        return told if self.errors else {"happened": told["happened"], "reason": self.reason()}

    def suggestions(self) -> dict[str, tuple[str, ...]]:
        """Nothing is offered while typing."""
        return {}
