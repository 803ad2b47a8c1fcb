"""Where the store lies and how it is opened: --store, else TETHERA_STORE, else the user's data folder."""

import getpass
import os
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

import platformdirs

from tethera.cli import errors, terminal
from tethera.store import FileLog, People, Register

LOG_NAME, PEOPLE_NAME = "events.jsonl", "people.json"


@dataclass(frozen=True)
class OpenStore:
    """A store's folder with its log, the register over it, and its people."""

    folder: Path
    log: FileLog
    register: Register
    people: People

    def person(self, name: str) -> str:
        """The id of a person by name, given one when new; the name itself stays out of the log."""
        return self.people.id_of(name)


def store_folder(named: str | None) -> Path:
    """Folder of the store the words point to; it need not exist yet."""
    chosen = named or os.environ.get("TETHERA_STORE")
    return Path(chosen).expanduser() if chosen else platformdirs.user_data_path("tethera", appauthor=False) / "store"


def open_store(named: str | None, *, create: bool = False) -> OpenStore:
    """Open the store; say what a repair after a power cut did. A missing store is an error unless `create`."""
    folder = store_folder(named)
    log_path = folder / LOG_NAME
    if not create and not log_path.is_file():
        raise errors.WrongInput(
            f"There is no store in {folder}. Bring one in with  tethera import ropes.xlsx --code UG --store {folder}  "
            "or name another folder with --store."
        )
    folder.mkdir(parents=True, exist_ok=True)
    log = FileLog(log_path)
    if log.repair:
        terminal.warn(log.repair)
    return OpenStore(folder, log, Register(log), People(folder / PEOPLE_NAME))


def who(named: str | None) -> str:
    """The name of who acts: --by, else the user's name on this machine."""
    if named:
        return named
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "somebody"


def now() -> datetime:
    """This moment with its time zone: only the door looks at the clock."""
    return datetime.now().astimezone()


def today() -> date:
    """Today where the user is."""
    return now().date()
