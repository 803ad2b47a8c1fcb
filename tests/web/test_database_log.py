"""What the log in the database must survive: an act sent twice, a transaction that fails, several writers at once."""

import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.db import connection, transaction

from tethera.basics import PartialDate
from tethera.store import Bought, DamagedLog, PutIntoService, Refused, Washed
from tethera.web.store.log import DatabaseLog
from tethera.web.store.models import LoggedEvent, Store
from tethera.web.store.opened import held, writing
from web.conftest import Club

NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)
DAY = PartialDate(2026, 11, 25)


def test_what_a_failed_transaction_wrote_is_forgotten_by_the_register(club: Club) -> None:
    club.ready("UG1")
    before = club.events()

    def fail() -> None:
        with writing(club.store.pk) as opened:
            opened.register.record(Washed(rope="UG1", happened=DAY), recorded=NOW)
            assert club.events() == before + 1
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert club.events() == before
    with held(club.store.pk) as opened:
        assert len(opened.register) == before
        opened.register.record(Washed(rope="UG1", happened=DAY, how="bath"), recorded=NOW)
    assert club.log()[-1] == Washed(rope="UG1", happened=DAY, how="bath")


def test_a_refusal_costs_no_new_reading_of_the_log(club: Club) -> None:
    club.did(Bought(rope="UG1", happened=DAY, length_cm=3000))
    with held(club.store.pk) as opened:
        known = opened.register
    with pytest.raises(Refused), writing(club.store.pk) as opened:
        opened.register.record(PutIntoService(rope="UG1", happened=DAY), recorded=NOW)
    with held(club.store.pk) as opened:
        assert opened.register is known


def test_a_row_that_cannot_be_read_is_named_and_nothing_is_guessed(club: Club) -> None:
    club.did(Bought(rope="UG1", happened=DAY, length_cm=3000))
    LoggedEvent.objects.filter(store=club.store, number=1).update(body='{"what": "ironed"}')
    with pytest.raises(DamagedLog, match=r"Event 1 of the log cannot be read.*Restore a backup"):
        DatabaseLog(club.store.pk).read()


def test_a_row_that_is_gone_is_noticed(club: Club) -> None:
    club.did(Bought(rope="UG1", happened=DAY, length_cm=3000))
    LoggedEvent.objects.filter(store=club.store, number=0).delete()
    with pytest.raises(DamagedLog, match="should have 2 events and has 1"):
        DatabaseLog(club.store.pk).read()


def test_a_place_in_the_log_cannot_be_taken_twice(club: Club) -> None:
    with pytest.raises(Exception, match=r"(?i)unique"), transaction.atomic():
        LoggedEvent.objects.create(store=club.store, number=0, body="{}")


def test_sqlite_writes_what_it_acknowledges_through_to_the_disk(club: Club) -> None:
    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        assert cursor.execute("PRAGMA synchronous").fetchone() == (2,)
    assert connection.settings_dict["OPTIONS"]["transaction_mode"] == "IMMEDIATE"


_WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from tethera.web import installation
installation.open_folder(Path(sys.argv[1]))
from tethera.basics import PartialDate
from tethera.store import Bought, Register, Washed
from tethera.web.store.log import DatabaseLog
from tethera.web.store.models import Store
register = Register(DatabaseLog(Store.objects.get(slug="tv").pk))
now, day = datetime(2026, 11, 25, 9, tzinfo=UTC), PartialDate(2026, 11, 25)
for number in range(60):
    register.record(Washed(rope="TV1", happened=day, note=f"{sys.argv[2]}{number}"), recorded=now)
for number in range(5):
    register.record_new(1, lambda ids: [Bought(rope=ids[0], happened=day, length_cm=100)], recorded=now)
"""
_MAKER = """
import sys
from pathlib import Path
from tethera.web import installation
installation.open_folder(Path(sys.argv[1]))
from tethera.web.store.models import Store
Store.objects.create(slug="tv", name="an invented store")
"""
_READER = """
import sys
from pathlib import Path
from tethera.web import installation
installation.open_folder(Path(sys.argv[1]))
from tethera.store import Bought, Washed
from tethera.web.store.log import DatabaseLog
from tethera.web.store.models import Store
for each in DatabaseLog(Store.objects.get(slug="tv").pk).read():
    print(each.event.note if isinstance(each.event, Washed) else f"new {each.event.rope}")
"""


@pytest.fixture
def environment() -> dict[str, str]:
    """As a user's: without the settings of this test run."""
    kept = ("TETHERA_DATABASE",) if "TETHERA_DATABASE" in os.environ else ()
    return {n: v for n, v in os.environ.items() if n in kept or not n.startswith(("TETHERA_", "DJANGO_"))}


def test_two_programs_writing_at_once_lose_nothing_and_share_no_number(
    tmp_path: Path, environment: dict[str, str]
) -> None:
    def start(script: str, *words: str) -> "subprocess.Popen[str]":
        command = [sys.executable, "-c", script, str(tmp_path), *words]
        return subprocess.Popen(command, env=environment, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE)

    for each in (start(_MAKER),):
        _, told = each.communicate(timeout=60)
        assert each.returncode == 0, told
    writers = [start(_WRITER, name) for name in "ab"]
    for each in writers:
        _, told = each.communicate(timeout=120)
        assert each.returncode == 0, told
    printed, _ = start(_READER).communicate(timeout=60)
    lines = printed.split("\n")
    notes = [line for line in lines if line[:1] in "ab" and line]
    assert sorted(notes) == sorted(f"{name}{number}" for name in "ab" for number in range(60))
    assert [each for each in notes if each[0] == "a"] == [f"a{number}" for number in range(60)]
    new = [line for line in lines if line.startswith("new")]
    assert len(new) == len(set(new)) == 10


def test_stores_of_one_installation_know_nothing_of_each_other(club: Club) -> None:
    other = Store.objects.exclude(pk=club.store.pk).get()
    club.ready("UG1")
    with held(other.pk) as opened:
        assert list(opened.log.read()) == []
        opened.register.record(Bought(rope="UG1", happened=DAY, length_cm=500), recorded=NOW)
    assert club.rope("UG1").length_cm == 3000
