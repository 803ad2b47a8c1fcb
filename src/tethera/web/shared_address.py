"""Addresses that are sent to others: an invitation, the calendar."""

from dataclasses import dataclass
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest

from tethera.web.serving import is_loopback


@dataclass(frozen=True)
class SharedAddress:
    """An address in full, and whether only this machine can open it."""

    full: str
    only_here: bool


def shared_address(request: HttpRequest, path: str) -> SharedAddress:
    """The address by which others find a page: as the keeper came, or as others must when the keeper sits at it."""
    full = request.build_absolute_uri(path)
    if settings.SHARED_ADDRESS and is_loopback(urlsplit(full).hostname or ""):
        full = f"{settings.SHARED_ADDRESS}{path}"
    return SharedAddress(full, is_loopback(urlsplit(full).hostname or ""))
