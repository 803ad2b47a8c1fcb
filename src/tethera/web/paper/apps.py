"""How everything looks and speaks: template tags, and Django's own sentences said our way."""

from django import forms
from django.apps import AppConfig
from django.core import validators
from django.utils.translation import gettext_lazy, ngettext_lazy


class PaperConfig(AppConfig):
    """How everything looks and speaks."""

    name = "tethera.web.paper"
    label = "paper"

    def ready(self) -> None:
        """Say in every form what is wrong and what to do, where a form says nothing of its own."""
        forms.Field.default_error_messages["required"] = gettext_lazy("This is missing. Write it, or choose it.")
        forms.IntegerField.default_error_messages["invalid"] = gettext_lazy("Write a whole number, as 30.")
        forms.FloatField.default_error_messages["invalid"] = gettext_lazy("Write a number, as 10.5.")
        validators.MinValueValidator.message = gettext_lazy("Write %(limit_value)s or more.")
        validators.MaxValueValidator.message = gettext_lazy("Write %(limit_value)s or less.")
        validators.EmailValidator.message = gettext_lazy("Write the address in full, as maud@ulvergarth.invalid.")
        validators.MaxLengthValidator.message = ngettext_lazy(
            "That is too long: %(show_value)d letters, where %(limit_value)d has room.",
            "That is too long: %(show_value)d letters, where %(limit_value)d have room.",
            "limit_value",
        )
        validators.ProhibitNullCharactersValidator.message = gettext_lazy("There is a sign in it that cannot be kept.")
