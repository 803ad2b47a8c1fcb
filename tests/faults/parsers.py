"""Every reader of what others wrote, each as one act on bytes that says what it may complain with.

Whatever else gets out of one of them would reach somebody as a traceback.
"""

import io
import json
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import resources

from tethera.basics import PartialDate, UnreadableWorkbook, read_workbook
from tethera.basics.dates import read_date
from tethera.basics.lengths import read_length
from tethera.labels import elevation_svg, pitch_svg
from tethera.rigging import (
    KnotLengths,
    UnreadableKnots,
    UnreadableRoute,
    read_route,
    read_route_rows,
    rigging_sheet,
    rope_needs,
    route_from_table,
    with_anchor_rows,
    write_route,
)
from tethera.store import Fold
from tethera.store.codec import decode_recorded, encode_recorded
from tethera.store.exchange import Backup, UnreadableBackup, UnreadableExport, read_export
from tethera.store.spreadsheet import rows_to_events


@dataclass(frozen=True)
class Reader:
    """What is done with the bytes, what it may complain with, and some good bytes to begin from."""

    act: Callable[[bytes], object]
    complaints: tuple[type[Exception], ...]
    seeds: tuple[bytes, ...]

    def take(self, data: bytes) -> bool:
        """Whether it could be read. Every other complaint gets out."""
        try:
            self.act(data)
        except self.complaints:
            return False
        return True


def _text(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape" if data[:1] == b"\xff" else "replace")


def _length(data: bytes) -> None:
    for unit in ("m", "ft"):
        for need in (False, True):
            found = read_length(_text(data), unit=unit, need=need)  # type: ignore[arg-type]
            assert (found.length_cm is not None and found.length_cm > 0) or found.findings


def _date(data: bytes) -> None:
    found = read_date(_text(data))
    assert found.date is not None or found.findings


def _route(data: bytes) -> None:
    """Read, reckoned, drawn; and written and read again it says the same."""
    route = read_route(_text(data)).route
    rope_needs(route)
    sheet = rigging_sheet(route, ())
    elevation_svg(sheet)
    for pitch in sheet["pitches"]:
        pitch_svg(pitch)
    assert read_route(write_route(route)).route == route


def _table(data: bytes) -> None:
    """Lines of `pitch anchor key value`, as a form sends them."""
    pitches: dict[str, dict[str, object]] = {}
    for line in _text(data).split("\n")[:400]:
        pitch, anchor, key, value = (*line.split("|", 3), "", "", "", "")[:4]
        cells = pitches.setdefault(pitch, {"anchor": [], "edition": []})
        if anchor:
            below = cells["edition" if anchor == "e" else "anchor"]
            assert isinstance(below, list)
            below.append({key: value, "role": anchor, "source": anchor})
        elif key not in ("anchor", "edition"):
            cells[key] = value
    reading = route_from_table({"name": "Typed", "pitches": list(pitches.values())})
    assert reading.route is not None or reading.errors or not pitches


def _named(data: bytes, stem: str) -> str:
    """The name a file of such bytes would have, or it would be refused for its name alone."""
    return f"{stem}.{'xlsx' if data.startswith(b'PK') else 'csv'}"


def _rows(data: bytes) -> None:
    """A route as a spreadsheet."""
    for sheet in read_workbook(data, _named(data, "route")):
        with_anchor_rows(read_route_rows(sheet.rows), sheet.rows)


def _ropes(data: bytes) -> None:
    """The old spreadsheet: read, and what it becomes folded."""
    for sheet in read_workbook(data, _named(data, "ropes")):
        rows_to_events(sheet.rows[:500], happened=PartialDate(2026, 11))


def _export(form: str) -> Callable[[bytes], None]:
    def act(data: bytes) -> None:
        fold = Fold(read_export(io.BytesIO(data), form).events)
        fold.store()

    return act


def _event(data: bytes) -> None:
    try:
        value = json.loads(data)
    except RecursionError:
        return  # told of as no JSON by whoever reads a file
    recorded = decode_recorded(value)
    assert decode_recorded(encode_recorded(recorded)) == recorded


def _photo(data: bytes) -> None:
    from tethera.web.ropes.one_pictures import read_picture

    picture = read_picture(io.BytesIO(data), "a.jpg")
    assert picture.jpeg.startswith(b"\xff\xd8")
    assert max(picture.width, picture.height) <= 1600


def _demo(name: str) -> bytes:
    return (resources.files("tethera.cli") / "demo_data" / name).read_bytes()


@cache
def readers() -> dict[str, Reader]:
    """All of them by name."""
    from faults.good_files import backup, event_lines, exports, pictures, workbook
    from tethera.web.ropes.one_pictures import NoPicture

    routes = tuple(_demo(f"{name}.toml") for name in ("short", "classic", "deep"))
    table = b"0||name|Entrance\n0||depth|22 m\n0|y-hang|down|1.5\n1||depth|30 or 35\n1|e|depth|20\n"
    rows = b"Pitch,Depth (m),Rope (m),Anchors\nEntrance,22,30,3\nLedge,about 12,15 + 10,\nTotal,34,55,\n"
    told = (UnreadableExport,)
    return {
        "length": Reader(_length, (), (b"45 m", b"148ft", b"98' 6\"", b"12,5m", b"30/40", "½ yd".encode())),
        "date": Reader(_date, (), (b"Sept 21", b"03/09/2021", b"2021-09-03", b"early 2019")),
        "day as kept": Reader(
            lambda data: PartialDate.fromisoformat(_text(data)), (ValueError,), (b"2021", b"2021-09", b"2021-09-03")
        ),
        "route file": Reader(_route, (UnreadableRoute,), routes),
        "route table": Reader(_table, (), (table,)),
        "route rows": Reader(_rows, (UnreadableRoute, UnreadableWorkbook), (rows, rows.replace(b",", b";"))),
        "knots": Reader(
            lambda data: KnotLengths.from_toml(_text(data)), (UnreadableKnots,), (b"butterfly = 0.44\nbowline = 0.7\n",)
        ),
        "spreadsheet": Reader(_ropes, (UnreadableWorkbook,), (_demo("ropes.csv"), workbook())),
        "export as lines": Reader(_export("jsonl"), told, (exports()["jsonl"],)),
        "export as table": Reader(_export("csv"), told, (exports()["csv"],)),
        "export as workbook": Reader(_export("xlsx"), told, (exports()["xlsx"],)),
        "event": Reader(_event, (ValueError,), event_lines()),
        "backup": Reader(lambda data: Backup(io.BytesIO(data)), (UnreadableBackup,), (backup(),)),
        "photograph": Reader(_photo, (NoPicture,), pictures()),
    }
