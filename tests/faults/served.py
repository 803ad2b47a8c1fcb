"""`tethera serve` as a process that can be killed, and started again over the same store."""

import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from faults.prepared import Prepared


class Served:
    """One server process. What it writes to its error output is kept in a file: nobody reads while it is killed."""

    def __init__(
        self,
        store: Prepared,
        *,
        wrapped: Sequence[str] = (),
        more: dict[str, str] | None = None,
        user: int | None = None,
    ) -> None:
        serve = [
            sys.executable,
            "-m",
            "tethera.cli.main",
            "serve",
            "--listen",
            "127.0.0.1:0",
            "--store",
            str(store.folder),
        ]
        self._errors: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115
        self._told = ""
        began = time.perf_counter()
        self.process = subprocess.Popen(
            [*wrapped, *serve],
            stdout=subprocess.PIPE,
            stderr=self._errors,
            env=store.environment | (more or {}),
            start_new_session=True,
            user=user,
        )
        assert self.process.stdout is not None
        said = self.process.stdout.readline().decode()
        found = re.search(r":(\d+)/", said)
        if not found:
            self.process.wait(30)
            self._close()
            raise RuntimeError(f"did not start: {said}{self._told}")
        self.port = int(found[1])
        self.started_s = time.perf_counter() - began

    def kill(self) -> None:
        """As by a power cut: no signal handler runs, nothing is flushed."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(30)
        self._close()

    def stop(self) -> str:
        """As by Ctrl-C; what it told on its error output."""
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGTERM)
            try:
                self.process.wait(30)
            except subprocess.TimeoutExpired:
                self.kill()
        self._close()
        return self.errors()

    def errors(self) -> str:
        """What it told on its error output so far."""
        if not self._errors.closed:
            self._errors.seek(0)
            self._told = self._errors.read().decode(errors="replace")
        return self._told

    def _close(self) -> None:
        self.errors()
        self._errors.close()
        if self.process.stdout is not None:
            self.process.stdout.close()


@contextmanager
def serving(store: Prepared, *, wrapped: Sequence[str] = (), more: dict[str, str] | None = None) -> Iterator[Served]:
    """A server that is stopped at the end."""
    server = Served(store, wrapped=wrapped, more=more)
    try:
        yield server
    finally:
        server.stop()


def tethera(store: Prepared, *words: str, more: dict[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    """One command at the terminal over the same store."""
    command = [sys.executable, "-m", "tethera.cli.main", *words, "--store", str(store.folder)]
    environment = store.environment | (more or {})
    return subprocess.run(command, capture_output=True, text=True, env=environment, timeout=120, check=False)


def folder_size(folder: Path) -> int:
    """Bytes of all files in a folder."""
    return sum(each.stat().st_size for each in folder.rglob("*") if each.is_file())
