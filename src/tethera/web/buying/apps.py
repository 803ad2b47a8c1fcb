"""Buying, whose lists are worked out as long work."""

from importlib import import_module

from django.apps import AppConfig


class BuyingConfig(AppConfig):
    """Buying, whose lists are worked out as long work."""

    name = "tethera.web.buying"
    label = "buying"

    def ready(self) -> None:
        """The worker must know how lists are made."""
        import_module("tethera.web.buying.made")
