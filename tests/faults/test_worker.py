"""A worker killed in the middle of a plan: its work is taken up again, once, and the page says so."""

import re
import time
from pathlib import Path

import pytest

from faults.crowd import Browser, plain
from faults.prepared import prepare
from faults.served import Served, serving
from faults.work_seen import Asker, SeenWork, WorkerProcess, ask_for_a_plan
from postgresql import binaries, cluster

_AGAIN = "Tethera was stopped in the middle of it. It is being done again from its beginning."


def _shown_again(browser: Browser, address: str, seconds: float = 20) -> bool:
    """Whether the page of the trip says that its plan is made again, before the plan is there."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        page = plain(browser.get(address)[1])
        if _AGAIN in page:
            return True
        if re.search("Book these ropes", page):
            return False
        time.sleep(0.02)
    return False


def _killed_in_the_middle(told: list[SeenWork]) -> SeenWork:
    under_way = [each for each in told if each.begun and not each.ended]
    assert len(under_way) == 1, told
    return under_way[0]


def test_killed_with_the_pages_it_is_taken_up_at_the_next_start(tmp_path: Path) -> None:
    store = prepare(tmp_path / "store")
    browser = Browser(store.sessions[0])
    server = Served(store)
    try:
        browser.connect(server.port).get(f"/{store.slug}/trips/new")
        waiting = Asker(store, "begun")
        time.sleep(1)  # until the one that watches is awake: a plan may take less than its start
        address = ask_for_a_plan(browser, store, "Cut short", 10)
        _killed_in_the_middle(waiting.told())
    finally:
        server.kill()
    with serving(store) as server:
        browser.connect(server.port)
        assert _shown_again(browser, address)
        (work,) = Asker(store, "ended").told()
        page = plain(browser.get(address)[1])
        browser.close()
    assert (work.begun, work.trouble, work.planned, len(set(work.workers))) == (2, "", True, 2)
    assert "Book these ropes" in page
    assert _AGAIN not in page


def test_of_several_workers_at_postgresql_the_others_take_up_what_one_had_in_hand(tmp_path: Path) -> None:
    if binaries() is None:
        pytest.skip("NO POSTGRESQL HERE: several workers were not tried")
    with cluster("-c fsync=off") as database:
        store = prepare(tmp_path / "store", {"TETHERA_DATABASE": database.address})
        browser = Browser(store.sessions[0])
        with serving(store) as server:
            browser.connect(server.port).get(f"/{store.slug}/trips/new")
            workers = [WorkerProcess(store) for _ in range(2)]
            try:
                waiting = Asker(store, "begun", by=workers[0].id)
                time.sleep(1)
                for number in range(5):
                    # A month apart, so that each is planned by itself.
                    ask_for_a_plan(browser, store, f"Trip {number}", 10 + 30 * number)
                in_hand = next(each for each in waiting.told() if not each.ended and workers[0].id in each.workers)
                workers[0].kill()
                told = Asker(store, "ended").told()
            finally:
                browser.close()
                said = [each.end() for each in workers]
    dead = workers[0].id
    assert [(each.ended, each.trouble, each.planned, each.status) for each in told] == [
        (True, "", True, "SUCCESSFUL")
    ] * 5
    assert next(each.begun for each in told if each.key == in_hand.key) == 2
    for each in told:
        # Begun once by one worker; a second time only where the first of them was the dead one.
        assert each.begun == len(each.workers)
        assert len(each.workers) == 1 or (len(each.workers) == 2 and each.workers[0] == dead), each
    assert "Traceback" not in "".join(said)


def test_a_second_server_on_the_same_file_does_not_begin_again_what_the_first_still_does(tmp_path: Path) -> None:
    store = prepare(tmp_path / "store")
    browser = Browser(store.sessions[0])
    with serving(store) as server:
        browser.connect(server.port).get(f"/{store.slug}/trips/new")
        waiting = Asker(store, "begun")
        time.sleep(1)
        ask_for_a_plan(browser, store, "Undisturbed", 10)
        waiting.told()
        with serving(store):
            (work,) = Asker(store, "ended").told()
        browser.close()
    assert (work.begun, len(work.workers), work.planned, work.trouble) == (1, 1, True, "")
