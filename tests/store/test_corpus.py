"""Records that earlier versions wrote are read by this one to the same state, the same sums and the same head.

Each folder of tests/corpus is a small record written by the code of one commit (builders/corpus.py), with the state of
each rope as that commit's own fold worked it out. The head is pinned, because of one trap: the sum of an event is taken
over the event as **today's** code writes it down again, and what stands at its default is left out. So a changed
default, a renamed or dropped field, or another way to write a number would move the heads of records that nobody
touched, and every head that is printed on a paper would call its record altered. These tests fail first.
If one fails, do not pin anew: mend the code, so that an old event is written down as it was.
"""

import json
import shutil
from dataclasses import fields, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    EVENT_KINDS,
    EventLog,
    FileLog,
    Head,
    MemoryLog,
    People,
    Recorded,
    Register,
    Returned,
    Weighed,
    encode_recorded,
    head_of,
    read_head,
    verify,
)

CORPUS = Path(__file__).parent.parent / "corpus"
RECORDS = sorted(each.name for each in CORPUS.iterdir() if each.is_dir())
MOST_BYTES = 30_000


def expected(record: str) -> dict[str, Any]:
    told: dict[str, Any] = json.loads((CORPUS / record / "expected.json").read_text("utf-8"))
    return told


def entries(path: Path) -> list[dict[str, Any]]:
    """Every event of a file as it stands there: a line is one event or a list of several."""
    lines = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
    return [each for line in lines for each in (line if isinstance(line, list) else [line])]


def ropes_of(log: EventLog, on: str) -> dict[str, dict[str, Any]]:
    ropes = Register(log).ropes(date.fromisoformat(on))
    return {each.id: {"state": each.state, "length_cm": each.length_cm} for each in ropes}


def test_the_first_record_and_the_first_with_sums_are_there() -> None:
    assert {"2026-11-25-9b2d588", "2026-11-25-48c081c"} <= set(RECORDS)


@pytest.mark.django_db
@pytest.mark.parametrize("record", RECORDS)
class TestARecordOfAnEarlierVersion:
    @pytest.fixture
    def folder(self, record: str, tmp_path: Path) -> Path:
        """A copy: opening a log makes a lock beside it."""
        return shutil.copytree(CORPUS / record, tmp_path / "store")

    @pytest.fixture(params=["file", "memory", "database"])
    def log(self, request: pytest.FixtureRequest, folder: Path) -> EventLog:
        file = FileLog(folder / "events.jsonl")
        assert file.repair is None
        if request.param == "file":
            return file
        if request.param == "memory":
            return MemoryLog(file.read())
        # As the first visit of the pages takes a store of files over: SQLite, or PostgreSQL where one is named.
        from tethera.web.store.log import DatabaseLog
        from tethera.web.store.models import Store

        database = DatabaseLog(Store.objects.create(slug="tv", name="an invented store").pk)
        database.append(0, file.read())
        return database

    def test_it_folds_to_the_state_it_had_then(self, log: EventLog, record: str) -> None:
        told = expected(record)
        assert len(log.read()) == told["events"]
        assert ropes_of(log, told["looked_at"]) == told["ropes"]
        # A record that said nothing would be held to nothing.
        assert {"ready", "retired", "in preparation"} <= {each["state"] for each in told["ropes"].values()}
        assert sum(each["length_cm"] is not None for each in told["ropes"].values()) >= 5

    def test_it_has_the_pinned_head_and_is_whole(self, log: EventLog, record: str) -> None:
        pinned = read_head(expected(record)["head"])
        assert head_of(log.read()) == pinned
        verdict = verify(log.read(), [pinned])
        assert (verdict.whole, verdict.head) == (True, pinned)
        assert [each.same for each in verdict.held] == [True]

    def test_what_is_recorded_today_follows_it(self, log: EventLog, record: str) -> None:
        pinned = read_head(expected(record)["head"])
        today = Recorded(Weighed(rope="UG91", happened=PartialDate(2027, 1), mass_g=2100), datetime.now(UTC), "p1")
        log.append(pinned.length, [today])
        assert log.read()[-1].previous == pinned.sum
        assert verify(log.read(), [pinned]).whole

    def test_its_names_are_read(self, folder: Path) -> None:
        names = People(folder / "people.json").names()
        written = {each.by for each in FileLog(folder / "events.jsonl").read()}
        assert written <= set(names)
        assert names["p1"] == "Maud Ellerbeck"

    def test_its_lines_are_written_again_as_they_stand(self, folder: Path) -> None:
        """Not only the same sums: the same JSON, event by event, so that an export of an old record shows it as it
        was.
        """
        again = [encode_recorded(each) for each in FileLog(folder / "events.jsonl").read()]
        assert again == entries(folder / "events.jsonl")

    def test_it_is_small(self, folder: Path) -> None:
        assert (folder / "events.jsonl").stat().st_size <= MOST_BYTES


def test_a_letter_changed_in_an_old_record_moves_its_head() -> None:
    """The pin holds something: without sums of their own the first events are still covered by the head."""
    record = "2026-11-25-9b2d588"
    log = list(MemoryLog(FileLog(CORPUS / record / "events.jsonl").read()).read())
    at = next(n for n, each in enumerate(log) if isinstance(each.event, Returned))
    log[at] = replace(log[at], event=replace(log[at].event, clean=not log[at].event.clean))  # type: ignore[attr-defined]
    assert head_of(log) != read_head(expected(record)["head"])
    assert not verify(log, [read_head(expected(record)["head"])]).whole


def test_a_changed_default_would_move_the_head(monkeypatch: pytest.MonkeyPatch) -> None:
    """The trap of this file's first lines, tried: the default of one field of one kind of event is made another."""
    record = "2026-11-25-9b2d588"
    log = FileLog(CORPUS / record / "events.jsonl").read()
    clean = next(each for each in fields(Returned) if each.name == "clean")
    monkeypatch.setattr(clean, "default", True)
    moved = head_of(log)
    assert isinstance(moved, Head)
    assert moved.length == read_head(expected(record)["head"]).length
    assert moved.sum != read_head(expected(record)["head"]).sum


def test_every_event_and_every_field_of_today_stands_in_some_record() -> None:
    """A kind of event or a field that is new has no old record that holds it to what it is: add one (tests/corpus)."""
    written: dict[str, set[str]] = {word: set() for word in EVENT_KINDS}
    for record in RECORDS:
        for each in entries(CORPUS / record / "events.jsonl"):
            written[each["what"]] |= each.keys()
    known = {(word, field.name) for word, each in EVENT_KINDS.items() for field in fields(each)}
    lacking = sorted((word, name) for word, name in known if name not in written[word])
    assert not lacking, "see tests/corpus/README.md: python builders/corpus.py tests/corpus/DAY-NAME"
