"""A store exported, brought back, backed up and restored at the terminal."""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tethera.cli import exchange, places
from tethera.cli.errors import WrongInput
from tethera.store import FileLog, encode_recorded

Run = Callable[..., Any]
MANUAL = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")


def kept(folder: Path) -> tuple[list[dict[str, Any]], Any]:
    """What a store in files holds."""
    events = [encode_recorded(each) for each in FileLog(folder / places.LOG_NAME).read()]
    return events, json.loads((folder / places.PEOPLE_NAME).read_text("utf-8"))


@pytest.fixture
def grown(store: Run) -> Run:
    """A store with some life in it."""
    store("record", "measured", "1", "length=55.87m", "counts=55.87m,55.9m", "--by", "Maud")
    store("record", "cut", "2", "into=25m,18.5m", "reason=flat spot at 25 m", "--by", "Åsa")
    store("record", "set-aside", "4", "reason==1+1")
    return store


@pytest.mark.parametrize("form", ["jsonl", "xlsx", "csv"])
def test_an_export_comes_back_into_a_new_store_as_it_was(grown: Run, folder: Path, form: str) -> None:
    out = folder / f"all.{form}"
    ran = grown("export", "--out", str(out), "--json")
    assert ran.status == 0
    assert ran.json == {"file": str(out), "form": form, "events": 13, "people": ran.json["people"]}
    ran = grown("import", f"all.{form}", "--store", str(folder / "again"))
    assert (ran.status, "13 events" in ran.out) == (0, True)
    assert kept(folder / "again") == kept(folder / "store")
    assert (folder / "again" / places.LOG_NAME).read_bytes().count(b"\n") == 13  # one event a line
    assert list((folder / "again").glob(".*")) == []


def test_a_file_that_came_in_the_meantime_is_not_written_over(folder: Path) -> None:
    """Two programs begin to write the same file, and the other is done first."""
    out = folder / "all.jsonl"

    def write() -> None:
        with exchange.whole_file(out) as file:
            file.write(b"ours")
            out.write_bytes(b"theirs")

    with pytest.raises(WrongInput, match="exists already"):
        write()
    assert out.read_bytes() == b"theirs"
    assert sorted(folder.glob(".*")) == []


def test_where_files_have_only_one_name_it_is_written_all_the_same(
    grown: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unknown(*_: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(os, "link", unknown)
    assert grown("export", "--out", str(folder / "all.jsonl")).status == 0
    assert sorted(path.name for path in folder.glob("*all*")) == ["all.jsonl"]


def test_the_form_may_be_said_when_the_name_does_not(grown: Run, folder: Path) -> None:
    ran = grown("export", "--out", str(folder / "all.txt"))
    assert (ran.status, "--as" in ran.err) == (2, True)
    assert grown("export", "--out", str(folder / "all.txt"), "--as", "jsonl").status == 0
    assert (folder / "all.txt").read_text("utf-8").startswith('{"tethera": "export"')
    assert grown("import", "all.txt", "--store", str(folder / "again")).status == 0


def test_a_file_that_is_there_is_not_written_over(grown: Run, folder: Path) -> None:
    before = (folder / "ropes.csv").read_bytes()
    for command in ("export", "backup"):
        ran = grown(command, "--out", str(folder / "ropes.csv"))
        assert (ran.status, "exists already" in ran.err) == (2, True)
    assert (folder / "ropes.csv").read_bytes() == before
    assert sorted(path.name for path in folder.iterdir()) == ["quillet.toml", "ropes.csv", "store"]


def test_a_dry_run_of_an_export_records_nothing(grown: Run, folder: Path) -> None:
    grown("export", "--out", str(folder / "all.jsonl"))
    ran = grown("import", "all.jsonl", "--store", str(folder / "again"), "--dry-run")
    assert (ran.status, "Nothing recorded" in ran.out) == (0, True)
    assert not (folder / "again").exists()


def test_what_a_later_export_has_more_is_added_and_another_store_is_left_alone(grown: Run, folder: Path) -> None:
    shutil.copytree(folder / "store", folder / "copy")
    grown("record", "washed", "1", "how=hand")
    grown("export", "--out", str(folder / "later.jsonl"))
    ran = grown("import", "later.jsonl", "--store", str(folder / "copy"), "--json")
    assert (ran.status, ran.json["events_added"]) == (0, 1)
    assert kept(folder / "copy") == kept(folder / "store")
    ran = grown("import", "later.jsonl")
    assert (ran.status, "Nothing to add" in ran.out) == (0, True)
    grown("record", "washed", "7", "--store", str(folder / "copy"))
    grown("record", "washed", "8")
    before = kept(folder / "copy")
    grown("export", "--out", str(folder / "other.jsonl"))
    ran = grown("import", "other.jsonl", "--store", str(folder / "copy"))
    assert (ran.status, "differs from event 14 on" in ran.err) == (1, True)
    assert kept(folder / "copy") == before


def test_a_damaged_export_names_its_line_and_makes_no_store(grown: Run, folder: Path) -> None:
    grown("export", "--out", str(folder / "all.jsonl"))
    lines = (folder / "all.jsonl").read_text("utf-8").splitlines()
    (folder / "bad.jsonl").write_text("\n".join([*lines[:5], lines[5][:-9], *lines[6:]]), encoding="utf-8")
    ran = grown("import", "bad.jsonl", "--store", str(folder / "again"))
    assert ran.status == 2
    assert "bad.jsonl: Line 6: it is not whole JSON" in ran.err
    assert not (folder / "again").exists()


def test_options_of_a_spreadsheet_mean_nothing_for_an_export(grown: Run, folder: Path) -> None:
    grown("export", "--out", str(folder / "all.csv"))
    ran = grown("import", "all.csv", "--code", "ZZ", "--store", str(folder / "again"))
    assert (ran.status, "Leave --code out" in ran.err) == (2, True)


def test_a_backup_of_a_store_in_files_is_restored_with_its_photographs_and_knots(grown: Run, folder: Path) -> None:
    (folder / "store" / "photos" / "ab").mkdir(parents=True)
    (folder / "store" / "photos" / "ab" / "abcd.jpg").write_bytes(b"picture")
    (folder / "store" / "photos" / "ab" / ".part").write_bytes(b"half")
    (folder / "store" / "knots.toml").write_text("butterfly = 0.44\n", encoding="utf-8")
    ran = grown("backup", "--out", str(folder / "all.zip"))
    assert (ran.status, "1 photograph" in ran.out) == (0, True)
    ran = grown("restore", "all.zip", "--store", str(folder / "again"))
    assert (ran.status, "qt: 13 events" in ran.out) == (0, True)
    assert kept(folder / "again") == kept(folder / "store")
    assert (folder / "again" / "photos" / "ab" / "abcd.jpg").read_bytes() == b"picture"
    assert (folder / "again" / "knots.toml").read_text("utf-8") == "butterfly = 0.44\n"
    assert sorted(path.name for path in folder.glob(".*")) == []


def test_a_backup_is_not_restored_over_anything(grown: Run, folder: Path) -> None:
    grown("backup", "--out", str(folder / "all.zip"))
    before = kept(folder / "store")
    ran = grown("restore", "all.zip")
    assert (ran.status, "is not empty. Nothing was written" in ran.err) == (2, True)
    assert kept(folder / "store") == before


def test_a_backup_given_to_import_says_what_brings_it_back(grown: Run, folder: Path) -> None:
    grown("backup", "--out", str(folder / "all.zip"))
    ran = grown("import", "all.zip", "--store", str(folder / "again"))
    assert (ran.status, "tethera restore all.zip" in ran.err) == (2, True)


def test_a_damaged_backup_makes_no_folder(grown: Run, folder: Path) -> None:
    grown("backup", "--out", str(folder / "all.zip"))
    data = (folder / "all.zip").read_bytes()
    (folder / "short.zip").write_bytes(data[:-40])
    (folder / "text.zip").write_text("not a backup", encoding="utf-8")
    for name in ("short.zip", "text.zip"):
        ran = grown("restore", name, "--store", str(folder / "again"))
        assert (ran.status, "damaged or cut short" in ran.err) == (2, True)
    assert sorted(path.name for path in folder.iterdir() if path.is_dir()) == ["store"]


def test_what_stops_a_restore_half_way_leaves_nothing(
    grown: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    grown("backup", "--out", str(folder / "all.zip"))

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    ran = grown("restore", "all.zip", "--store", str(folder / "again"))
    assert (ran.status, "no room left on the disk" in ran.err) == (1, True)
    assert sorted(path.name for path in folder.iterdir() if path.is_dir()) == ["store"]


def test_a_folder_without_a_store_has_nothing_to_back_up(tethera: Run, folder: Path) -> None:
    assert tethera("backup", "--out", str(folder / "all.zip")).status == 2
    assert not (folder / "all.zip").exists()


def test_every_key_is_in_the_manual_of_answers_for_machines(grown: Run, folder: Path) -> None:
    words = set(re.findall(r"`([a-z_]+)`", MANUAL))
    for asked in (
        ("export", "--out", str(folder / "all.jsonl"), "--json"),
        ("import", str(folder / "all.jsonl"), "--json"),
        ("backup", "--out", str(folder / "all.zip"), "--json"),
        ("restore", str(folder / "all.zip"), "--store", str(folder / "again"), "--json"),
    ):
        answer = grown(*asked).json
        keys = set(answer).union(*answer.get("stores", ()))
        assert keys - words == set()


_MAKE = """
import sys
from pathlib import Path
from tethera.web import installation, serving
installation.open_folder(Path(sys.argv[1]))
from tethera.web import demo_people
serving.bring_in_file_store(Path(sys.argv[1]), "events.jsonl", "people.json")
demo_people.make()
from tethera.web.accounts.models import Account
account = Account.objects.first()
account.set_password("three long words")
account.save()
from tethera.web.store.models import Photo, Store
Photo.objects.create(store=Store.objects.get(), sha256="ab" * 32, width=4, height=3, size=7)
Store.objects.create(slug="second", name="A second store")
"""
_OPEN = """
import sys
from pathlib import Path
from tethera.web import installation
installation.open_folder(Path(sys.argv[1]))
"""
_TELL = """
import json, sys
from pathlib import Path
from tethera.store import encode_recorded
from tethera.web import installation, kept
installation.open_folder(Path(sys.argv[1]))
all = kept.kept(Path(sys.argv[1]))
stores = [[s.slug, s.name, [encode_recorded(e) for e in s.events], dict(s.names), s.about] for s in all.stores]
print(json.dumps([stores, all.accounts, [f.name for f in all.files]]))
from tethera.web.accounts.models import Account
print(any(each.check_password("three long words") for each in Account.objects.all()))
"""


def python(script: str, folder: Path) -> str:
    """Run a script in a process of its own: Django is set up over one folder in a process."""
    asked = [sys.executable, "-W", "ignore", "-c", script, str(folder)]
    return subprocess.run(
        asked, check=True, capture_output=True, text=True, timeout=120, env=_without_settings()
    ).stdout


def command(*words: str) -> subprocess.CompletedProcess[str]:
    """Run a command in a process of its own."""
    asked = [sys.executable, "-m", "tethera.cli.main", *words]
    return subprocess.run(asked, check=False, capture_output=True, text=True, timeout=120, env=_without_settings())


def _without_settings() -> dict[str, str]:
    return {
        name: value
        for name, value in os.environ.items()
        if name not in ("DJANGO_SETTINGS_MODULE", "TETHERA_DATABASE", "TETHERA_STORE")
    }


def test_a_database_with_accounts_photographs_and_two_stores_comes_back_whole(grown: Run, folder: Path) -> None:
    events, people = kept(folder / "store")
    (folder / "store" / "photos" / "ab").mkdir(parents=True)
    (folder / "store" / "photos" / "ab" / f"{'ab' * 32}.jpg").write_bytes(b"picture")
    python(_MAKE, folder / "store")
    before = python(_TELL, folder / "store")
    stores, accounts, photos = json.loads(before.splitlines()[0])
    assert stores[0][:4] == ["qt", "Quillet Team", events, people]
    assert (len(accounts), len(photos), before.splitlines()[1]) == (4, 1, "True")
    ran = command("backup", "--store", str(folder / "store"), "--out", str(folder / "all.zip"))
    assert (ran.returncode, "2 stores" in " ".join(ran.stdout.split())) == (0, True), ran.stderr
    ran = command("restore", str(folder / "all.zip"), "--store", str(folder / "again"))
    assert (ran.returncode, "4 accounts" in " ".join(ran.stdout.split())) == (0, True), ran.stderr
    assert python(_TELL, folder / "again") == before
    assert (folder / "again" / "photos" / "ab" / f"{'ab' * 32}.jpg").read_bytes() == b"picture"
    assert sorted(path.name for path in folder.glob(".*")) == []


def test_a_store_of_a_database_is_exported_and_brought_into_an_empty_one_beside_it(grown: Run, folder: Path) -> None:
    events, people = kept(folder / "store")
    python(_MAKE, folder / "store")
    out = folder / "all.csv"
    assert command("export", "--store", str(folder / "store" / "qt"), "--out", str(out)).returncode == 0
    ran = command("import", str(out), "--store", str(folder / "store" / "second"))
    assert (ran.returncode, "13 events" in ran.stdout) == (0, True), ran.stderr
    stores = json.loads(python(_TELL, folder / "store").splitlines()[0])[0]
    assert [each[2:4] for each in stores] == [[events, people], [events, people]]


def test_an_export_is_brought_into_a_database_that_has_no_store_yet(grown: Run, folder: Path) -> None:
    events, people = kept(folder / "store")
    grown("export", "--out", str(folder / "all.jsonl"))
    python(_OPEN, folder / "pages")
    ran = command("import", str(folder / "all.jsonl"), "--store", str(folder / "pages"))
    assert (ran.returncode, "13 events" in ran.stdout) == (0, True), ran.stderr
    stores = json.loads(python(_OPEN + _TELL, folder / "pages").splitlines()[0])[0]
    assert [each[:4] for each in stores] == [["qt", "Quillet Team", events, people]]
