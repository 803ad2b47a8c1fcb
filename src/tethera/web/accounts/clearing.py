"""Rows that ran out and help nobody: sessions, invitations, links for a new password, counts of wrong passwords."""

from datetime import timedelta
from typing import Any

from django.contrib.sessions.models import Session
from django.db.models import Q, QuerySet
from django.utils import timezone

from tethera.web.accounts.guesses import PAUSE
from tethera.web.accounts.models import Invitation, PasswordLink, WrongGuesses

#: So many rows of a kind go at once: on SQLite everybody else who writes waits for it.
MOST = 500
#: A link that was used stays a day: whoever presses twice still finds that it was used.
_USED_STAYS = timedelta(days=1)


def clear_over(most: int = MOST) -> bool:
    """Clear what ran out, at most so many rows of each kind; whether there may be more of it."""
    now = timezone.now()
    over = Q(ends__lte=now) | Q(used__lte=now - _USED_STAYS)
    counts = (
        _clear(Session.objects.filter(expire_date__lte=now), most),
        _clear(Invitation.objects.filter(over), most),
        _clear(PasswordLink.objects.filter(over), most),
        _clear(WrongGuesses.objects.filter(since__lte=now - PAUSE), most),
    )
    return any(count >= most for count in counts)


def _clear(over: "QuerySet[Any]", most: int) -> int:
    keys = list(over.order_by("pk").values_list("pk", flat=True)[:most])
    # Asked once more: a session that was used meanwhile counts on.
    over.filter(pk__in=keys).delete()
    return len(keys)
