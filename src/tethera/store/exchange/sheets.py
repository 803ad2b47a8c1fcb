"""A whole store as a workbook (.xlsx): the ropes as they are, what happened, and the people."""

import re
import warnings
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import IO, Any

from tethera.basics import PartialDate
from tethera.store.exchange.base import Exported, UnreadableExport
from tethera.store.exchange.table import read_rows, rows
from tethera.store.log import Recorded
from tethera.store.rope_state import RopeState

HAPPENED = "What happened"
_MOST_ROWS = 1_048_576
#: An event may go on over this many cells; a workbook that has more columns is none of ours.
_MOST_COLUMNS = 260
_MOST_UNPACKED = 1024**3
#: Letters that no workbook can hold.
_NO_LETTERS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
#: What a workbook's reader takes for a letter in disguise.
_ESCAPE = re.compile("_x(?=[0-9A-Fa-f]{4}_)")
_ROPES: tuple[tuple[str, int], ...] = (
    *(("Rope", 9), ("State", 14), ("Length [m]", 11), ("Known by", 10), ("Mark says [m]", 13), ("Diameter [mm]", 13)),
    *(("Type", 9), ("Material", 12), ("Product", 16), ("Maker", 14), ("Batch or serial", 14), ("Year made", 10)),
    *(("Owner", 20), ("Bought", 11), ("In service since", 15), ("First used", 11), ("Days of use", 11)),
    *(("Age limit of its maker [years]", 16), ("Last examined", 13), ("Next due", 11), ("Cut from", 9)),
    *(("Cut into", 14), ("Why no plan may use it", 34), ("Doubts", 60)),
)


def write_workbook(
    file: IO[bytes], events: Sequence[Recorded], names: Mapping[str, str | None], ropes: Iterable[RopeState]
) -> None:
    """Write the workbook row by row; ValueError when there are more events than a sheet has rows."""
    from openpyxl import Workbook

    if len(events) + 2 > _MOST_ROWS:
        raise ValueError(f"a sheet holds {_MOST_ROWS} rows, and there are {len(events)} events: export to .jsonl")
    book = Workbook(write_only=True)
    _fill(_sheet(book, "Ropes", [width for _, width in _ROPES], "B2"), _rope_rows(ropes))
    widths = [9, 27, 18, 18, 12, 9, 70, 30]
    _fill(_sheet(book, HAPPENED, widths, "A2"), rows(events, names))
    people = ([person, name, "" if name else "The name was erased."] for person, name in names.items())
    _fill(_sheet(book, "People", [8, 30, 24], "A2"), (("Id", "Name", "Note"), *people))
    book.save(file)


def _sheet(book: Any, title: str, widths: Sequence[int], frozen: str) -> Any:
    from openpyxl.utils import get_column_letter

    sheet = book.create_sheet(title)
    sheet.freeze_panes = frozen
    for column, width in enumerate(widths, 1):
        sheet.column_dimensions[get_column_letter(column)].width = width
    return sheet


def _fill(sheet: Any, table: Iterable[Sequence[Any]]) -> None:
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font

    bold = Font(bold=True)
    for number, row in enumerate(table):
        if number:
            sheet.append([_shown(sheet, cell) for cell in row])
            continue
        cells = [WriteOnlyCell(sheet, value=cell) for cell in row]
        for cell in cells:
            cell.font = bold
        sheet.append(cells)


def _shown(sheet: Any, value: Any) -> Any:
    """A value as a cell; words stay words, even where a spreadsheet would reckon them or take them for an error."""
    if not isinstance(value, str):
        return value
    text = _ESCAPE.sub("_\u200bx", _NO_LETTERS.sub("\ufffd", value))
    if not text.startswith(("=", "#", "+", "-", "@")):
        return text
    from openpyxl.cell import WriteOnlyCell

    cell = WriteOnlyCell(sheet, value=text)
    cell.data_type, cell.quotePrefix = "s", True
    return cell


def _rope_rows(ropes: Iterable[RopeState]) -> Iterator[Sequence[Any]]:
    yield [title for title, _ in _ROPES]
    for rope in ropes:
        yield (
            *(rope.id, rope.state, None if rope.length_cm is None else rope.length_cm / 100, rope.known_by or None),
            *(rope.marked_m, rope.diameter_mm, rope.rope_type, rope.material, rope.product, rope.maker, rope.batch),
            *(rope.year_made, rope.owner, _day(rope.bought), _day(rope.since), _day(rope.first_used), rope.wear),
            *(rope.age_limit_years, _day(rope.last_inspected), _day(rope.next_due), rope.parent),
            *(", ".join(rope.children) or None, rope.why_not, " ".join(str(each) for each in rope.findings) or None),
        )


def _day(day: PartialDate | None) -> str | None:
    return None if day is None else day.isoformat()


def holds_an_export(file: IO[bytes]) -> bool:
    """Whether a file is a workbook with a sheet of what happened, as exported or as a spreadsheet saved it again."""
    try:
        with zipfile.ZipFile(file) as archive, archive.open("xl/workbook.xml") as book:
            return f'name="{HAPPENED}"'.encode() in book.read(1_000_000)
    except Exception:  # a file that is no archive, or a broken one, fails in many ways
        return False


def from_workbook(file: IO[bytes]) -> Exported:
    """Read back a workbook; UnreadableExport names the row, or says that the file is damaged."""
    try:
        _check_size(file)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return read_rows(_table(file))
    except UnreadableExport:
        raise
    except Exception:  # a broken or hostile workbook fails in many ways, each the same to its owner
        raise UnreadableExport("The workbook is damaged or cut short. Copy or export it again.") from None


def _check_size(file: IO[bytes]) -> None:
    with zipfile.ZipFile(file) as archive:
        if sum(each.file_size for each in archive.infolist()) > _MOST_UNPACKED:
            raise UnreadableExport("The workbook unpacks to more than 1 GB: it is no export of a store.")
    file.seek(0)


def _table(file: IO[bytes]) -> Iterator[Sequence[Any]]:
    from openpyxl import load_workbook

    book = load_workbook(file, read_only=True, data_only=True, keep_links=False)
    if HAPPENED not in book.sheetnames:
        raise UnreadableExport(f"Expected a sheet “{HAPPENED}”. It has: {', '.join(book.sheetnames)}.")
    sheet = book[HAPPENED]
    sheet.reset_dimensions()
    blank = 0
    for row in sheet.iter_rows(max_col=_MOST_COLUMNS, values_only=True):
        blank = 0 if any(cell is not None for cell in row) else blank + 1
        if blank > _MOST_ROWS:
            return
        yield row
    book.close()
