"""How everything looks: template tags."""

from django.apps import AppConfig


class PaperConfig(AppConfig):
    """How everything looks: template tags."""

    name = "tethera.web.paper"
    label = "paper"
