"""The same code on a real PostgreSQL: the contracts, and the views that write most, run there once more."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from postgresql import binaries, server

ROOT = Path(__file__).parents[2]
#: What leans on the database: locks, transactions, numbers given to two at once, long work, everything put back.
TRIED = (
    *("tests/store/test_event_log_contract.py", "tests/store/test_people_contract.py"),
    *(f"tests/web/test_{name}.py" for name in ("database_log", "kept", "import", "people", "join", "first_visit")),
    *(f"tests/web/test_{name}.py" for name in ("rope_act", "new_ropes", "sent_twice", "stocktake", "year")),
    *(f"tests/web/test_{name}.py" for name in ("clearing", "forgetting", "stored_about_me")),
)


@pytest.mark.skipif(bool(os.environ.get("TETHERA_DATABASE")), reason="this run is on PostgreSQL already")
def test_the_log_and_the_pages_do_the_same_on_postgresql(tmp_path: Path) -> None:
    if binaries() is None:
        pytest.skip("NO POSTGRESQL HERE: the log and the pages were not tried on it")
    with server() as address:
        ran = subprocess.run(
            [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-p", "no:xdist", "-x", "--tb=short", *TRIED],
            cwd=ROOT,
            env=os.environ | {"TETHERA_DATABASE": address},
            capture_output=True,
            text=True,
            timeout=600,
            check=False,
        )  # fmt: skip
    assert ran.returncode == 0, ran.stdout[-4000:] + ran.stderr[-2000:]
    assert " passed" in ran.stdout
