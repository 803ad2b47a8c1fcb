"""An acknowledgement comes after the disk has said that it has the entry: seen from outside, with strace.

SIGKILL alone would not show it: what a program has written lies in the system's memory, and outlives the program but
not a power cut. So the calls are watched: the entry is written, fsync or fdatasync of that file returns, the answer
is sent.
"""

import subprocess
import sys
import threading
from pathlib import Path

import pytest

from faults import traced
from faults.crowd import Crowd
from faults.prepared import Prepared, clean, prepare
from faults.served import Served, tethera
from faults.traced import Call, calls, kept_after, watching, wrapped
from postgresql import binaries, cluster

pytestmark = pytest.mark.skipif(traced.found() is None, reason="NO STRACE HERE: it was not seen that answers wait")


def _recorded(store: Prepared, server: Served, people: int, each: int) -> list[str]:
    """Some people record so much each, at once; what was acknowledged."""
    crowd = Crowd(store)
    stop = threading.Event()
    threads = [threading.Thread(target=one.record, args=(server.port, stop, each)) for one in crowd.recorders[:people]]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(120)
    assert len(crowd.acknowledged) == people * each
    return crowd.acknowledged


def _answered(made: list[Call], entry: str) -> Call:
    """The call that sent the acknowledgement of an entry: the first 302 on the line on which it came."""
    # Its token is the last that its form sends.
    asked = next(c for c in made if c.name == "recvfrom" and f'once=t{entry}"' in c.text)
    line = asked.text.partition(",")[0]
    sent = (c for c in made if c.name == "sendto" and c.text.startswith(f'{line}, "HTTP/1.1 302'))
    return next(c for c in sent if c.began_s > asked.ended_s)


def test_on_sqlite_the_log_is_on_the_disk_before_the_answer_is_sent(tmp_path: Path) -> None:
    store = prepare(tmp_path / "store")
    server = Served(store, wrapped=wrapped(tmp_path / "trace"))
    try:
        entries = _recorded(store, server, people=4, each=3)
    finally:
        server.stop()
    made = calls(tmp_path / "trace")
    for entry in entries:
        written = next(c for c in made if c.name == "pwrite64" and "sqlite3-wal" in c.text and f"no {entry}." in c.text)
        kept = kept_after(made, written, "sqlite3-wal")
        assert kept is not None, entry
        assert written.ended_s <= kept.began_s <= kept.ended_s <= _answered(made, entry).began_s, entry


def test_on_postgresql_its_log_is_on_the_disk_before_the_answer_is_sent(tmp_path: Path) -> None:
    if binaries() is None:
        pytest.skip("NO POSTGRESQL HERE: it was not seen that its answers wait for the disk")
    with cluster() as database:
        store = prepare(tmp_path / "store", {"TETHERA_DATABASE": database.address})
        with watching(database.processes()[0], tmp_path / "database"):
            server = Served(store, wrapped=wrapped(tmp_path / "pages"))
            try:
                entries = _recorded(store, server, people=1, each=6)
            finally:
                server.stop()
    pages, below = calls(tmp_path / "pages"), calls(tmp_path / "database")
    for entry in entries:
        told = next(c for c in below if c.name == "recvfrom" and f"no {entry}." in c.text)
        kept = kept_after(below, told, "pg_wal")
        assert kept is not None, entry
        assert told.ended_s <= kept.began_s <= kept.ended_s <= _answered(pages, entry).began_s, entry


def test_at_the_terminal_the_file_is_on_the_disk_before_the_command_says_so(tmp_path: Path) -> None:
    folder = tmp_path / "store"
    sheet = tmp_path / "ropes.csv"
    sheet.write_text("No,Length,Dia,Type\n1,30 m,9,A\n", encoding="utf-8")
    store = Prepared(folder, clean(), "ug", ())
    brought = tethera(store, "import", str(sheet), "--code", "UG", "--owner", "Ulvergarth Caving Club")
    assert brought.returncode == 0, brought.stderr
    command = [
        sys.executable,
        "-m",
        "tethera.cli.main",
        "record",
        "washed",
        "UG1",
        "how=hand",
        "note=no 1-1.",
        "--store",
    ]
    ran = subprocess.run(
        [*wrapped(tmp_path / "trace"), *command, str(folder)],
        capture_output=True, text=True, env=store.environment, timeout=120, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stderr
    made = calls(tmp_path / "trace")
    written = next(c for c in made if c.name == "write" and "events.jsonl" in c.text and "no 1-1." in c.text)
    kept = kept_after(made, written, "events.jsonl")
    said = next(c for c in made if c.name == "write" and c.text.startswith("1<"))
    assert kept is not None
    assert written.ended_s <= kept.began_s <= kept.ended_s <= said.began_s
