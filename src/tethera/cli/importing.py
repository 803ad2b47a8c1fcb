"""Bring a spreadsheet in: read it in a child, show every doubtful cell, record all of it or nothing."""

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tethera.basics import PartialDate, Sheet
from tethera.cli import places, terminal
from tethera.cli.errors import WrongInput
from tethera.store import (
    DEFAULT_CODE,
    Event,
    ImportReading,
    MemoryLog,
    RecordedAsFound,
    Register,
    StoreDescribed,
    rows_to_events,
)
from tethera.web.importing.workbook_child import read_workbook_safely


@dataclass(frozen=True)
class Imported:
    """What was brought in, or would be."""

    file: str
    sheet: str
    reading: ImportReading
    described: StoreDescribed | None
    recorded: bool
    folder: Path

    @property
    def events(self) -> tuple[Event, ...]:
        """All that is recorded, the store's own description first."""
        return ((self.described,) if self.described else ()) + self.reading.events

    def in_words(self) -> str:
        """Columns, doubts, rows left out, and what was done."""
        reading = self.reading
        ropes = [event for event in reading.events if isinstance(event, RecordedAsFound)]
        columns = ", ".join(f"{heading} as {meaning.replace('_', ' ')}" for meaning, heading in reading.columns.items())
        sheet = "" if self.sheet == self.file else f", sheet {self.sheet}"
        parts = [f"{self.file}{sheet}. Columns read: {columns}."]
        if reading.unknown:
            parts[0] += f" Not used: {', '.join(reading.unknown)}."
        parts[0] = terminal.paragraph(parts[0])
        parts.append(self._doubts())
        if reading.left_out:
            rows = "\n".join(f"  row {each.row}: {each.why}  {each.text}".rstrip() for each in reading.left_out)
            parts.append(f"Rows that give no rope:\n{rows}")
        done = "Recorded" if self.recorded else "Nothing recorded (--dry-run). It would be"
        parts.append(
            f"{done}: {_counted(len(ropes), 'rope')} into {self.folder}, "
            f"{_counted(len(reading.doubts), 'cell')} in doubt."
        )
        return "\n\n".join(part for part in parts if part)

    def _doubts(self) -> str:
        if not self.reading.doubts:
            return ""
        rows = [(d.address, d.text, d.becomes, str(d.finding.message)) for d in self.reading.doubts]
        table = terminal.table(("Cell", "Says", "Becomes", "Doubt"), rows, ("left", "left", "left", "left"))
        ways: dict[str, list[str]] = {}
        for doubt in self.reading.doubts:
            ways.setdefault(doubt.finding.way_out, []).append(doubt.address)
        lines = [terminal.paragraph(f"{', '.join(at)}: {way}", indent="→ ", hanging="  ") for way, at in ways.items()]
        return f"Doubtful cells:\n{table}\n\nWhat to do:\n" + "\n".join(lines)

    def as_mapping(self, encode: Callable[[Event], dict[str, Any]]) -> dict[str, Any]:
        """The same for machines."""
        return {
            "file": self.file,
            "sheet": self.sheet,
            "recorded": self.recorded,
            "columns": dict(self.reading.columns),
            "columns_not_used": list(self.reading.unknown),
            "doubts": [
                {
                    "cell": doubt.address,
                    "text": doubt.text,
                    "becomes": doubt.becomes,
                    "code": doubt.finding.code,
                    "message": doubt.finding.message,
                    "way_out": doubt.finding.way_out,
                }
                for doubt in self.reading.doubts
            ],
            "rows_left_out": [{"row": left.row, "text": left.text, "why": left.why} for left in self.reading.left_out],
            "events": [encode(event) for event in self.events],
        }


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def bring_in(path: Path, words: argparse.Namespace) -> Imported:
    """Read, and unless it is a dry run record all at once."""
    sheets = read_workbook_safely(path)
    folder = places.store_folder(words.store)
    exists = (folder / places.LOG_NAME).is_file()
    store = places.open_store(words.store, create=not words.dry_run) if exists or not words.dry_run else None
    known = store.register.store() if store else None
    if known is None and exists is False and not words.code:
        raise WrongInput("A new store needs the letters before each rope's number: --code UG gives UG1, UG2 …")
    if known and words.code and words.code.upper() != known.code:
        raise WrongInput(f"This store's numbers begin with {known.code}, not {words.code.upper()}. Leave --code out.")
    code = known.code if known else (words.code or DEFAULT_CODE).upper()
    today = PartialDate.of(places.today())
    described = None if known else StoreDescribed(happened=today, code=code, owner=words.owner or "")
    register = store.register if store else Register(MemoryLog())
    sheet, reading = _first_with_ropes(sheets, words.sheet, path.name, today, code, register, words.owner)
    answer = Imported(path.name, sheet.name, reading, described, not words.dry_run, folder)
    if store is not None and answer.events and not words.dry_run:
        by = store.person(places.who(words.by))
        store.register.record_all(answer.events, recorded=places.now(), by=by)
    return answer


def _first_with_ropes(
    sheets: tuple[Sheet, ...],
    wanted: str | None,
    source: str,
    today: PartialDate,
    code: str,
    register: Register,
    owner: str | None,
) -> tuple[Sheet, ImportReading]:
    names = ", ".join(sheet.name for sheet in sheets)
    chosen = [sheet for sheet in sheets if wanted is None or sheet.name.casefold() == wanted.casefold()]
    if not chosen:
        raise WrongInput(f"{source} has no sheet “{wanted}”. It has: {names}.")
    for sheet in chosen:
        reading = rows_to_events(
            sheet.rows,
            happened=today,
            code=code,
            taken=register.numbers_taken(),
            owner=owner,
            source=source,
            brought=register.brought_in(),
            known=register.ropes(today.latest),
        )
        if reading.events or reading.again:
            return sheet, reading
    raise WrongInput(f"{source}: no ropes were found in {names}. A sheet needs a column of lengths with a heading.")
