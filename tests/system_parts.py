"""What the tests need from the system beyond Python: found, installed where allowed, or named.

Run by `make test` before the tests. A room that starts to need a system part
adds its row here, so that a machine without it says which tests are skipped for it.
"""

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class SystemPart:
    """A program that some tests call: where it is looked for, its Debian packages, and what is skipped without it."""

    program: str
    debian_package: str
    skipped_without_it: str
    also_in: str = ""  # where it lies when it is not on the PATH, as a pattern

    def found(self) -> bool:
        """Whether it is there."""
        return shutil.which(self.program) is not None or (bool(self.also_in) and any(Path("/").glob(self.also_in)))


PARTS = (
    SystemPart("bash", "bash", "pressing Tab in a real shell"),
    SystemPart("cc", "gcc libc6-dev", "a clock that is put back under a running server"),
    SystemPart("chromium", "chromium", "every page in a real browser, and its accessibility"),
    SystemPart("initdb", "postgresql", "the log and the pages on PostgreSQL", "usr/lib/postgresql/*/bin/initdb"),
    SystemPart("strace", "strace", "that each acknowledgement waited for the disk"),
    SystemPart("soffice", "libreoffice-calc", "opening the exported spreadsheet in LibreOffice"),
)


def provide(part: SystemPart) -> bool:
    """Find the part, or install it where we are root on Debian or Ubuntu."""
    if part.found():
        return True
    if os.name == "posix" and os.geteuid() == 0 and shutil.which("apt-get"):
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        subprocess.run(["apt-get", "update"], check=False, **quiet)
        install = ["apt-get", "install", "-y", "--no-install-recommends", *part.debian_package.split()]
        subprocess.run(install, check=False, **quiet)
    return part.found()


if __name__ == "__main__":
    for missing in (part for part in PARTS if not provide(part)):
        sys.stderr.write(f"Not found: {missing.program}. Skipped without it: {missing.skipped_without_it}\n")
