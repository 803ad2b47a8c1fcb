"""Small good files of every kind, for what damages them to begin from."""

import io
import json
from datetime import UTC, date, datetime
from functools import cache

import openpyxl
from PIL import Image

from tethera.basics import PartialDate
from tethera.store import Bought, Event, Inspected, Measured, Recorded, RouteWritten, StoreDescribed, TakenOut, Washed
from tethera.store.codec import encode_recorded
from tethera.store.exchange import Exported, Kept, KeptStore, write_backup, write_export

_DAY = PartialDate(2024, 5, 1)
_EVENTS: tuple[Event, ...] = (
    StoreDescribed(happened=_DAY, code="UG", owner="Ulvergarth Caving Club"),
    Bought(rope="UG1", happened=PartialDate(2024), length_cm=3300, maker="Maker A", diameter_mm=10.0, note="=1+1"),
    Washed(rope="UG1", happened=PartialDate(2024, 5), how="machine"),
    Measured(rope="UG1", happened=_DAY, length_cm=3011, counts_cm=(3011, 3011)),
    Inspected(rope="UG1", happened=_DAY, reason="first", findings="none", outcome="fit", next_due=PartialDate(2025, 5)),
    TakenOut(rope="UG1", happened=_DAY, person="p1", until=PartialDate(2024, 5, 3), trip="Tallow"),
    RouteWritten(happened=_DAY, key="tallow", text='name = "Tallow"\n[[pitch]]\nname = "A"\ndepth = "9 m"\n'),
)


def events() -> tuple[Recorded, ...]:
    """A short record."""
    return tuple(Recorded(each, datetime(2024, 5, 1, 9, n, tzinfo=UTC), "p1") for n, each in enumerate(_EVENTS))


def event_lines() -> tuple[bytes, ...]:
    """Each event as JSON."""
    return tuple(json.dumps(encode_recorded(each)).encode() for each in events())


@cache
def exports() -> dict[str, bytes]:
    """The record in each form of an export."""
    found = {}
    for form in ("jsonl", "csv", "xlsx"):
        file = io.BytesIO()
        write_export(file, form, Exported(events(), {"p1": "Maud Ellerbeck"}), ())
        found[form] = file.getvalue()
    return found


def workbook() -> bytes:
    """A spreadsheet of ropes as somebody kept it."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (("Rope", "Length", "Bought"), ("7", "45m", date(2021, 9, 3)), ("8 and 9", "150 ft", "Sept 21")):
        sheet.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


@cache
def backup() -> bytes:
    """A backup of one store."""
    store = KeptStore("ug", "Ulvergarth Caving Club", events(), {"p1": "Maud Ellerbeck"}, {"photos": []})
    file = io.BytesIO()
    write_backup(file, Kept((store,), []), made=datetime(2026, 11, 25, tzinfo=UTC), version="1")
    return file.getvalue()


def pictures() -> tuple[bytes, ...]:
    """A small picture of each kind that is taken."""
    found = []
    for kind in ("JPEG", "PNG", "WEBP"):
        file = io.BytesIO()
        Image.new("RGB", (24, 16), "red").save(file, kind)
        found.append(file.getvalue())
    return tuple(found)
