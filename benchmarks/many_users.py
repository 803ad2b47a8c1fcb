"""Two hundred people at once, reading and recording, over gunicorn and PostgreSQL as docs/deploy.md says.

python benchmarks/many_users.py [--users 200] [--seconds 60] [--processes 2] [--workers 2] [--plans 20]

Each user looks at a page or records a wash, then reads for 1 to 9 seconds; one act in five is a recording. Meanwhile
trips are planned by workers of their own. The users run on the same machine. Printed: acts a second, how long they
took, answers that were errors (must be 0), entries lost or doubled (must be 0), and which worker made how many plans
(each once).
"""

import argparse
import random
import statistics
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from faults.crowd import GONE, Browser, Recorder
from faults.gunicorn_served import pages
from faults.prepared import Prepared, prepare
from faults.record import Reader, tally
from faults.work_seen import Asker, SeenWork, WorkerProcess, ask_for_a_plan
from postgresql import cluster

_PAGES = ("", "/ropes", "/preparation", "/inspect", "/trips", "/routes", "/year", "/ropes?show=all")
_RECORDS = 0.2
_READS_S = (1.0, 9.0)


@dataclass
class User:
    """One of them, and how long each act took [s]."""

    recorder: Recorder
    chance: random.Random
    read_s: list[float] = field(default_factory=list)
    recorded_s: list[float] = field(default_factory=list)
    errors: Counter[str] = field(default_factory=Counter)

    def visit(self, port: int, until: float) -> None:
        """Come some time in the first seconds, and stay."""
        browser = self.recorder.browser.connect(port, timeout_s=120)
        time.sleep(self.chance.uniform(0, _READS_S[1]))
        try:
            while time.monotonic() < until:
                self._act(browser)
                time.sleep(min(self.chance.uniform(*_READS_S), max(0.0, until - time.monotonic())))
        except GONE as error:
            self.errors[f"connection: {error!r}"] += 1
        finally:
            self.recorder.close()

    def _act(self, browser: Browser) -> None:
        began = time.monotonic()
        if browser.csrf and self.chance.random() < _RECORDS:
            status = self.recorder.one()
            self.recorded_s.append(time.monotonic() - began)
            good = status == 302
        else:
            rope = self.chance.randint(1, 100)
            own = (f"/ropes/UG{rope}", f"/ropes/UG{rope}/do/washed")
            page = self.chance.choice((*_PAGES, *own)) if browser.csrf else own[1]
            status = browser.get(f"/{self.recorder.slug}{page}")[0]
            self.read_s.append(time.monotonic() - began)
            good = status == 200
        if not good:
            self.errors[str(status)] += 1


def users_of(store: Prepared, seed: int) -> list[User]:
    """Everybody who has a session."""
    recorders = [Recorder(n, Browser(each), store.slug) for n, each in enumerate(store.sessions)]
    return [User(each, random.Random(seed + each.who)) for each in recorders]


def run(store: Prepared, words: argparse.Namespace) -> bool:
    """Serve, let everybody in, count; whether nothing went wrong."""
    users = users_of(store, words.seed)
    with pages(store, words.processes) as served:
        workers = [WorkerProcess(store) for _ in range(words.workers)]
        try:
            planner = Browser(store.sessions[0]).connect(served.port)
            planner.get(f"/{store.slug}/trips/new")
            began = time.monotonic()
            until = began + words.seconds
            threads = [threading.Thread(target=each.visit, args=(served.port, until)) for each in users]
            for each in threads:
                each.start()
            for number in range(words.plans):
                ask_for_a_plan(planner, store, f"Trip {number}", 10 + 30 * number)
                time.sleep(max(0.0, min(words.seconds / words.plans, until - time.monotonic())))
            for each in threads:
                each.join(180)
            took = time.monotonic() - began
            planner.close()
            plans = Asker(store, "ended").told() if words.plans else []
        finally:
            for worker in workers:
                worker.end()
        traces = served.stop().count("Traceback")
    return _tell(store, users, plans, took, traces)


def _tell(store: Prepared, users: list[User], plans: list[SeenWork], took_s: float, traces: int) -> bool:
    reads = [each for user in users for each in user.read_s]
    records = [each for user in users for each in user.recorded_s]
    errors = sum((user.errors for user in users), Counter())
    print(
        f"{len(users)} users, {took_s:.0f} s: {(len(reads) + len(records)) / took_s:.1f} acts a second, traces {traces}"
    )
    for name, seconds in (("pages read", reads), ("entries recorded", records)):
        ms = sorted(1000 * each for each in seconds)
        print(
            f"  {name}: {len(ms)}, median {statistics.median(ms):.0f} ms, p95 {ms[int(0.95 * len(ms))]:.0f} ms, "
            f"longest {ms[-1]:.0f} ms"
        )
    reader = Reader(store)
    found = reader.entries()
    reader.close()
    told = tally(
        [each for user in users for each in user.recorder.acknowledged],
        [each for user in users for each in user.recorder.attempted],
        found,
    )
    print(f"  errors {sum(errors.values())} {dict(errors) or ''}")
    print(f"  acknowledged {told.acknowledged}, found {told.found}, lost {len(told.lost)}, twice {len(told.twice)}")
    shares = Counter(each.workers[-1] for each in plans)
    once = all(each.begun == 1 and each.ended and len(each.workers) == 1 for each in plans)
    print(f"  plans {len(plans)}, by worker {sorted(shares.values())}, each exactly once: {'yes' if once else 'NO'}")
    return told.good and not errors and once and not traces


def main() -> int:
    """Everything, printed; exit status 1 when anything went wrong."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name, default in (
        ("users", 200),
        ("seconds", 60),
        ("processes", 2),
        ("workers", 2),
        ("plans", 20),
        ("seed", 1),
    ):
        parser.add_argument(f"--{name}", type=int, default=default)
    words = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="tethera-users-") as folder, cluster() as database:
        more = {"TETHERA_DATABASE": database.address}
        store = prepare(Path(folder) / "store", more, people=words.users, ropes=100)
        return 0 if run(store, words) else 1


if __name__ == "__main__":
    sys.exit(main())
