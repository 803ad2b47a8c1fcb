"""Long work as the database has it, asked for by a process of its own; and workers that can be killed."""

import json
import os
import signal
import subprocess
import sys
from dataclasses import dataclass
from datetime import date, timedelta

from faults.crowd import Browser, plain
from faults.prepared import Prepared

_ASK = """
import json, sys, time
from pathlib import Path
from tethera.web import installation
installation.open_folder(Path(sys.argv[1]))
from django_tasks_db.models import DBTaskResult
from tethera.web.trips.models import Trip
from tethera.web.work.models import Work
waited_for, who, until = sys.argv[2], sys.argv[3], time.monotonic() + 60
def seen():
    works = list(Work.objects.order_by("pk"))
    tasks = {each.args_kwargs["args"][0]: each for each in DBTaskResult.objects.all()}
    planned = set(Trip.objects.filter(plan__isnull=False).values_list("work", flat=True))
    return [
        {"key": w.pk, "begun": w.begun, "ended": w.ended is not None, "trouble": w.trouble, "planned": w.pk in planned,
         "status": tasks[w.pk].status, "workers": list(tasks[w.pk].worker_ids)}
        for w in works
    ]
while time.monotonic() < until:
    told = seen()
    if waited_for == "begun" and any(w["begun"] and not w["ended"] and who in ("", w["workers"][-1]) for w in told):
        break
    if waited_for == "ended" and told and all(w["ended"] and w["status"] == "SUCCESSFUL" for w in told):
        break
    time.sleep(0.005 if waited_for == "begun" else 0.1)
print(json.dumps(told))
"""


@dataclass(frozen=True)
class SeenWork:
    """One piece of long work: how often begun, by which workers, whether ended, and whether its trip has a plan."""

    key: int
    begun: int
    ended: bool
    trouble: str
    status: str
    workers: list[str]
    planned: bool


class Asker:
    """Waits in another process until work is under way ("begun"), `by` this worker, or all is done ("ended")."""

    def __init__(self, store: Prepared, waited_for: str, by: str = "") -> None:
        command = [sys.executable, "-c", _ASK, str(store.folder), waited_for, by]
        self._process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=store.environment)

    def told(self) -> list[SeenWork]:
        """All work, once what was waited for is there, or after a minute."""
        said, _ = self._process.communicate(timeout=90)
        return [SeenWork(**each) for each in json.loads(said)]


class WorkerProcess:
    """`tethera work`."""

    def __init__(self, store: Prepared) -> None:
        command = [sys.executable, "-m", "tethera.cli.main", "work", "--json", "--store", str(store.folder)]
        self._process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=store.environment
        )
        assert self._process.stdout is not None
        self.id = json.loads(self._process.stdout.readline())["worker"]

    def kill(self) -> None:
        """As by a power cut."""
        self.end(signal.SIGKILL)

    def end(self, how: signal.Signals = signal.SIGTERM) -> str:
        """After the work in hand; what it told."""
        if self._process.poll() is None:
            os.kill(self._process.pid, how)
        return self._process.communicate(timeout=60)[1]


def ask_for_a_plan(browser: Browser, store: Prepared, name: str, days: int) -> str:
    """Ask for a plan of a trip; the address of its page."""
    day = (date.today() + timedelta(days=days)).isoformat()  # noqa: DTZ011 (only that it lies ahead matters)
    told = {"routes": "long-rake", "first_day": day, "party": "4", "leader": "", "name": name, "once": name}
    status, page, leads_to = browser.post(f"/{store.slug}/trips/new", told)
    assert status == 302, plain(page)
    return leads_to
