"""The clock is put back while the store is served: entries keep their order, nobody is put out, and it is said."""

import shutil
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from faults.crowd import Browser, Recorder, plain
from faults.prepared import prepare
from faults.record import Reader, tally
from faults.served import serving, tethera

_DAY_S = 24 * 3600
_SOURCE = Path(__file__).with_name("clock.c")

pytestmark = [
    pytest.mark.skipif(not sys.platform.startswith("linux"), reason="a clock is laid before libc on Linux only"),
    pytest.mark.skipif(shutil.which("cc") is None, reason="NO C COMPILER HERE: a clock put back was not tried"),
]


class Clock:
    """The clock of programs run with `settings`, so many seconds beside the machine's."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / "beside"
        self.put(0)
        library = folder / "clock.so"
        subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", library, _SOURCE, "-ldl"], check=True, timeout=60)
        self.settings = {"LD_PRELOAD": str(library), "BESIDE_THE_CLOCK": str(self._file)}

    def put(self, seconds: int) -> None:
        """Put it forward, or back."""
        self._file.write_text(str(seconds))


def test_the_clock_of_the_test_is_put_back_indeed(tmp_path: Path) -> None:
    clock = Clock(tmp_path)
    clock.put(-3 * _DAY_S)
    ask = [
        sys.executable,
        "-c",
        "import time; from datetime import datetime; print(time.time(), datetime.now().timestamp())",
    ]
    said = subprocess.run(ask, capture_output=True, text=True, env=clock.settings, check=True, timeout=30).stdout
    assert all(abs(time.time() - 3 * _DAY_S - float(each)) < 60 for each in said.split())


def test_put_back_by_three_days_and_forward_again_nothing_is_lost_and_it_is_said(tmp_path: Path) -> None:
    clock, store = Clock(tmp_path), prepare(tmp_path / "store")
    recorder = Recorder(0, Browser(store.sessions[0]), store.slug)
    with serving(store, more=clock.settings) as server, closing(recorder):
        browser = recorder.browser.connect(server.port)
        browser.get(f"/{store.slug}/ropes/UG1/do/washed")
        assert recorder.one() == 302
        assert "By the clock of this machine" not in plain(browser.get(f"/{store.slug}")[1])

        clock.put(-3 * _DAY_S)
        assert [recorder.one() for _ in range(2)] == [302, 302]
        # Nobody is asked to sign in, every page works, and what is wrong is told once, beside the entry.
        pages = [browser.get(f"/{store.slug}{page}") for page in ("", "/ropes", "/ropes/UG9", "/preparation")]
        assert [status for status, _ in pages] == [200] * 4
        told = " ".join(plain(page) for _, page in pages)
        assert told.count("By the clock of this machine it is") == 1
        assert "Set the clock" in told

        clock.put(0)
        assert recorder.one() == 302
        assert "By the clock of this machine" not in plain(browser.get(f"/{store.slug}")[1])
        assert "Traceback" not in server.errors()
    reader = Reader(store)
    try:
        found = reader.entries()
    finally:
        reader.close()
    assert tally(recorder.acknowledged, recorder.attempted, found).good
    assert found == ["0-0", "0-1", "0-2", "0-3"], "the order of the log is the order in which it was recorded"


def test_long_work_is_done_though_the_clock_went_back(tmp_path: Path) -> None:
    clock, store = Clock(tmp_path), prepare(tmp_path / "store")
    with serving(store, more=clock.settings) as server, closing(Browser(store.sessions[0])) as browser:
        browser.connect(server.port).get(f"/{store.slug}")
        clock.put(-3 * _DAY_S)
        first_day = time.strftime("%Y-%m-%d", time.localtime(time.time() + 20 * _DAY_S))
        form = {"routes": "long-rake", "first_day": first_day, "party": "4", "leader": "", "name": "Long Rake"}
        status, page, leads_to = browser.post(f"/{store.slug}/trips/new", form)
        assert status == 302, plain(page)
        until = time.monotonic() + 40
        while "Book these ropes" not in (page := plain(browser.get(leads_to)[1])) and time.monotonic() < until:
            time.sleep(0.2)
    assert "Book these ropes" in page


def test_at_the_terminal_the_clock_put_back_is_said_beside_the_entry(tmp_path: Path) -> None:
    clock, store = Clock(tmp_path), prepare(tmp_path / "store")
    assert tethera(store, "record", "spun", "UG1", more=clock.settings).returncode == 0
    clock.put(-3 * _DAY_S)
    said = tethera(store, "record", "spun", "UG2", more=clock.settings)
    assert said.returncode == 0, said.stderr
    assert "By the clock of this machine it is" in said.stdout + said.stderr
