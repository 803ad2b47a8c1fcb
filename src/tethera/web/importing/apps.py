"""An old spreadsheet, on its way into the store."""

from importlib import import_module

from django.apps import AppConfig


class ImportingConfig(AppConfig):
    """An old spreadsheet, on its way into the store."""

    name = "tethera.web.importing"
    label = "importing"

    def ready(self) -> None:
        """The worker must know how this room's long work is done."""
        import_module("tethera.web.importing.work")
