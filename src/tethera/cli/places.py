"""Where the store lies and how it is opened: --store, else TETHERA_STORE, else the user's data folder.

A folder holds either one store in files of lines, which nothing but the terminal uses, or a database that the pages
use too, with one or several stores: FOLDER/ug names one of several.
"""

import getpass
import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Protocol

from tethera.cli import errors, terminal
from tethera.store import Event, EventLog, FileLog, People, Register
from tethera.web import installation

LOG_NAME, PEOPLE_NAME = "events.jsonl", "people.json"


class Names(Protocol):
    """Persons by id, in a file or a database."""

    def names(self) -> dict[str, str | None]:
        """Every id with its name, None where it was erased."""
        ...

    def name(self, person: str | None) -> str:
        """What to call a person."""
        ...

    def id_of(self, name: str) -> str:
        """The id of a person, a new one for a name not yet known."""
        ...

    def erase(self, person: str) -> None:
        """Forget a name."""
        ...


@dataclass(frozen=True)
class OpenStore:
    """A store's folder with its log, the register over it, and its people; `slug` names it in a database."""

    folder: Path
    log: EventLog
    register: Register
    people: Names
    slug: str | None = None

    def person(self, name: str) -> str:
        """The id of a person by name, given one when new; the name itself stays out of the log."""
        return self.people.id_of(name)


def store_folder(named: str | None) -> Path:
    """Folder of the store the words point to; it need not exist yet."""
    chosen = named or os.environ.get("TETHERA_STORE")
    return Path(chosen).expanduser() if chosen else installation.default_folder()


def has_store(named: str | None) -> bool:
    """Whether there is a store where the words point, in files or in a database."""
    folder = store_folder(named)
    return any(installation.is_installation(each) for each in (folder, folder.parent)) or (folder / LOG_NAME).is_file()


def open_store(named: str | None, *, create: bool = False) -> OpenStore:
    """Open the store; say what a repair after a power cut did. A missing store is an error unless `create`."""
    folder = store_folder(named)
    if not folder.exists() and installation.was_opened(folder.parent):
        return _named(open_all(folder.parent), folder.name, folder.parent)
    if installation.is_installation(folder):
        return _only(open_all(folder), folder)
    log_path = folder / LOG_NAME
    if not create and not log_path.is_file():
        raise errors.WrongInput(
            f"There is no store in {folder}. Bring one in with  tethera import ropes.xlsx --code UG --store {folder}  "
            "or name another folder with --store."
        )
    return _open_files(folder)


def _open_files(folder: Path) -> OpenStore:
    folder.mkdir(parents=True, exist_ok=True)
    log = FileLog(folder / LOG_NAME)
    if log.repair:
        terminal.warn(log.repair)
    return OpenStore(folder, log, Register(log), People(folder / PEOPLE_NAME))


def open_all(folder: Path) -> tuple[OpenStore, ...]:
    """Every store of a folder: those of its database, or the one in files."""
    if not installation.is_installation(folder):
        return (_open_files(folder),) if (folder / LOG_NAME).is_file() else ()
    installation.open_folder(folder)
    # Only now: these need Django set up over the folder.
    from tethera.web.store.log import DatabaseLog
    from tethera.web.store.models import Store
    from tethera.web.store.people import DatabasePeople

    def opened(store: Store) -> OpenStore:
        log = DatabaseLog(store.pk)
        return OpenStore(folder, log, Register(log), DatabasePeople(store.pk), store.slug)

    return tuple(opened(store) for store in Store.objects.order_by("slug"))


def _only(stores: tuple[OpenStore, ...], folder: Path) -> OpenStore:
    if not stores:
        raise errors.WrongInput(f"There is no store in {folder} yet. Make one with  tethera serve --store {folder}")
    if len(stores) > 1:
        names = ", ".join(f"{folder}/{each.slug}" for each in stores)
        raise errors.WrongInput(f"{folder} holds several stores. Name one of them with --store: {names}")
    return stores[0]


def _named(stores: tuple[OpenStore, ...], slug: str, folder: Path) -> OpenStore:
    for each in stores:
        if each.slug == slug.lower():
            return each
    names = ", ".join(str(each.slug) for each in stores) or "none yet"
    raise errors.WrongInput(f"{folder} has no store “{slug}”. It has: {names}.")


def who(named: str | None) -> str:
    """The name of who acts: --by, else the user's name on this machine."""
    if named:
        return named
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "somebody"


def acting(store: OpenStore, named: str | None) -> str:
    """The id of who acts; in a store with accounts a member is known by the account's name too."""
    name = who(named)
    if store.slug is None:
        return store.person(name)
    from tethera.web.accounts.acting import person_of

    return person_of(store.slug, name)


def check_may(store: OpenStore, person: str, events: Sequence[Event]) -> None:
    """CannotBeDone where one of the events is only a competent person's to record, and this one is not."""
    if store.slug is None:
        return
    from tethera.web.accounts.acting import lacks

    lacking = lacks(store.slug, person, store.log.read(), events)
    if lacking:
        raise errors.CannotBeDone(lacking)


def now() -> datetime:
    """This moment with its time zone: only the door looks at the clock."""
    return datetime.now().astimezone()


def today() -> date:
    """Today where the user is."""
    return now().date()
