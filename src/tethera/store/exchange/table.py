"""A whole store as rows of a table, for people who read it in a spreadsheet and for bringing it back.

One row an event. The last column holds the event as JSON, and only that is read back; the others are for people, and
reading back tells where one of them was changed. The row without a number is the head (see `base.head`).
"""

import contextlib
import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tethera.basics import PartialDate, show_metres
from tethera.store.chain import Head
from tethera.store.codec import decode_recorded, encode_recorded
from tethera.store.events import Event, RopeEvent, kind
from tethera.store.exchange.base import Exported, UnreadableExport, counted, head, is_head, read_head
from tethera.store.log import Recorded
from tethera.store.spoken import spoken_event

COLUMNS = ("Number", "Recorded", "By", "What", "Happened", "Rope", "In words", "Event as JSON")
_JSON = COLUMNS.index("Event as JSON")
#: A spreadsheet's cell holds 32,767 letters; what is longer goes on in the next cells, each after this sign.
LONGEST_CELL, GOES_ON = 32_000, "…"
#: A cell that begins with one of these would be reckoned instead of shown.
FORMULA = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")
#: Letters that belong in no table.
_NO_LETTERS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
Row = list[str | int | None]


def rows(events: Sequence[Recorded], names: Mapping[str, str | None]) -> Iterator[Row]:
    """The rows of what happened: names of the columns, head, then the events from the first recorded to the last."""
    yield list(COLUMNS)
    people = counted(len(names), "person", "people")
    told = f"{counted(len(events), 'event')}, {people}. Only the last column is read back."
    yield [None, None, None, "export", None, None, told, *_cells(head(events, names))]

    def name(person: str) -> str:
        return names.get(person) or person

    for number, each in enumerate(events):
        event = each.event
        yield [
            number,
            each.recorded.isoformat(),
            name(each.by) if each.by else None,
            _what(event),
            event.happened.isoformat(),
            event.rope if isinstance(event, RopeEvent) else None,
            _cut(spoken_event(event, name, _length)),
            *_cells(encode_recorded(each)),
        ]


def _length(length_cm: int) -> str:
    return f"{show_metres(length_cm)} m"


def _what(event: Event) -> str:
    return kind(event).replace("-", " ")


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST_CELL else text[: LONGEST_CELL - 1] + "…"


def _cells(value: object) -> list[str]:
    """JSON in letters that survive any way of writing, as many cells long as it takes."""
    # “_x0041_” would be read as “A” in a workbook.
    text = json.dumps(value, ensure_ascii=True, allow_nan=False).replace("_x", "\\u005fx")
    pieces = [text[at : at + LONGEST_CELL] for at in range(0, len(text), LONGEST_CELL)]
    return [pieces[0], *(GOES_ON + each for each in pieces[1:])]


@dataclass
class _Read:
    """What the rows read so far hold."""

    count: int | None = None
    names: dict[str, str | None] = field(default_factory=dict)
    head: Head | None = None
    events: dict[int, tuple[int, Recorded]] = field(default_factory=dict)

    def take(self, row: int, cells: Sequence[Any]) -> None:
        """One row, counted from 1 as a spreadsheet shows it; ValueError says what is wrong with it."""
        value = json.loads(_json_of(cells))
        if is_head(value):
            if self.count is not None:
                raise ValueError("the row that says how many events there are stands here a second time")
            self.count, self.names, self.head = read_head(value)
            return
        json.dumps(value, ensure_ascii=False).encode()
        recorded = decode_recorded(value)
        number = _number(cells[0])
        if number in self.events:
            raise ValueError(f"event {number} is here a second time; it is in row {self.events[number][0]} as well")
        _unchanged(cells, recorded.event)
        self.events[number] = (row, recorded)

    def exported(self) -> Exported:
        """All of it, in order of the numbers, however the rows were sorted."""
        if self.count is None:
            raise UnreadableExport(
                "The row that says how many events there are is gone (“export” in column What). Export it again."
            )
        lacking = [number for number in range(self.count) if number not in self.events]
        beyond = [number for number in sorted(self.events) if number >= self.count]
        if lacking or beyond:
            told = f"event {lacking[0]} is not there" if lacking else f"event {beyond[0]} was put in"
            raise UnreadableExport(
                f"Expected {counted(self.count, 'event')}, numbered from 0: {told}. "
                "Rows were taken out, put in or cut off: copy or export it again."
            )
        return Exported(tuple(self.events[number][1] for number in range(self.count)), self.names, self.head)


def read_rows(table: Iterable[Sequence[Any]]) -> Exported:
    """Read back the rows of what happened, the names of the columns first."""
    read = _Read()
    for row, cells in enumerate(table, 1):
        if row == 1:
            check_columns(cells)
            continue
        if all(cell is None or cell == "" for cell in cells):
            continue
        try:
            read.take(row, cells)
        except (ValueError, RecursionError) as error:
            raise UnreadableExport(f"Row {row}: {_words(error)}. Nothing was brought in.") from None
    return read.exported()


def check_columns(cells: Sequence[Any]) -> None:
    """UnreadableExport unless the first row names the columns of an export."""
    if [str(cell or "").strip() for cell in cells[: len(COLUMNS)]] != list(COLUMNS):
        raise UnreadableExport(f"Row 1: expected the columns {', '.join(COLUMNS)}. Nothing was brought in.")


def _json_of(cells: Sequence[Any]) -> str:
    first, *more = [str(cell) for cell in cells[_JSON:] if cell not in (None, "")] or [""]
    if not first.startswith("{"):
        raise ValueError(f"column {COLUMNS[_JSON]}: expected an event as {{…}}, not “{first[:40]}”")
    for each in more:
        if not each.startswith(GOES_ON):
            raise ValueError(f"expected nothing after column {COLUMNS[_JSON]}, not “{each[:40]}”")
    return first + "".join(each.removeprefix(GOES_ON) for each in more)


def _number(cell: Any) -> int:
    text = str(cell).strip().removesuffix(".0")
    if not re.fullmatch(r"\d{1,9}", text, re.ASCII):
        raise ValueError(f"column Number: expected the event's number, not “{'' if cell is None else str(cell)[:40]}”")
    return int(text)


def _unchanged(cells: Sequence[Any], event: Event) -> None:
    """ValueError where what people read was changed by hand: bringing it back would lose the change in silence."""
    happened = str(cells[4] or "").strip().lstrip("'")
    expected = {"What": (cells[3], _what(event)), "Rope": (cells[5], getattr(event, "rope", None) or "")}
    # A spreadsheet may show the day in its own way; only another day in the export's way is a change.
    with contextlib.suppress(ValueError):
        expected["Happened"] = (PartialDate.fromisoformat(happened).isoformat(), event.happened.isoformat())
    for column, (cell, was) in expected.items():
        said = "" if cell is None else str(cell).strip().lstrip("'")
        if said != was:
            raise ValueError(
                f"column {column}: “{said[:60]}”, but the event says “{was[:60]}”. What was recorded is not changed in "
                "a spreadsheet: put it back, bring the file in, then record a correction"
            )


def _words(error: Exception) -> str:
    if isinstance(error, json.JSONDecodeError):
        return f"column {COLUMNS[_JSON]}: it is not whole at letter {error.pos + 1} ({error.msg})"
    if isinstance(error, UnicodeEncodeError | RecursionError):
        return f"column {COLUMNS[_JSON]}: expected an event as {{…}}"
    return str(error)


def to_csv(events: Sequence[Recorded], names: Mapping[str, str | None]) -> Iterator[bytes]:
    """The rows as CSV: UTF-8 with its mark, so that spreadsheets read it right."""
    yield b"\xef\xbb\xbf"
    for row in rows(events, names):
        text = io.StringIO()
        csv.writer(text).writerow([shown_as_text(cell) for cell in row])
        yield text.getvalue().encode()


def shown_as_text(cell: str | int | None) -> str | int | None:
    """A cell of CSV that no spreadsheet reckons: an apostrophe before what would begin a formula."""
    if not isinstance(cell, str):
        return cell
    text = _NO_LETTERS.sub("\ufffd", cell)
    return f"'{text}" if text.startswith(FORMULA) else text


def from_csv(data: bytes) -> Exported:
    """Read back CSV, as exported or as a spreadsheet has saved it again."""
    text = _text(data)
    first = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=first.count)
    read = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        return read_rows(read)
    except csv.Error as error:
        raise UnreadableExport(f"Line {read.line_num}: {error}. Nothing was brought in.") from None


def _text(data: bytes) -> str:
    encodings = ("utf-16",) if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise UnreadableExport("The file is not text. Export it again.")
