"""A store exported into one file, and brought back from it. A file is there whole or not at all."""

import argparse
import contextlib
import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import IO, Any

from tethera.cli import places, terminal
from tethera.cli.errors import CannotBeDone, WrongInput
from tethera.cli.main import DONE
from tethera.store import People
from tethera.store.exchange import (
    FORMS,
    AnotherStore,
    Exported,
    addition,
    log_lines,
    write_export,
)
from tethera.web import installation, kept
from tethera.web.importing.workbook_child import read_export_safely


def export(words: argparse.Namespace) -> int:
    """Write all of a store into one file that can be read elsewhere and brought back."""
    out = Path(words.out).expanduser()
    form = words.form or out.suffix.lower().removeprefix(".")
    if form not in FORMS:
        raise WrongInput(f"{out.name}: end the name with .jsonl, .xlsx or .csv, or say which with --as.")
    store = places.open_store(words.store)
    # The names after the events: whoever an event names has a name by then.
    events = tuple(store.log.read())
    what = Exported(events, store.people.names())
    ropes = store.register.ropes(places.today()) if form == "xlsx" else ()
    with whole_file(out) as file:
        write_export(file, form, what, ropes)
    answer = {"file": str(out), "form": form, "events": len(events), "people": len(what.names)}
    tell(
        words,
        answer,
        f"Wrote {out}",
        f"{what.in_words()}, with their names. Photographs are not in it: they are in a backup.",
        f"To bring it back:  tethera import {out} --store NEW-FOLDER",
    )
    return DONE


def bring_back(path: Path, form: str, words: argparse.Namespace) -> int:
    """Bring an export back into an empty store, or add what it holds beyond the store's own record."""
    spreadsheets_only = {"--sheet": words.sheet, "--code": words.code, "--owner": words.owner}
    given = [option for option, value in spreadsheets_only.items() if value]
    if given:
        raise WrongInput(f"{path.name} is an export of a store and says this itself. Leave {' and '.join(given)} out.")
    folder = places.store_folder(words.store)
    try:
        brought = read_export_safely(path, form, path.name)
        added = _would_add(words, brought) if words.dry_run else _add(words, brought)
    except AnotherStore as error:
        raise CannotBeDone(f"{path.name}: {error}") from None
    answer = {"file": path.name, "form": form, "recorded": not words.dry_run, "events_added": len(added.events)}
    if added.events:
        told = f"Brought in from {path.name}: {added.in_words()}."
        if words.dry_run:
            told = f"Nothing recorded (--dry-run). {path.name} would bring {added.in_words()}."
    else:
        told = f"Nothing to add: all {len(brought.events)} events of {path.name} are there."
    tell(words, answer | {"people": len(added.names), "folder": str(folder)}, told, f"Store: {folder}")
    return DONE


def _would_add(words: argparse.Namespace, brought: Exported) -> Exported:
    try:
        store = places.open_store(words.store)
    except WrongInput:
        return addition((), {}, brought)
    return addition(store.log.read(), store.people.names(), brought)


def _add(words: argparse.Namespace, brought: Exported) -> Exported:
    folder = places.store_folder(words.store)
    if installation.is_installation(folder) and not places.open_all(folder):
        from tethera.web.accounts.joining import new_store

        added = addition((), {}, brought)
        installation.take_over(added.events, added.names, new_store)
        return added
    store = places.open_store(words.store, create=True)
    if store.slug is not None:
        return kept.bring_back(store.slug, brought)
    have = store.log.read()
    assert isinstance(store.people, People)
    added = addition(have, store.people.names(), brought)
    # Names first: should the machine stop between the two, bringing it in again adds the rest.
    store.people.put(added.names)
    if not (store.folder / places.LOG_NAME).exists():
        # An append is one line; a whole record should stay one line an event.
        with whole_file(store.folder / places.LOG_NAME, private=False) as file:
            file.writelines(log_lines(added.events))
    else:
        store.log.append(len(have), added.events)
    return added


@contextlib.contextmanager
def whole_file(out: Path, *, private: bool = True) -> Iterator[IO[bytes]]:
    """A new file that appears only when it is whole; what is there already is never written over.

    `private` is only for the user's own eyes, as a file with names in it should be.
    """
    taken = WrongInput(f"{out} exists already. Name another file with --out.")
    if out.exists():
        raise taken
    beside = out.with_name(f".{out.name}.part-{os.getpid()}")
    mode = 0o600 if private else 0o666
    try:
        with open(os.open(beside, os.O_RDWR | os.O_CREAT | os.O_EXCL, mode), "w+b") as file:  # noqa: PTH123
            yield file
            file.flush()
            os.fsync(file.fileno())
        try:
            # Unlike a new name, a second name never takes the place of a file that came in the meantime.
            os.link(beside, out)
        except FileExistsError:
            raise taken from None
        except OSError:
            beside.replace(out)  # a stick or a share that knows no second names
    finally:
        beside.unlink(missing_ok=True)


def tell(words: argparse.Namespace, answer: Mapping[str, Any], *told: str) -> None:
    """For machines, or sentence by sentence; a path stays on one line, so that it can be copied."""
    if words.json:
        print(json.dumps(answer, indent=2, ensure_ascii=False))
        return
    for each in told:
        terminal.say(each if os.sep in each or "tethera " in each else terminal.paragraph(each))
