"""A full disk and a file that may only be read: a clear page, a clear sentence, nothing lost, and on it goes after."""

import io
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from faults.crowd import Browser, Recorder, plain
from faults.disks import may_mount, small_disk, without_powers
from faults.prepared import Prepared, clean, prepare
from faults.record import Reader, tally
from faults.served import Served, serving, tethera

_PAGES = ("", "/ropes", "/ropes/UG1", "/preparation")


@pytest.fixture
def made() -> Iterator[list[Recorder]]:
    """Everybody who recorded in a test; their connections are shut at its end."""
    recorders: list[Recorder] = []
    yield recorders
    for each in recorders:
        each.close()


def _recorder(made: list[Recorder], store: Prepared, server: Served) -> Recorder:
    recorder = Recorder(0, Browser(store.sessions[0]), store.slug)
    made.append(recorder)
    recorder.browser.connect(server.port)
    recorder.browser.get(f"/{store.slug}/ropes/UG1/do/washed")
    return recorder


def _pages(store: Prepared, recorder: Recorder) -> list[int]:
    return [recorder.browser.get(f"/{store.slug}{page}")[0] for page in _PAGES]


def _nothing_lost(store: Prepared, recorder: Recorder) -> None:
    reader = Reader(store)
    try:
        told = tally(recorder.acknowledged, recorder.attempted, reader.entries())
    finally:
        reader.close()
    assert told.good, told


@pytest.mark.skipif(not may_mount(), reason="NO DISK CAN BE MADE HERE: a full one was not tried")
def test_a_full_disk_is_told_and_costs_nothing(tmp_path: Path, made: list[Recorder]) -> None:
    with small_disk(tmp_path / "disk", 4) as disk:
        store = prepare(disk.folder / "store")
        with serving(store) as server:
            recorder = _recorder(made, store, server)
            assert [recorder.one() for _ in range(3)] == [302] * 3
            disk.fill()
            # What still fits into the space that the database had may be taken.
            answers = [recorder.one() for _ in range(6)]
            assert set(answers) <= {302, 507}
            assert answers[-1] == 507
            assert "The disk is full" in recorder.told[507]
            assert "nothing that was recorded before is lost" in recorder.told[507]
            assert _pages(store, recorder) == [200] * len(_PAGES)
            said = tethera(store, "record", "washed", "UG1", "how=hand")
            assert (said.returncode, "The disk is full" in said.stderr) == (1, True), said.stderr
            assert tethera(store, "ropes").returncode == 0
            time.sleep(1.5)  # the worker asks for work meanwhile, and is told the same
            disk.make_room()
            assert [recorder.one() for _ in range(3)] == [302] * 3
            told = server.stop()
        assert "Traceback" not in told
        assert "The disk is full" in told
        _nothing_lost(store, recorder)


@pytest.mark.skipif(not may_mount(), reason="NO DISK CAN BE MADE HERE: a photograph on a full one was not tried")
def test_a_photograph_that_finds_no_room_is_told_and_leaves_nothing(tmp_path: Path, made: list[Recorder]) -> None:
    with small_disk(tmp_path / "disk", 4) as disk:
        store = prepare(disk.folder / "store")
        with serving(store) as server:
            recorder = _recorder(made, store, server)
            disk.fill()
            status, page = recorder.browser.send_file(
                f"/{store.slug}/ropes/UG1/photos", "photos", "wet.png", _picture(), {"once": "p"}
            )
            assert status == 507, plain(page)
            assert "The disk is full" in page
            disk.make_room()
            assert not [each for each in (store.folder / "photos").rglob("*") if each.is_file()]
            told = server.stop()
        assert "Traceback" not in told


def _picture() -> bytes:
    file = io.BytesIO()
    Image.effect_noise((400, 300), 80).save(file, "PNG")
    return file.getvalue()


@pytest.mark.skipif(not may_mount(), reason="NO DISK CAN BE MADE HERE: a full one under a file was not tried")
def test_a_full_disk_under_a_store_in_files(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk", 1) as disk:
        sheet = tmp_path / "ropes.csv"
        sheet.write_text("No,Length,Dia,Type\n1,30 m,9,A\n", encoding="utf-8")
        store = Prepared(disk.folder / "store", clean(), "ug", ())
        assert tethera(store, "import", str(sheet), "--code", "UG", "--owner", "Ulvergarth").returncode == 0
        before = (store.folder / "events.jsonl").read_bytes()
        disk.fill()
        refused = [tethera(store, "record", "washed", "UG1", "how=hand", f"note={'x' * 3000}") for _ in range(3)]
        assert refused[-1].returncode == 1
        assert "no room left on the disk" in refused[-1].stderr
        assert (store.folder / "events.jsonl").read_bytes().startswith(before)
        disk.make_room()
        assert tethera(store, "record", "dried", "UG1").returncode == 0
        taken = sum(each.returncode == 0 for each in refused)
        assert len((store.folder / "events.jsonl").read_bytes().splitlines()) == len(before.splitlines()) + taken + 1


def test_a_file_that_may_only_be_read_is_told_and_can_be_read(tmp_path: Path, made: list[Recorder]) -> None:
    words = without_powers()
    if words is None:
        pytest.skip("NO SETPRIV HERE: root may write everywhere, and a file that may only be read was not tried")
    store = prepare(tmp_path / "store")
    with serving(store) as server:
        recorder = _recorder(made, store, server)
        assert recorder.one() == 302
    (store.folder / "tethera.sqlite3").chmod(0o444)
    with serving(store, wrapped=words) as server:
        recorder.browser.connect(server.port)
        assert [recorder.one() for _ in range(2)] == [503, 503]
        assert "The store can only be read" in recorder.told[503]
        assert _pages(store, recorder) == [200] * len(_PAGES)
        time.sleep(1.5)
        assert "Traceback" not in server.errors()
    for each in store.folder.glob("tethera.sqlite3*"):  # what the database lays beside its file has the same rights
        each.chmod(0o644)
    with serving(store, wrapped=words) as server:
        recorder.browser.connect(server.port)
        assert recorder.one() == 302
    _nothing_lost(store, recorder)


def test_a_folder_in_which_nothing_may_be_written_is_told_at_the_start(tmp_path: Path) -> None:
    words = without_powers()
    if words is None:
        pytest.skip("NO SETPRIV HERE: root may write everywhere, and a closed folder was not tried")
    store = prepare(tmp_path / "store")
    (store.folder / "tethera.sqlite3").chmod(0o444)
    store.folder.chmod(0o555)
    try:
        with pytest.raises(RuntimeError, match="The store can only be read") as told:
            Served(store, wrapped=words)
        assert "Traceback" not in str(told.value)
    finally:
        store.folder.chmod(0o755)
