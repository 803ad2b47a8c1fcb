"""Reads a spreadsheet in a child process with little memory and time, so that no file can take the program down."""

import datetime
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from tethera.basics import Cell, Sheet, UnreadableWorkbook, read_workbook

_MEMORY_BYTES = 1024**3
_CPU_SECONDS = 10
_PATIENCE_SECONDS = 30
_TOLD = 3


def read_workbook_safely(path: Path) -> tuple[Sheet, ...]:
    """Every sheet of a spreadsheet, or UnreadableWorkbook in one line whatever the file holds."""
    if not path.is_file():
        raise UnreadableWorkbook(f"{path}: there is no such file. Check the name.")
    try:
        child = subprocess.run(
            [sys.executable, "-m", "tethera.cli.workbook_child", str(path)],
            capture_output=True,
            timeout=_PATIENCE_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise UnreadableWorkbook(f"{path.name} takes too long to read. Copy the ropes to a new sheet.") from None
    if child.returncode == _TOLD:
        raise UnreadableWorkbook(" ".join(child.stderr.decode("utf-8", "replace").split()))
    if child.returncode != 0:
        raise UnreadableWorkbook(
            f"{path.name} is damaged, or asks for more memory or time than a store's spreadsheet needs. "
            "Copy the ropes to a new sheet and save that."
        )
    return tuple(
        Sheet(sheet["name"], tuple(tuple(_from_json(cell) for cell in row) for row in sheet["rows"]))
        for sheet in json.loads(child.stdout)
    )


def _to_json(value: Cell) -> object:
    # JSON knows no dates: each goes as a pair of its kind and its ISO form.
    if isinstance(value, datetime.date | datetime.time):
        return {type(value).__name__: value.isoformat()}
    return value


def _from_json(value: Any) -> Cell:
    if not isinstance(value, dict):
        cell: Cell = value
        return cell
    ((kind, text),) = value.items()
    if kind == "time":
        return datetime.time.fromisoformat(text)
    return datetime.date.fromisoformat(text) if kind == "date" else datetime.datetime.fromisoformat(text)


def _limit() -> None:
    try:
        import resource
    except ImportError:
        return  # Windows has no such limits; the checks before parsing must do
    resource.setrlimit(resource.RLIMIT_AS, (_MEMORY_BYTES, _MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (_CPU_SECONDS, _CPU_SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _child(path: Path) -> int:
    _limit()
    try:
        sheets = read_workbook(path.read_bytes(), path.name)
    except (UnreadableWorkbook, OSError) as error:
        sys.stderr.buffer.write(str(error).encode())
        return _TOLD
    answer = [{"name": each.name, "rows": [[_to_json(cell) for cell in row] for row in each.rows]} for each in sheets]
    sys.stdout.buffer.write(json.dumps(answer).encode())
    return 0


if __name__ == "__main__":
    sys.exit(_child(Path(sys.argv[1])))
