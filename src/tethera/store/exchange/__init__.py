"""A whole store in one file, to take away, to read elsewhere and to bring back; and a backup of everything.

A face of its own beside the store's: only who exports loads what reads and writes files of others.
"""

from collections.abc import Iterable, Iterator
from typing import IO

from tethera.store.exchange.backup import (
    Backup,
    Kept,
    KeptFile,
    KeptStore,
    Manifest,
    UnreadableBackup,
    lacking_photos,
    write_backup,
)
from tethera.store.exchange.base import (
    AnotherStore,
    Exported,
    UnreadableExport,
    addition,
    check_chain,
    counted,
    read_names,
)
from tethera.store.exchange.lines import from_lines, log_lines, to_lines
from tethera.store.exchange.sheets import from_workbook, holds_an_export, write_workbook
from tethera.store.exchange.table import COLUMNS, from_csv, to_csv
from tethera.store.rope_state import RopeState

#: The forms of an export, by the ending of the file.
FORMS = ("jsonl", "xlsx", "csv")
_CHUNK = 1024 * 1024


def write_export(file: IO[bytes], form: str, what: Exported, ropes: Iterable[RopeState]) -> None:
    """Write a store in one of the forms; the ropes as they are stand only in a workbook."""
    if form == "xlsx":
        write_workbook(file, what.events, what.names, ropes)
        return
    lines: Iterator[bytes] = {"jsonl": to_lines, "csv": to_csv}[form](what.events, what.names)
    for line in lines:
        file.write(line)


def form_of(file: IO[bytes]) -> str | None:
    """In which form a file is an export of ours, by what it holds; None when it is something else."""
    start = file.read(4096)
    file.seek(0)
    found = None
    if start.startswith(b"PK\3\4"):
        found = "xlsx" if holds_an_export(file) else None
    elif start.lstrip(b"\xef\xbb\xbf \r\n\t").startswith((b'{"tethera"', b'{"recorded"', b'[{"recorded"')):
        found = "jsonl"
    elif COLUMNS[-1] in start.decode("utf-16" if start[:2] in (b"\xff\xfe", b"\xfe\xff") else "latin-1", "ignore"):
        found = "csv"
    file.seek(0)
    return found


def read_export(file: IO[bytes], form: str, *, altered: bool = False) -> Exported:
    """Read back an export; UnreadableExport names the line or row and says what was expected there.

    With `altered` also one whose chain does not hold: for whoever asks what was altered.
    """
    match form:
        case "jsonl":
            found = from_lines(iter(lambda: file.read(_CHUNK), b""))
        case "xlsx":
            found = from_workbook(file)
        case _:
            found = from_csv(file.read())
    if not altered:
        check_chain(found)
    return found


__all__ = [
    "FORMS",
    "AnotherStore",
    "Backup",
    "Exported",
    "Kept",
    "KeptFile",
    "KeptStore",
    "Manifest",
    "UnreadableBackup",
    "UnreadableExport",
    "addition",
    "counted",
    "form_of",
    "from_lines",
    "lacking_photos",
    "log_lines",
    "read_export",
    "read_names",
    "to_lines",
    "write_backup",
    "write_export",
]
