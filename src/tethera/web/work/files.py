"""Files that long work makes or is given, until they are fetched or read."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from django.conf import settings

#: A spreadsheet being looked at is called so: it stays until it is brought in or put away.
DRAFT_PREFIX = "import-"
#: How long a file made by long work waits to be fetched.
_KEPT_SECONDS = 24 * 3600


def work_folder() -> Path:
    """Where they lie."""
    folder = Path(settings.FOLDER) / "work"
    folder.mkdir(exist_ok=True)
    return folder


@contextmanager
def whole_file(path: Path) -> Iterator[IO[bytes]]:
    """A file of the folder, there whole or not at all and for nobody else to read; old ones are cleared first."""
    for old in work_folder().iterdir():
        if old.is_file() and not old.name.startswith(DRAFT_PREFIX) and _age_seconds(old) > _KEPT_SECONDS:
            old.unlink(missing_ok=True)
    part = path.with_name(f".{path.name}.part")
    try:
        with open(os.open(part, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o600), "w+b") as file:  # noqa: PTH123
            yield file
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _age_seconds(path: Path) -> float:
    return time.time() - path.stat().st_mtime
