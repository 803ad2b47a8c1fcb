"""Whatever a file holds, reading it ends in sheets or in one clear line."""

import contextlib
import datetime
import io
import random
import zipfile
from pathlib import Path

import openpyxl
import pytest

from tethera.basics import PartialDate, UnreadableWorkbook, cell_address, read_workbook
from tethera.store import Bought, Recorded
from tethera.store.exchange import Exported, write_export
from tethera.web.importing.workbook_child import read_export_safely, read_workbook_safely


def workbook(*rows: list[object]) -> bytes:
    book = openpyxl.Workbook()
    assert book.active is not None
    for row in rows:
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


GOOD = workbook(["No", "Length", "Bought"], [1, 45.5, datetime.date(2021, 9, 3)], [2, "150 ft", None])


def with_sheet(xml: bytes) -> bytes:
    """A workbook whose sheet is replaced by other XML."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(GOOD)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for each in old.infolist():
            new.writestr(each.filename, xml if each.filename == "xl/worksheets/sheet1.xml" else old.read(each))
    return out.getvalue()


_SHEET = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>%s</sheetData></worksheet>'
_SPARSE = _SHEET % (b'<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row>')
#: More figures than a row can have: calamine asks for 133 GB for it.
_FAR = _SHEET % (b'<row r="1"><c r="A1"><v>1</v></c><c r="C%s"><v>1</v></c></row>' % (b"3" + b"6" * 27))
_ENTITIES = (
    b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">'
    + b"".join(b'<!ENTITY %c "%s">' % (c, b"&%c;" % (c - 1) * 10) for c in range(ord("b"), ord("j")))
    + b"]>"
    + _SHEET % b'<row r="1"><c r="A1" t="inlineStr"><is><t>&i;</t></is></c></row>'
)


def test_numbers_words_and_dates_come_through(tmp_path: Path) -> None:
    path = tmp_path / "ropes.xlsx"
    path.write_bytes(GOOD)
    (sheet,) = read_workbook_safely(path)
    assert sheet.rows == (("No", "Length", "Bought"), (1, 45.5, datetime.date(2021, 9, 3)), (2, "150 ft", None))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_csv_is_read_whoever_wrote_it(tmp_path: Path, encoding: str, delimiter: str) -> None:
    path = tmp_path / "ropes.csv"
    rows = [["No", "Length", "Notes"], ["1", "45 m", "café"], ["2", '"12,5m"', ""]]
    path.write_bytes("\r\n".join(delimiter.join(row) for row in rows).encode(encoding))
    (sheet,) = read_workbook_safely(path)
    assert sheet.rows[1:] == (("1", "45 m", "café"), ("2", "12,5m", None))


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("ropes.xlsx", b"", "empty"),
        ("ropes.xlsx", GOOD[: len(GOOD) // 2], "cut short"),
        ("ropes.xlsx", b"No,Length\n1,45\n", "plain text"),
        ("ropes.xls", b"<html><table><tr><td>1</td></tr></table></html>", "web page"),
        ("ropes.ods", GOOD, "an .xlsx workbook"),
        ("ropes.csv", GOOD, "an .xlsx workbook"),
        ("ropes.docx", GOOD, "not a kind of spreadsheet"),
        ("ropes.csv", b"a\0b,c\n", "not text"),
        ("ropes.xlsx", with_sheet(_SPARSE), "row 1,048,576"),
        ("ropes.xlsx", with_sheet(_SHEET % b"<row r='1'><c"), "damaged"),
        ("ropes.xlsx", with_sheet(_FAR), "as far as row 366,666,666,666 and column 3"),
        ("ropes.xlsx", with_sheet(b" " * (65 * 1024 * 1024)), "64 MB"),
        ("ropes.xlsx", with_sheet(_ENTITIES), "damaged"),
        ("ropes.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "damaged"),
    ],
)
def test_what_cannot_be_read_ends_in_one_clear_line(tmp_path: Path, name: str, data: bytes, told: str) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(UnreadableWorkbook, match=told) as raised:
        read_workbook_safely(path)
    assert "\n" not in str(raised.value)
    assert name in str(raised.value)


def test_an_archive_that_lies_about_its_size_is_refused(tmp_path: Path) -> None:
    data = bytearray(with_sheet(b" " * (65 * 1024 * 1024)))
    true_size = (65 * 1024 * 1024).to_bytes(4, "little")
    path = tmp_path / "ropes.xlsx"
    path.write_bytes(bytes(data).replace(true_size, (1000).to_bytes(4, "little")))
    with pytest.raises(UnreadableWorkbook):
        read_workbook_safely(path)


def test_an_ods_with_a_cell_repeated_for_ever_is_refused() -> None:
    xml = (
        b'<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
        b'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"><office:body><office:spreadsheet>'
        b'<table:table table:name="A"><table:table-row table:number-rows-repeated="1000000">'
        b'<table:table-cell table:number-columns-repeated="16000" office:value-type="float" office:value="1"/>'
        b"</table:table-row></table:table></office:spreadsheet></office:body></office:document-content>"
    )
    with pytest.raises(UnreadableWorkbook, match="row 1,000,000"):
        read_workbook(ods(xml), "ropes.ods")
    with pytest.raises(UnreadableWorkbook, match="row 100,000,000,000"):
        read_workbook(ods(xml.replace(b"1000000", b"1" + b"0" * 30)), "ropes.ods")


def ods(xml: bytes) -> bytes:
    """An .ods of which this is the content."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", xml)
        named = b'<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>'
        archive.writestr("META-INF/manifest.xml", named)
    return out.getvalue()


def test_an_ods_whose_end_is_missing_is_refused_at_once() -> None:
    """Found by guided_fuzz.py: calamine looked for the end until the child's time was up."""
    names = " ".join(f'xmlns:{n}="urn:oasis:names:tc:opendocument:xmlns:{n}:1.0"' for n in ("office", "table", "text"))
    xml = (
        f'<office:document-content {names}><office:body><office:spreadsheet><table:table table:name="A">'
        "<table:table-row>"
        '<table:table-cell office:value-type="string"><text:p>7</text:p></table:table-cell></table:table-row>'
        "</table:table></tableice:spreadsheet></office:body></office:document-content>"
    ).encode()
    with pytest.raises(UnreadableWorkbook, match=r"damaged or cut short\. Copy or save it again"):
        read_workbook(ods(xml), "ropes.ods")
    whole = xml.replace(b"tableice:", b"office:")
    assert read_workbook(ods(whole), "ropes.ods")[0].rows == (("7",),)


def test_a_file_that_is_not_there_is_said_so(tmp_path: Path) -> None:
    with pytest.raises(UnreadableWorkbook, match="no such file"):
        read_workbook_safely(tmp_path / "ropes.xlsx")


def test_damaged_bytes_never_end_in_anything_but_a_refusal() -> None:
    chance = random.Random(2)
    for _ in range(150):
        data = bytearray(GOOD)
        for _ in range(chance.randint(1, 20)):
            data[chance.randrange(len(data))] = chance.randrange(256)
        # Read or refused by name; anything else fails the test by itself.
        with contextlib.suppress(UnreadableWorkbook):
            read_workbook(bytes(data), "ropes.xlsx")


def test_addresses_are_those_the_spreadsheet_shows() -> None:
    # Columns of a spreadsheet count A … Z, AA … ; the last of an .xlsx is XFD, number 16,384.
    assert (cell_address(13, 1), cell_address(0, 25), cell_address(0, 26)) == ("B14", "Z1", "AA1")
    assert cell_address(1_048_575, 16_383) == "XFD1048576"


def test_a_file_kept_under_another_name_is_called_what_its_owner_calls_it(tmp_path: Path) -> None:
    path = tmp_path / "17"
    path.write_bytes(b"No,Length\n1,45\n")
    assert read_workbook_safely(path, "ropes.csv")[0].name == "ropes.csv"
    with pytest.raises(UnreadableWorkbook, match=r"is named .xlsx but is plain text"):
        read_workbook_safely(path, "ropes.xlsx")


@pytest.mark.parametrize("form", ["jsonl", "xlsx", "csv"])
def test_an_export_of_a_store_is_read_in_the_child_as_well(tmp_path: Path, form: str) -> None:
    bought = Bought(rope="UG1", happened=PartialDate(2026), length_cm=5000)
    whole = Exported((Recorded(bought, datetime.datetime(2026, 11, 25, tzinfo=datetime.UTC), "p1"),), {"p1": "Maud"})
    path = tmp_path / "17"
    with path.open("wb") as file:
        write_export(file, form, whole, ())
    assert read_export_safely(path, form, "ug") == whole
    path.write_bytes(path.read_bytes()[:-60])
    with pytest.raises(ValueError, match=r"(?i)ug: .*(cut short|expected|line|row)"):
        read_export_safely(path, form, "ug")
