"""A PostgreSQL of the test's own: in a folder that goes away, on a free port of this machine."""

import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any


def binaries() -> Path | None:
    """The folder of initdb and postgres: Debian keeps them off the PATH."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    newest = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return newest[-1].parent if newest else None


@dataclass(frozen=True)
class Cluster:
    """A PostgreSQL that can be killed and started again."""

    folder: Path
    port: int
    programs: Path
    options: str

    @property
    def address(self) -> str:
        """Of its one database, as TETHERA_DATABASE takes it."""
        return f"postgresql://tethera@127.0.0.1:{self.port}/postgres"

    def new_database(self, name: str) -> str:
        """One more empty database, and its address."""
        words = ["-h", "127.0.0.1", "-p", str(self.port), "-U", "tethera", name]
        subprocess.run([self.programs / "createdb", *words], check=True, timeout=60, **_quiet(self.folder))
        return f"postgresql://tethera@127.0.0.1:{self.port}/{name}"

    def start(self) -> None:
        """Start it, and wait until it answers."""
        self._control("-o", self.options, "start", check=True)

    def stop(self) -> None:
        """End it at once."""
        self._control("-m", "immediate", "stop", check=False)

    def processes(self) -> list[int]:
        """The postmaster first, then all it has started."""
        postmaster = int((self.folder / "data" / "postmaster.pid").read_text().split()[0])
        return [postmaster, *_children(postmaster)]

    def backends(self) -> list[int]:
        """Those that serve a connection."""
        _postmaster, *others = self.processes()
        return [each for each in others if b": tethera " in _command_line(each)]

    def kill(self) -> None:
        """SIGKILL to all of it, as when the machine stops: nothing is flushed, nothing is said."""
        gone = self.processes()
        os.kill(gone[0], signal.SIGSTOP)  # so that it starts no other meanwhile
        gone = self.processes()
        for each in gone:
            try:
                os.kill(each, signal.SIGKILL)
            except ProcessLookupError:
                continue
        until = time.monotonic() + 20
        while any(_lives(each) for each in gone) and time.monotonic() < until:
            time.sleep(0.01)
        # After a power cut nobody has the number of the dead postmaster; here it may lie about as a zombie.
        (self.folder / "data" / "postmaster.pid").unlink(missing_ok=True)

    def _control(self, *words: str, check: bool) -> None:
        command = [self.programs / "pg_ctl", "-D", self.folder / "data", "-w", "-t", "60", "-l", self.folder / "log"]
        subprocess.run([*command, *words], check=check, timeout=90, **_quiet(self.folder))


def _children(process: int) -> list[int]:
    found = []
    for each in Path("/proc").glob("[0-9]*/stat"):
        try:
            if int(each.read_text().rpartition(")")[2].split()[1]) == process:
                found.append(int(each.parent.name))
        except OSError:
            continue
    return found


def _command_line(process: int) -> bytes:
    try:
        return Path(f"/proc/{process}/cmdline").read_bytes()
    except OSError:
        return b""


def _lives(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def _quiet(folder: Path) -> dict[str, Any]:
    # PostgreSQL refuses to run as root: there it runs as the user its package made.
    as_user = {"user": "postgres", "group": "postgres"} if os.name == "posix" and os.geteuid() == 0 else {}
    return {"stdout": subprocess.DEVNULL, "stderr": subprocess.STDOUT, "cwd": folder, **as_user}


@contextmanager
def cluster(options: str = "") -> Iterator[Cluster]:
    """A fresh, empty PostgreSQL with settings as `-c fsync=off`."""
    programs = binaries()
    if programs is None:
        raise FileNotFoundError("no PostgreSQL on this machine")
    folder = Path(tempfile.mkdtemp(prefix="tethera-postgresql-"))
    if "user" in _quiet(folder):
        shutil.chown(folder, "postgres", "postgres")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    initdb = [programs / "initdb", "-D", folder / "data", "-U", "tethera", "-A", "trust", "-E", "UTF8", "--no-sync"]
    subprocess.run(initdb, check=True, timeout=60, **_quiet(folder))
    listening = f"-c port={port} -c listen_addresses=127.0.0.1 -c unix_socket_directories=''"
    made = Cluster(folder, port, programs, f"{listening} {options}")
    made.start()
    try:
        yield made
    finally:
        made.stop()
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def server() -> Iterator[str]:
    """The address of a fresh, empty database that need not outlive anything."""
    with cluster("-c fsync=off") as made:
        yield made.address
