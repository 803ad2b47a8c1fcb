"""Everything of a folder in one zip file, and a new folder made from it, all or nothing."""

import argparse
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tethera import __version__
from tethera.cli import places, terminal
from tethera.cli.errors import CannotBeDone, WrongInput
from tethera.cli.exchange import tell, whole_file
from tethera.cli.main import DONE
from tethera.store.exchange import Backup, Kept, KeptStore, Manifest, counted, lacking_photos, write_backup
from tethera.web import installation, kept


def write(words: argparse.Namespace) -> int:
    """Write everything that the folder keeps into one zip file."""
    folder = places.store_folder(words.store)
    now = places.now()
    out = Path(words.out or f"tethera-backup-{now:%Y-%m-%d-%H%M}.zip").expanduser()
    everything = _kept(folder)
    with whole_file(out) as file:
        try:
            told = write_backup(file, everything, made=now, version=__version__, progress=_progress)
        finally:
            terminal.progress_done()
    answer = _manifest_json(told) | {"file": str(out), "bytes": out.stat().st_size}
    tell(
        words,
        answer,
        f"Wrote {out}",
        f"{told.in_words()}. It holds people's names and addresses: keep it where only you can read it.",
        f"To see that it is good:  tethera restore {out} --store NEW-FOLDER",
    )
    lacking = lacking_photos(everything)
    if lacking:
        how_many = counted(len(lacking), "photograph or paper", "photographs and papers")
        which = ", ".join(each[:12] for each in lacking[:3]) + (" …" if len(lacking) > 3 else "")
        terminal.warn(f"Named in the record, but not among the files: {how_many} ({which}).")
    return DONE


def _kept(folder: Path) -> Kept:
    stores = places.open_all(folder)
    if not stores:
        raise WrongInput(f"There is no store in {folder}. Name its folder with --store.")
    if installation.is_installation(folder):
        return kept.kept(folder)
    (store,) = stores
    events = store.log.read()
    described = store.register.store()
    code, owner = (described.code.lower(), described.owner) if described else ("store", "")
    one = KeptStore(code, owner, events, store.people.names())
    return Kept((one,), None, tuple(kept.files_of(folder)))


def restore(words: argparse.Namespace) -> int:
    """Make a folder from a backup: everything is checked before anything is written."""
    path, folder = Path(words.file).expanduser(), places.store_folder(words.store)
    if not path.is_file():
        raise WrongInput(f"{words.file}: there is no such file.")
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise WrongInput(f"{folder} is not empty. Nothing was written. Name a new folder with --store.")
    with path.open("rb") as file:
        try:
            backup = Backup(file, _progress)
            stores = tuple(backup.store(each) for each in backup.manifest.stores)
            _restore(backup, stores, folder)
        finally:
            terminal.progress_done()
    told = backup.manifest
    answer = _manifest_json(told) | {"file": str(path), "folder": str(folder)}
    when = f"{told.made.day} {told.made:%b %Y at %H:%M}"
    tell(words, answer, f"Restored into {folder}", f"{told.in_words()}, as they were on {when}. Every sum was right.")
    return DONE


def _restore(backup: Backup, stores: tuple[KeptStore, ...], folder: Path) -> None:
    """Into a folder beside, which gets its name only when everything is on the disk."""
    needed = sum(each["bytes"] for each in backup.manifest.members.values())
    folder.parent.mkdir(parents=True, exist_ok=True)
    if shutil.disk_usage(folder.parent).free < 2 * needed:
        raise CannotBeDone(f"{folder.parent} has not room enough for {needed / 1e6:.0f} MB twice. Nothing was written.")
    beside = folder.with_name(f".{folder.name}.restoring-{os.getpid()}")
    beside.mkdir()
    try:
        for name in backup.files:
            _write(beside / name, backup.chunks(name))
        if backup.manifest.database:
            _into_database(backup, stores, beside)
        else:
            for each in stores:
                _write(beside / places.LOG_NAME, backup.chunks(f"stores/{each.slug}/events.jsonl"))
                _write(beside / places.PEOPLE_NAME, backup.chunks(f"stores/{each.slug}/people.json"))
        if folder.exists():
            folder.rmdir()
        beside.replace(folder)
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _into_database(backup: Backup, stores: tuple[KeptStore, ...], folder: Path) -> None:
    installation.open_folder(folder)
    from django.db import connections

    try:
        kept.put_back(stores, backup.json("accounts.json"))
    finally:
        connections.close_all()


def _write(path: Path, chunks: Iterator[bytes]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb") as file:
        for chunk in chunks:
            file.write(chunk)
        file.flush()
        os.fsync(file.fileno())


def _progress(done: int, total: int, what: str) -> None:
    terminal.progress(f"{100 * done // total:3d} %  {what}")


def _manifest_json(told: Manifest) -> dict[str, Any]:
    return {
        "made": told.made.isoformat(),
        "version": told.version,
        "stores": [dict(each) for each in told.stores],
        "photos": told.photos,
        "accounts": told.accounts,
    }
