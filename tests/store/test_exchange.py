"""A store exported in each form and brought back: the same log, the same names, or a clear word and nothing."""

import io
import json
import subprocess
import zipfile
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, date, datetime
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, example, given, settings

from any_log import LOGS, NAMES
from system_parts import PARTS
from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Corrected,
    Inspected,
    Measured,
    MemoryLog,
    Recorded,
    Register,
    Stocktaken,
    Washed,
    encode_recorded,
    head_of,
)
from tethera.store.exchange import (
    FORMS,
    AnotherStore,
    Exported,
    UnreadableExport,
    addition,
    form_of,
    read_export,
    write_export,
)

WRITTEN = datetime(2026, 11, 25, 9, tzinfo=UTC)
NAMES_HERE = {"p1": "Maud Ellerbeck", "p2": None}


def did(event: object, by: str | None = "p1") -> Recorded:
    return Recorded(event, WRITTEN, by)  # type: ignore[arg-type]


LOG = (
    did(Bought(rope="UG1", happened=PartialDate(2021, 9), length_cm=6000, maker="Maker A", note="=1+1")),
    did(Washed(rope="UG1", happened=PartialDate(2021, 9, 3), how="machine", temperature_c=30)),
    did(Measured(rope="UG1", happened=PartialDate(2021), length_cm=5587, counts_cm=(5587, 5590))),
    did(Inspected(rope="UG1", happened=PartialDate(2026, 1, 2), person="p2", outcome="fit"), None),
)


def exported(
    form: str, events: Sequence[Recorded] = LOG, names: Mapping[str, str | None] = NAMES_HERE, ropes: bool = False
) -> bytes:
    file = io.BytesIO()
    states = Register(MemoryLog(events)).ropes(date(2026, 11, 25)) if ropes else ()
    write_export(file, form, Exported(tuple(events), names), states)
    return file.getvalue()


def read(form: str, data: bytes) -> Exported:
    assert form_of(io.BytesIO(data)) == form
    return read_export(io.BytesIO(data), form)


@pytest.mark.parametrize("form", FORMS)
@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(LOGS, NAMES)
@example([], {})
def test_any_log_comes_back_event_for_event_with_its_names(
    form: str, log: list[Recorded], names: dict[str, str | None]
) -> None:
    back = read(form, exported(form, log, names))
    # As written: an equal moment in another zone would be another entry.
    assert [encode_recorded(each) for each in back.events] == [encode_recorded(each) for each in log]
    assert back.events == tuple(log)
    assert back.names == names


@pytest.mark.parametrize("form", FORMS)
def test_an_event_longer_than_a_cell_of_a_spreadsheet_comes_back(form: str) -> None:
    seen = tuple(f"UG{number}" for number in range(20_000))
    log = [did(Stocktaken(seen=seen, happened=PartialDate(2026), note="=" * 70_000))]
    assert read(form, exported(form, log)).events == tuple(log)


def test_the_lines_are_a_head_and_then_the_logs_own() -> None:
    first, *lines = exported("jsonl").decode().splitlines()
    told = {"tethera": "export", "form": 2, "events": 4, "head": str(head_of(LOG)), "people": NAMES_HERE}
    assert json.loads(first) == told
    assert [json.loads(line) for line in lines] == [encode_recorded(each) for each in LOG]


def test_a_stores_own_file_of_lines_comes_back_too_and_no_id_is_given_twice() -> None:
    one, *several = [encode_recorded(each) for each in LOG]
    back = read("jsonl", (json.dumps(one) + "\n" + json.dumps(several) + "\n").encode())
    assert back.events == LOG
    assert back.names == {}
    assert addition((), {}, back).names == {"p1": None, "p2": None}


def cut_short(lines: list[str]) -> list[str]:
    return lines[:-1]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (cut_short, "says that 4 events follow, and 3 do. It was cut short"),
        (lambda lines: [*lines, lines[-1]], "4 events follow, and 5 do"),
        (lambda lines: [*lines[:2], lines[2][:40], *lines[3:]], "Line 3: it is not whole JSON at column"),
        (lambda lines: [*lines[:2], "\xff", *lines[3:]], "Line 3: it is not text in UTF-8"),
        (lambda lines: [*lines[:2], "7", *lines[3:]], "Line 3: expected an object"),
        (lambda lines: [*lines[:2], "[" * 99_999, *lines[3:]], "Line 3: it is nested too deep"),
        (lambda lines: [*lines[:2], lines[2].replace("washed", "ironed")], "Line 3: “ironed” is no event known"),
        (lambda lines: [*lines[:2], lines[2].replace("UG1", "\\ud800")], "Line 3: .*UTF-8"),
        (lambda lines: [*lines[:2], lines[2].replace("washed", "x" * 5000)], "Line 3: “'x{59}…” is no event known"),
        (lambda lines: [*lines[:2], lines[2].replace("UG1", "x" * 5000)], "as TV41; not “x{40}”"),
        (lambda lines: [*lines[:2], lines[2].replace('"by"', f'"{"x" * 5000}"')], "has no “'x{59}…”"),
        (lambda lines: [*lines[:2], lines[2].replace("2021-09-03", "2021-02-30")], "there is no day 2021-02-30"),
        (lambda lines: [lines[0].replace('"form": 2', '"form": 3'), *lines[1:]], "Line 1: .*update Tethera"),
        (lambda lines: [lines[0].replace("Maud Ellerbeck", ""), *lines[1:]], "Line 1: the name of p1"),
        (lambda lines: [*lines, lines[0]], "Line 6: the head of an export stands only in its first line"),
    ],
)
def test_a_damaged_line_is_named_with_what_was_expected(change: Callable[[list[str]], list[str]], told: str) -> None:
    lines = change(exported("jsonl").decode().splitlines())
    with pytest.raises(UnreadableExport, match=told):
        read("jsonl", "\n".join(lines).encode("latin-1"))


CSV_LINES = exported("csv").decode("utf-8-sig").splitlines()


def test_csv_has_one_row_an_event_in_words_and_nothing_that_a_spreadsheet_would_reckon() -> None:
    assert CSV_LINES[0] == "Number,Recorded,By,What,Happened,Rope,In words,Event as JSON"
    assert CSV_LINES[3].startswith("1,2026-11-25T09:00:00+00:00,Maud Ellerbeck,washed,2021-09-03,UG1,Washed in the")
    log = [did(Washed(rope="UG1", happened=PartialDate(2026)), "p1")]
    assert ",'=cmd," in exported("csv", log, {"p1": "=cmd"}).decode()


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("washed,2021-09-03,UG1", "washed,2021-09-04,UG1", "Row 4: column Happened: “2021-09-04”"),
        ("washed,2021-09-03,UG1", "washed,2021-09-03,UG2", "Row 4: column Rope: “UG2”, but the event says “UG1”"),
        ("washed,2021-09-03,UG1", "dried,2021-09-03,UG1", "Row 4: column What: “dried”"),
        (CSV_LINES[3] + "\n", "", "event 1 is not there"),
        (CSV_LINES[3] + "\n", CSV_LINES[3] + "\n" + CSV_LINES[3] + "\n", "Row 5: event 1 is here a second time"),
        ("\n1,", "\none,", "Row 4: column Number: expected the event's number, not “one”"),
        ('""what"": ""washed""', '""what"": washed', "Row 4: column Event as JSON: it is not whole at letter"),
        (
            ',"{""recorded""',
            ',"washed {""recorded""',
            "Row 3: column Event as JSON: expected an event as {…}, not “washed",
        ),
        (CSV_LINES[1] + "\n", "", "The row that says how many events there are is gone"),
    ],
)
def test_a_changed_row_is_named_with_what_was_expected(old: str, new: str, told: str) -> None:
    text = "\n".join(CSV_LINES) + "\n"
    assert old in text
    with pytest.raises(UnreadableExport, match=told):
        read("csv", text.replace(old, new, 1).encode())


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_rows_sorted_and_saved_again_by_a_spreadsheet_come_back_in_the_order_of_the_log(encoding: str) -> None:
    head, *rows = [line.replace("2021-09-03,UG1", "03/09/2021,UG1") for line in CSV_LINES]
    text = "\r\n".join([head, *reversed(rows)]) + "\r\n,,,,,,,\r\n"
    assert read("csv", text.encode(encoding)).events == LOG


def test_a_workbook_has_the_ropes_what_happened_and_the_people() -> None:
    book = openpyxl.load_workbook(io.BytesIO(exported("xlsx", ropes=True)))
    assert book.sheetnames == ["Ropes", "What happened", "People"]
    titles, rope = [list(row) for row in book["Ropes"].iter_rows(values_only=True)]
    told = dict(zip(titles, rope, strict=True))
    shown = [told[title] for title in ("Rope", "State", "Length [m]", "Maker")]
    assert shown == ["UG1", "in preparation", 55.87, "Maker A"]
    assert list(book["People"].iter_rows(min_row=2, values_only=True)) == [
        ("p1", "Maud Ellerbeck", None),
        ("p2", None, "The name was erased."),
    ]


def test_no_cell_of_a_workbook_is_a_formula() -> None:
    names = {"p1": "=HYPERLINK(1)", "p2": "@SUM(A1)", "p3": "-2+3", "p4": "#N/A"}
    book = openpyxl.load_workbook(io.BytesIO(exported("xlsx", names=names, ropes=True)))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n", "inlineStr"}
    assert [row[1] for row in book["People"].iter_rows(min_row=2, values_only=True)] == list(names.values())


def test_a_workbook_that_is_damaged_or_of_another_kind_is_told() -> None:
    data = exported("xlsx")
    for broken in (data[: len(data) // 2], data[:2000] + b"\0" * 500 + data[2500:]):
        with pytest.raises(UnreadableExport, match=r"damaged or cut short\. Copy or export it again\."):
            read_export(io.BytesIO(broken), "xlsx")
    book = openpyxl.Workbook()
    other = io.BytesIO()
    book.save(other)
    assert form_of(io.BytesIO(other.getvalue())) is None


def test_a_workbook_that_bursts_on_unpacking_is_told() -> None:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("xl/sheet.xml", "w") as member:
        for _ in range(1100):
            member.write(b"\0" * 1024 * 1024)
    with pytest.raises(UnreadableExport, match="more than 1 GB"):
        read_export(file, "xlsx")


@pytest.mark.skipif(
    not next(part for part in PARTS if part.program == "soffice").found(),
    reason="LibreOffice is not here: nobody has opened the exported spreadsheet in a spreadsheet",
)
def test_libreoffice_opens_the_workbook_and_what_it_saves_again_comes_back(tmp_path: Path) -> None:
    path = tmp_path / "store.xlsx"
    names = {"p1": "=1+1", "p2": "Åsa Žák"}
    path.write_bytes(exported("xlsx", names=names, ropes=True))
    again = tmp_path / "again"
    # The third sheet is the people; 44,34,76 is comma, quote, UTF-8 (from memory of its filter options).
    csv = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
    for kind in (csv, "xlsx"):
        profile = f"-env:UserInstallation=file://{tmp_path}/profile"
        asked = ["soffice", profile, "--headless", "--convert-to", kind, "--outdir", str(again), str(path)]
        subprocess.run(asked, check=True, capture_output=True, timeout=150)
    assert "p1,=1+1" in (again / "store-People.csv").read_text("utf-8")
    assert "UG1,in preparation,55.87," in (again / "store-Ropes.csv").read_text("utf-8")
    for form, name in (("csv", "store-What happened.csv"), ("xlsx", "store.xlsx")):
        back = read(form, (again / name).read_bytes())
        assert (back.events, back.names) == (LOG, names)


def test_what_is_brought_into_a_store_that_holds_its_beginning_is_only_the_rest() -> None:
    added = addition(LOG[:2], {"p1": "Maud Ellerbeck"}, Exported(LOG, {"p1": "Maud Ellerbeck", "p2": "Ada Thorne"}))
    assert added.events == LOG[2:]
    assert added.names == {"p1": "Maud Ellerbeck", "p2": "Ada Thorne"}


def test_an_older_export_adds_nothing() -> None:
    assert addition(LOG, NAMES_HERE, Exported(LOG[:2], NAMES_HERE)) == Exported((), NAMES_HERE)


def test_another_stores_export_is_refused_with_the_first_event_that_differs() -> None:
    other = (LOG[0], did(Washed(rope="UG1", happened=PartialDate(2020))))
    with pytest.raises(AnotherStore, match="differs from event 1 on"):
        addition(LOG, NAMES_HERE, Exported(other, NAMES_HERE))
    with pytest.raises(AnotherStore, match="p1 is Maud Ellerbeck, in the file Ada Thorne"):
        addition(LOG, NAMES_HERE, Exported(LOG, {"p1": "Ada Thorne"}))


def test_a_name_erased_in_either_stays_erased_and_in_an_empty_store_the_files_ids_hold() -> None:
    both = addition(LOG, {"p1": "Maud", "p2": None}, Exported(LOG, {"p1": None, "p2": "Ada"}))
    assert both.names == {"p1": None, "p2": None}
    assert addition((), {"p1": "Ada"}, Exported(LOG, {"p1": "Maud", "p2": None})).names == {"p1": "Maud", "p2": None}


def test_whoever_is_named_only_in_a_correction_keeps_their_id() -> None:
    told = Inspected(rope="UG1", happened=PartialDate(2026), person="p4")
    twice = Corrected(happened=PartialDate(2026), event=0, reason="x", replacement=told)
    event = Corrected(happened=PartialDate(2026), event=0, reason="x", replacement=twice)
    assert set(addition((), {}, Exported((did(event, None),), {})).names) == {"p1", "p2", "p3", "p4"}
