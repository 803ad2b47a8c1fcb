"""The chain over a log: what it finds, what it names, and what only a head or a copy kept elsewhere can find."""

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from any_log import RECORDED
from tethera.basics import PartialDate
from tethera.store import (
    GENESIS,
    Chain,
    FileLog,
    Head,
    MemoryLog,
    Recorded,
    Washed,
    encode_recorded,
    head_of,
    heads_in,
    linked,
    read_head,
    verify,
)

WRITTEN = datetime(2026, 11, 25, 9, tzinfo=UTC)


def washed(number: int, note: str = "") -> Recorded:
    return Recorded(Washed(rope=f"UG{number}", happened=PartialDate(2026, 11, 3), note=note), WRITTEN, "p1")


LOG = tuple(linked([washed(number) for number in range(8)], GENESIS))
HEAD = head_of(LOG)
OLD = tuple(washed(number) for number in range(8))  # recorded before the record carried sums


def altered(at: int, log: tuple[Recorded, ...] = LOG) -> tuple[Recorded, ...]:
    return (*log[:at], replace(log[at], event=washed(at, "twice").event), *log[at + 1 :])


def rewritten(at: int) -> tuple[Recorded, ...]:
    """Somebody who alters an event and writes the chain anew from there on."""
    return tuple(linked([replace(each, previous=None) for each in altered(at)], GENESIS))


def test_a_log_as_it_was_recorded_is_whole() -> None:
    verdict = verify(LOG, (HEAD, head_of(LOG[:3]), Head(0, GENESIS)), (LOG, LOG[:5]))
    assert verdict.whole
    assert (verdict.head, verdict.first, verdict.without_sum) == (HEAD, None, 0)
    assert [each.same for each in verdict.held] == [True, True, True]


@pytest.mark.parametrize(
    ("log", "first", "told"),
    [
        (altered(4), 4, "Event 4 (washed UG4, 3 Nov 2026, written down 25 Nov 2026) is not as it was recorded, or"),
        (altered(0), 0, "Event 0 (washed UG0"),
        ((*LOG[:4], *LOG[5:]), 3, "events that stood between it and event 4 were taken out"),
        (LOG[2:], 0, "The beginning is not there: event 0 (washed UG2"),
        ((*LOG[:4], washed(9), *LOG[4:]), 4, "carries no sum, although events before it do: it was put in"),
        (
            (*LOG[:4], replace(washed(9), previous=LOG[4].previous), *LOG[4:]),
            4,
            "does not belong here, but event 5 does",
        ),
        ((*LOG[:4], LOG[5], LOG[4], *LOG[6:]), 4, "does not belong here, but event 5 does"),
        ((*LOG[:2], LOG[4], LOG[5], LOG[2], LOG[3], *LOG[6:]), 2, "event 4 does: events were put in or moved"),
    ],
)
def test_the_chain_alone_names_the_first_event_that_is_not_as_it_was(
    log: tuple[Recorded, ...], first: int, told: str
) -> None:
    verdict = verify(log)
    assert verdict.first == first
    assert told in verdict.troubles[0]


def test_the_end_cut_off_is_found_only_by_a_head_or_a_copy_kept_elsewhere() -> None:
    assert verify(LOG[:6]).whole
    by_head, by_copy = verify(LOG[:6], (HEAD,)), verify(LOG[:6], (), (LOG,))
    assert (by_head.first, by_head.troubles) == (6, ("The record has 6 events, and had 8: 2 were taken out.",))
    assert by_copy.first == 6
    assert "Event 6 is not there (washed UG6" in by_copy.troubles[0]


def test_a_chain_written_anew_is_found_only_by_a_head_or_a_copy_kept_elsewhere() -> None:
    log = rewritten(4)
    assert verify(log).whole
    verdict = verify(log, (HEAD,))
    assert verdict.first == 0
    assert "One of the events 0 to 7 is not as it was when the head 8: " in verdict.troubles[0]
    assert "only a copy can say which it was" in verdict.troubles[0]
    # Heads noted at several times close in on it.
    closer = verify(log, (HEAD, head_of(LOG[:4]), head_of(LOG[:5])))
    assert closer.first == 4
    assert closer.troubles[0].startswith("Event 4 is not as it was when the head 5: ")
    assert [each.same for each in closer.held] == [False, True, False]
    exactly = verify(log, (HEAD,), (LOG,))
    assert (exactly.first, "Event 4 (washed UG4" in exactly.troubles[0]) == (4, True)


@given(st.lists(RECORDED, min_size=1, max_size=6), st.data())
def test_whatever_is_altered_or_taken_out_is_found(log: list[Recorded], data: st.DataObject) -> None:
    whole = tuple(linked(log, GENESIS))
    head = head_of(whole)
    assert verify(whole, (head,)).whole
    at = data.draw(st.integers(0, len(whole) - 1))
    other = data.draw(RECORDED)
    if other != whole[at]:
        changed = (*whole[:at], replace(other, previous=whole[at].previous), *whole[at + 1 :])
        assert verify(changed, (head,)).first == at if at < len(whole) - 1 else not verify(changed, (head,)).whole
        assert verify(changed, (), (whole,)).first == at
    assert not verify((*whole[:at], *whole[at + 1 :]), (head,)).whole


@given(st.lists(RECORDED, max_size=6), st.integers(0, 6), st.integers(0, 6))
def test_a_chain_walked_in_pieces_is_the_chain(log: list[Recorded], first: int, second: int) -> None:
    whole = tuple(linked(log, GENESIS))
    cuts = sorted((min(first, len(log)), min(second, len(log))))
    chain = Chain()
    for start, end in zip((0, *cuts), (*cuts, len(log)), strict=True):
        chain.extend(whole[start:end])
    assert chain.head == head_of(whole) == head_of(log)


def a_log_begun_before_sums(tmp_path: Path) -> FileLog:
    """A file as an earlier Tethera wrote it, continued by this one."""
    path = tmp_path / "log.jsonl"
    path.write_text("".join(json.dumps(encode_recorded(each)) + "\n" for each in OLD[:5]), encoding="utf-8")
    log = FileLog(path)
    log.append(5, [washed(5)])
    log.append(6, [washed(6), washed(7)])
    return log


def test_a_log_begun_before_sums_is_continued_with_the_sum_of_all_that_stands_there(tmp_path: Path) -> None:
    log = a_log_begun_before_sums(tmp_path)
    assert [each.previous is None for each in log.read()] == [True] * 5 + [False] * 3
    verdict = verify(log.read())
    assert (verdict.whole, verdict.without_sum, verdict.head) == (True, 5, HEAD)
    # What stood there was not touched.
    assert "previous" not in "".join(log.path.read_text("utf-8").splitlines()[:5])


def test_a_change_among_events_without_sums_is_found_and_named_as_closely_as_can_be(tmp_path: Path) -> None:
    log = a_log_begun_before_sums(tmp_path)
    log.path.write_text(log.path.read_text("utf-8").replace("UG3", "UG33"), encoding="utf-8")
    verdict = verify(FileLog(log.path).read())
    assert verdict.first == 0
    assert verdict.troubles[0].startswith("One of the events 0 to 4 is not as it was recorded")


def test_a_memory_log_begun_without_sums_is_continued_the_same_way() -> None:
    log = MemoryLog(OLD[:5])
    log.append(5, OLD[5:])
    assert head_of(log.read()) == HEAD
    assert verify(log.read()).whole


@pytest.mark.parametrize(
    "written",
    [HEAD.short(), str(HEAD), f" {HEAD.short().upper()} ", HEAD.short().replace(" ", "-").replace(":-", ": ")],
)
def test_a_head_is_read_back_as_printed_typed_or_copied(written: str) -> None:
    assert read_head(written).is_of(HEAD)
    assert heads_in(f"The head of the record on 25 Nov 2026 at 09:30:\n{written}\nKeep it.") == (read_head(written),)


@pytest.mark.parametrize("written", ["", "8", "8: 3f9a", "8: 3f9a 01c2 4b7e", "x: 3f9a01c24b7e9d10", f"8:{'0' * 65}"])
def test_what_is_no_head_is_said_in_words(written: str) -> None:
    with pytest.raises(ValueError, match="is no head of a record: expected the number of events, a colon"):
        read_head(written)


def test_a_head_of_many_letters_is_read_in_a_moment() -> None:
    """Letters could once be cut into groups in so many ways that 40 of them and a wrong one took minutes.

    Should they ever again, faulthandler_timeout ends the run here.
    """
    with pytest.raises(ValueError, match="is no head of a record"):
        read_head("7:" + "3f9a" * 5_000 + "!")
    assert heads_in("7:" + "3f9a " * 5_000 + "!" + "1: 3f9a" * 2_000) == ()


@pytest.mark.parametrize("previous", [7, "", "0" * 63, "G" * 64, "A" * 64])
def test_a_sum_that_is_none_is_damage(tmp_path: Path, previous: object) -> None:
    from tethera.store import DamagedLog

    line = {**encode_recorded(washed(1)), "previous": previous}
    (tmp_path / "log.jsonl").write_text(json.dumps(line) + "\n", encoding="utf-8")
    with pytest.raises(DamagedLog, match="“previous” should be the sum of the entry before"):
        FileLog(tmp_path / "log.jsonl").read()
