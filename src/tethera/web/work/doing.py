"""How long work is done: a function registered by its kind, run by a worker thread, telling how far it is.

A function gets the Work and a Progress; it may be run again from its start after a crash, so it must do no harm
when done twice. It checks `progress` often: that is where Stop is heard.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django_tasks import task

from tethera.basics import UnreadableWorkbook
from tethera.store import DamagedLog, LogMovedOn, Refused
from tethera.web.accounts.models import Membership
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit
from tethera.web.work.models import Work

_TELL_EVERY_SECONDS = 0.3


class Stopped(Exception):
    """Somebody pressed Stop."""


@dataclass
class Progress:
    """Tells how far the work is, and raises Stopped once somebody asked for it."""

    work: Work
    _told: float = field(default=0.0, repr=False)

    def __call__(self, done: int, total: int, doing: str = "") -> None:
        """So much of so much is done."""
        now = monotonic()
        if now - self._told < _TELL_EVERY_SECONDS and 0 < done < total:
            return
        self._told = now
        Work.objects.filter(pk=self.work.pk).update(done=done, total=total, doing=doing[:200])
        if Work.objects.values_list("stop_asked", flat=True).get(pk=self.work.pk):
            raise Stopped


Doing = Callable[[Work, Progress], None]
_KINDS: dict[str, Doing] = {}


def does(kind: str) -> Callable[[Doing], Doing]:
    """Register the function that does work of a kind; its module must be imported by its app's `ready`."""

    def register(function: Doing) -> Doing:
        _KINDS[kind] = function
        return function

    return register


def start(visit: Visit, kind: str, title: str, **asked: Any) -> Work:
    """Begin long work for a visitor."""
    work = Work.objects.create(
        store=visit.store, account=visit.membership.account, kind=kind, title=title[:200], asked=asked
    )
    do_work.enqueue(work.pk)
    return work


@task()
def do_work(key: int) -> None:
    """Do one piece of work; what goes wrong is told on its page."""
    work = Work.objects.filter(pk=key).first()
    if work is None or work.ended is not None:
        return
    work.started = timezone.now()
    work.save(update_fields=["started"])
    try:
        _KINDS[work.kind](work, Progress(work))
    except Stopped:
        work.stop_asked = True
    except (Refused, LogMovedOn, DamagedLog, UnreadableWorkbook, ValueError, OSError) as error:
        work.trouble = str(error)
    except Exception:
        work.trouble = _("Tethera made a mistake of its own. Nothing was recorded. Tell who looks after it.")
        _finish(work)
        raise
    _finish(work)


def _finish(work: Work) -> None:
    fresh = Work.objects.get(pk=work.pk)
    work.done, work.total, work.doing = fresh.done, fresh.total, ""
    work.stop_asked = work.stop_asked and fresh.stop_asked
    if not work.trouble and not work.stop_asked:
        work.done = work.total = max(work.total, 1)
    work.ended = timezone.now()
    work.save()


def keeper_of(work: Work) -> Membership:
    """Whoever asked for the work, if they may still do it; ValueError."""
    member = Membership.objects.filter(account=work.account, store=work.store).select_related("account").first()
    if member is None or not member.may(May.KEEP):
        raise ValueError(_("You are not a keeper of this store any more. Nothing was done."))
    return member
