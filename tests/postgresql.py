"""A PostgreSQL of the test's own: in a folder that goes away, on a free port of this machine."""

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def binaries() -> Path | None:
    """The folder of initdb and postgres: Debian keeps them off the PATH."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    newest = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return newest[-1].parent if newest else None


@contextmanager
def server() -> Iterator[str]:
    """The address of a fresh, empty database, as TETHERA_DATABASE takes it."""
    programs = binaries()
    if programs is None:
        raise FileNotFoundError("no PostgreSQL on this machine")
    # PostgreSQL refuses to run as root: there it runs as the user its package made.
    as_user = {"user": "postgres", "group": "postgres"} if os.name == "posix" and os.geteuid() == 0 else {}
    folder = Path(tempfile.mkdtemp(prefix="tethera-postgresql-"))
    if as_user:
        shutil.chown(folder, "postgres", "postgres")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.STDOUT, "cwd": folder, **as_user}
    initdb = [programs / "initdb", "-D", folder / "data", "-U", "tethera", "-A", "trust", "-E", "UTF8", "--no-sync"]
    subprocess.run(initdb, check=True, timeout=60, **quiet)  # type: ignore[call-overload]
    options = f"-c port={port} -c listen_addresses=127.0.0.1 -c unix_socket_directories='' -c fsync=off"
    control = [programs / "pg_ctl", "-D", folder / "data", "-w", "-t", "60", "-l", folder / "log"]
    subprocess.run([*control, "-o", options, "start"], check=True, timeout=90, **quiet)  # type: ignore[call-overload]
    try:
        yield f"postgresql://tethera@127.0.0.1:{port}/postgres"
    finally:
        subprocess.run([*control, "-m", "immediate", "stop"], check=False, timeout=60, **quiet)  # type: ignore[call-overload]
        shutil.rmtree(folder, ignore_errors=True)
