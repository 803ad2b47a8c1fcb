"""The form of what is to be bought for: routes or lengths, how sure, which reels are on offer."""

import re
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import read_length
from tethera.planning import Reel
from tethera.web.accounts.visit import Visit
from tethera.web.paper.fields import DayField
from tethera.web.paper.forms import in_units, say_plainly
from tethera.web.reels.pieces import PiecesField
from tethera.web.routes.known import routes

FIBRES = (("nylon", gettext_lazy("nylon")), ("polyester", gettext_lazy("polyester")), ("", gettext_lazy("not known")))
HABITS = (
    ("cut-then-soak", gettext_lazy("cut long, then soak the pieces")),
    ("soak-then-cut", gettext_lazy("soak the whole reel, measure it, then cut")),
)
CONFIDENCES = ("80", "90", "95", "99")
#: One reel a line: its length, its price, and how many there are where that matters.
_REEL = re.compile(
    r"(?:(?P<count>\d{1,3})\s*(?:x|×)\s*)?(?P<length>.+?)\s*(?:[,;]|\bfor\b|\bat\b|£|\s)\s*£?\s*(?P<price>\d+(?:[.,]\d{1,2})?)"
)
_MOST_REELS = 20


class MoneyField(forms.CharField):
    """Pounds, with pence where there are any; in pence."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "size": 7, "autocomplete": "off"}))
        super().__init__(max_length=20, **kwargs)

    def clean(self, value: Any) -> int | None:
        """The pence."""
        text = str(super().clean(value) or "").strip().removeprefix("£").strip()
        if not text:
            return None
        if not re.fullmatch(r"\d{1,6}(?:[.,]\d{1,2})?", text):
            told = _("“{text}” cannot be read as pounds. Write 600, or 1.85.")
            raise forms.ValidationError(told.format(text=text))
        return round(float(text.replace(",", ".")) * 100)


class ReelsField(forms.CharField):
    """Reels on offer, one a line."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.Textarea(attrs={"rows": 3, "cols": 24, "autocomplete": "off"}))
        super().__init__(max_length=1000, **kwargs)

    def clean(self, value: Any) -> tuple[Reel, ...]:
        """The reels."""
        lines = [line.strip() for line in str(super().clean(value) or "").splitlines() if line.strip()]
        if len(lines) > _MOST_REELS:
            raise forms.ValidationError(_("At most {most} reels on offer.").format(most=_MOST_REELS))
        return tuple(_reel(line) for line in lines)


def _reel(line: str) -> Reel:
    match = _REEL.fullmatch(line)
    reading = read_length(match["length"]) if match else None
    if match is None or reading is None or reading.length_cm is None:
        told = _("“{line}” cannot be read as a reel. Write its length and its price: 200 m £310.")
        raise forms.ValidationError(told.format(line=line[:60]))
    count = int(match["count"]) if match["count"] else None
    price = round(float(match["price"].replace(",", ".")) * 100)
    try:
        return Reel(reading.length_cm, price, count, " ".join(match["length"].split()))
    except ValueError as error:
        raise forms.ValidationError(f"{line[:60]}: {error}") from None


def _whole(label: Any, low: int, high: int, **kwargs: Any) -> forms.IntegerField:
    widget = forms.TextInput(attrs={"inputmode": "numeric", "size": 4, "autocomplete": "off"})
    return forms.IntegerField(label=label, min_value=low, max_value=high, widget=widget, **kwargs)


class BuyingForm(forms.Form):
    """What to buy for."""

    routes = forms.MultipleChoiceField(
        label=gettext_lazy("Routes the store is to rig"), required=False, widget=forms.CheckboxSelectMultiple
    )
    at_once = _whole(gettext_lazy("Trips out at once"), 1, 4, initial=1)
    needs = PiecesField(
        label=gettext_lazy("Or lengths it is to have"),
        required=False,
        help_text=gettext_lazy("20, 35, 2 x 50: as many ropes, each at least so long after its wash."),
    )
    on = DayField(label=gettext_lazy("For the season that begins"), required=False)
    years = forms.ChoiceField(
        label=gettext_lazy("Looking ahead"),
        choices=(("1", gettext_lazy("this season")), ("3", gettext_lazy("three years, with what leaves service"))),
        required=False,
        initial="1",
    )
    spare = _whole(gettext_lazy("Ropes that may be away"), 0, 5, initial=0)
    confidence = forms.ChoiceField(
        label=gettext_lazy("How sure, for the list as a whole"), choices=[(each, f"{each} %") for each in CONFIDENCES],
        initial="95",
    )  # fmt: skip
    fibre = forms.ChoiceField(label=gettext_lazy("Fibre"), choices=FIBRES, required=False, initial="nylon")
    diameter_mm = forms.FloatField(
        label=gettext_lazy("Diameter, mm"), required=False, min_value=6, max_value=16,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "size": 5, "autocomplete": "off"}),
    )  # fmt: skip
    rope_type = forms.ChoiceField(
        label=gettext_lazy("Type"), choices=(("A", "A"), ("B", "B"), ("", gettext_lazy("not said"))), required=False,
        initial="A",
    )  # fmt: skip
    habit = forms.ChoiceField(label=gettext_lazy("How it is cut"), choices=HABITS, initial="cut-then-soak")
    reels = ReelsField(
        label=gettext_lazy("Reels on offer"),
        required=False,
        help_text=gettext_lazy("One a line: 200 m £310, or 100 yd £140. If there are only two: 2 x 200 m £310."),
    )
    per_metre = MoneyField(
        label=gettext_lazy("Cut to length in the shop, pounds a metre"),
        required=False,
        help_text=gettext_lazy("Empty: the shop does not cut."),
    )
    ceiling = MoneyField(
        label=gettext_lazy("At most, pounds"), required=False, help_text=gettext_lazy("Empty: what it costs.")
    )

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = [each for each in routes(visit.opened) if each.route is not None]
        chosen = self.fields["routes"]
        assert isinstance(chosen, forms.MultipleChoiceField)
        chosen.choices = [(each.key, each.name) for each in known]
        chosen.initial = [each.key for each in known]
        in_units(self, visit.units)
        say_plainly(self)

    def clean(self) -> dict[str, Any]:
        """Something to buy for, and something to buy from."""
        told: dict[str, Any] = super().clean() or self.cleaned_data
        if not told.get("routes") and not told.get("needs") and "needs" not in self.errors:
            self.add_error("routes", _("Choose a route, or write the lengths you need."))
        if not told.get("reels") and told.get("per_metre") is None and not {"reels", "per_metre"} & set(self.errors):
            self.add_error("reels", _("Write at least one reel with its price, or what the shop takes for a metre."))
        if told.get("routes") and told.get("needs"):
            self.add_error("needs", _("Either routes or lengths: empty this, or take the ticks from the routes."))
        return told
