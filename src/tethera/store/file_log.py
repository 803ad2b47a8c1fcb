"""The log as a file of JSON lines, and the names of persons beside it.

One append is one line: a single event as an object, several as an array, so that a power cut leaves all or none of
them. Writers take a lock between processes; a line is acknowledged only when it has reached the disk.
"""

import json
import os
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from tethera.store.chain import head_of, linked
from tethera.store.codec import decode_recorded, encode_recorded, encode_to_keep
from tethera.store.log import LogMovedOn, Recorded

_LOCK_SECONDS = 30


class DamagedLog(Exception):
    """The log cannot be read; the message says which line and why."""


class FileLog:
    """Events in a JSON-lines file. The file is made by the first append.

    `repair` says what was mended on opening, or is None: a last line cut short by a power failure was never
    acknowledged; it is moved to a file beside the log. A whole last event that lacks only its line end is kept.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.repair: str | None = None
        self._events: list[Recorded] = []
        self._bytes = 0
        self._lines = 0
        if self.path.exists() and self._tail():
            with self._lock():
                self._mend()

    def read(self) -> Sequence[Recorded]:
        """Every event so far; a line somebody is just writing is not there yet."""
        self._catch_up()
        return tuple(self._events)

    def append(self, expected_length: int, events: Sequence[Recorded]) -> None:
        """Add all of the events or none, on the disk before this returns."""
        for each in events:
            encode_to_keep(each)
        if not events:
            return
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with self._lock():
            if self.path.exists() and self._tail():
                self._mend()
            self._catch_up()
            if len(self._events) != expected_length:
                raise LogMovedOn(expected_length, len(self._events))
            encoded = [encode_recorded(each) for each in linked(events, head_of(self._events).sum)]
            self._write(json.dumps(encoded[0] if len(encoded) == 1 else encoded, ensure_ascii=False, allow_nan=False))
            self._catch_up()

    def _lock(self) -> AbstractContextManager[object]:
        return held(self.path)

    def _write(self, line: str) -> None:
        is_new = not self.path.exists()
        with self.path.open("ab") as file:
            before = file.seek(0, os.SEEK_END)
            try:
                file.write(line.encode() + b"\n")
                file.flush()
                os.fsync(file.fileno())
            except OSError:
                # A full disk must not leave half a line behind for the next writer.
                os.truncate(self.path, before)
                raise
        if is_new:
            sync_folder(self.path.parent)

    def _catch_up(self) -> None:
        if not self.path.exists():
            if self._bytes:
                raise DamagedLog(f"{self.path} was there and is gone. Put it back, or its backup.")
            return
        with self.path.open("rb") as file:
            if file.seek(0, os.SEEK_END) < self._bytes:
                raise DamagedLog(f"{self.path} has become shorter since it was read. Restore it from a backup.")
            file.seek(self._bytes)
            fresh = file.read()
        whole = fresh[: fresh.rfind(b"\n") + 1]
        events: list[Recorded] = []
        lines = whole.split(b"\n")[:-1]
        for number, line in enumerate(lines, self._lines + 1):
            try:
                events.extend(_read_line(line))
            except (ValueError, RecursionError) as error:
                raise DamagedLog(
                    f"{self.path}, line {number}: {_words(error)}. Nothing was changed; restore the line from a backup."
                ) from None
        self._events += events
        self._lines += len(lines)
        self._bytes += len(whole)

    def _tail(self) -> bytes:
        with self.path.open("rb") as file:
            size = file.seek(0, os.SEEK_END)
            tail = b""
            # Read backwards in growing steps: the log may be long and the last line short.
            step = 4096
            while b"\n" not in tail and len(tail) < size:
                file.seek(max(0, size - step))
                tail = file.read(min(size, step))
                step *= 8
        return tail[tail.rfind(b"\n") + 1 :]

    def _mend(self) -> None:
        """Under the lock nobody is writing, so a last line without its end was cut short."""
        tail = self._tail()
        if not tail:
            return
        try:
            json.loads(tail.decode())
        except (ValueError, RecursionError):
            self._move_aside(tail)
            return
        with self.path.open("ab") as file:
            file.write(b"\n")
            file.flush()
            os.fsync(file.fileno())
        self.repair = f"{self.path}: the last entry lacked its line end; the entry was kept."

    def _move_aside(self, tail: bytes) -> None:
        number = 1
        while (beside := self.path.with_name(f"{self.path.name}.torn-{number}")).exists():
            number += 1
        with beside.open("xb") as file:
            file.write(tail)
            file.flush()
            os.fsync(file.fileno())
        sync_folder(self.path.parent)
        with self.path.open("r+b") as file:
            file.truncate(file.seek(0, os.SEEK_END) - len(tail))
            os.fsync(file.fileno())
        self.repair = (
            f"{self.path}: the last line was cut short while it was written, and was never acknowledged. "
            f"Its {len(tail)} bytes are kept in {beside.name}. Record it again if it is missing."
        )


@contextmanager
def held(path: Path) -> Iterator[None]:
    """The lock of a file between processes, for the length of a block."""
    lock = FileLock(f"{path}.lock")
    try:
        lock.acquire(timeout=_LOCK_SECONDS)
    except Timeout:
        raise TimeoutError(
            f"{path} has been held by another program for {_LOCK_SECONDS} seconds. Close it and try again."
        ) from None
    try:
        yield
    finally:
        lock.release()


def _read_line(line: bytes) -> list[Recorded]:
    value = json.loads(line.decode())
    if not isinstance(value, list):
        return [decode_recorded(value)]
    events = []
    for number, each in enumerate(value, 1):
        try:
            events.append(decode_recorded(each))
        except ValueError as error:
            raise ValueError(f"event {number} of the line: {error}") from None
    return events


def _words(error: Exception) -> str:
    if isinstance(error, UnicodeDecodeError):
        return "the line is not text in UTF-8"
    if isinstance(error, json.JSONDecodeError):
        return f"not whole JSON at column {error.colno} ({error.msg})"
    return str(error)


def sync_folder(folder: Path) -> None:
    """Wait until the names in a folder are on the disk."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
