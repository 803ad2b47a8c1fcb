"""What every form of the pages does alike: plain errors, lengths in the reader's unit, doubts about a date."""

from django import forms
from django.utils.translation import gettext as _

from tethera.basics import Finding
from tethera.web.paper.fields import LengthField, WhenField


def in_units(form: forms.BaseForm, units: str) -> None:
    """Read bare numbers of every length of a form in the reader's unit ("m" or "ft")."""
    for field in form.fields.values():
        if isinstance(field, LengthField):
            field.units = units


def when_doubts(form: forms.BaseForm) -> tuple[Finding, ...]:
    """What is doubtful about the dates of a form as they were written, once it was cleaned."""
    whens = (field for field in form.fields.values() if isinstance(field, WhenField))
    return tuple(each for when in whens for each in when.doubts)


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
