"""Saying more of what a rope is; what is left as it was stays as it was."""

from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.store import Described, RopeState
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.fields import WhenField
from tethera.web.paper.forms import say_plainly, when_doubts
from tethera.web.paper.offered import said_of
from tethera.web.paper.words import ROPE_TYPES, chosen_from

_DETAILS = (
    *("maker", "supplier", "product", "batch", "year_made", "diameter_mm", "rope_type", "material"),
    *("mass_g_per_m", "elongation_percent", "impact_force_kn", "owner", "age_limit_years"),
)
_SUGGESTED = ("maker", "supplier", "product", "batch", "material", "owner")


class DescribeForm(forms.Form):
    """What its label, its papers and the maker's leaflet say."""

    maker = forms.CharField(label=gettext_lazy("Maker"), required=False, max_length=200)
    supplier = forms.CharField(
        label=gettext_lazy("Bought from"),
        required=False,
        max_length=200,
        help_text=gettext_lazy("Name, and how to reach them: EN 365 asks for it where the maker is not named."),
    )
    product = forms.CharField(label=gettext_lazy("Product"), required=False, max_length=200)
    batch = forms.CharField(label=gettext_lazy("Batch or serial"), required=False, max_length=200)
    year_made = forms.IntegerField(
        label=gettext_lazy("Year made"),
        required=False,
        min_value=1950,
        max_value=2200,
        help_text=gettext_lazy("On the inner tape or in the leaflet. Age counts from it."),
    )
    diameter_mm = forms.FloatField(
        label=gettext_lazy("Diameter, mm"), required=False, min_value=2, max_value=30, help_text=gettext_lazy("As 9.5")
    )
    rope_type = forms.ChoiceField(
        label=gettext_lazy("Type"),
        required=False,
        choices=[
            ("", gettext_lazy("not declared")),
            *chosen_from(ROPE_TYPES),
        ],
        help_text=gettext_lazy("As its maker declares it. A diameter does not tell it."),
    )
    material = forms.CharField(label=gettext_lazy("Material"), required=False, max_length=100)
    mass_g_per_m = forms.FloatField(
        label=gettext_lazy("Mass of a metre, in grams"), required=False, min_value=1, max_value=500
    )
    elongation_percent = forms.FloatField(
        label=gettext_lazy("Elongation, per cent"),
        required=False,
        min_value=0.01,
        max_value=100,
        help_text=gettext_lazy("From 50 to 150 kg, as its leaflet declares it. Sums of stretch then go by it."),
    )
    impact_force_kn = forms.FloatField(
        label=gettext_lazy("Impact force, kN"),
        required=False,
        min_value=0.1,
        max_value=100,
        help_text=gettext_lazy("Of the drop test of its standard, not its strength. Sums of falls and loads go by it."),
    )
    owner = forms.CharField(label=gettext_lazy("Owner"), required=False, max_length=200)
    age_limit_years = forms.IntegerField(
        label=gettext_lazy("Age limit of the maker's leaflet, in years"), required=False, min_value=1, max_value=60
    )
    happened = WhenField()
    note = forms.CharField(
        label=gettext_lazy("Note"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, state: RopeState, **kwargs: Any) -> None:
        kwargs["initial"] = {name: getattr(state, name) for name in _DETAILS}
        super().__init__(*args, **kwargs)
        for name in _SUGGESTED:
            self.fields[name].widget.attrs["list"] = f"known_{name}"
        say_plainly(self)

    def told(self) -> dict[str, Any]:
        """What was changed."""
        return {
            name: self.cleaned_data[name]
            for name in self.changed_data
            if name in _DETAILS and self.cleaned_data[name] not in ("", None)
        }

    def emptied(self) -> list[str]:
        """Labels of what was known and is now left empty: that is a correction, not a description."""
        return [
            str(self.fields[name].label)
            for name in self.changed_data
            if name in _DETAILS and self.cleaned_data[name] in ("", None)
        ]

    def clean(self) -> dict[str, Any] | None:
        """Something must be said."""
        told = super().clean() or self.cleaned_data
        if not self.errors:
            if emptied := self.emptied():
                said = _("{what}: what was once declared cannot be emptied here. Correct the entry that says it.")
                raise forms.ValidationError(said.format(what=", ".join(emptied)))
            if not self.told() and not told.get("note"):
                raise forms.ValidationError(_("Nothing was changed. Fill in what you know."))
        return told


@page(May.KEEP, post=May.KEEP)
def describe(visit: Visit, number: str) -> HttpResponse:
    """Describe one rope."""
    state = visit.rope(number)
    if visit.request.method != "POST":
        return visit.page("ropes/rope_describe.html", _context(visit, state, DescribeForm(state=state)))
    form = DescribeForm(visit.request.POST, state=state)
    if not form.is_valid():
        return visit.page("ropes/rope_describe.html", _context(visit, state, form), 400)
    said = form.cleaned_data
    event = Described(rope=state.id, happened=said["happened"], note=said["note"], **form.told())
    visit.tell(_("Recorded what {rope} is.").format(rope=state.id), (*visit.record((event,)), *when_doubts(form)))
    return redirect("rope", visit.store.slug, state.id)


def _context(visit: Visit, state: RopeState, form: DescribeForm) -> dict[str, Any]:
    """What the store's other ropes are is offered while typing."""
    known = said_of(visit.ropes, _SUGGESTED)
    # A draft kept on the device must not bring back what was described anew meanwhile.
    return {"rope": state, "form": form, "suggestions": known, "entries": len(visit.register.events(state.id))}
