"""The store's rules, its people, and what is taken away of it."""

from importlib import import_module

from django.apps import AppConfig


class RulesConfig(AppConfig):
    """The store's rules, its people, and what is taken away of it."""

    name = "tethera.web.rules"
    label = "rules"

    def ready(self) -> None:
        """The worker must know how this room's long work is done."""
        import_module("tethera.web.rules.work")
