"""People who may sign in."""

from django.apps import AppConfig


class AccountsConfig(AppConfig):
    """People who may sign in."""

    name = "tethera.web.accounts"
    label = "accounts"
