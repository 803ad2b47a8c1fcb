"""Which workers live: each holds a lock as long as its process lives, and the lock goes with the process.

No clock is asked, so a clock set back or a long pause takes nobody for dead. On SQLite the lock is a file's, in the
folder of the store; on PostgreSQL the database's own, so that workers of several machines know of each other.
"""

import hashlib
import threading
from contextlib import suppress
from pathlib import Path

from django.db import Error, connection
from django.db.backends.base.base import BaseDatabaseWrapper
from filelock import FileLock, Timeout

from tethera.web.work.files import work_folder

#: First key of our locks at PostgreSQL, so that they are nobody else's: "teth" in ASCII.
_OURS = 0x74657468


class Life:
    """The sign of life of one worker, held by this process."""

    def __init__(self, worker: str) -> None:
        self._worker = worker
        self._file: FileLock | None = None
        self._line: BaseDatabaseWrapper | None = None
        self._guard = threading.RLock()

    def hold(self) -> None:
        """Begin to hold it, or see that it is still held: PostgreSQL lets go when the line to it breaks."""
        with self._guard:
            self._hold()

    def _hold(self) -> None:
        if connection.vendor != "postgresql":
            if self._file is None:
                self._file = FileLock(_path(self._worker), thread_local=False)
                self._file.acquire(timeout=5)
            return
        if self._line is None:
            self._line = connection.copy()
            # Whoever of this process looks after it uses it, one at a time.
            self._line.inc_thread_sharing()
            with self._line.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_lock(%s, %s)", [_OURS, _number(self._worker)])
            return
        try:
            with self._line.cursor() as cursor:
                cursor.execute("SELECT 1")
        except Error:
            self._hang_up()
            self._hold()

    def let_go(self) -> None:
        """The worker has ended."""
        with self._guard:
            if self._file is not None:
                self._file.release()
                Path(self._file.lock_file).unlink(missing_ok=True)
                self._file = None
            self._hang_up()

    def _hang_up(self) -> None:
        if self._line is not None:
            with suppress(Error):
                self._line.close()
            self._line = None


def lives(worker: str) -> bool:
    """Whether some process holds this worker's sign of life."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_try_advisory_lock(%s, %s)", [_OURS, _number(worker)])
            row = cursor.fetchone()
            if row is None or not row[0]:
                return True
            cursor.execute("SELECT pg_advisory_unlock(%s, %s)", [_OURS, _number(worker)])
        return False
    path = _path(worker)
    if not path.exists():
        return False
    try:
        with FileLock(path, timeout=0):
            pass
    except Timeout:
        return True
    path.unlink(missing_ok=True)
    return False


def _path(worker: str) -> Path:
    folder = work_folder() / "workers"
    folder.mkdir(exist_ok=True)
    return folder / f"{hashlib.sha256(worker.encode()).hexdigest()[:24]}.lives"


def _number(worker: str) -> int:
    """A name as a key of PostgreSQL: 32 bits with a sign.

    >>> -(2**31) <= _number("a") < 2**31
    True
    """
    return int.from_bytes(hashlib.sha256(worker.encode()).digest()[:4], signed=True)
