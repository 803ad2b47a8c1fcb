"""What every log of events must do, run over each; and what the file log must survive."""

import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    EVENT_KINDS,
    GENESIS,
    Bought,
    Chain,
    Corrected,
    Cut,
    DamagedLog,
    EventLog,
    FileLog,
    LogMovedOn,
    MemoryLog,
    People,
    Piece,
    Recorded,
    Washed,
    decode_event,
    encode_event,
    head_of,
    kind,
    linked,
)

WRITTEN = datetime(2026, 11, 25, 9, tzinfo=UTC)
MakeLog = Callable[[], EventLog]


def washed(number: int) -> Recorded:
    return Recorded(Washed(rope=f"TV{number}", happened=PartialDate(2026, 11)), WRITTEN, "p1")


@pytest.mark.django_db
class TestEveryLog:
    @pytest.fixture(params=["memory", "file", "database"])
    def log(self, request: pytest.FixtureRequest, tmp_path: Path) -> EventLog:
        match request.param:
            case "memory":
                return MemoryLog()
            case "file":
                return FileLog(tmp_path / "new" / "log.jsonl")
        # SQLite, or PostgreSQL when TETHERA_DATABASE names one.
        from tethera.web.store.log import DatabaseLog
        from tethera.web.store.models import Store

        return DatabaseLog(Store.objects.create(slug="tv", name="an invented store").pk)

    def test_a_new_log_is_empty(self, log: EventLog) -> None:
        assert list(log.read()) == []

    def test_what_is_appended_is_read_back_in_order(self, log: EventLog) -> None:
        log.append(0, [washed(1), washed(2)])
        log.append(2, [washed(3)])
        assert list(log.read()) == [washed(1), washed(2), washed(3)]

    def test_a_writer_who_has_not_seen_the_last_event_is_told_and_nothing_is_written(self, log: EventLog) -> None:
        log.append(0, [washed(1)])
        with pytest.raises(LogMovedOn) as told:
            log.append(0, [washed(2)])
        assert (told.value.expected, told.value.actual) == (0, 1)
        assert list(log.read()) == [washed(1)]

    def test_a_writer_who_expects_more_than_there_is_is_told(self, log: EventLog) -> None:
        with pytest.raises(LogMovedOn):
            log.append(3, [washed(1)])

    def test_an_empty_append_changes_nothing(self, log: EventLog) -> None:
        log.append(0, [])
        assert list(log.read()) == []

    def test_what_was_read_stays_as_it_was_when_the_log_grows(self, log: EventLog) -> None:
        log.append(0, [washed(1)])
        before = log.read()
        log.append(1, [washed(2)])
        assert list(before) == [washed(1)]

    def test_every_entry_carries_the_sum_of_the_one_before(self, log: EventLog) -> None:
        log.append(0, [washed(1), washed(2)])
        log.append(2, [washed(3)])
        assert [each.previous for each in log.read()] == [each.previous for each in linked(THREE, GENESIS)]
        assert log.read()[0].previous == GENESIS
        assert Chain().extend(log.read()).broken is None

    def test_the_head_follows_from_what_was_recorded_alone(self, log: EventLog) -> None:
        log.append(0, [washed(1)])
        log.append(1, [washed(2), washed(3)])
        assert str(head_of(log.read())) == f"3:{HEAD_OF_THREE}"

    def test_a_sum_that_an_entry_brings_along_is_kept_so_that_an_alteration_is_not_hidden(self, log: EventLog) -> None:
        first, second, third = linked(THREE, GENESIS)
        log.append(0, [first, replace(second, event=washed(7).event), third])
        broken = Chain().extend(log.read()).broken
        assert broken is not None
        assert (broken.first, broken.at) == (1, 2)


#: The head of three washes, reckoned outside this program: JSON.stringify with sorted names, and SHA-256, in Node.js.
HEAD_OF_THREE = "8d04aed3e1b1cb958ec7f2b91025faaef2e92880e95200d453bbed7da9e80cb6"
THREE = [washed(1), washed(2), washed(3)]


def a_file(tmp_path: Path) -> tuple[Path, bytes]:
    path = tmp_path / "log.jsonl"
    log = FileLog(path)
    log.append(0, [washed(1)])
    log.append(1, [washed(2), washed(3)])
    return path, path.read_bytes()


def test_a_line_cut_short_at_any_byte_never_costs_an_earlier_event_and_is_never_deleted(tmp_path: Path) -> None:
    path, whole = a_file(tmp_path)
    first = whole.index(b"\n") + 1
    for length in range(first, len(whole)):
        path.write_bytes(whole[:length])
        log = FileLog(path)
        events = list(log.read())
        beside = sorted(tmp_path.glob("log.jsonl.torn-*"))
        if length == first:
            assert (events, log.repair, beside) == ([washed(1)], None, [])
        elif length == len(whole) - 1:
            assert events == [washed(1), washed(2), washed(3)]
            assert log.repair is not None
            assert beside == []
        else:
            assert events == [washed(1)]
            assert log.repair is not None
            assert [each.read_bytes() for each in beside] == [whole[first:length]]
        for each in beside:
            each.unlink()
        log.append(len(events), [washed(9)])
        assert list(FileLog(path).read()) == [*events, washed(9)]


def unreadable() -> Recorded:
    """An entry that went wrong on its way: no way of washing is called so."""
    return Recorded(Washed(rope="TV1", happened=PartialDate(2026), how="boiled"), WRITTEN)  # type: ignore[arg-type]


@pytest.mark.django_db
@pytest.mark.parametrize("kept_in", ["file", "database"])
def test_what_could_not_be_read_again_is_never_written(tmp_path: Path, kept_in: str) -> None:
    from tethera.web.store.log import DatabaseLog
    from tethera.web.store.models import Store

    file = FileLog(tmp_path / "log.jsonl")
    log = file if kept_in == "file" else DatabaseLog(Store.objects.create(slug="tv", name="an invented store").pk)
    with pytest.raises(ValueError, match="boiled"):
        log.append(0, [washed(1), unreadable()])
    assert list(log.read()) == []


def test_two_torn_ends_are_both_kept(tmp_path: Path) -> None:
    path, whole = a_file(tmp_path)
    for _ in range(2):
        path.write_bytes(whole + b'{"what": "was')
        FileLog(path)
    assert len(list(tmp_path.glob("log.jsonl.torn-*"))) == 2


def test_a_torn_end_left_by_another_program_is_mended_by_the_next_append(tmp_path: Path) -> None:
    path, whole = a_file(tmp_path)
    log = FileLog(path)
    path.write_bytes(whole + b'{"what": "was')
    assert len(log.read()) == 3
    log.append(3, [washed(4)])
    assert len(FileLog(path).read()) == 4


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (b"not json", "line 2: not whole JSON"),
        (b"\xff\xfe", "line 2: the line is not text in UTF-8"),
        (b"7", "line 2: expected an object"),
        (b"[" * 100_000, "line 2"),
        (b'{"what": "washed", "happened": "2026"}', "line 2: “recorded” is missing"),
    ],
)
def test_damage_in_the_middle_names_the_line_and_changes_nothing(tmp_path: Path, line: bytes, told: str) -> None:
    path, whole = a_file(tmp_path)
    first = whole.index(b"\n") + 1
    damaged = whole[:first] + line + b"\n" + whole[first:]
    path.write_bytes(damaged)
    with pytest.raises(DamagedLog, match=told):
        FileLog(path).read()
    assert path.read_bytes() == damaged


def test_a_log_that_shrank_under_a_reader_is_told(tmp_path: Path) -> None:
    path, whole = a_file(tmp_path)
    log = FileLog(path)
    log.read()
    path.write_bytes(whole[: whole.index(b"\n") + 1])
    with pytest.raises(DamagedLog, match="shorter"):
        log.read()


_WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from tethera.basics import PartialDate
from tethera.store import Bought, FileLog, Register, Washed
register = Register(FileLog(Path(sys.argv[1])))
now = datetime(2026, 11, 25, 9, tzinfo=UTC)
day = PartialDate(2026, 11, 25)
for number in range(190):
    register.record(Washed(rope="TV1", happened=day, note=f"{sys.argv[2]}{number}"), recorded=now)
for number in range(10):
    register.record_new(1, lambda ids: [Bought(rope=ids[0], happened=day, length_cm=100)], recorded=now)
"""


def test_two_programs_writing_at_once_lose_nothing_write_nothing_twice_and_share_no_number(tmp_path: Path) -> None:
    path = tmp_path / "log.jsonl"
    writers = [subprocess.Popen([sys.executable, "-c", _WRITER, str(path), name]) for name in "ab"]
    assert [each.wait(120) for each in writers] == [0, 0]
    events = [each.event for each in FileLog(path).read()]
    notes = [each.note for each in events if isinstance(each, Washed)]
    assert sorted(notes) == sorted(f"{name}{number}" for name in "ab" for number in range(190))
    assert [each for each in notes if each[0] == "a"] == [f"a{number}" for number in range(190)]
    bought = [each.rope for each in events if isinstance(each, Bought)]
    assert sorted(bought) == sorted(f"R{number}" for number in range(1, 21))


def test_nested_events_survive_json() -> None:
    cut = Cut(rope="TV1", happened=PartialDate(2026), into=(Piece(rope="TV2", length_cm=100),), reason="flat spot")
    event = Corrected(happened=PartialDate(2026, 2), event=3, replacement=cut, reason="wrong rope")
    assert decode_event(json.loads(json.dumps(encode_event(event)))) == event


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ({"what": "measured", "happened": "2026", "rope": "TV1", "length_cm": 1.5}, "“length_cm” .* whole number"),
        ({"what": "measured", "happened": "2026", "rope": "TV1", "length_cm": True}, "whole number"),
        ({"what": "measured", "happened": "2026", "rope": "TV1"}, "lacks “length_cm”"),
        ({"what": "measured", "happened": "May", "rope": "TV1", "length_cm": 5}, "YYYY-MM"),
        ({"what": "measured", "happened": "2026", "rope": "tv-1", "length_cm": 5}, "capitals or digits"),
        ({"what": "washed", "happened": "2026", "rope": "TV1", "colour": "red"}, "no “colour”.*newer Tethera"),
        ({"what": "ironed", "happened": "2026", "rope": "TV1"}, "“ironed” is no event known here"),
        ({"what": "bought", "happened": "2026", "rope": "TV1", "length_cm": 5, "rope_type": "C"}, "one of A, B"),
        ({"what": "cut", "happened": "2026", "rope": "TV1", "into": [3]}, "object"),
    ],
)
def test_what_cannot_be_read_is_said_in_words(written: dict[str, object], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        decode_event(written)


def test_every_event_has_a_word_of_its_own() -> None:
    assert all(kind(event) == word for word, event in EVENT_KINDS.items())


def test_a_name_can_be_erased_and_its_id_is_not_given_again(tmp_path: Path) -> None:
    people = People(tmp_path / "people.json")
    assert people.id_of("Ada Thorne") == people.id_of("ada  thorne") == "p1"
    people.erase("p1")
    assert people.name("p1") == "p1"
    assert people.id_of("Ada Thorne") == "p2"
    assert "Ada" in (tmp_path / "people.json").read_text("utf-8")
