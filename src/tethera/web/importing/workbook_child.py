"""Reads a file of others in a child process with little memory and time, so that no file can take the program down."""

import datetime
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from tethera.basics import Cell, Sheet, UnreadableWorkbook, read_workbook
from tethera.store.exchange import Exported, UnreadableExport, from_lines, read_export, to_lines

_MEMORY_BYTES = 1024**3
#: A spreadsheet is read in a moment; a whole store has a line for everything that ever happened.
_CPU_SECONDS = {"sheets": 10, "export": 120, "altered": 120}
_PATIENCE_SECONDS = {"sheets": 30, "export": 240, "altered": 240}
_TOLD = 3


def read_workbook_safely(path: Path, name: str | None = None) -> tuple[Sheet, ...]:
    """Every sheet of a spreadsheet, or UnreadableWorkbook in one line whatever the file holds.

    `name` is what its owner calls the file, where it lies under another name here.
    """
    shown = name or path.name
    if not path.is_file():
        raise UnreadableWorkbook(f"{path if name is None else name}: there is no such file. Check the name.")
    answer = _asked("sheets", path, shown)
    return tuple(
        Sheet(sheet["name"], tuple(tuple(cell_from_json(cell) for cell in row) for row in sheet["rows"]))
        for sheet in json.loads(answer)
    )


def read_export_safely(path: Path, form: str, name: str, *, altered: bool = False) -> Exported:
    """A store's export in one of the forms; UnreadableWorkbook or UnreadableExport in one line.

    With `altered` also one whose chain does not hold: for whoever asks what was altered.
    """
    return from_lines(iter((_asked("altered" if altered else "export", path, name, form),)))


def _asked(what: str, path: Path, name: str, form: str = "") -> bytes:
    try:
        child = subprocess.run(
            [sys.executable, "-m", "tethera.web.importing.workbook_child", what, str(path), name, form],
            capture_output=True,
            timeout=_PATIENCE_SECONDS[what],
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise UnreadableWorkbook(f"{name} takes too long to read. Copy the ropes to a new sheet.") from None
    if child.returncode == _TOLD:
        raise UnreadableWorkbook(" ".join(child.stderr.decode("utf-8", "replace").split()))
    if child.returncode != 0:
        raise UnreadableWorkbook(
            f"{name} is damaged, or asks for more memory or time than a store's spreadsheet needs. "
            "Copy the ropes to a new sheet and save that."
        )
    return child.stdout


def cell_to_json(value: Cell) -> object:
    """A cell as JSON, which knows no dates: each goes as a pair of its kind and its ISO form.

    >>> cell_to_json(datetime.date(2021, 9, 3)), cell_to_json("45m")
    ({'date': '2021-09-03'}, '45m')
    """
    if isinstance(value, datetime.date | datetime.time):
        return {type(value).__name__: value.isoformat()}
    return value


def cell_from_json(value: Any) -> Cell:
    """A cell back from its JSON."""
    if not isinstance(value, dict):
        cell: Cell = value
        return cell
    ((kind, text),) = value.items()
    if kind == "time":
        return datetime.time.fromisoformat(text)
    return datetime.date.fromisoformat(text) if kind == "date" else datetime.datetime.fromisoformat(text)


def _limit(seconds: int) -> None:
    try:
        import resource
    except ImportError:
        return  # Windows has no such limits; the checks before parsing must do
    resource.setrlimit(resource.RLIMIT_AS, (_MEMORY_BYTES, _MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _child(what: str, path: Path, name: str, form: str) -> int:
    _limit(_CPU_SECONDS[what])
    try:
        if what in ("export", "altered"):
            with path.open("rb") as file:
                brought = read_export(file, form, altered=what == "altered")
            for line in to_lines(brought.events, brought.names, brought.head):
                sys.stdout.buffer.write(line)
            return 0
        sheets = read_workbook(path.read_bytes(), name)
    except UnreadableExport as error:
        sys.stderr.buffer.write(f"{name}: {error}".encode())
        return _TOLD
    except (UnreadableWorkbook, OSError) as error:
        sys.stderr.buffer.write(str(error).encode())
        return _TOLD
    rows = [{"name": each.name, "rows": [[cell_to_json(cell) for cell in row] for row in each.rows]} for each in sheets]
    sys.stdout.buffer.write(json.dumps(rows).encode())
    return 0


if __name__ == "__main__":
    sys.exit(_child(sys.argv[1], Path(sys.argv[2]), sys.argv[3], sys.argv[4]))
