"""What the disk or the database could not do, in words for whoever stands before it: at the pages and the terminal.

Nothing here knows what was to be recorded. Where the outcome is not certain (the database went away while it
answered), the words say so: a form sent twice counts once.
"""

import errno
import os
import shutil
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import DataError, Error, InterfaceError, OperationalError, connection
from django.utils.translation import gettext as _

#: Primary result codes of SQLite, https://www.sqlite.org/rescode.html
_LOCKED, _READ_ONLY, _DISK_ERROR, _DAMAGED, _FULL, _CANNOT_OPEN = (5, 6), (8,), (10,), (11, 26), (13,), (14,)
#: SQLSTATE classes of PostgreSQL, https://www.postgresql.org/docs/current/errcodes-appendix.html
_NO_ROOM_STATES, _READ_ONLY_STATES, _DAMAGED_STATES = ("53100",), ("25006",), ("XX001", "XX002")
_BUSY_STATES = ("40001", "40P01", "55P03", "57014")
_NO_ROOM_ERRORS = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
_READ_ONLY_ERRORS = (errno.EROFS, errno.EACCES, errno.EPERM)
#: Less room than this on the store's disk, and an error of the disk is taken for a full one [bytes].
_LITTLE_ROOM = 256 * 1024


@dataclass(frozen=True)
class Trouble:
    """A state of the machine below: the HTTP status that tells it, a heading, and what to do."""

    status: int
    title: str
    told: str


def trouble_of(error: BaseException) -> Trouble | None:
    """What is wrong below; None for an error that says nothing about the disk or the database."""
    if isinstance(error, DataError):
        return None
    if isinstance(error, OSError):
        return _of_the_disk(error)
    if not isinstance(error, Error):
        return None
    cause = error.__cause__
    code = getattr(cause, "sqlite_errorcode", None)
    state = getattr(cause, "sqlstate", None)
    if isinstance(code, int):
        return _of_sqlite(code & 0xFF)
    if isinstance(state, str):
        return _of_postgresql(state)
    if isinstance(error, OperationalError | InterfaceError):
        # Without a state nobody answered: the server is away, or went away.
        return _busy() if connection.vendor == "sqlite" else _away()
    return None


def _of_the_disk(error: OSError) -> Trouble | None:
    if error.errno in _NO_ROOM_ERRORS:
        return _no_room()
    return _read_only() if error.errno in _READ_ONLY_ERRORS and error.filename and _ours(error.filename) else None


def _ours(name: object) -> bool:
    return str(name).startswith(str(settings.FOLDER))


def _of_sqlite(code: int) -> Trouble | None:
    if code in _FULL or (code in (*_DISK_ERROR, *_CANNOT_OPEN) and _is_full(Path(settings.FOLDER))):
        return _no_room()
    if code in _READ_ONLY:
        return _read_only()
    if code in _LOCKED:
        return _busy()
    if code in _CANNOT_OPEN and not os.access(settings.FOLDER, os.W_OK):
        return _cannot_be_opened()
    if code in (*_DISK_ERROR, *_CANNOT_OPEN):
        return Trouble(
            503,
            _("The disk does not answer"),
            _(
                "The file of the store could not be read or written. Whatever was acknowledged before stays on the "
                "disk. Whoever looks after this machine should look at the disk and at who may write in {folder}. "
                "Then send it again: sent twice, it counts once."
            ).format(folder=settings.FOLDER),
        )
    return _damaged() if code in _DAMAGED else None


def _of_postgresql(state: str) -> Trouble | None:
    if state in _NO_ROOM_STATES:
        return _no_room()
    if state in _READ_ONLY_STATES:
        return _read_only()
    if state in _DAMAGED_STATES:
        return _damaged()
    if state in _BUSY_STATES:
        return _busy()
    # 08 lost connections, 53 no more room for visitors, 57P shut down or starting, 58 its own disk.
    return _away() if state[:2] in ("08", "53", "58") or state.startswith("57P") else None


def _is_full(folder: Path) -> bool:
    try:
        return shutil.disk_usage(folder).free < _LITTLE_ROOM
    except OSError:
        return False


def _no_room() -> Trouble:
    return Trouble(
        507,
        _("The disk is full"),
        _(
            "There is no room left on the disk of the store. This was not recorded; nothing that was recorded before "
            "is lost. Whoever looks after this machine must make room. Then send it again."
        ),
    )


def _read_only() -> Trouble:
    return Trouble(
        503,
        _("The store can only be read"),
        _(
            "The store takes nothing new: nothing may be written to its disk or its database. This was not recorded; "
            "nothing that was recorded before is lost. Whoever looks after this machine should look at who may write "
            "in {folder}, at each file there too. Then send it again."
        ).format(folder=settings.FOLDER),
    )


def _cannot_be_opened() -> Trouble:
    return Trouble(
        503,
        _("The store can only be read"),
        _(
            "Nothing may be written in {folder}, and without that its database cannot be opened. Nothing is lost. Let "
            "who runs Tethera write there, or copy the folder to where that may be done and open the copy."
        ).format(folder=settings.FOLDER),
    )


def _busy() -> Trouble:
    return Trouble(
        503, _("Busy"), _("The database did not answer in time. Nothing was recorded. Go back and send it again.")
    )


def _away() -> Trouble:
    return Trouble(
        503,
        _("The database is away"),
        _(
            "The database of the store does not answer. Nothing that was recorded is lost. It is not certain whether "
            "what you sent just now was recorded. Wait a minute, go back and send it again: sent twice, it counts once."
        ),
    )


def _damaged() -> Trouble:
    return Trouble(
        500,
        _("The record is damaged"),
        _("The file of the database is damaged. Stop Tethera, keep a copy of {folder}, and restore a backup.").format(
            folder=settings.FOLDER
        ),
    )
