"""A brake on guessing passwords: after ten wrong ones for an address from one place, a quarter of an hour's pause.

Kept in memory by each process: it is a brake, not a lock, and a person who mistyped needs nobody's help.
"""

import hashlib

from django.core.cache import cache
from django.http import HttpRequest

TRIES, PAUSE_SECONDS = 10, 15 * 60


def too_many(request: HttpRequest, email: str) -> bool:
    """Whether this place has to wait before it may try this address again."""
    return int(cache.get(_key(request, email), 0)) >= TRIES


def count_wrong(request: HttpRequest, email: str) -> None:
    """One wrong password more. The pause counts from the first of them."""
    key = _key(request, email)
    if not cache.add(key, 1, PAUSE_SECONDS):
        cache.incr(key)


def forget(request: HttpRequest, email: str) -> None:
    """The right one was found."""
    cache.delete(_key(request, email))


def _key(request: HttpRequest, email: str) -> str:
    told = f"{request.META.get('REMOTE_ADDR', '')} {email.strip().lower()}"
    return f"guesses-{hashlib.sha256(told.encode()).hexdigest()}"
