"""The pages in several processes over one PostgreSQL, with workers of their own, as docs/deploy.md says."""

import os
import signal
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest

from faults.crowd import Browser, Crowd, plain
from faults.gunicorn_served import pages
from faults.prepared import PEOPLE, Prepared, clean, prepare
from faults.record import Reader, tally
from faults.work_seen import Asker, WorkerProcess, ask_for_a_plan
from postgresql import binaries, cluster

pytestmark = pytest.mark.skipif(os.name != "posix", reason="gunicorn runs on Unix alone")
_EACH = 8
_FIRST = {"name": "Maud Ellerbeck", "password": "three odd words", "owner": "Ulvergarth Caving Club", "code": "UG"}


def _everybody(crowd: Crowd, port: int, each: int) -> None:
    stop = threading.Event()
    threads = [threading.Thread(target=one.record, args=(port, stop, each)) for one in crowd.recorders]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(120)


def _found(store: Prepared) -> list[str]:
    reader = Reader(store)
    try:
        return reader.entries()
    finally:
        reader.close()


def test_eight_record_in_three_processes_while_one_of_these_is_killed_and_plans_are_made_by_two_workers(
    tmp_path: Path,
) -> None:
    if binaries() is None:
        pytest.skip("NO POSTGRESQL HERE: several processes of pages were not tried on it")
    with cluster("-c fsync=off") as database:
        store = prepare(tmp_path / "store", {"TETHERA_DATABASE": database.address})
        crowd = Crowd(store)
        with pages(store, 3) as served, closing(Browser(store.sessions[0])) as browser:
            workers = [WorkerProcess(store) for _ in range(2)]
            try:
                browser.connect(served.port).get(f"/{store.slug}/trips/new")
                for number in range(6):
                    ask_for_a_plan(browser, store, f"Trip {number}", 10 + 30 * number)
                killed = served.processes()
                assert len(killed) == 3
                recording = threading.Thread(target=_everybody, args=(crowd, served.port, _EACH))
                recording.start()
                time.sleep(0.3)
                os.kill(killed[0], signal.SIGKILL)
                recording.join(120)
                _everybody(crowd, served.port, 1)  # who was cut off sends it again
                told = Asker(store, "ended").told()
                # Its line may have been to the process that was killed.
                page = plain(browser.connect(served.port).get(f"/{store.slug}/ropes/UG1")[1])
            finally:
                said = [each.end() for each in workers]
            told_of_pages = served.stop()
        found = _found(store)
    assert dict(crowd.other_answers) == {}, crowd.told
    assert tally(crowd.acknowledged, crowd.attempted, found).good
    assert len(crowd.acknowledged) > PEOPLE * _EACH / 2
    assert "no 0-0." in page
    assert [(each.begun, each.ended) for each in told] == [(1, True)] * 6
    # The ropes of a plan may have been washed while it was made: then it is none, and says so.
    assert all(each.planned or "changed while they were being chosen" in each.trouble for each in told), told
    assert {each.workers[0] for each in told} == {each.id for each in workers}, "both did some"
    assert "Traceback" not in told_of_pages + "".join(said)


def test_on_a_new_database_all_processes_know_one_key_and_of_those_who_come_first_one_is_first(tmp_path: Path) -> None:
    if binaries() is None:
        pytest.skip("NO POSTGRESQL HERE: the first visit to several processes was not tried on it")
    with cluster("-c fsync=off") as database:
        settings = {"TETHERA_HOSTS": "127.0.0.1", "TETHERA_DATABASE": database.address}
        store = Prepared(tmp_path / "store", clean(settings), "", ())
        with pages(store, 3) as served:
            told = served.told()
            keys = {line.rsplit("/first/", 1)[1].strip() for line in told.splitlines() if "/first/" in line}
            assert len(keys) == 1, told
            address = f"/first/{next(iter(keys))}"
            answers: list[int] = []
            start = threading.Barrier(4)

            def come(number: int) -> None:
                with closing(Browser("")) as browser:
                    browser.connect(served.port)
                    assert browser.get("/first")[0] == 404
                    assert browser.get(address)[0] == 200
                    start.wait(30)
                    answers.append(browser.post(address, _FIRST | {"email": f"k{number}@ulvergarth.invalid"})[0])

            threads = [threading.Thread(target=come, args=(number,)) for number in range(4)]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join(60)
            assert "Traceback" not in served.told()
    assert sorted(answers) == [302, 404, 404, 404]
