"""Rows that ran out go by themselves, a bounded number at a time; what still counts stays."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone

from tethera.web.accounts.clearing import clear_over
from tethera.web.accounts.guesses import PAUSE
from tethera.web.accounts.models import Account, Invitation, PasswordLink, WrongGuesses
from tethera.web.work import worker
from web.conftest import Club


def moment(**ago: float) -> datetime:
    return timezone.now() - timedelta(**ago)


def invitation(club: Club, number: int, ends: datetime, used: datetime | None = None) -> None:
    Invitation.objects.create(store=club.store, name="X", role="member", sum=str(number), ends=ends, used=used)


def link(club: Club, number: int, ends: datetime, used: datetime | None = None) -> None:
    keeper = Account.objects.get(email="p1@ug.invalid")
    PasswordLink.objects.create(account=keeper, made_by=keeper, store=club.store, sum=str(number), ends=ends, used=used)


def test_what_ran_out_goes_and_what_counts_stays(club: Club) -> None:
    Session.objects.create(session_key="old", session_data="", expire_date=moment(seconds=1))
    going_on = Session.objects.count() - 1
    for make in (invitation, link):
        make(club, 1, moment(seconds=1))
        make(club, 2, moment(days=-3), used=moment(days=1, seconds=1))
        make(club, 3, moment(days=-3), used=moment(hours=23))
        make(club, 4, moment(days=-3))
    WrongGuesses.objects.create(sum="old", count=3, since=timezone.now() - PAUSE)
    WrongGuesses.objects.create(sum="new", count=3, since=timezone.now() - PAUSE + timedelta(minutes=1))
    assert not clear_over()
    assert (Session.objects.count(), Session.objects.filter(session_key="old").exists()) == (going_on, False)
    assert list(Invitation.objects.order_by("sum").values_list("sum", flat=True)) == ["3", "4"]
    assert list(PasswordLink.objects.order_by("sum").values_list("sum", flat=True)) == ["3", "4"]
    assert list(WrongGuesses.objects.values_list("sum", flat=True)) == ["new"]
    assert club.keeper.get("/me").status_code == 200


def test_a_sweep_is_bounded_and_says_that_there_is_more(club: Club) -> None:
    rows = [WrongGuesses(sum=str(each), count=1, since=moment(days=2)) for each in range(7)]
    WrongGuesses.objects.bulk_create(rows)
    left = []
    for _ in range(3):
        left.append((clear_over(most=3), WrongGuesses.objects.count()))
    assert left == [(True, 4), (True, 1), (False, 0)]


def test_a_worker_sweeps_once_a_day_and_goes_on_while_there_is_more(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    now, swept, more = [1000.0], [], [True, False, False]
    monkeypatch.setattr(worker, "monotonic", lambda: now[0])

    def clear() -> Any:
        swept.append(now[0])
        return more[len(swept) - 1]

    monkeypatch.setattr(worker, "clear_over", clear)
    one = worker.Worker()
    for seconds in (0.0, 5.0, 5.0, 23.9 * 3600, 0.2 * 3600):
        now[0] += seconds
        one.clear_daily()
    # At once, again as there was more, then a day later.
    assert swept == [1000.0, 1005.0, 1010.0 + 24.1 * 3600]
