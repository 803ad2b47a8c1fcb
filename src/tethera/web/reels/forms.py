"""The form of what was bought, cleaned into types."""

import re
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import PartialDate
from tethera.store import Bought, Cutting
from tethera.web.accounts.visit import Visit
from tethera.web.paper.fields import WhenField
from tethera.web.paper.forms import in_units
from tethera.web.paper.words import ROPE_TYPES, chosen_from
from tethera.web.reels.pieces import PiecesField

#: What one form can write down; more is a slip.
_MOST_NUMBERS = 300


class NumberField(forms.CharField):
    """A number with or without its unit, as "10.5 mm" or "67 g/m"."""

    def __init__(self, *, unit: str, **kwargs: Any) -> None:
        self.unit = unit
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "size": 6}))
        super().__init__(max_length=40, required=False, **kwargs)

    def clean(self, value: Any) -> float | None:
        """The number."""
        text = str(super().clean(value) or "").strip().lower()
        if not text:
            return None
        match = re.fullmatch(rf"(?:£\s*)?(\d+(?:[.,]\d{{1,2}})?)\s*(?:{re.escape(self.unit.lower())})?", text)
        if match is None or not 0 < float(match[1].replace(",", ".")) < 1e6:
            told = _("“{text}” cannot be read. Write a number in {unit}.")
            raise forms.ValidationError(told.format(text=text, unit=self.unit))
        return float(match[1].replace(",", "."))


def _words(label: Any, **kwargs: Any) -> forms.CharField:
    return forms.CharField(label=label, required=False, max_length=200, **kwargs)


def _listed(name: str) -> forms.TextInput:
    return forms.TextInput(attrs={"list": f"known-{name}", "autocomplete": "off"})


class NewRopesForm(forms.Form):
    """Reels or pieces of one kind, and what they are cut into at once."""

    length = PiecesField(
        label=gettext_lazy("Length on the label"),
        error_messages={"required": gettext_lazy("Write the length on the reel's label.")},
        help_text=gettext_lazy("200 m, 656 ft or 100 yd. Two equal reels: 2 x 200. Pieces: 50, 50, 60."),
    )
    happened = WhenField()
    price = NumberField(label=gettext_lazy("Price of each, in pounds"), unit="£")
    supplier = _words(gettext_lazy("Supplier"), widget=_listed("supplier"))
    rope_type = forms.ChoiceField(
        label=gettext_lazy("Type, as declared by its maker"),
        required=False,
        widget=forms.RadioSelect,
        choices=[
            *chosen_from(ROPE_TYPES),
            ("", gettext_lazy("not said")),
        ],
        help_text=gettext_lazy("Read it off the leaflet or the inner tape. It is never guessed from the diameter."),
    )
    diameter_mm = NumberField(label=gettext_lazy("Diameter, mm"), unit="mm")
    product = _words(gettext_lazy("Product"), widget=_listed("product"))
    maker = _words(gettext_lazy("Maker"), widget=_listed("maker"))
    batch = _words(gettext_lazy("Batch or serial number"))
    year_made = forms.IntegerField(
        label=gettext_lazy("Year made"), required=False, min_value=1950, max_value=2100,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 6, "autocomplete": "off"}),
        error_messages={"invalid": gettext_lazy("Write the year with four digits, as 2026.")},
    )  # fmt: skip
    material = _words(gettext_lazy("Fibre"), widget=_listed("material"))
    mass_g_per_m = NumberField(label=gettext_lazy("Mass of a metre, g"), unit="g")
    elongation_percent = NumberField(label=gettext_lazy("Elongation, per cent"), unit="%")
    impact_force_kn = NumberField(label=gettext_lazy("Impact force, kN"), unit="kN")
    age_limit_years = forms.IntegerField(
        label=gettext_lazy("Years at most, by its leaflet"), required=False, min_value=1, max_value=50,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 6, "autocomplete": "off"}),
        error_messages={"invalid": gettext_lazy("Write whole years, as 10.")},
    )  # fmt: skip
    note = forms.CharField(
        label=gettext_lazy("Note"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 2})
    )
    into = PiecesField(
        label=gettext_lazy("Cut it now into"),
        required=False,
        help_text=gettext_lazy("50, 50, 60, 40 or 3 x 50. Empty: it stays whole. Each reel is cut alike."),
    )
    keep_off_cut = forms.BooleanField(
        label=gettext_lazy("Keep what is left over as an off-cut with a number of its own"),
        required=False,
        initial=True,
    )
    cut_on = WhenField(label=gettext_lazy("When it was cut"))

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        in_units(self, visit.units)
        bare = _("A bare number is feet.") if visit.units == "ft" else _("A bare number is metres.")
        for name in ("length", "into"):
            field = self.fields[name]
            field.help_text = f"{field.help_text} {bare}"

    def clean(self) -> dict[str, Any]:
        """See whether the pieces can come from what was bought."""
        cleaned: dict[str, Any] = super().clean() or {}
        reels, into = cleaned.get("length") or (), cleaned.get("into") or ()
        if into and len(set(reels)) > 1:
            told = _("Reels of several lengths cannot be cut alike. Write down those of one length at a time.")
            self.add_error("into", told)
        elif reels and Cutting(reels, into).numbers > _MOST_NUMBERS:
            self.add_error("length", _("That makes more than {most} ropes.").format(most=_MOST_NUMBERS))
        return cleaned

    def cutting(self) -> Cutting:
        """What it makes."""
        return Cutting(self.cleaned_data["length"], self.cleaned_data["into"], self.cleaned_data["keep_off_cut"])

    def bought(self) -> Bought:
        """One reel, as the pattern of all."""
        told = self.cleaned_data
        plain = {
            name: told[name] or None
            for name in (*("rope_type", "diameter_mm", "product", "maker", "batch", "year_made", "material"),
                         *("mass_g_per_m", "elongation_percent", "impact_force_kn", "age_limit_years", "supplier"))
        }  # fmt: skip
        price = None if told["price"] is None else round(told["price"] * 100)
        happened: PartialDate = told["happened"]
        return Bought(rope="NEW", happened=happened, length_cm=1, price_pence=price, note=told["note"], **plain)


class PiecesForm(forms.Form):
    """Only what the account of the pieces needs, while it is being typed; and what tells their kind, for the wash."""

    length = PiecesField(required=False)
    into = PiecesField(required=False)
    keep_off_cut = forms.BooleanField(required=False)
    rope_type = forms.CharField(required=False, max_length=20)
    diameter_mm = NumberField(unit="mm")
    product = _words("")
    maker = _words("")
    material = _words("")

    def __init__(self, *args: Any, units: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        in_units(self, units)

    def cutting(self) -> Cutting | None:
        """What it makes so far, or None where that cannot be told yet."""
        if not self.is_valid() and self.errors.keys() & {"length", "into"}:
            return None
        if not self.cleaned_data["length"]:
            return None
        told = self.cleaned_data
        if told["into"] and len(set(told["length"])) > 1:
            return None
        return Cutting(told["length"], told["into"], told["keep_off_cut"])
