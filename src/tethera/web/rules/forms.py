"""The store's own rules, cleaned into types."""

from dataclasses import replace
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import PartialDate
from tethera.rigging import KNOTS
from tethera.rope import figure
from tethera.store import StoreDescribed, initials, read_bands

_AS_THEY_ARE = (
    *("owner", "code", "age_limit_years", "inspection_months"),
    *("owner_short", "ends_lettered", "bands"),
)
_NUMBER = {"inputmode": "numeric", "autocomplete": "off", "size": 4}


def knot_in_words(knot: str) -> str:
    """A knot as it is said.

    >>> knot_in_words("figure_nine_on_the_bight")
    'figure nine on the bight'
    """
    return knot.replace("_", " ")


class RulesForm(forms.Form):
    """What the store says of itself."""

    owner = forms.CharField(
        label=gettext_lazy("Whose ropes these are"),
        max_length=200,
        help_text=gettext_lazy("The club or centre. It heads every page and stands on every mark."),
    )
    code = forms.RegexField(
        r"^[A-Za-z]{1,5}$",
        label=gettext_lazy("Letters before each rope's number"),
        error_messages={"invalid": gettext_lazy("One to five letters, as UG.")},
        widget=forms.TextInput(attrs={"size": 6, "autocapitalize": "characters", "autocomplete": "off"}),
    )
    age_limit_years = forms.IntegerField(
        label=gettext_lazy("Age limit, in years"),
        required=False,
        min_value=1,
        max_value=50,
        help_text=gettext_lazy("Empty: only the maker's own limit holds. Whichever is sooner counts."),
        widget=forms.TextInput(attrs=_NUMBER),
    )
    inspection_months = forms.IntegerField(
        label=gettext_lazy("Examined every so many months"),
        required=False,
        min_value=1,
        max_value=120,
        widget=forms.TextInput(attrs=_NUMBER),
    )
    label_keeps_back_percent = forms.IntegerField(
        label=gettext_lazy("A mark keeps back, in %"),
        required=False,
        min_value=0,
        max_value=30,
        help_text=gettext_lazy(
            "A rope goes on shrinking. Its mark says this much less than was measured. Empty is nothing."
        ),
        widget=forms.TextInput(attrs=_NUMBER),
    )
    owner_short = forms.CharField(
        label=gettext_lazy("Its name on a mark with little room"),
        required=False,
        max_length=20,
        widget=forms.TextInput(attrs={"size": 12, "autocomplete": "off"}),
    )
    ends_lettered = forms.BooleanField(
        label=gettext_lazy("One end of each rope is A, the other B"),
        required=False,
        help_text=gettext_lazy("So that ends can be swapped to even the wear."),
    )
    bands = forms.CharField(
        label=gettext_lazy("Bands of coloured tape, by length"),
        required=False,
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 4, "spellcheck": "false"}),
        help_text=gettext_lazy("Your own, if you have any: one on each line, as 30 to 39 m: yellow"),
    )
    knots = forms.MultipleChoiceField(
        label=gettext_lazy("Usual knots"),
        required=False,
        choices=[(knot_in_words(each), gettext_lazy(knot_in_words(each))) for each in KNOTS],
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, data: Any, *, rules: StoreDescribed, numbered: bool) -> None:
        self.rules = rules
        known = {knot_in_words(each) for each in KNOTS}
        initial: dict[str, Any] = {name: getattr(rules, name) for name in _AS_THEY_ARE}
        initial["label_keeps_back_percent"] = rules.label_keeps_back_percent or None
        initial["knots"] = [each for each in rules.knots.split(", ") if each in known]
        super().__init__(data, initial=initial)
        self.fields["inspection_months"].help_text = _(
            "For work the law says {work} months (LOLER 1998, regulation 9); EN 365 says {standard} at most. "
            "Empty: as each examination says."
        ).format(work=_months("for_work"), standard=_months("by_the_standard"))
        self.fields["owner_short"].widget.attrs["placeholder"] = initials(rules.owner)
        self.fields["owner_short"].help_text = _("Empty: {initials}").format(initials=initials(rules.owner) or "–")
        code = self.fields["code"]
        code.disabled = numbered
        code.help_text = (
            _("Fixed: there are ropes with numbers that begin so.")
            if numbered
            else _("One to five letters: UG gives UG1, UG2 … They are fixed once there is a rope.")
        )

    def clean_owner(self) -> str:
        """In single blanks."""
        return " ".join(str(self.cleaned_data["owner"]).split())

    def clean_code(self) -> str:
        """In capitals."""
        return str(self.cleaned_data["code"]).upper()

    def clean_bands(self) -> str:
        """Lines that can be read."""
        text = str(self.cleaned_data["bands"]).replace("\r\n", "\n").strip()
        try:
            read_bands(text)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
        return text

    def event(self, today: PartialDate) -> StoreDescribed | None:
        """The store's new description; None when nothing was changed."""
        told = self.cleaned_data
        fresh = replace(
            self.rules,
            owner=told["owner"],
            code=told["code"],
            age_limit_years=told["age_limit_years"],
            inspection_months=told["inspection_months"],
            label_keeps_back_percent=told["label_keeps_back_percent"] or 0,
            owner_short=" ".join(told["owner_short"].split()),
            ends_lettered=told["ends_lettered"],
            bands=told["bands"],
            knots=", ".join(words for each in KNOTS if (words := knot_in_words(each)) in told["knots"]),
        )
        return None if fresh == self.rules else replace(fresh, happened=today, note="")


def _months(which: str) -> str:
    return f"{figure('store', 'examination', which).value:g}"
