"""Form fields for what the trade writes: a day known roughly, a length, several rope numbers."""

import re
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import Finding, PartialDate, read_date, read_length
from tethera.store import Register, UnknownRope

_CM_PER_FOOT = 30.48


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
            raise forms.ValidationError(f"{reading.findings[0].message} {reading.findings[0].way_out}".strip())
        return reading.date


class MaybeWhenField(WhenField):
    """A day, a month or a year, or None when left empty."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", gettext_lazy("A day, a month or a year: 12 Nov 2025, Nov 2025, 2025."))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> PartialDate | None:  # type: ignore[override]
        """The date as far as it is known, or None."""
        return super().clean(value) if str(value or "").strip() else None


class LengthField(forms.CharField):
    """A length in whole cm, rounded down; a bare number is in the reader's unit ("m" or "ft")."""

    def __init__(self, *, units: str = "m", **kwargs: Any) -> None:
        self.units = units
        kwargs.setdefault("widget", forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "size": 8}))
        super().__init__(max_length=40, **kwargs)

    def clean(self, value: Any) -> int | None:
        """Centimetres."""
        text = str(super().clean(value) or "").strip()
        if not text:
            return None
        if self.units == "ft" and re.fullmatch(r"[\d.,]+", text):
            text += " ft"
        reading = read_length(text, where=str(self.label))
        if reading.length_cm is None:
            raise forms.ValidationError(f"{reading.findings[0].message} {reading.findings[0].way_out}".strip())
        return reading.length_cm


class RopesField(forms.CharField):
    """Several rope numbers, typed or scanned, with spaces, commas or line ends between; each must be known."""

    def __init__(self, *, register: Register | None = None, **kwargs: Any) -> None:
        self.register = register
        kwargs.setdefault("label", gettext_lazy("Rope numbers"))
        kwargs.setdefault(
            "help_text", gettext_lazy("One or several: 41, 42 45. Scanned numbers may follow each other.")
        )
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}))
        super().__init__(max_length=20_000, **kwargs)

    def clean(self, value: Any) -> tuple[str, ...]:
        """The numbers as the store has them, each once."""
        text = str(super().clean(value) or "")
        if self.register is None:
            raise ValueError("give the field the register of the store")
        found, unknown = [], []
        for word in re.split(r"[\s,;]+", text.strip()):
            if not word:
                continue
            try:
                found.append(self.register.find(word))
            except UnknownRope as error:
                unknown.append(str(error))
        if unknown:
            raise forms.ValidationError([_("{told} Check it, or leave it out.").format(told=each) for each in unknown])
        return tuple(dict.fromkeys(found))
