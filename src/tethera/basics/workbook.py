"""Bytes of a spreadsheet (.xlsx, .xls, .ods, .csv) into sheets of plain values.

A spreadsheet comes from strangers. What can be seen to be hostile or broken is refused before it is parsed; the door
parses the rest in a child process with little memory and time, for a parser may still abort.
"""

import csv
import datetime
import io
import math
import re
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import IO
from xml.parsers.expat import ParserCreate

Cell = str | float | int | bool | datetime.date | datetime.datetime | datetime.time | None

_MOST_BYTES = 64 * 1024 * 1024
_MOST_ROWS = 100_000
_MOST_COLUMNS = 1_000
_MOST_CELLS = 2_000_000
_CSV_ENCODINGS = ("utf-8-sig", "cp1252")


class UnreadableWorkbook(ValueError):
    """The file is no spreadsheet that can be read; the message is one line and says what to do."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its name and its rows, each row as long as it was written."""

    name: str
    rows: tuple[tuple[Cell, ...], ...]


def cell_address(row: int, column: int) -> str:
    """Address of a cell counted from 0, as the spreadsheet shows it.

    >>> cell_address(13, 1), cell_address(0, 26)
    ('B14', 'AA1')
    """
    letters = ""
    column += 1
    while column:
        column, letter = divmod(column - 1, 26)
        letters = chr(ord("A") + letter) + letters
    return f"{letters}{row + 1}"


def read_workbook(data: bytes, name: str) -> tuple[Sheet, ...]:
    """Every sheet of a spreadsheet; `name` is the file's name, for its ending and for messages."""
    ending = name.rsplit(".", 1)[-1].lower() if "." in name else ""
    if ending not in ("xlsx", "xlsm", "xls", "ods", "csv", "tsv", "txt"):
        raise UnreadableWorkbook(f"{name}: not a kind of spreadsheet known here. Save it as .xlsx, .ods or .csv.")
    if not data.strip(b"\0 \r\n\t"):
        raise UnreadableWorkbook(f"{name} is empty. Save the spreadsheet again.")
    if len(data) > _MOST_BYTES:
        raise UnreadableWorkbook(f"{name} is larger than 64 MB. Save only the sheet with the ropes.")
    found = _kind(data)
    wanted = {"xlsm": "xlsx", "tsv": "csv", "txt": "csv"}.get(ending, ending)
    if found != wanted:
        raise UnreadableWorkbook(
            f"{name} is named .{ending} but is {_SPOKEN[found]}. Open it in a spreadsheet and save it as .xlsx or .csv."
        )
    if found == "csv":
        return (Sheet(name, _csv_rows(data, name)),)
    if found != "xls":
        _check_zip(data, name, found)
    return _calamine(data, name)


_SPOKEN = {
    "xlsx": "an .xlsx workbook",
    "ods": "an .ods workbook",
    "xls": "an old .xls workbook",
    "html": "a web page (HTML)",
    "pdf": "a PDF",
    "zip": "an archive that is no spreadsheet, or one cut short",
    "csv": "plain text",
}


def _kind(data: bytes) -> str:
    if data[:4] == b"PK\3\4":
        return _zip_kind(data)
    if data[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        return "xls"
    start = data[:2048].lstrip(b"\xef\xbb\xbf \r\n\t").lower()
    if start.startswith((b"<!doctype html", b"<html", b"<table", b"<?xml", b"<head")):
        return "html"
    return "pdf" if start.startswith(b"%pdf") else "csv"


def _zip_kind(data: bytes) -> str:
    try:
        names = set(zipfile.ZipFile(io.BytesIO(data)).namelist())
    except (zipfile.BadZipFile, ValueError, OSError, EOFError, NotImplementedError):
        return "zip"
    if "xl/workbook.xml" in names or any(each.startswith("xl/worksheets/") for each in names):
        return "xlsx"
    return "ods" if "content.xml" in names else "zip"


def _check_zip(data: bytes, name: str, found: str) -> None:
    """Refuse what would burst on unpacking, and sheets said to be far larger than any store."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if sum(each.file_size for each in archive.infolist()) > _MOST_BYTES:
                raise UnreadableWorkbook(f"{name} unpacks to more than 64 MB. Save only the sheet with the ropes.")
            for each in archive.infolist():
                if found == "xlsx" and each.filename.startswith("xl/worksheets/"):
                    with archive.open(each) as file:
                        _check_references(_limited(file, name), name)
                elif found == "ods" and each.filename == "content.xml":
                    with archive.open(each) as file:
                        content = _limited(file, name)
                    # Where an end is missing, calamine looks for it for ever.
                    ParserCreate().Parse(content, True)
                    _check_repeats(content, name)
    except UnreadableWorkbook:
        raise
    except Exception:  # a broken archive fails in many ways, each of them the same to its owner
        raise UnreadableWorkbook(f"{name} is damaged or cut short. Copy or save it again.") from None


def _limited(file: IO[bytes], name: str) -> bytes:
    # The sizes in an archive's list are only what its maker says.
    content = file.read(_MOST_BYTES + 1)
    if len(content) > _MOST_BYTES:
        raise UnreadableWorkbook(f"{name} unpacks to more than 64 MB. Save only the sheet with the ropes.")
    return content


def _check_references(xml: bytes, name: str) -> None:
    columns = rows = 0
    for letters, digits in re.findall(rb"""\br\s*=\s*["']([A-Za-z]*)([0-9]+)["']""", xml):
        column = 0
        # Of more than so many letters and figures the first alone are far beyond any sheet.
        for letter in letters[:8].upper():
            column = column * 26 + letter - 64
        columns, rows = max(columns, column), max(rows, int(digits.lstrip(b"0")[:12] or b"0"))
    _check_size(rows, columns, name)


def _check_repeats(xml: bytes, name: str) -> None:
    """Cells of an .ods are written once and repeated; only those that say something can make a large sheet."""
    rows = columns = widest = 0
    repeat_row = 1
    for kind, attributes, filled in re.findall(rb"<table:(table-row|table-cell)\b([^>]*?)(/?)>", xml):
        repeated = re.search(rb'number-(?:rows|columns)-repeated="([0-9]+)"', attributes)
        times = int(repeated[1].lstrip(b"0")[:12] or b"0") if repeated else 1
        if kind == b"table-row":
            repeat_row, columns = times, 0
        elif not filled or b"office:value" in attributes:
            columns += times
            widest = max(widest, columns)
            rows += repeat_row if columns == times else 0
        else:
            columns += times if times < _MOST_COLUMNS else 0
    _check_size(rows, widest, name)


def _check_size(rows: int, columns: int, name: str) -> None:
    if rows > _MOST_ROWS or columns > _MOST_COLUMNS or rows * columns > _MOST_CELLS:
        raise UnreadableWorkbook(
            f"{name} has cells as far as row {rows:,} and column {columns:,}; at most {_MOST_ROWS:,} rows and "
            f"{_MOST_COLUMNS:,} columns are read. Copy the ropes to a new sheet."
        )


def _calamine(data: bytes, name: str) -> tuple[Sheet, ...]:
    import python_calamine as calamine

    sheets = []
    try:
        book = calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
        for title in book.sheet_names:
            # From the sheet's corner, so that addresses stay those its owner sees.
            rows = book.get_sheet_by_name(title).to_python(skip_empty_area=False)
            sheets.append(Sheet(title, _plain(rows)))
    except Exception as error:  # calamine raises a family of its own and, on hostile bytes, plain ones too
        told = "is protected by a password" if "password" in str(error).lower() else "is damaged"
        raise UnreadableWorkbook(f"{name} {told}. Open it in a spreadsheet and save it again.") from None
    return tuple(sheets)


def _plain(rows: Iterable[Sequence[object]]) -> tuple[tuple[Cell, ...], ...]:
    return tuple(tuple(_cell(each) for each in row) for row in rows)


def _cell(value: object) -> Cell:
    if value == "" or (isinstance(value, float) and not math.isfinite(value)):
        return None
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    if isinstance(value, datetime.datetime) and value.time() == datetime.time():
        return value.date()
    if isinstance(value, datetime.timedelta):
        return str(value)
    if isinstance(value, str | int | float | datetime.date | datetime.time):
        return value
    return str(value)


def _csv_rows(data: bytes, name: str) -> tuple[tuple[Cell, ...], ...]:
    text = _text(data, name)
    try:
        dialect = csv.Sniffer().sniff(text[:4096], ",;\t|")
        delimiter = dialect.delimiter
    except csv.Error:
        delimiter = "\t" if name.lower().endswith(".tsv") else ","
    rows: list[tuple[Cell, ...]] = []
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
            rows.append(tuple(cell.strip() or None for cell in row))
            _check_size(len(rows), len(row), name)
    except csv.Error as error:
        raise UnreadableWorkbook(f"{name}, line {len(rows) + 1}: {error}. Save it as .csv again.") from None
    return tuple(rows)


def _text(data: bytes, name: str) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        encodings: tuple[str, ...] = ("utf-16",)
    else:
        encodings = _CSV_ENCODINGS
    for encoding in encodings:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise UnreadableWorkbook(f"{name} is not text in a way of writing known here. Save it as .csv in UTF-8.")
