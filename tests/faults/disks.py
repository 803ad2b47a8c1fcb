"""A small disk of the test's own that can be filled, and a program that may not write where it may not."""

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class Disk:
    """A file system of a few megabytes."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def fill(self) -> None:
        """To the last byte."""
        with (self.folder / "fill").open("wb", buffering=0) as file:
            for block in (b"x" * 65536, b"x" * 512):
                try:
                    while True:
                        file.write(block)
                except OSError:
                    continue

    def make_room(self) -> None:
        """Take away what filled it."""
        (self.folder / "fill").unlink()


def may_mount() -> bool:
    """Whether this user may make a disk: root in a machine of its own."""
    return os.name == "posix" and os.geteuid() == 0 and shutil.which("mount") is not None


@contextmanager
def small_disk(folder: Path, megabytes: int) -> Iterator[Disk]:
    """A disk of that size at a folder; OSError where the system does not let it be made."""
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m", "tethera-test", str(folder)]
    ran = subprocess.run(mount, capture_output=True, text=True, timeout=20, check=False)
    if ran.returncode:
        raise OSError(ran.stderr)
    try:
        yield Disk(folder)
    finally:
        subprocess.run(["umount", "-l", str(folder)], timeout=20, check=True)


def without_powers() -> list[str] | None:
    """Words before a command so that permissions hold for it even where we are root; None where that cannot be had."""
    if os.geteuid() != 0:
        return []
    return ["setpriv", "--inh-caps=-all", "--bounding-set=-all"] if shutil.which("setpriv") else None
