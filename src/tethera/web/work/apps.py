"""Long work."""

from django.apps import AppConfig


class WorkConfig(AppConfig):
    """Long work."""

    name = "tethera.web.work"
    label = "work"
