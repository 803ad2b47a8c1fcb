"""Form fields for what the trade writes: a day known roughly, a length, what was left over, a weight."""

import re
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import FIRST_YEAR, LAST_YEAR, Finding, PartialDate, read_date, read_length

#: A bare number up to this is kilograms, from that on grams; between them it could be either.
_SURELY_KG, _SURELY_G = 50.0, 200.0
_MASS = re.compile(r"(\d+(?:[.,]\d+)?)\s*(kg|kilos?|kilograms?|g|gr|grams?|grammes?)?\.?")
_ZERO = re.compile(r"-?0+([.,]0+)?\s*\w*")


def _complaint(findings: tuple[Finding, ...]) -> forms.ValidationError:
    """What could not be read, and what to do, as a field says it."""
    return forms.ValidationError(f"{findings[0].message} {findings[0].way_out}".strip())


class WhenField(forms.CharField):
    """A day, a month or a year; today when left empty. Doubts of the reading are in `doubts` after cleaning."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", gettext_lazy("When"))
        kwargs.setdefault("help_text", gettext_lazy("Empty is today. A month or a year will do: Nov 2025, 2025."))
        kwargs.setdefault("required", False)
        super().__init__(max_length=40, **kwargs)
        self.doubts: tuple[Finding, ...] = ()

    def clean(self, value: Any) -> PartialDate:
        """The date as far as it is known."""
        text = str(super().clean(value) or "").strip()
        if not text:
            return PartialDate.of(timezone.localdate())
        reading = read_date(text, where=str(self.label))
        self.doubts = tuple(reading.findings)
        if reading.date is None:
            raise _complaint(reading.findings)
        return reading.date


class MaybeWhenField(WhenField):
    """A day, a month or a year, or None when left empty."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", gettext_lazy("A day, a month or a year: 12 Nov 2025, Nov 2025, 2025."))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> PartialDate | None:  # type: ignore[override]
        """The date as far as it is known, or None."""
        return super().clean(value) if str(value or "").strip() else None


class DayField(forms.DateField):
    """One day, picked or written."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        super().__init__(input_formats=["%Y-%m-%d", "%d/%m/%Y", "%d %b %Y", "%d %B %Y"], **kwargs)

    def clean(self, value: Any) -> Any:
        """The day, in a year in which ropes are used."""
        day = super().clean(value)
        if day is not None and not FIRST_YEAR <= day.year <= LAST_YEAR:
            told = _("Write a day in a year from {first} to {last}.")
            raise forms.ValidationError(told.format(first=FIRST_YEAR, last=LAST_YEAR))
        return day


class LengthField(forms.CharField):
    """A length in whole cm, rounded down; a bare number is in the reader's unit ("m" or "ft")."""

    def __init__(self, *, units: str = "m", **kwargs: Any) -> None:
        self.units = units
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "size": 8}))
        super().__init__(max_length=40, **kwargs)

    def clean(self, value: Any) -> int | None:
        """Centimetres."""
        text = str(super().clean(value) or "").strip()
        return self._read_cm(text) if text else None

    def _read_cm(self, text: str, *, need: bool = False) -> int:
        if self.units == "ft" and re.fullmatch(r"[\d.,]+", text):
            text += " ft"
        reading = read_length(text, where=str(self.label), need=need)
        if reading.length_cm is None:
            raise _complaint(reading.findings)
        return reading.length_cm


class PlaceField(LengthField):
    """A place along a rope in whole cm; its very end is one too."""

    def clean(self, value: Any) -> int | None:
        """Centimetres from the end begun with."""
        text = str(value or "").strip()
        return 0 if _ZERO.fullmatch(text) and not text.startswith("-") else super().clean(value)


class LengthsField(LengthField):
    """Several lengths, one on each line."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.Textarea(attrs={"rows": 3, "autocomplete": "off"}))
        super().__init__(**kwargs)
        self.max_length = 2000

    def clean(self, value: Any) -> tuple[int, ...]:  # type: ignore[override]
        """Centimetres, line by line."""
        found = (super(LengthsField, self).clean(line) for line in str(value or "").splitlines() if line.strip())
        return tuple(each for each in found if each is not None)


class LeftOverField(LengthField):
    """What was left over in whole cm; below zero it was so much short.

    A need holds a tail and a stopper knot already: counted again as left over, they would teach too short a rope.
    """

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", gettext_lazy("Left over at the foot"))
        hint = gettext_lazy("Metres beyond the usual metre of tail and its stopper knot; with a minus, so many short.")
        kwargs.setdefault("help_text", hint)
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "size": 8}))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> int | None:
        """Centimetres, 0 and below too."""
        text = str(value or "").strip().replace("\u2212", "-").replace("–", "-")
        if _ZERO.fullmatch(text):
            return 0
        if not text.startswith("-"):
            return super().clean(text)
        # What was short is a need, and rounded up.
        return -self._read_cm(text.removeprefix("-").strip(), need=True)


class MassField(forms.CharField):
    """A weight in whole grams, from “2.4 kg”, “2400 g” or a bare number that can only be one of them."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", gettext_lazy("Weight"))
        kwargs.setdefault("help_text", gettext_lazy("As 2.4 kg or 2400 g."))
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "size": 8}))
        super().__init__(max_length=40, **kwargs)

    def clean(self, value: Any) -> int | None:
        """Grams."""
        text = str(super().clean(value) or "").strip().lower()
        if not text:
            return None
        match = _MASS.fullmatch(text)
        if match is None:
            raise forms.ValidationError(_("“{text}” is no weight. Write it as 2.4 kg or 2400 g.").format(text=text))
        number, unit = float(match[1].replace(",", ".")), match[2] or ""
        if not unit and _SURELY_KG < number < _SURELY_G:
            raise forms.ValidationError(_("“{text}” could be kg or g. Say which.").format(text=text))
        grams = round(number * 1000 if unit.startswith("k") or (not unit and number <= _SURELY_KG) else number)
        if not 0 < grams < 1_000_000:
            raise forms.ValidationError(_("“{text}” is no weight of a rope.").format(text=text))
        return grams
