"""The same code on a real PostgreSQL: the contract of the log, and every view's tests, run there once more."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from postgresql import binaries, server

ROOT = Path(__file__).parents[2]


@pytest.mark.skipif(bool(os.environ.get("TETHERA_DATABASE")), reason="this run is on PostgreSQL already")
def test_the_log_and_the_pages_do_the_same_on_postgresql(tmp_path: Path) -> None:
    if binaries() is None:
        pytest.skip("NO POSTGRESQL HERE: the log and the pages were not tried on it")
    with server() as address:
        ran = subprocess.run(
            [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-p", "no:xdist", "-x", "--tb=short",
             "tests/store/test_event_log_contract.py", "tests/web"],
            cwd=ROOT,
            env=os.environ | {"TETHERA_DATABASE": address},
            capture_output=True,
            text=True,
            timeout=220,
            check=False,
        )  # fmt: skip
    assert ran.returncode == 0, ran.stdout[-4000:] + ran.stderr[-2000:]
    assert " passed" in ran.stdout
