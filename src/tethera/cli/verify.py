"""Whether a record is as it was recorded: a store's, an export's, a backup's."""

import argparse
import json
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tethera.cli import places, terminal
from tethera.cli.errors import CannotBeDone, WrongInput
from tethera.cli.main import CANNOT, DONE
from tethera.store import Head, Recorded, RopeEvent, Verdict, heads_in, kind, read_head
from tethera.store import verify as walk
from tethera.store.exchange import Backup, UnreadableBackup, counted, form_of
from tethera.web import installation
from tethera.web.importing.workbook_child import read_export_safely

_LONGEST_TEXT = 1_000_000
_LIMIT = (
    "Whoever can write the whole record can write its chain anew: only a head or a copy that was kept elsewhere, and "
    "is given with --head or --against, proves that nobody did."
)


@dataclass(frozen=True)
class Looked:
    """A record to be looked at or held against: whose it is, its events, and the heads that its file tells itself."""

    name: str
    slug: str | None
    events: Sequence[Recorded]
    heads: tuple[Head, ...] = ()


def verify(words: argparse.Namespace) -> int:
    """Walk the chain of each record; exit 1 and name the first altered event unless it is whole."""
    records = _read(Path(words.file).expanduser()) if words.file else _stores(words.store)
    heads = tuple(read_head(each) for each in words.head)
    others = [each for name in words.against for each in _read(Path(name).expanduser(), text=True)]
    if heads and len(records) > 1:
        raise WrongInput(f"There are {len(records)} stores: name one with --store, so that the head has its record.")
    verdicts = []
    for record in records:
        against = [each for each in others if _same_store(record, each, len(records))]
        mine = (*heads, *record.heads, *(head for each in against for head in each.heads))
        verdicts.append(walk(record.events, mine, [each.events for each in against if each.events]))
    if words.json:
        print(json.dumps(_answer(records, verdicts), indent=2, ensure_ascii=False))
    else:
        for record, verdict in zip(records, verdicts, strict=True):
            (_tell_head if words.head_only else _tell)(record, verdict)
        if not words.head_only and not heads and not others:
            terminal.say("\n" + terminal.paragraph(_LIMIT))
    return DONE if all(each.whole for each in verdicts) else CANNOT


def _stores(named: str | None) -> list[Looked]:
    folder = places.store_folder(named)
    all_of_it = folder.exists() and installation.is_installation(folder)
    stores = places.open_all(folder) if all_of_it else (places.open_store(named),)
    if not stores:
        raise WrongInput(f"There is no store in {folder} yet. Name another folder with --store, or a file.")
    return [Looked(each.slug or str(folder), each.slug, each.log.read()) for each in stores]


def _read(path: Path, *, text: bool = False) -> list[Looked]:
    """What a file holds, known by what is in it; with `text` also heads alone."""
    if not path.is_file():
        raise WrongInput(f"{path}: there is no such file.")
    with path.open("rb") as file:
        if zipfile.is_zipfile(file) and "manifest.json" in zipfile.ZipFile(file).namelist():
            return _from_backup(path)
        file.seek(0)
        form = form_of(file)
        if form is not None:
            export = read_export_safely(path, form, path.name, altered=True)
            return [Looked(path.name, None, export.events, (export.head,) if export.head else ())]
        file.seek(0)
        heads = heads_in(file.read(_LONGEST_TEXT).decode("utf-8", "replace")) if text else ()
    if not heads:
        what = "no backup, no export and no text with a head" if text else "no backup and no export"
        raise WrongInput(f"{path.name} is {what} of a store.")
    return [Looked(path.name, None, (), heads)]


def _from_backup(path: Path) -> list[Looked]:
    with path.open("rb") as file:
        try:
            backup = Backup(file)
            stores = [backup.store(each) for each in backup.manifest.stores]
        except UnreadableBackup as error:
            raise CannotBeDone(f"{path.name}: {error}") from None
    return [Looked(f"{path.name}, store {each.slug}", each.slug, each.events) for each in stores]


def _same_store(record: Looked, other: Looked, records: int) -> bool:
    """Whether one is meant to be held against the other: by the store's address where both say it."""
    if record.slug is None or other.slug is None:
        return records == 1
    return record.slug == other.slug


def _tell(record: Looked, verdict: Verdict) -> None:
    count = counted(verdict.head.length, "event")
    if verdict.whole:
        terminal.say(terminal.bold(f"Whole: {record.name}, {count}"))
    else:
        terminal.say(terminal.bold(f"Not as it was recorded: {record.name}, {count}"))
        for trouble in verdict.troubles:
            terminal.say(terminal.paragraph(f"  – {trouble}", hanging="    "))
        terminal.say("Nothing was changed. Keep this record as it is, and hold it against a backup:")
        terminal.say("  tethera verify --against BACKUP.zip")
    for held in verdict.held:
        # Of a chain that is broken a head kept before is the same all the same: nobody wrote the later sums anew.
        if verdict.whole or not held.same:
            told = {True: "is the same", False: "differs", None: "has more events than there are"}[held.same]
            terminal.say(f"  head {held.head.length}: {held.head.sum[:16]}… {told}")
    if verdict.without_sum:
        told = (
            f"  {counted(verdict.without_sum, 'event')} at the beginning were recorded before the record carried "
            "sums: a change among them is found, but not which it was."
        )
        terminal.say(terminal.paragraph(told, hanging="  "))
    if verdict.whole:
        terminal.say(f"Head  {verdict.head.short()}")
        terminal.say(f"in full  {verdict.head}")


def _tell_head(record: Looked, verdict: Verdict) -> None:
    if not verdict.whole:
        terminal.warn(f"{record.name} is not as it was recorded: {verdict.troubles[0]} See  tethera verify")
        return
    terminal.say(f"Head of the record of {record.name} on {places.now():%Y-%m-%d}: {verdict.head}")


def _answer(records: Sequence[Looked], verdicts: Sequence[Verdict]) -> dict[str, Any]:
    stores = []
    for record, verdict in zip(records, verdicts, strict=True):
        stores.append(
            {
                "name": record.name,
                "whole": verdict.whole,
                "events": verdict.head.length,
                "head": str(verdict.head),
                "first_altered": _first(record.events, verdict.first),
                "troubles": list(verdict.troubles),
                "held": [{"head": str(each.head), "same": each.same} for each in verdict.held],
                "without_sum": verdict.without_sum,
            }
        )
    return {"whole": all(each.whole for each in verdicts), "stores": stores}


def _first(events: Sequence[Recorded], number: int | None) -> dict[str, Any] | None:
    """The first altered event as it stands now; only its number where it is not there any more."""
    if number is None or number >= len(events):
        return None if number is None else {"number": number}
    entry = events[number]
    return {
        "number": number,
        "what": kind(entry.event),
        "rope": entry.event.rope if isinstance(entry.event, RopeEvent) else None,
        "happened": entry.event.happened.isoformat(),
        "recorded_at": entry.recorded.isoformat(),
    }
