"""A store in a folder of its own, and a way to run commands as a user does."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tethera.cli.main import main

ROPES = """No,Length,Rope,Bought,Maker,State
1,60m,10mm A,Sept 2019,Maker A,
2,45m,10mm A,Sept 2019,Maker A,
3,30/40,10mm A,Sept 2019,Maker A,
4,100 ft,11mm A,2020,Maker B,
5,25m,9mm B,03/09/2021,Maker C,
6,20m,10mm A,Sept 2019,Maker A,retired
7,32m,10mm A,Sept 2019,Maker A,
8,24m,10mm A,Sept 2019,Maker A,
9,18m,10mm A,Sept 2019,Maker A,
"""

ROUTE = """name = "Quillet Pot"
team = 3

[[pitch]]
name = "First"
depth = "12 m"
guide_rope = "20 m"
anchors = 3
to_next = "40 m"

[[pitch]]
name = "Second"
depth = "19 m"
guide_rope = "30 m"
anchors = 4
"""


@dataclass
class Ran:
    """What a command said and how it ended."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The answer for machines."""
        return json.loads(self.out)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a spreadsheet and a route, and the place of a store that does not exist yet."""
    (tmp_path / "ropes.csv").write_text(ROPES, encoding="utf-8")
    (tmp_path / "quillet.toml").write_text(ROUTE, encoding="utf-8")
    monkeypatch.setenv("TETHERA_STORE", str(tmp_path / "store"))
    monkeypatch.delenv("TETHERA_TRACEBACK", raising=False)
    return tmp_path


@pytest.fixture
def tethera(folder: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    """Run a command; words that name a file of the folder become its path."""

    def run(*words: str) -> Ran:
        placed = [str(folder / word) if (folder / word).is_file() else word for word in words]
        status = main(placed)
        said = capsys.readouterr()
        return Ran(status, said.out, said.err)

    return run


@pytest.fixture
def store(tethera: Callable[..., Ran]) -> Callable[..., Ran]:
    """Commands on a store that has been brought in from its spreadsheet."""
    assert tethera("import", "ropes.csv", "--code", "QT", "--owner", "Quillet Team").status == 0
    return tethera
