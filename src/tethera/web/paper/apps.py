"""How everything looks: template tags."""

from django import forms
from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class PaperConfig(AppConfig):
    """How everything looks: template tags."""

    name = "tethera.web.paper"
    label = "paper"

    def ready(self) -> None:
        """Words of our own for what is missing, in every form."""
        forms.Field.default_error_messages["required"] = _("This is missing. Write it, or choose it.")
