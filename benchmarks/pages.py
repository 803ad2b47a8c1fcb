"""Pages over 1,000 ropes and 100,000 events, beside a bare Django page of as many rows; 20 people recording at once.

python benchmarks/pages.py [--people 20] [--each 10]

Both servers run at the same time on this machine and are asked in turn, so that the ratio means something. With a
PostgreSQL at hand the recording is done there too.
"""

import argparse
import contextlib
import http.client
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlencode

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "benchmarks"), str(ROOT / "tests")]

_FILL = """
import sys
from pathlib import Path
sys.path.insert(0, {benchmarks!r})
from tethera.web import installation
installation.open_folder(Path({folder!r}))
import json
import big_store
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from tethera.web.accounts.joining import new_store
from tethera.web.accounts.models import Account, Membership
store = installation.take_over(list(big_store.events({ropes}, {events})), {{"p1": "Keeper"}}, new_store)
cookies = []
for number in range({people}):
    account = Account.objects.create_user(f"k{{number}}@bench.invalid", None, name=f"Keeper {{number}}")
    Membership.objects.create(account=account, store=store, role="keeper", competent=True, person="p1")
    session = SessionStore()
    session[SESSION_KEY], session[HASH_SESSION_KEY] = str(account.pk), account.get_session_auth_hash()
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session.save()
    cookies.append(session.session_key)
print(json.dumps({{"slug": store.slug, "cookies": cookies}}))
"""
_COUNT = """
from pathlib import Path
from tethera.web import installation
installation.open_folder(Path({folder!r}))
from tethera.web.store.models import LoggedEvent, Store
store = Store.objects.get()
rows = list(LoggedEvent.objects.filter(store=store).order_by("number").values_list("number", flat=True))
assert rows == list(range(store.length)), "numbers have gaps"
print(store.length)
"""


def python(script: str, environment: dict[str, str]) -> str:
    """What a script prints last."""
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, env=environment, check=False)
    if ran.returncode:
        raise SystemExit(ran.stderr)
    return ran.stdout.strip().splitlines()[-1]


def clean(more: dict[str, str] | None = None) -> dict[str, str]:
    """The environment without another store's settings."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("TETHERA_", "DJANGO_"))}
    return kept | (more or {})


@contextlib.contextmanager
def served(folder: Path, environment: dict[str, str]) -> Iterator[tuple[int, int, float]]:
    """`tethera serve` over a folder: its port, its process id, and how long until it said its address [s]."""
    began = time.perf_counter()
    command = [sys.executable, "-m", "tethera.cli.main", "serve", "--listen", "127.0.0.1:0", "--store", str(folder)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    try:
        assert process.stdout is not None
        found = re.search(r":(\d+)/", process.stdout.readline())
        assert found
        yield int(found[1]), process.pid, time.perf_counter() - began
    finally:
        process.terminate()
        process.wait(30)


class Visitor:
    """A signed-in browser without eyes: one connection kept open."""

    def __init__(self, port: int, session: str) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self.session, self.csrf = session, ""

    def get(self, address: str) -> str:
        """A page."""
        self.connection.request("GET", address, headers={"Cookie": f"sessionid={self.session}; csrftoken={self.csrf}"})
        answer = self.connection.getresponse()
        body = answer.read().decode()
        assert answer.status == 200, (address, answer.status, body[:300])
        found = re.search(r"csrftoken=(\w+)", answer.headers.get("Set-Cookie") or "")
        self.csrf = found[1] if found else self.csrf
        return body

    def post(self, address: str, fields: dict[str, str]) -> int:
        """An act; the status of its answer."""
        headers = {
            "Cookie": f"sessionid={self.session}; csrftoken={self.csrf}",
            "X-CSRFToken": self.csrf,
            "Content-Type": "application/x-www-form-urlencoded",
        }
        self.connection.request("POST", address, urlencode(fields), headers)
        answer = self.connection.getresponse()
        answer.read()
        return answer.status


def milliseconds(act: Callable[[], object], times: int) -> list[float]:
    """How long an act takes, each time [ms]."""
    took = []
    for _ in range(times):
        began = time.perf_counter()
        act()
        took.append((time.perf_counter() - began) * 1000)
    return took


def rss_mb(process: int) -> float:
    """Memory of a process [MB]."""
    text = Path(f"/proc/{process}/status").read_text()
    return int(re.search(r"VmRSS:\s+(\d+)", text)[1]) / 1024  # type: ignore[index]


def washed(once: str) -> dict[str, str]:
    """What the form sends; `once` makes it count once."""
    return {"how": "hand", "happened": "", "note": "", "once": once}


def at_once(folder: Path, environment: dict[str, str], cookies: list[str], slug: str, each: int) -> str:
    """Everybody records at once; says what was acknowledged, what is stored, and how long one act took."""
    before = int(python(_COUNT.format(folder=str(folder)), environment))
    acknowledged, took, lock = [0], [], threading.Lock()
    with served(folder, environment) as (port, _, _):
        Visitor(port, cookies[0]).get(f"/{slug}")  # folded once, before the clock runs

        def somebody(who: int) -> None:
            visitor = Visitor(port, cookies[who])
            visitor.get(f"/{slug}/preparation")
            for turn in range(each):
                began = time.perf_counter()
                status = visitor.post(ACT.format(slug=slug, rope=1 + who), washed(f"{who}-{turn}-{before}"))
                with lock:
                    took.append((time.perf_counter() - began) * 1000)
                    acknowledged[0] += status == 302

        threads = [threading.Thread(target=somebody, args=(who,)) for who in range(len(cookies))]
        began = time.perf_counter()
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        seconds = time.perf_counter() - began
    stored = int(python(_COUNT.format(folder=str(folder)), environment)) - before
    return (
        f"{len(cookies)} people, {len(cookies) * each} acts: {acknowledged[0]} acknowledged, {stored} stored, "
        f"{len(took) / seconds:.0f} acts/s, one act median {statistics.median(took):.0f} ms, longest {max(took):.0f} ms"
    )


#: The form of one rope: it was washed.
ACT = "/{slug}/ropes/UG{rope}/do/washed"


def main() -> None:
    """Everything, printed as it comes."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--people", type=int, default=20)
    parser.add_argument("--each", type=int, default=10)
    parser.add_argument("--ropes", type=int, default=1_000)
    parser.add_argument("--events", type=int, default=100_000)
    words = parser.parse_args()
    scratch = Path(tempfile.mkdtemp(prefix="tethera-bench-"))
    folder, environment = scratch / "store", clean()
    fill = {"folder": str(folder), "benchmarks": str(ROOT / "benchmarks"), "people": words.people}
    told = json.loads(python(_FILL.format(**fill, ropes=words.ropes, events=words.events), environment))
    slug, cookies = told["slug"], told["cookies"]
    bare = subprocess.Popen(
        [sys.executable, str(ROOT / "benchmarks" / "bare_django.py"), str(scratch / "bare"), "8971"],
        stdout=subprocess.PIPE, text=True, env=environment,
    )  # fmt: skip
    try:
        assert bare.stdout is not None
        assert bare.stdout.readline() == "ready\n"
        with served(folder, environment) as (port, process, started):
            beside_bare(Visitor(port, cookies[0]), Visitor(8971, ""), slug, process, bare.pid, started)
    finally:
        bare.terminate()
    print("SQLite:     " + at_once(folder, environment, cookies, slug, words.each))
    from postgresql import binaries, server

    if binaries() is None:
        print("PostgreSQL: none on this machine")
        return
    with server() as address:
        other = clean({"TETHERA_DATABASE": address})
        fill["folder"] = str(scratch / "postgresql")
        told = json.loads(python(_FILL.format(**fill, ropes=words.ropes, events=words.events), other))
        print("PostgreSQL: " + at_once(scratch / "postgresql", other, told["cookies"], told["slug"], words.each))


def beside_bare(ours: Visitor, bare: Visitor, slug: str, process: int, bare_process: int, started: float) -> None:
    """Each page in turn with its bare like."""
    print(f"started in {started:.1f} s, {rss_mb(process):.0f} MB; the bare one {rss_mb(bare_process):.0f} MB")
    first = milliseconds(lambda: ours.get(f"/{slug}"), 1)[0]
    print(f"a page asked for at once after the start, while 100,000 events are read and folded: {first / 1000:.1f} s")
    once = [0]

    def record() -> None:
        once[0] += 1
        status = ours.post(ACT.format(slug=slug, rope=7), washed(f"bench-{once[0]}"))
        assert status == 302, status

    pages: tuple[tuple[str, Callable[[], object], Callable[[], object]], ...] = (
        ("Today", lambda: ours.get(f"/{slug}"), lambda: bare.get("/?rows=200")),
        ("Ropes, the first 200", lambda: ours.get(f"/{slug}/ropes"), lambda: bare.get("/?rows=200")),
        ("Ropes, all 1,000", lambda: ours.get(f"/{slug}/ropes?show=all"), lambda: bare.get("/?rows=1000")),
        ("one rope, 100 events", lambda: ours.get(f"/{slug}/ropes/UG5"), lambda: bare.get("/UG5")),
        ("record an event", record, lambda: bare.get("/write/UG5")),
    )
    print(f"{'median of 15 [ms]':<24}{'ours':>8}{'bare':>8}{'ratio':>8}")
    for name, act, like in pages:
        act(), like()
        mine, its = [], []
        for _ in range(15):
            mine += milliseconds(act, 1)
            its += milliseconds(like, 1)
        a, b = statistics.median(mine), statistics.median(its)
        print(f"{name:<24}{a:>8.1f}{b:>8.1f}{a / b:>8.1f}")
    print(f"afterwards {rss_mb(process):.0f} MB; the bare one {rss_mb(bare_process):.0f} MB")


if __name__ == "__main__":
    main()
