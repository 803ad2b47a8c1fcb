"""A record proven whole, or its first altered event named, at the terminal: a store, an export, a backup."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tethera.cli import places
from tethera.store import FileLog, heads_in

Run = Callable[..., Any]
MANUAL = (Path(__file__).parents[2] / "docs" / "json.md").read_text(encoding="utf-8")


def alter(path: Path, was: str, now: str) -> None:
    text = path.read_text("utf-8")
    assert was in text
    path.write_text(text.replace(was, now, 1), encoding="utf-8")


def test_a_store_is_whole_and_its_head_is_printed_to_be_kept(store: Run) -> None:
    ran = store("verify")
    assert (ran.status, "Whole:" in ran.out) == (0, True)
    (short, full) = heads_in(ran.out)
    assert short.is_of(full)
    assert "only a head or a" in ran.out
    assert store("verify", "--json").json["stores"][0]["head"] == str(full)


def test_a_head_noted_before_still_holds_after_more_was_recorded(store: Run) -> None:
    head = store("verify", "--json").json["stores"][0]["head"]
    store("record", "washed", "1", "how=hand")
    ran = store("verify", "--head", head)
    assert (ran.status, "is the same" in ran.out) == (0, True)


def test_an_event_altered_in_the_file_is_named(store: Run, folder: Path) -> None:
    store("record", "washed", "1", "how=hand", "--on", "2026-11-03")
    store("record", "dried", "1")
    events = FileLog(folder / "store" / places.LOG_NAME).read()
    alter(folder / "store" / places.LOG_NAME, '"how": "hand"', '"how": "bath"')
    ran = store("verify")
    number = len(events) - 2
    assert ran.status == 1
    told = " ".join(ran.out.split())
    assert f"Event {number} (washed QT1, 3 Nov 2026, written down" in told
    assert store("verify", "--json").json["stores"][0]["first_altered"]["number"] == number


def test_a_record_cut_short_is_found_by_the_head_and_named_by_a_copy(store: Run, folder: Path) -> None:
    store("record", "washed", "1", "how=hand")
    store("export", "--out", str(folder / "kept.jsonl"))
    head = store("verify", "--head-only").out
    log = folder / "store" / places.LOG_NAME
    log.write_bytes(b"".join(log.read_bytes().splitlines(keepends=True)[:-1]))
    (folder / "mail.txt").write_text(f"Subject: Head of our record\n\n{head}\n", encoding="utf-8")
    assert store("verify").status == 0  # of itself it cannot know
    ran = store("verify", "--against", str(folder / "mail.txt"))
    assert (ran.status, "1 was taken out" in " ".join(ran.out.split())) == (1, True)
    ran = store("verify", "--against", str(folder / "kept.jsonl"))
    assert (ran.status, "is not there (washed QT1" in " ".join(ran.out.split())) == (1, True)


@pytest.mark.parametrize("form", ["jsonl", "csv"])
def test_an_altered_export_is_named_without_the_store_and_is_not_brought_in(
    store: Run, folder: Path, form: str
) -> None:
    store("record", "washed", "1", "how=hand", "note=two hours")
    store("record", "dried", "1")
    out = folder / f"all.{form}"
    store("export", "--out", str(out))
    assert store("verify", str(out), "--store", str(folder / "nowhere")).status == 0
    quote = '""' if form == "csv" else '"'
    alter(out, f"{quote}note{quote}: {quote}two hours", f"{quote}note{quote}: {quote}ten hours")
    ran = store("verify", str(out), "--store", str(folder / "nowhere"))
    assert (ran.status, "(washed QT1" in ran.out) == (1, True)
    ran = store("import", str(out), "--store", str(folder / "again"))
    assert (ran.status, "is not as it was recorded" in ran.err) == (2, True)
    assert not (folder / "again").exists()


def test_an_altered_workbook_is_named(store: Run, folder: Path) -> None:
    from openpyxl import load_workbook

    store("export", "--out", str(folder / "all.xlsx"))
    book = load_workbook(folder / "all.xlsx")
    cells = [row[7] for row in book["What happened"].iter_rows(min_row=3)]
    cells[2].value = re.sub(r'"length_cm": (\d+)', r'"length_cm": 1\1', cells[2].value)
    book.save(folder / "changed.xlsx")
    ran = store("verify", str(folder / "changed.xlsx"), "--json")
    assert (ran.status, ran.json["stores"][0]["first_altered"]["number"]) == (1, 2)


def test_a_backup_is_verified_and_a_store_is_held_against_it(store: Run, folder: Path) -> None:
    store("backup", "--out", str(folder / "all.zip"))
    assert store("verify", str(folder / "all.zip")).status == 0
    assert store("verify", "--against", str(folder / "all.zip")).status == 0
    log = folder / "store" / places.LOG_NAME
    alter(log, '"rope": "QT1"', '"rope": "QT99"')
    # Somebody who writes the chain anew: every event without its sum, and one more recorded.
    log.write_text(re.sub(r', "previous": "[0-9a-f]{64}"', "", log.read_text("utf-8")), encoding="utf-8")
    assert store("verify").status == 0
    ran = store("verify", "--against", str(folder / "all.zip"))
    assert (ran.status, "is not as in the copy, where it is" in " ".join(ran.out.split())) == (1, True)


def test_a_store_begun_before_sums_says_so(store: Run, folder: Path) -> None:
    log = folder / "store" / places.LOG_NAME
    log.write_text(re.sub(r', "previous": "[0-9a-f]{64}"', "", log.read_text("utf-8")), encoding="utf-8")
    store("record", "washed", "1")
    ran = store("verify")
    assert (ran.status, "were recorded before the record carried sums" in " ".join(ran.out.split())) == (0, True)


def test_a_head_of_a_record_that_is_not_whole_is_not_handed_out(store: Run, folder: Path) -> None:
    store("record", "washed", "1", "how=hand")
    store("record", "dried", "1")
    alter(folder / "store" / places.LOG_NAME, '"how": "hand"', '"how": "bath"')
    ran = store("verify", "--head-only")
    assert (ran.status, ran.out) == (1, "")
    assert "is not as it was recorded" in " ".join(ran.err.split())


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("--head", "142"), "is no head of a record"),
        (("--against", "ropes.csv"), "no backup, no export and no text with a head"),
        (("--against", "nothing.zip"), "there is no such file"),
        (("ropes.csv",), "no backup and no export"),
    ],
)
def test_what_is_asked_wrongly_is_told(store: Run, asked: tuple[str, ...], told: str) -> None:
    ran = store("verify", *asked)
    assert (ran.status, told in ran.err) == (2, True)


def test_every_key_is_in_the_manual_of_answers_for_machines(store: Run, folder: Path) -> None:
    words = set(re.findall(r"`([a-z_]+)`", MANUAL))
    store("record", "washed", "1", "how=hand")
    store("record", "dried", "1")
    alter(folder / "store" / places.LOG_NAME, '"how": "hand"', '"how": "bath"')
    answer = store("verify", "--json", "--head", "99: 0000 0000 0000 0000").json
    (one,) = answer["stores"]
    keys = {*answer, *one, *one["first_altered"], *one["held"][0]}
    assert keys - words == set()
