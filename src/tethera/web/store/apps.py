"""The store's rows."""

from django.apps import AppConfig


class StoreConfig(AppConfig):
    """Events, people and photographs."""

    name = "tethera.web.store"
    label = "store"
