"""Killed at any moment while eight people record: what was acknowledged is there, once, and the log opens by itself.

A few rounds of what benchmarks/killed.py does five hundred times.
"""

import random
from pathlib import Path

import pytest

from faults import command_kills, file_kills, kills
from faults.prepared import prepare
from faults.record import Reader, tally
from postgresql import binaries, cluster
from tethera.store import FileLog

_SEED = 7


def _all_good(rounds: list[kills.Round]) -> None:
    for each in rounds:
        assert each.tally.good, each.tally
        assert each.pages_work
        assert set(each.other_answers) <= {503}, each.said
    assert rounds[-1].tally.acknowledged > len(rounds), "hardly anything was recorded: nothing was tried"
    assert rounds[-1].sent_again > 0


def test_the_server_over_sqlite(tmp_path: Path) -> None:
    store = prepare(tmp_path / "store")
    _all_good(list(kills.rounds(store, 4, random.Random(_SEED), kills.nothing_more)))


def test_the_server_and_postgresql_with_it(tmp_path: Path) -> None:
    if binaries() is None:
        pytest.skip("NO POSTGRESQL HERE: it was not killed")
    with cluster() as database:
        store = prepare(tmp_path / "store", {"TETHERA_DATABASE": database.address})

        def more(number: int) -> None:
            if number == 1:
                database.kill()
                database.start()

        _all_good(list(kills.rounds(store, 3, random.Random(_SEED), more)))


def test_those_who_write_to_a_file(tmp_path: Path) -> None:
    *_, (last, _) = file_kills.rounds(tmp_path / "events.jsonl", 4, random.Random(_SEED))
    assert last.good, last
    assert last.acknowledged > 8


def _all_there(rounds: list[command_kills.Killed]) -> None:
    for each in rounds:
        assert each.tally.good, each.tally
    last = rounds[-1]
    assert last.tally.acknowledged >= command_kills.AT_ONCE, "not even those that were left alone were recorded"
    assert last.cut_off > 0, "no command was cut off: nothing was tried"


def test_single_commands_on_a_store_in_files(tmp_path: Path) -> None:
    path = command_kills.one_rope(tmp_path)
    _all_there(list(command_kills.rounds(tmp_path, 5, random.Random(_SEED), command_kills.read_file(path))))


def test_single_commands_on_a_store_in_a_database(tmp_path: Path) -> None:
    store = prepare(tmp_path / "store")
    reader = Reader(store)
    try:
        _all_there(list(command_kills.rounds(store.folder, 5, random.Random(_SEED), lambda: (reader.entries(), ""))))
    finally:
        reader.close()


def test_a_line_torn_by_a_power_cut_costs_only_what_was_never_acknowledged(tmp_path: Path) -> None:
    path, chance = tmp_path / "events.jsonl", random.Random(_SEED)
    *_, (before, _) = file_kills.rounds(path, 1, chance)
    file_kills.torn(path, chance)
    log = FileLog(path)
    assert log.repair is not None
    assert "was never acknowledged" in log.repair
    assert len(log.read()) == before.found  # with the rope's own first entry, less the torn one


def test_the_count_itself_finds_what_is_lost_and_what_stands_twice() -> None:
    told = tally(["0-0", "0-1"], ["0-0", "0-1", "0-2"], ["0-1", "0-1", "1-9"])
    assert (told.lost, told.twice, told.never_sent, told.good) == (("0-0",), ("0-1",), ("1-9",), False)
