"""The record on paper, which may be long work."""

from importlib import import_module

from django.apps import AppConfig


class YearlyConfig(AppConfig):
    """The record on paper, which may be long work."""

    name = "tethera.web.yearly"
    label = "yearly"

    def ready(self) -> None:
        """The worker must know how this room's long work is done."""
        import_module("tethera.web.yearly.records")
