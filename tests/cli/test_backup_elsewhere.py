"""A backup made while others write, and one that goes from SQLite to PostgreSQL and back."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from postgresql import binaries, cluster
from tethera.store import DocumentAttached, verify
from tethera.store.exchange import Backup, KeptStore

Run = Callable[..., Any]
PHOTO = "ab" * 32


def environment(database: str | None = None) -> dict[str, str]:
    """As a user's: without the settings of this test run."""
    plain = {n: v for n, v in os.environ.items() if not n.startswith(("TETHERA_", "DJANGO_"))}
    return plain if database is None else plain | {"TETHERA_DATABASE": database}


def python(script: str, folder: Path, database: str | None = None, **more: Any) -> "subprocess.Popen[str]":
    """A script in a process of its own: Django is set up over one folder in a process."""
    asked = [sys.executable, "-W", "ignore", "-c", script, str(folder)]
    return subprocess.Popen(asked, env=environment(database), text=True, stdout=subprocess.PIPE, **more)


def tethera(*words: str, database: str | None = None) -> "subprocess.CompletedProcess[str]":
    asked = [sys.executable, "-m", "tethera.cli.main", *words]
    return subprocess.run(asked, env=environment(database), text=True, capture_output=True, timeout=300, check=False)


_MAKE = """
import datetime, sys
from pathlib import Path
from tethera.web import installation, serving
folder = Path(sys.argv[1])
installation.open_folder(folder)
from tethera.web import demo_people
if not serving.bring_in_file_store(folder, "events.jsonl", "people.json"):
    raise SystemExit("no store in files")
demo_people.make()
from tethera.store import DocumentAttached, id_for
from tethera.web.accounts.models import Account
from tethera.web.store.models import Photo, Store
from tethera.web.store.opened import writing
from tethera.web.trips.models import Trip
from django.utils import timezone
account = Account.objects.order_by("pk").first()
account.set_password("three long words")
account.units = "ft"
account.save()
store = Store.objects.get()
Photo.objects.create(store=store, sha256="ab" * 32, width=4, height=3, size=7)
Store.objects.create(slug="second", name="Zweiter Speicher, 山の倉庫")
days = {"first_day": datetime.date(2026, 12, 5), "last_day": datetime.date(2026, 12, 6)}
Trip.objects.create(store=store, name="Novices", routes=["quillet"], packed={"quillet/QT1": {"by": "Ines"}}, **days)
from tethera.basics import PartialDate
with writing(store.pk) as opened:
    event = DocumentAttached(rope="QT1", happened=PartialDate(2026, 11), title="Flat spot", sha256="ab" * 32)
    opened.register.record(event, recorded=timezone.now(), by=opened.people.id_of("Åsa Løvdal"))
    opened.people.erase(opened.people.id_of("Somebody Who Asked"))
"""
_TELL = """
import json, sys
from pathlib import Path
from tethera.store import encode_recorded, verify
from tethera.web import installation, kept
installation.open_folder(Path(sys.argv[1]))
all = kept.kept(Path(sys.argv[1]))
stores = [[s.slug, s.name, [encode_recorded(e) for e in s.events], dict(s.names), s.about] for s in all.stores]
from tethera.web.accounts.models import Account
usable = [each for each in Account.objects.all() if each.has_usable_password()]
passwords = sorted(each.email for each in usable if each.check_password("three long words"))
whole = [verify(s.events).whole for s in all.stores]
print(json.dumps([stores, all.accounts, [f.name for f in all.files], passwords, whole], sort_keys=True))
"""


def all_of(folder: Path, database: str | None = None) -> Any:
    """Everything that an installation keeps, in order of nothing but itself."""
    said, _ = python(_TELL, folder, database).communicate(timeout=120)
    return json.loads(said.splitlines()[-1])


@pytest.fixture
def installed(store: Run, folder: Path) -> Path:
    """A store with accounts, two stores, a photograph, a trip, an erased name, and letters of other lands."""
    photo = folder / "store" / "photos" / "ab" / f"{PHOTO}.jpg"
    photo.parent.mkdir(parents=True)
    photo.write_bytes(b"picture")
    made = python(_MAKE, folder / "store", stderr=subprocess.PIPE)
    _, told = made.communicate(timeout=120)
    assert made.returncode == 0, told
    return folder / "store"


def test_a_store_goes_from_sqlite_to_postgresql_and_back_with_all_that_belongs_to_it(
    installed: Path, folder: Path
) -> None:
    if binaries() is None:
        pytest.skip("NO POSTGRESQL HERE: a backup was not taken to it and back")
    before = all_of(installed)
    stores, accounts, files, passwords, whole = before
    assert (len(stores), len(accounts), len(files), len(passwords), whole) == (2, 4, 1, 1, [True, True])
    assert stores[0][4]["trips"][0]["packed"] == {"quillet/QT1": {"by": "Ines"}}
    assert None in stores[0][3].values()
    with cluster("-c fsync=off") as server:
        ran = tethera("backup", "--store", str(installed), "--out", str(folder / "one.zip"))
        assert ran.returncode == 0, ran.stderr
        there = folder / "on-postgresql"
        ran = tethera("restore", str(folder / "one.zip"), "--store", str(there), database=server.address)
        assert ran.returncode == 0, ran.stderr
        assert all_of(there, server.address) == before
        # It is lived in there: numbers of rows begun by hand must not collide with those that came along.
        ran = tethera(
            "record", "washed", "QT1", "--store", str(there / "qt"), "--by", "Åsa Løvdal", database=server.address
        )
        assert ran.returncode == 0, ran.stderr
        lived = all_of(there, server.address)
        ran = tethera("backup", "--store", str(there), "--out", str(folder / "two.zip"), database=server.address)
        assert ran.returncode == 0, ran.stderr
        # Into a database that holds something nothing is restored.
        ran = tethera("restore", str(folder / "one.zip"), "--store", str(folder / "no"), database=server.address)
        assert (ran.returncode, "Restore into an empty one" in " ".join(ran.stderr.split())) == (2, True)
    ran = tethera("restore", str(folder / "two.zip"), "--store", str(folder / "home"))
    assert ran.returncode == 0, ran.stderr
    home = all_of(folder / "home")
    assert home == lived
    assert len(home[0][0][2]) == len(before[0][0][2]) + 1
    assert home[4] == [True, True]
    assert (folder / "home" / "photos" / "ab" / f"{PHOTO}.jpg").read_bytes() == b"picture"


_WRITE = """
import sys
from pathlib import Path
from tethera.web import installation
installation.open_folder(Path(sys.argv[1]))
from django.utils import timezone
from tethera.basics import PartialDate
from tethera.store import DocumentAttached, Washed
from tethera.web.accounts.joining import make_keeper, new_store
from tethera.web.accounts.models import Account
from tethera.web.store.models import Store
from tethera.web.store.opened import writing
from django.db import transaction
key, photos = Store.objects.get(slug="qt").pk, Path(sys.argv[1]) / "photos"
day = PartialDate(2026, 11, 25)
print("begun", flush=True)
for number in range(100_000):
    sum = f"{number:064x}"
    (photos / sum[-2:]).mkdir(exist_ok=True)
    (photos / sum[-2:] / f"{sum}.jpg").write_bytes(b"picture")
    with writing(key) as opened:
        person = opened.people.id_of(f"Member {number}")
        opened.register.record(Washed(rope="QT1", happened=day), recorded=timezone.now(), by=person)
        photo = DocumentAttached(rope="QT1", happened=day, title="x", sha256=sum)
        opened.register.record(photo, recorded=timezone.now(), by=person)
    with transaction.atomic():
        store = new_store(f"Store {number}", "ug")
        account = Account.objects.create_user(f"m{number}@x.invalid", name=f"Member {number}")
        make_keeper(account, store, competent=False)
"""


@pytest.fixture
def writer(installed: Path) -> Iterator["subprocess.Popen[str]"]:
    """Somebody who records, joins and founds stores without a pause."""
    process = python(_WRITE, installed)
    assert process.stdout is not None
    assert process.stdout.readline() == "begun\n"
    yield process
    process.kill()
    process.wait(30)
    process.stdout.close()


def holds_together(backup: Backup) -> list[KeptStore]:
    """Everything that a part of the backup names is in another."""
    stores = [backup.store(each) for each in backup.manifest.stores]
    slugs, files = {each.slug for each in stores}, " ".join(backup.files)
    for store in stores:
        assert verify(store.events).whole
        assert {each.by for each in store.events if each.by} <= store.names.keys()
        pictures = [each.event.sha256 for each in store.events if isinstance(each.event, DocumentAttached)]
        assert [each for each in pictures if each not in files] == []
    accounts = backup.json("accounts.json")
    members = {member["store"] for account in accounts for member in account["memberships"]}
    assert members <= slugs
    # A store and its keeper's account came in one act: neither is there without the other.
    assert {each for each in slugs if each.startswith("ug")} <= members
    return stores


def test_backups_made_while_somebody_writes_each_hold_one_moment_and_can_be_restored(
    installed: Path, folder: Path, writer: "subprocess.Popen[str]"
) -> None:
    lengths = []
    for number in range(3):
        out = folder / f"backup-{number}.zip"
        ran = tethera("backup", "--store", str(installed), "--out", str(out))
        assert ran.returncode == 0, ran.stderr
        with out.open("rb") as file:
            stores = holds_together(Backup(file))
        lengths.append(len(next(each for each in stores if each.slug == "qt").events))
    assert writer.poll() is None, "the writer was not held up by the backups"
    assert lengths == sorted(set(lengths)), "and wrote on between them"
    ran = tethera("restore", str(folder / "backup-2.zip"), "--store", str(folder / "again"))
    assert ran.returncode == 0, ran.stderr
    again = all_of(folder / "again")
    assert len(next(each for each in again[0] if each[0] == "qt")[2]) == lengths[-1]
    assert set(again[4]) == {True}
