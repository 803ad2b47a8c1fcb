"""Each kind of error becomes one exit status and a few plain words, here and nowhere else."""

import errno
import os
import sys
import traceback

from tethera.basics import UnreadableWorkbook
from tethera.cli.main import CANNOT, WRONG_INPUT
from tethera.rigging import UnreadableRoute
from tethera.store import DamagedLog, LogMovedOn, Refused, UnknownRope

_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


class WrongInput(Exception):
    """The words or a file given at the door were wrong; the message says what to do."""


class CannotBeDone(Exception):
    """What was asked cannot be done; the message says why."""


def tell(error: Exception) -> int:
    """Say what is wrong, where, and what to do; give the exit status."""
    match error:
        case WrongInput() | UnreadableRoute() | UnreadableWorkbook() | UnknownRope():
            return _say(str(error), WRONG_INPUT)
        case CannotBeDone() | LogMovedOn() | DamagedLog():
            return _say(str(error), CANNOT)
        case Refused():
            missing = "\n".join(f"  – {reason}" for reason in error.missing)
            return _say(f"{error}\n{missing}" if missing not in str(error) else str(error), CANNOT)
        case OSError() if error.errno in _NO_ROOM:
            where = f"{error.filename}: " if error.filename else ""
            told = "there is no room left on the disk. Nothing was recorded; what was recorded before is not lost."
            return _say(f"{where}{told} Make room, then run it again.", CANNOT)
        case OSError():
            where = f"{error.filename}: " if error.filename else ""
            return _say(f"{where}{error.strerror or error}. Check the path and its permissions.", CANNOT)
        case ValueError():
            return _say(str(error), WRONG_INPUT)
    trouble = _of_the_database(error)
    if trouble:
        return _say(trouble, CANNOT)
    if "TETHERA_TRACEBACK" in os.environ:
        traceback.print_exception(error)
    return _say(
        f"Tethera made a mistake of its own ({type(error).__name__}: {error}). Nothing was recorded. "
        "Run it again with TETHERA_TRACEBACK=1 and report what it prints.",
        CANNOT,
    )


def _of_the_database(error: Exception) -> str | None:
    # Only a command that has opened a database can meet its errors; the others need not wait for Django.
    if "tethera.web.settings" not in sys.modules:
        return None
    from tethera.web.trouble import trouble_of

    trouble = trouble_of(error)
    return f"{trouble.title}. {trouble.told}" if trouble else None


def _say(words: str, status: int) -> int:
    sys.stderr.write(f"tethera: {words}\n")
    return status
