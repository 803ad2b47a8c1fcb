"""A store in files that is served for the first time, killed in between: it is brought in once, and nothing is lost."""

import json
import subprocess
import sys
from pathlib import Path

from faults.prepared import Prepared, clean
from faults.served import serving, tethera

#: Ends the process where the files would get their other name: the database has them by then.
_KILLED = """
import os, sys
from pathlib import Path
from tethera.web import installation, serving
folder = Path(sys.argv[1])
installation.open_folder(folder)
Path.replace = lambda *_: os._exit(9)
serving.bring_in_file_store(folder, "events.jsonl", "people.json")
"""


def _names(store: Prepared) -> list[str]:
    return [each["rope"] for each in json.loads(tethera(store, "ropes", "--json").stdout)]


def test_killed_between_the_database_and_the_renaming_it_is_brought_in_once(tmp_path: Path) -> None:
    sheet = tmp_path / "ropes.csv"
    sheet.write_text("No,Length,Dia,Type\n1,30 m,9,A\n2,45 m,10,A\n", encoding="utf-8")
    store = Prepared(tmp_path / "store", clean(), "ug", ())
    assert tethera(store, "import", str(sheet), "--code", "UG", "--owner", "Ulvergarth Caving Club").returncode == 0
    ended = subprocess.run([sys.executable, "-c", _KILLED, str(store.folder)], env=store.environment, check=False)
    assert ended.returncode == 9
    assert (store.folder / "events.jsonl").is_file()
    for _ in range(2):
        with serving(store):
            pass
    assert not (store.folder / "events.jsonl").exists()
    assert (store.folder / "events.jsonl.brought-in").is_file()
    # One store: had it been brought in twice, the command would ask which of the two is meant.
    assert _names(store) == ["UG1", "UG2"]
