"""Names of persons, beside the log: events carry ids only, so that a name can be erased and the log stay as it is."""

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tethera.store.file_log import held

#: What of an entry holds a person's id: who wrote it down; who took, brought back, examined or cleared.
WHO = ("by", "person")


def plain_name(name: str) -> str:
    """A name as it is compared with another: in single blanks, whatever its capitals.

    >>> plain_name(" Maud  Ellerbeck ")
    'maud ellerbeck'
    """
    return " ".join(name.split()).casefold()


def names_person(entry: Mapping[str, Any], person: str) -> bool:
    """Whether an entry of the log, as it is kept, names a person's id; what a correction puts in its place counts too.

    >>> names_person({"what": "corrected", "by": "p1", "replacement": {"what": "taken-out", "person": "p3"}}, "p3")
    True
    """
    inner: Any = entry
    while isinstance(inner, Mapping):
        if any(inner.get(field) == person for field in WHO):
            return True
        inner = inner.get("replacement")
    return False


def id_for(names: Mapping[str, str | None], name: str) -> tuple[str, str]:
    """The id of a person, one not yet given for a name not yet known, and the name in single blanks.

    >>> id_for({"p1": "Maud Ellerbeck", "p2": None}, " maud  ellerbeck "), id_for({"p1": None}, "Ines Ravel")
    (('p1', 'maud ellerbeck'), ('p2', 'Ines Ravel'))
    """
    wanted = " ".join(name.split())
    if not wanted:
        raise ValueError("a person needs a name")
    known = (key for key, each in names.items() if each is not None and each.casefold() == plain_name(wanted))
    return next(known, f"p{len(names) + 1}"), wanted


class People:
    """A JSON file of names by person id. An erased name leaves its id behind, so that no id is given twice."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def names(self) -> dict[str, str | None]:
        """Every id with its name, None where it was erased."""
        if not self.path.exists():
            return {}
        try:
            value = json.loads(self.path.read_text("utf-8"))
        except ValueError:
            value = None
        if not isinstance(value, dict) or not all(each is None or isinstance(each, str) for each in value.values()):
            raise ValueError(f"{self.path} is not a list of names by id. Restore it from a backup.")
        return value

    def name(self, person: str | None) -> str:
        """What to call a person; one whose name was erased is called by id."""
        return "" if person is None else self.names().get(person) or person

    def id_of(self, name: str) -> str:
        """The id of a person, a new one for a name not yet known."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with held(self.path):
            names = self.names()
            person, wanted = id_for(names, name)
            if person not in names:
                self._write({**names, person: wanted})
        return person

    def erase(self, person: str) -> None:
        """Forget a name."""
        with held(self.path):
            names = self.names()
            if person not in names:
                raise ValueError(f"there is no person {person}")
            self._write({**names, person: None})

    def put(self, names: Mapping[str, str | None]) -> None:
        """Take names over with their ids, as a file that is brought back has them."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with held(self.path):
            self._write(dict(names))

    def _write(self, names: dict[str, str | None]) -> None:
        fresh = self.path.with_name(f"{self.path.name}.new")
        with fresh.open("w", encoding="utf-8") as file:
            json.dump(names, file, ensure_ascii=False, indent=1)
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(self.path)
