"""A backup comes back whole, or says what is wrong with it before anything could be written."""

import io
import json
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings

from any_log import LOGS, NAMES
from tethera.basics import PartialDate
from tethera.store import Bought, DocumentAttached, Recorded, Washed
from tethera.store.exchange import (
    Backup,
    Kept,
    KeptFile,
    KeptStore,
    Manifest,
    UnreadableBackup,
    lacking_photos,
    write_backup,
)

MADE = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
PHOTO = bytes(range(256)) * 8000
EVENTS = tuple(
    Recorded(event, MADE, "p1")
    for event in (
        Bought(rope="UG1", happened=PartialDate(2021, 9), length_cm=6000),
        *(Washed(rope="UG1", happened=PartialDate(2021, 9, 1 + number)) for number in range(28)),
        DocumentAttached(rope="UG1", happened=PartialDate(2021), title="Its leaflet", sha256="ab" * 32),
        DocumentAttached(rope="UG1", happened=PartialDate(2021), title="A flat spot", sha256="cd" * 32),
    )
)
UG = KeptStore("ug", "Ulvergarth Caving Club", EVENTS, {"p1": "Åsa Žák", "p2": None}, {"photos": [{"width": 4}]})
PHOTOS = (KeptFile("photos/ab/" + "ab" * 32 + ".jpg", len(PHOTO), lambda: io.BytesIO(PHOTO)),)
KNOTS = KeptFile("knots.toml", 17, lambda: io.BytesIO(b"butterfly = 0.44\n"))
ROUTE = KeptFile("routes/Møllers Pot (wet).toml", 0, io.BytesIO)
KEPT = Kept((UG,), [{"email": "asa@ulvergarth.invalid"}], (*PHOTOS, KNOTS, ROUTE))


def written(kept: Kept = KEPT) -> bytes:
    file = io.BytesIO()
    write_backup(file, kept, made=MADE, version="1.2.3")
    return file.getvalue()


WRITTEN = written()


def opened(data: bytes) -> Backup:
    return Backup(io.BytesIO(data))


def test_all_that_was_kept_comes_back() -> None:
    backup = opened(WRITTEN)
    told = backup.manifest
    assert (told.made, told.version, told.database, told.photos, told.accounts) == (MADE, "1.2.3", True, 1, 1)
    assert [backup.store(each) for each in told.stores] == [UG]
    assert backup.json("accounts.json") == KEPT.accounts
    assert backup.files == tuple(each.name for each in KEPT.files)
    assert [b"".join(backup.chunks(name)) for name in backup.files] == [PHOTO, b"butterfly = 0.44\n", b""]
    words = "1 store (ug: 31 events, 2 people), 1 photograph, 1 route and 1 account"
    assert told.in_words() == words


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(LOGS, NAMES)
def test_any_log_comes_back(log: list[Recorded], names: dict[str, str | None]) -> None:
    store = KeptStore("ug", "any", tuple(log), names)
    backup = opened(written(Kept((store,))))
    assert [backup.store(each) for each in backup.manifest.stores] == [store]


def test_the_record_in_a_backup_is_a_stores_own_file_of_lines() -> None:
    """Whoever has no Tethera left can still read it."""
    with zipfile.ZipFile(io.BytesIO(WRITTEN)) as archive:
        lines = archive.read("stores/ug/events.jsonl").decode().splitlines()
    assert json.loads(lines[1])["what"] == "washed"
    assert len(lines) == len(EVENTS)


def test_photographs_that_the_record_names_and_nobody_has_are_told() -> None:
    assert lacking_photos(KEPT) == ("cd" * 32,)


def test_a_name_that_could_not_be_restored_is_told_before_it_is_backed_up() -> None:
    odd = KeptFile("photos/holiday:snap.jpg", 3, lambda: io.BytesIO(b"abc"))
    with pytest.raises(ValueError, match=r"holiday:snap\.jpg cannot be restored under this name"):
        written(Kept((UG,), None, (odd,)))


def changed(change: Callable[[dict[str, bytes]], object]) -> bytes:
    """The backup with its members changed, as somebody with a zip program would."""
    with zipfile.ZipFile(io.BytesIO(WRITTEN)) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    change(members)
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return file.getvalue()


def set_in_manifest(**values: object) -> Callable[[dict[str, bytes]], object]:
    return lambda m: m.update({"manifest.json": json.dumps(json.loads(m["manifest.json"]) | values).encode()})


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda m: m.update({"stores/ug/people.json": m["stores/ug/people.json"].replace("Å".encode(), b"AA")}), "sum"),
        (lambda m: m.update({"stores/ug/people.json": b"{}"}), "stores/ug/people.json has not the size"),
        (lambda m: m.pop("stores/ug/events.jsonl"), "events.jsonl is not in the file"),
        (lambda m: m.pop("manifest.json"), "has no manifest.json"),
        (lambda m: m.update({"stores/xx/events.jsonl": b""}), "stores/xx/events.jsonl is in the file, but not in its"),
        (lambda m: m.update({"../../etc/passwd": b"x"}), "which no backup has. Nothing was written"),
        (lambda m: m.update({"/etc/passwd": b"x"}), "which no backup has"),
        (lambda m: m.update({"photos/../../x": b"x"}), "which no backup has"),
        (lambda m: m.update({"photos/.hidden": b"x"}), "which no backup has"),
        (lambda m: m.update({"photos/C:\\x": b"x"}), "which no backup has"),
        (lambda m: m.update({"routes/x. ": b"x"}), "which no backup has"),
        (lambda m: m.update({"secret-key": b"x"}), "which no backup has"),
        (lambda m: m.update({"photos/x\ny": b"x"}), "which no backup has"),
        (lambda m: m.update({"routes/x.toml": b"x"}), "routes/x.toml is in the file, but not in its manifest"),
        (lambda m: m.update({"manifest.json": b"{"}), "manifest.json is not whole JSON"),
        (lambda m: m.update({"manifest.json": b"[]"}), "does not say what a backup's should"),
        (lambda m: m.update({"manifest.json": b"[" * 99_999}), "manifest.json is not whole JSON"),
        (set_in_manifest(form=3), "of form 3, which is not known here: update Tethera"),
        (set_in_manifest(stores=[]), "do not fit together"),
        (set_in_manifest(kept_in="files"), "do not fit together"),
        (set_in_manifest(photos="many"), "does not say what a backup's should"),
        (set_in_manifest(made="yesterday"), "does not say what a backup's should"),
        (set_in_manifest(members={"../x": {"bytes": 1, "sha256": "0"}}), "is not in the file"),
        (set_in_manifest(members={"x" * 5000: {"bytes": 1, "sha256": "0"}}), "^x{80} is not in the file"),
        (set_in_manifest(form="x" * 5000), "of form x{40}, which"),
        (lambda m: m.update({"manifest.json": b'{"version": "\\ud800"}'}), "manifest.json is not whole JSON"),
    ],
)
def test_a_changed_backup_is_told_before_anything_is_written(
    change: Callable[[dict[str, bytes]], object], told: str
) -> None:
    with pytest.raises(UnreadableBackup, match=told):
        opened(changed(change))


def test_a_record_shorter_than_its_manifest_says_is_told() -> None:
    def fewer(members: dict[str, bytes]) -> None:
        manifest = json.loads(members["manifest.json"])
        manifest["stores"][0]["events"] += 1
        members["manifest.json"] = json.dumps(manifest).encode()

    backup = opened(changed(fewer))
    with pytest.raises(UnreadableBackup, match="stores/ug does not hold what the manifest says"):
        backup.store(backup.manifest.stores[0])


@pytest.mark.parametrize("length", [0, 1, 30, *(len(WRITTEN) - lost for lost in (1, 30, 9_000, 1_000_000))])
def test_a_backup_cut_short_is_told(length: int) -> None:
    with pytest.raises(UnreadableBackup, match="damaged or cut short"):
        opened(WRITTEN[:length])


def test_one_byte_changed_anywhere_is_told_or_changes_nothing() -> None:
    whole = opened(WRITTEN)
    before = [whole.store(each) for each in whole.manifest.stores]
    found = 0
    for at in range(0, len(WRITTEN), max(1, len(WRITTEN) // 400)):
        data = bytearray(WRITTEN)
        data[at] ^= 0x41
        try:
            backup = opened(bytes(data))
        except UnreadableBackup:
            found += 1
            continue
        # What no sum covers: the date of an entry and its like.
        assert [backup.store(each) for each in backup.manifest.stores] == before
        assert [b"".join(backup.chunks(name)) for name in backup.files] == [PHOTO, b"butterfly = 0.44\n", b""]
    assert found > 300


def test_a_zip_that_bursts_on_unpacking_is_told_after_little_reading() -> None:
    """The member says it is small and is not, or says that it is huge."""
    bomb = io.BytesIO()
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive:
        with archive.open("photos/a.jpg", "w") as member:
            for _ in range(300):
                member.write(b"\0" * 1024 * 1024)
        said = {"bytes": 300 * 1024 * 1024, "sha256": "0" * 64}
        manifest = {"tethera": "backup", "form": 1, "made": MADE.isoformat(), "version": "1", "kept_in": "files"}
        more = {"stores": [], "photos": 1, "accounts": 0, "members": {"photos/a.jpg": said}}
        archive.writestr("manifest.json", json.dumps(manifest | more))
    with pytest.raises(UnreadableBackup, match="has not the size it should have"):
        opened(bomb.getvalue())


def test_entries_that_lie_over_each_other_are_told() -> None:
    """Many names for the same packed bytes make a small file large."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("photos/a.jpg", PHOTO)
        archive.writestr("manifest.json", "{}")
        first = archive.filelist[0]
        for number in range(3):
            twin = zipfile.ZipInfo(f"photos/{number}.jpg")
            for name in ("header_offset", "compress_size", "file_size", "CRC", "compress_type"):
                setattr(twin, name, getattr(first, name))
            archive.filelist.append(twin)
    with pytest.raises(UnreadableBackup, match="overlap"):
        opened(file.getvalue())


def test_progress_is_told_from_nothing_to_all() -> None:
    told: list[tuple[int, int]] = []
    total = len(PHOTO) + 17 + 1
    write_backup(io.BytesIO(), KEPT, made=MADE, version="1", progress=lambda done, total, _: told.append((done, total)))
    assert (told[0], told[-1]) == ((0, total), (total, total))


def test_a_manifest_of_a_store_in_files_speaks_of_no_accounts() -> None:
    stores = ({"slug": "ug", "name": "", "events": 1, "people": 1},)
    assert (
        Manifest(MADE, "1", False, stores, 0, 0, {}).in_words() == "1 store (ug: 1 event, 1 person) and 0 photographs"
    )
