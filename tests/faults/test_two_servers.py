"""Two servers and the terminal over one store at once: each sees what the others record, nothing is lost or doubled."""

import threading
from contextlib import closing
from pathlib import Path

import pytest

from faults.crowd import Browser, Crowd, plain
from faults.prepared import Prepared, prepare
from faults.record import Reader, tally
from faults.served import serving, tethera
from postgresql import binaries, cluster

_EACH = 6


def _both_at_once(store: Prepared) -> None:
    crowd = Crowd(store)
    with serving(store) as one, serving(store) as other:
        ports = [one.port if who % 2 else other.port for who in range(len(crowd.recorders))]
        stop = threading.Event()
        threads = [
            threading.Thread(target=each.record, args=(port, stop, _EACH))
            for each, port in zip(crowd.recorders, ports, strict=True)
        ]
        for thread in threads:
            thread.start()
        said = [tethera(store, "record", "spun", f"UG{number}", "note=at the terminal") for number in (20, 21)]
        for thread in threads:
            thread.join(120)
        with closing(Browser(store.sessions[0])) as eye:
            eye.connect(one.port).get(f"/{store.slug}")  # which shows the messages that wait, once
            pages = {port: plain(eye.connect(port).get(f"/{store.slug}/ropes/UG1")[1]) for port in set(ports)}
        told = one.errors() + other.errors()
    assert [each.returncode for each in said] == [0, 0], said
    assert dict(crowd.other_answers) == {}, crowd.told
    assert len(crowd.acknowledged) == len(crowd.recorders) * _EACH
    # Whoever recorded it, at whichever server: the page of the rope is the same at both.
    assert len(set(pages.values())) == 1
    assert "no 0-0." in next(iter(pages.values()))
    reader = Reader(store)
    try:
        assert tally(crowd.acknowledged, crowd.attempted, reader.entries()).good
    finally:
        reader.close()
    assert "Traceback" not in told


def test_two_servers_on_one_file(tmp_path: Path) -> None:
    _both_at_once(prepare(tmp_path / "store"))


def test_two_servers_on_one_postgresql(tmp_path: Path) -> None:
    if binaries() is None:
        pytest.skip("NO POSTGRESQL HERE: two servers on it were not tried")
    with cluster("-c fsync=off") as database:
        _both_at_once(prepare(tmp_path / "store", {"TETHERA_DATABASE": database.address}))


def test_the_same_form_sent_to_both_counts_once(tmp_path: Path) -> None:
    store = prepare(tmp_path / "store")
    form = {"how": "hand", "happened": "", "note": "no 0-0.", "once": "the same"}
    with serving(store) as one, serving(store) as other, closing(Browser(store.sessions[0])) as browser:
        answers = []
        for server in (one, other, one):
            browser.connect(server.port).get(f"/{store.slug}/ropes/UG1/do/washed")
            answers.append(browser.post(f"/{store.slug}/ropes/UG1/do/washed", form)[0])
    assert answers == [302, 302, 302]
    reader = Reader(store)
    try:
        assert reader.entries() == ["0-0"]
    finally:
        reader.close()


def test_of_two_who_retire_one_rope_at_two_servers_the_second_is_told(tmp_path: Path) -> None:
    store = prepare(tmp_path / "store")
    with serving(store) as one, serving(store) as other, closing(Browser(store.sessions[0])) as browser:
        browser.connect(other.port).get(f"/{store.slug}/ropes/UG1")  # folded there before the first acts
        browser.connect(one.port).get(f"/{store.slug}/ropes/UG1/retire")
        retire = {"choice": "worn sheath", "own": "", "happened": "", "note": "", "once": "a"}
        first = browser.post(f"/{store.slug}/ropes/UG1/retire", retire)
        second = browser.connect(other.port).get(f"/{store.slug}/ropes/UG1")
    assert first[0] == 302, plain(first[1])
    assert "retired" in plain(second[1])
