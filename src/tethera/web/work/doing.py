"""How long work is done: a function registered by its kind, run by a worker, telling how far it is.

A function gets the Work and a Progress; it may be run again from its start after a crash, so it must do no harm
when done twice. It checks `progress` often: that is where Stop is heard, and where a worker that was taken for dead
learns that another does its work.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic
from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tasks import task

from tethera.basics import UnreadableWorkbook
from tethera.store import DamagedLog, LogMovedOn, Refused
from tethera.web.accounts.models import Membership
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit
from tethera.web.trouble import trouble_of
from tethera.web.work.models import Work

_TELL_EVERY_SECONDS = 0.3
#: Work that ends every worker that begins it is left alone after so many.
_MOST_TIMES = 3


class Stopped(Exception):
    """Somebody pressed Stop."""


class TakenOver(Exception):
    """Another worker has begun the same work since: this one was taken for dead."""


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
        mine = Work.objects.filter(pk=self.work.pk, begun=self.work.begun)
        if not mine.update(done=done, total=total, doing=doing[:200]):
            raise TakenOver
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
    # Together or not at all: work that nobody was told of would wait for ever.
    with transaction.atomic():
        work = Work.objects.create(
            store=visit.store, account=visit.membership.account, kind=kind, title=title[:200], asked=asked
        )
        do_work.enqueue(work.pk)
    return work


@task()
def do_work(key: int) -> None:
    """Do one piece of work; what goes wrong is told on its page."""
    work = _begin(key)
    if work is None:
        return
    try:
        if work.begun > _MOST_TIMES:
            raise ValueError(
                _("Tethera stopped in the middle of it {times} times. Nothing was recorded.").format(times=_MOST_TIMES)
            )
        _KINDS[work.kind](work, Progress(work))
    except TakenOver:
        return
    except Stopped:
        work.stop_asked = True
    except (Refused, LogMovedOn, DamagedLog, UnreadableWorkbook, ValueError) as error:
        work.trouble = str(error)
    except Exception as error:
        trouble = trouble_of(error)
        if trouble is None and not isinstance(error, OSError):
            work.trouble = _("Tethera made a mistake of its own. Nothing was recorded. Tell who looks after it.")
            _finish(work)
            raise
        work.trouble = f"{trouble.title}. {trouble.told}" if trouble else str(error)
    _finish(work)


def _begin(key: int) -> Work | None:
    """Take the work on; None where it is gone or done."""
    now = timezone.now()
    # One statement: of two that begin at the same moment, the later one has it.
    if not Work.objects.filter(pk=key, ended=None).update(begun=F("begun") + 1, started=now):
        return None
    return Work.objects.get(pk=key)


def _finish(work: Work) -> None:
    """Say how it ended, unless another worker has it now."""
    with transaction.atomic():
        fresh = Work.objects.select_for_update().filter(pk=work.pk, begun=work.begun, ended=None).first()
        if fresh is None:
            return
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
