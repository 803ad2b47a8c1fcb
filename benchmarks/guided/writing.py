"""Readers that write what they read: a store's own file, an export brought into a store, a backup restored."""

import io
import tempfile
from argparse import Namespace
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from datetime import UTC, date, datetime
from pathlib import Path

from faults.good_files import events
from guided import CORPUS
from tethera.basics import PartialDate
from tethera.store import (
    GENESIS,
    FileLog,
    Fold,
    Register,
    Washed,
    decode_recorded,
    encode_recorded,
    linked,
    verify,
)
from tethera.store.exchange import (
    Kept,
    KeptFile,
    KeptStore,
    addition,
    log_lines,
    read_export,
    write_backup,
)

_ON = date(2026, 11, 26)
_NOW = datetime(2026, 11, 26, 9, tzinfo=UTC)
_ONE_MORE = Washed(rope="UG1", happened=PartialDate(2026, 11, 25), how="machine")


def log_file() -> bytes:
    """A store's own file of lines, chained."""
    return b"".join(log_lines(tuple(linked(events(), GENESIS))))


def old_log() -> bytes:
    """What an older program wrote: every kind of event."""
    return (sorted(CORPUS.iterdir())[0] / "events.jsonl").read_bytes()


def read_log(data: bytes) -> None:
    """Open a store of which this is the file, read every rope, and record one thing more."""
    with tempfile.TemporaryDirectory(prefix="guided-") as folder:
        path = Path(folder) / "log.jsonl"
        path.write_bytes(data)
        try:
            log = FileLog(path)
            read = log.read()
            for each in read:
                assert decode_recorded(encode_recorded(each)) == each, "an event is not read as it was written"
            verify(read)
            looked_at(Register(log))
        finally:
            # What was cut short lies beside, nothing is gone.
            beside = b"".join(each.read_bytes() for each in sorted(Path(folder).glob("*.torn-*")))
            now = path.read_bytes()
            assert now + beside in (data, data + b"\n"), "the file holds something else than it did"
        one_more(log, path)


def looked_at(register: Register) -> None:
    """Everything that the pages fold out of a record."""
    for each in register.ropes(_ON):
        register.events(each.id)
    register.to_do(_ON)
    register.store()


def one_more(log: FileLog, path: Path) -> None:
    """Recorded it stands at the end; refused, nothing has changed."""
    before, content = log.read(), path.read_bytes()
    try:
        Register(log).record(_ONE_MORE, recorded=_NOW, by="p1")
    except BaseException:
        assert path.read_bytes() == content, "something is half written"
        raise
    now = FileLog(path).read()
    assert now[:-1] == before, "what was there before is not there any more"
    assert now[-1].event == _ONE_MORE, "it is not there"


def bring_in(form: str) -> Callable[[bytes], None]:
    """Read an export in a form, and bring it into an empty store and into one that holds its beginning."""

    def act(data: bytes) -> None:
        brought = read_export(io.BytesIO(data), form)
        Fold(brought.events).store()
        with tempfile.TemporaryDirectory(prefix="guided-") as folder:
            path = Path(folder) / "log.jsonl"
            for have in (brought.events[:2], brought.events):
                added = addition(FileLog(path).read(), {}, brought)
                log, before = FileLog(path), path.read_bytes() if path.exists() else b""
                try:
                    log.append(len(log.read()), added.events[: len(have) - len(log.read())])
                except BaseException:
                    assert (path.read_bytes() if path.exists() else b"") == before, "something is half written"
                    raise
                # Written down anew they may carry a sum that they lacked.
                assert [each.event for each in FileLog(path).read()] == [each.event for each in have], (
                    "not all is there"
                )
            looked_at(Register(FileLog(path)))

    return act


def backup_of_files() -> bytes:
    """A backup of a store in files."""
    store = KeptStore("ug", "Ulvergarth Caving Club", tuple(linked(events(), GENESIS)), {"p1": "Maud Ellerbeck"}, {})
    route = b'name = "Tallow"\n[[pitch]]\nname = "A"\ndepth = "9 m"\n'
    files = (KeptFile("routes/tallow.toml", len(route), lambda: io.BytesIO(route)),)
    file = io.BytesIO()
    write_backup(file, Kept((store,), None, files), made=_NOW, version="1")
    return file.getvalue()


def restore(data: bytes) -> None:
    """At the terminal, into a new folder: there whole, or not there at all."""
    from tethera.cli import backup, errors

    with tempfile.TemporaryDirectory(prefix="guided-") as folder:
        path, new = Path(folder) / "b.zip", Path(folder) / "new"
        path.write_bytes(data)
        said = io.StringIO()
        with redirect_stdout(said), redirect_stderr(said):
            try:
                backup.restore(Namespace(file=str(path), store=str(new), json=False))
                status = 0
            except Exception as error:
                status = errors.tell(error)
        left = {each.name for each in Path(folder).iterdir()} - {"b.zip"}
        if status:
            assert not left, f"left behind: {left}"
            raise Told(said.getvalue().removeprefix("tethera: ").replace(folder, ""))
        assert left == {"new"}, f"left behind: {left}"
        looked_at(Register(FileLog(new / "events.jsonl")))


class Told(Exception):
    """What the terminal said."""
