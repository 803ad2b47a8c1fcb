"""Whole files of spreadsheets, as a store kept its ropes: .xlsx, .ods and .csv."""

import io
import zipfile

from faults.parsers import readers
from tethera.basics import PartialDate, read_workbook
from tethera.store import rows_to_events

_DAY = PartialDate(2026, 11, 26)
_CELLS = (("Rope", "Length", "Bought"), ("7", "45 m", "2021-09-03"), ("8", "150 ft", "Sept 21"))


def _ods() -> bytes:
    """The least that an .ods holds, with cells that are written once and repeated."""
    rows = "".join(
        "<table:table-row>"
        + "".join(
            f'<table:table-cell office:value-type="string"><text:p>{cell}</text:p></table:table-cell>' for cell in row
        )
        + '<table:table-cell table:number-columns-repeated="900"/></table:table-row>'
        for row in _CELLS
    )
    names = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("office", "table", "text")
    )
    empty = '<table:table-row table:number-rows-repeated="1000000"><table:table-cell/></table:table-row>'
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {names} office:version="1.2"><office:body>'
        f'<office:spreadsheet><table:table table:name="Ropes">{rows}{empty}</table:table></office:spreadsheet>'
        "</office:body></office:document-content>"
    )
    manifest = (
        '<?xml version="1.0"?><manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>'
    )
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("content.xml", content)
        packed.writestr("META-INF/manifest.xml", manifest)
    return file.getvalue()


def spreadsheet_seeds() -> tuple[bytes, ...]:
    """The demo's, one with dates, an .ods, and one in the letters of another system."""
    text = "\n".join("\t".join(row) for row in _CELLS)
    return (*readers()["spreadsheet"].seeds, _ods(), text.encode("utf-16"))


def read_spreadsheet(data: bytes) -> None:
    """Read under the name such a file would have, and what it becomes."""
    ending = "csv" if not data.startswith(b"PK") else "ods" if b"content.xml" in data else "xlsx"
    for sheet in read_workbook(data, f"ropes.{ending}"):
        rows_to_events(sheet.rows[:500], happened=_DAY)
