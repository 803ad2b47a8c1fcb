"""The pages served by gunicorn as docs/deploy.md says, in several processes, with workers of their own."""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from faults.prepared import Prepared


class Pages:
    """gunicorn and its processes."""

    def __init__(self, store: Prepared, processes: int, more: dict[str, str] | None = None) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        environment = store.environment | {
            "TETHERA_STORE": str(store.folder),
            "TETHERA_LISTEN": f"127.0.0.1:{self.port}",
            "TETHERA_PROCESSES": str(processes),
        }
        command = [sys.executable, "-m", "gunicorn", "-c", "python:tethera.web.gunicorn_conf"]
        self._told = store.folder.parent / f"gunicorn-{self.port}.txt"
        with self._told.open("wb") as told:
            self.process = subprocess.Popen(
                command, stdout=told, stderr=told, env=environment | (more or {}), start_new_session=True
            )
        self._wait()

    def _wait(self) -> None:
        until = time.monotonic() + 60
        while time.monotonic() < until and self.process.poll() is None:
            try:
                with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/sign-in", timeout=10):
                    return
            except urllib.error.HTTPError:
                return  # it answers
            except (urllib.error.URLError, ConnectionError):
                time.sleep(0.1)
        raise RuntimeError(f"gunicorn did not start: {self.told()}")

    def told(self) -> str:
        """What it wrote."""
        return self._told.read_text("utf-8", errors="replace")

    def processes(self) -> list[int]:
        """The processes that answer, not the one that watches over them."""
        me = self.process.pid
        return [int(each) for each in Path(f"/proc/{me}/task/{me}/children").read_text().split()]

    def stop(self) -> str:
        """As systemd does; what it told."""
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(40)
            except subprocess.TimeoutExpired:
                os.killpg(self.process.pid, signal.SIGKILL)
                self.process.wait(10)
        return self.told()


@contextmanager
def pages(store: Prepared, processes: int = 2, more: dict[str, str] | None = None) -> Iterator[Pages]:
    """Pages that are stopped at the end."""
    served = Pages(store, processes, more)
    try:
        yield served
    finally:
        served.stop()
