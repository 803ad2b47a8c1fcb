"""The record read back by a process of its own, over a fresh connection, and held against what was acknowledged."""

import json
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from faults.prepared import Prepared

_READ = """
import json, sys, time
from pathlib import Path
from tethera.web import installation
installation.open_folder(Path(sys.argv[1]))
from django.db import OperationalError, connection
from tethera.web.store.log import DatabaseLog
from tethera.web.store.models import Store
print("ready", flush=True)
for line in sys.stdin:
    until = time.monotonic() + 30
    while True:
        try:
            events = DatabaseLog(Store.objects.get(slug=line.strip()).pk).read()
            break
        except OperationalError:  # a PostgreSQL of which one process was killed starts again in a moment
            if time.monotonic() > until:
                raise
            time.sleep(0.2)
        finally:
            connection.close()
    print(json.dumps([getattr(each.event, "note", None) or "" for each in events]), flush=True)
"""


class Reader:
    """Another process that reads the whole log from its beginning whenever it is asked."""

    def __init__(self, store: Prepared) -> None:
        self._slug = store.slug
        command = [sys.executable, "-c", _READ, str(store.folder)]
        self._process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=store.environment
        )
        assert self._process.stdout is not None
        assert self._process.stdout.readline() == "ready\n"

    def entries(self) -> list[str]:
        """The numbered entries in the order of the log."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(f"{self._slug}\n")
        self._process.stdin.flush()
        return numbered(json.loads(self._process.stdout.readline()))

    def close(self) -> None:
        """End the process."""
        self._process.kill()
        self._process.communicate(timeout=30)


def numbered(notes: Sequence[str]) -> list[str]:
    """The numbers of numbered entries among notes.

    >>> numbered(["", "no 3-17.", "by hand"])
    ['3-17']
    """
    return [found[1] for each in notes if (found := re.fullmatch(r"no (\d+-\d+)\.", each))]


@dataclass(frozen=True)
class Tally:
    """What became of the entries."""

    acknowledged: int
    found: int
    lost: tuple[str, ...]
    twice: tuple[str, ...]
    never_sent: tuple[str, ...]

    @property
    def good(self) -> bool:
        """Whether every acknowledged entry is there, and none twice or out of nowhere."""
        return not (self.lost or self.twice or self.never_sent)


def tally(acknowledged: Sequence[str], attempted: Sequence[str], found: Sequence[str]) -> Tally:
    """Hold the record against what was acknowledged and sent.

    >>> tally(["a", "b"], ["a", "b", "c"], ["a", "c", "c", "x"])
    Tally(acknowledged=2, found=4, lost=('b',), twice=('c',), never_sent=('x',))
    """
    there = Counter(found)
    return Tally(
        len(acknowledged),
        len(found),
        tuple(each for each in acknowledged if each not in there),
        tuple(each for each, times in there.items() if times > 1),
        tuple(sorted(set(found) - set(attempted))),
    )
