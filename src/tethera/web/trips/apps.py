"""Trips, whose planning may be long work."""

from importlib import import_module

from django.apps import AppConfig


class TripsConfig(AppConfig):
    """Trips, whose planning may be long work."""

    name = "tethera.web.trips"
    label = "trips"

    def ready(self) -> None:
        """The worker must know how trips are planned."""
        import_module("tethera.web.trips.planned")
        import_module("tethera.web.trips.wishes")
