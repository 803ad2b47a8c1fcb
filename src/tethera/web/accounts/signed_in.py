"""Who is signed in: sessions say it inside, so that each has to be opened."""

from collections.abc import Iterator

from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.models import Session
from django.utils import timezone

from tethera.web.accounts.models import Account

_AT_ONCE = 200


def sessions_of(account: Account) -> Iterator[Session]:
    """The sessions that still count in which somebody is signed in."""
    key, going_on = str(account.pk), Session.objects.filter(expire_date__gt=timezone.now()).order_by("expire_date")
    return (each for each in going_on.iterator(chunk_size=_AT_ONCE) if each.get_decoded().get(SESSION_KEY) == key)
