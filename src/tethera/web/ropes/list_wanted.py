"""Which ropes somebody wants to see: words to find them by, filters, and the order, all read from the address."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, cast

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy

from tethera.store import RopeState
from tethera.web.paper.fields import LengthField
from tethera.web.paper.forms import in_units, say_plainly
from tethera.web.paper.offered import said_of
from tethera.web.ropes.list_doubts import word
from tethera.web.ropes.list_rows import ORDERS, STATES

#: Not declared.
UNSAID = "none"
_KINDS = (
    ("A", gettext_lazy("type A")),
    ("B", gettext_lazy("type B")),
    ("dynamic", gettext_lazy("dynamic")),
    ("cord", gettext_lazy("cord")),
    (UNSAID, gettext_lazy("not declared")),
)
#: Usable ones first.
_STATES = [(each, gettext_lazy(each)) for each in STATES]
_ORDERS = (
    ("state", gettext_lazy("usable ones first")),
    ("number", gettext_lazy("by number")),
    ("-number", gettext_lazy("by number, highest first")),
    ("length", gettext_lazy("shortest first")),
    ("-length", gettext_lazy("longest first")),
    ("kind", gettext_lazy("by kind")),
    ("-kind", gettext_lazy("by kind, backwards")),
    ("-state", gettext_lazy("retired ones first")),
    ("where", gettext_lazy("by where they are")),
    ("-where", gettext_lazy("by where they are, backwards")),
    ("age", gettext_lazy("youngest first")),
    ("-age", gettext_lazy("oldest first")),
    ("mark", gettext_lazy("lowest mark first")),
    ("-mark", gettext_lazy("highest mark first")),
    ("doubt", gettext_lazy("most doubted first")),
    ("-doubt", gettext_lazy("least doubted first")),
)
assert {each.lstrip("-") for each, _name in _ORDERS} == set(ORDERS)
_YEARS = forms.NumberInput(attrs={"inputmode": "numeric", "size": 4})


class WantedForm(forms.Form):
    """What the address says of the list."""

    q = forms.CharField(
        label=gettext_lazy("Find"),
        required=False,
        max_length=200,
        widget=forms.TextInput(
            attrs={"type": "search", "autocomplete": "off", "enterkeyhint": "search", "data-scan": ""}
        ),
    )
    length_from = LengthField(label=gettext_lazy("Length from"), required=False)
    length_to = LengthField(label=pgettext_lazy("length", "to"), required=False)
    mm = forms.TypedChoiceField(label=gettext_lazy("Diameter"), required=False, coerce=float, empty_value=None)
    made = forms.TypedChoiceField(label=gettext_lazy("Made in"), required=False, coerce=int, empty_value=None)
    age_from = forms.IntegerField(
        label=gettext_lazy("Years old, from"), required=False, min_value=0, max_value=100, widget=_YEARS
    )
    age_to = forms.IntegerField(
        label=pgettext_lazy("years", "to"), required=False, min_value=0, max_value=100, widget=_YEARS
    )
    maker = forms.CharField(label=gettext_lazy("Maker"), required=False, max_length=200)
    batch = forms.CharField(label=gettext_lazy("Batch or serial"), required=False, max_length=200)
    state = forms.MultipleChoiceField(
        label=gettext_lazy("State"), required=False, choices=_STATES, widget=forms.CheckboxSelectMultiple
    )
    kind = forms.MultipleChoiceField(
        label=gettext_lazy("Kind, as declared"), required=False, choices=_KINDS, widget=forms.CheckboxSelectMultiple
    )
    doubt = forms.ChoiceField(label=gettext_lazy("Doubted"), required=False)
    due = forms.BooleanField(label=gettext_lazy("Examination due within 30 days"), required=False)
    sort = forms.ChoiceField(label=gettext_lazy("Order"), required=False, choices=_ORDERS)

    def __init__(self, address: QueryDict, *, ropes: Sequence[RopeState], units: str) -> None:
        super().__init__(address)
        self.suggestions = said_of(ropes, ("maker", "batch"))
        for name, words in self.suggestions.items():
            self.fields[name].widget.attrs |= {"list": f"known_{name}", "autocomplete": "off"} if words else {}
        unit = _("ft") if units == "ft" else _("m")
        for name in ("length_from", "length_to"):
            self.fields[name].label = f"{self.fields[name].label} ({unit})"
        in_units(self, units)
        thick = sorted({each.diameter_mm for each in ropes if each.diameter_mm})
        years = sorted({each.year_made for each in ropes if each.year_made}, reverse=True)
        doubts = sorted({each.code for rope in ropes for each in rope.findings}, key=word)
        self._offer("mm", [(f"{each:g}", f"{each:g}\u202fmm") for each in thick], _("any"))
        self._offer("made", [(str(each), str(each)) for each in years], _("any year"))
        say_plainly(self)
        self._offer("doubt", [("any", _("in any way")), *((each, word(each)) for each in doubts)], _("or not"))

    def _offer(self, name: str, choices: list[tuple[str, str]], empty: str) -> None:
        """What a field may say, and what an address may have said of ropes that are no longer there."""
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        said = self.data.get(name, "")
        if name == "doubt" and said and said not in dict(choices):
            choices = [*choices, (said, word(said))]
        field.choices = [("", empty), *choices]

    def told(self, name: str) -> Any:
        """What a filter says; nothing where it could not be read."""
        return self.cleaned_data.get(name)

    @property
    def order(self) -> tuple[str, bool]:
        """What to sort by, and whether backwards."""
        sort = self.told("sort") or "state"
        return sort.removeprefix("-"), sort.startswith("-")

    @property
    def everything(self) -> bool:
        """Whether no filter is set."""
        return not any(self.told(name) not in (None, "", [], False) for name in self.fields if name != "sort")

    def spoken(self) -> list[str]:
        """The filters that are set, for the head of the list and for paper."""
        said = []
        for name in self.fields:
            value = self.told(name)
            if name == "sort" or value in (None, "", [], False):
                continue
            field = self.fields[name]
            shown = str(self.data.get(name, "")).strip()
            if isinstance(field, forms.MultipleChoiceField | forms.ChoiceField):
                names = dict(_choices(field))
                chosen = value if isinstance(value, list) else [shown]
                shown = ", ".join(names.get(str(each), str(each)) for each in chosen)
            said.append(str(field.label) if value is True else f"{field.label}: {shown}")
        return said

    def faults(self) -> list[str]:
        """What could not be read, each with the name of its field."""
        return [f"{self.fields[name].label}: {' '.join(map(str, told))}" for name, told in self.errors.items()]


def _choices(field: forms.ChoiceField) -> Iterator[tuple[str, str]]:
    """What a field may say, and its words."""
    pairs = cast("Iterable[tuple[object, object]]", field.choices)
    yield from ((str(key), str(label)) for key, label in pairs)
