"""A brake on guessing passwords, kept in the database so that every process of the pages sees the same counts.

Wrong passwords are counted in three ways: for an address from one place, for one place whatever the address, and for an
address from anywhere. A device on which somebody signed in before is counted by itself: however many others guess, and
from wherever, its owner is not shut out. Each pause ends by itself; a person who mistyped needs nobody's help.
"""

import hashlib
from collections.abc import Iterator
from datetime import timedelta

from django.core.signing import BadSignature
from django.db import transaction
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from tethera.web.accounts.models import Account, WrongGuesses
from tethera.web.serving import is_loopback

TRIES, TRIES_OF_A_PLACE, TRIES_FROM_ANYWHERE = 10, 50, 100
PAUSE = timedelta(minutes=15)
_COOKIE, _COOKIE_DAYS, _SALT = "known-device", 400, "tethera.known-device"


def too_many(request: HttpRequest, email: str) -> bool:
    """Whether this place has to wait before it may try this address again."""
    most = dict(_keys(request, email))
    counted = WrongGuesses.objects.filter(sum__in=most, since__gt=timezone.now() - PAUSE)
    return any(count >= most[key] for key, count in counted.values_list("sum", "count"))


def count_wrong(request: HttpRequest, email: str) -> None:
    """One wrong password more. A pause counts from the first of them."""
    now = timezone.now()
    with transaction.atomic():
        WrongGuesses.objects.filter(since__lte=now - PAUSE).delete()
        for key, _most in _keys(request, email):
            WrongGuesses.objects.get_or_create(sum=key, defaults={"count": 0, "since": now})
            WrongGuesses.objects.filter(sum=key).update(count=F("count") + 1)


def forget(request: HttpRequest, email: str) -> None:
    """The right one was found: of this address nothing is counted against this place any more."""
    WrongGuesses.objects.filter(sum=next(_keys(request, email))[0]).delete()


def know_device(request: HttpRequest, answer: HttpResponse, account: Account) -> None:
    """Remember on the device that this account was opened on it."""
    answer.set_signed_cookie(
        _COOKIE,
        str(account.pk),
        salt=_SALT,
        max_age=timedelta(days=_COOKIE_DAYS),
        path="/",
        secure=request.is_secure(),
        httponly=True,
        samesite="Lax",
    )


def _known(request: HttpRequest, email: str) -> bool:
    try:
        key = request.get_signed_cookie(_COOKIE, salt=_SALT, max_age=timedelta(days=_COOKIE_DAYS))
    except (KeyError, BadSignature):
        return False
    return key is not None and Account.objects.filter(pk=key, email=email).exists()


def _keys(request: HttpRequest, email: str) -> Iterator[tuple[str, int]]:
    """What this try counts for, and how many are borne of each; first what is of this place and address alone."""
    place = request.META.get("REMOTE_ADDR", "")
    if _known(request, email):
        yield _sum("device", request.COOKIES.get(_COOKIE, ""), email), TRIES
        return
    yield _sum("here", place, email), TRIES
    yield _sum("anywhere", email), TRIES_FROM_ANYWHERE
    # Behind a server that speaks for everybody, this machine itself is the only place anybody comes from.
    if not is_loopback(place):
        yield _sum("place", place), TRIES_OF_A_PLACE


def _sum(*told: str) -> str:
    return hashlib.sha256(" ".join(told).strip().lower().encode()).hexdigest()
