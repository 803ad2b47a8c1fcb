"""More form fields for what the trade writes: a weight, what was left over, several lengths, several pictures."""

import re
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import read_length
from tethera.web.paper.fields import LengthField

#: A bare number up to this is kilograms, from that on grams; between them it could be either.
_SURELY_KG, _SURELY_G = 50.0, 200.0
_MASS = re.compile(r"(\d+(?:[.,]\d+)?)\s*(kg|kilos?|kilograms?|g|gr|grams?|grammes?)?\.?")


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


class LeftOverField(LengthField):
    """What lay at the foot in whole cm; below zero it was so much short."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", gettext_lazy("Left over at the foot"))
        kwargs.setdefault("help_text", gettext_lazy("Metres of rope lying at the foot; with a minus, so many short."))
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off", "size": 8}))
        super().__init__(**kwargs)

    def clean(self, value: Any) -> int | None:
        """Centimetres, 0 and below too."""
        text = str(value or "").strip().replace("\u2212", "-").replace("–", "-")
        if re.fullmatch(r"-?0+([.,]0+)?\s*\w*", text):
            return 0
        if not text.startswith("-"):
            return super().clean(text)
        # What was short is a need, and rounded up.
        words = text.removeprefix("-").strip()
        words += " ft" if self.units == "ft" and re.fullmatch(r"[\d.,]+", words) else ""
        reading = read_length(words, where=str(self.label), need=True)
        if reading.length_cm is None:
            raise forms.ValidationError(f"{reading.findings[0].message} {reading.findings[0].way_out}".strip())
        return -reading.length_cm


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


class _ManyFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class PicturesField(forms.FileField):
    """One or several files, at most `most`."""

    def __init__(self, *, most: int = 12, **kwargs: Any) -> None:
        self.most = most
        kwargs.setdefault("widget", _ManyFiles(attrs={"accept": "image/*"}))
        super().__init__(**kwargs)

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        """The files."""
        files = data if isinstance(data, list | tuple) else [data] if data else []
        if not files and self.required:
            raise forms.ValidationError(_("No file was chosen."))
        if len(files) > self.most:
            raise forms.ValidationError(_("At most {most} at once. Send the rest afterwards.").format(most=self.most))
        return [super(PicturesField, self).clean(each, initial) for each in files]


def say_plainly(form: forms.BaseForm) -> None:
    """Errors of a form's fields in plain words: what is wrong and what to do."""
    for field in form.fields.values():
        field.error_messages["required"] = _("This is missing. Write it, or choose it.")
        if isinstance(field, forms.IntegerField):
            field.error_messages["invalid"] = _("Write a number, as 10.5.")
            if not isinstance(field, forms.FloatField | forms.DecimalField):
                field.error_messages["invalid"] = _("Write a whole number, as 30.")
        elif isinstance(field, forms.FileField):
            field.error_messages["empty"] = _("That file is empty. Choose another.")
        elif isinstance(field, forms.DateField):
            field.error_messages["invalid"] = _("Write the day as 2026-12-05.")
        elif isinstance(field, forms.ChoiceField):
            field.error_messages["invalid_choice"] = _("That is none of the choices. Choose again.")
