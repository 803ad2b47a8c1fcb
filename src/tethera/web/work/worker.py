"""A worker: takes long work from the queue one piece after the other, takes up what a dead worker left, and once a day
clears what ran out."""

import logging
import secrets
import threading
from time import monotonic
from typing import Any

from django.db import Error, connection
from django_tasks_db.management.commands.db_worker import Worker as QueueWorker
from django_tasks_db.models import DBTaskResult

from tethera.web.accounts.clearing import clear_over
from tethera.web.trouble import trouble_of
from tethera.web.work.living import Life, lives

_logger = logging.getLogger("tethera.work")
_ASK_SECONDS = 0.5
_LOOK_SECONDS = 5.0
#: How often what ran out is cleared; after a full sweep the next one follows at the next look.
_CLEAR_SECONDS = 24 * 3600.0
#: After the database did not answer, or took nothing.
_AGAIN_SECONDS = 3.0


class Worker:
    """One of perhaps many, in a thread or a process of its own. The one place that knows the queue's inside."""

    def __init__(self) -> None:
        self.id = secrets.token_hex(8)
        self._life = Life(self.id)
        self._queue = QueueWorker(
            queue_names=["*"],
            excluded_queue_names=[],
            interval=_ASK_SECONDS,
            batch=False,
            backend_name="default",
            startup_delay=False,
            max_tasks=None,
            worker_id=self.id,
        )
        self._ended = threading.Event()
        self._told = ""
        self._clear_next = 0.0
        self._thread = threading.Thread(target=self.run, name="worker", daemon=True)

    def start(self) -> None:
        """Work in a thread beside the pages."""
        self._thread.start()

    def stop(self, wait_seconds: float = 10.0) -> None:
        """After the work in hand; work that takes longer than that is taken up by the next worker."""
        self.ask_to_stop()
        if self._thread.is_alive():
            self._thread.join(wait_seconds)

    def ask_to_stop(self) -> None:
        """After the work in hand."""
        self._queue.running = False
        self._ended.set()

    def run(self) -> None:
        """Work until asked to stop; what the disk or the database cannot do is waited out."""
        looking = threading.Thread(target=self._look, name="taking up", daemon=True)
        try:
            while not self._ended.is_set():
                try:
                    self._life.hold()
                    # Whatever is said to be in our own hand was there when the database went away.
                    take_up(idle=self.id)
                    if not looking.is_alive():
                        looking.start()
                    self._queue.run()
                except (Error, OSError) as error:
                    self._wait_out(error)
        finally:
            self._ended.set()
            self._life.let_go()
            connection.close()

    def _wait_out(self, error: Exception) -> None:
        trouble = trouble_of(error)
        told = trouble.title if trouble else str(error)
        if told != self._told:
            _logger.error("Long work waits. %s: %s", told, error)
            self._told = told
        connection.close()
        self._ended.wait(_AGAIN_SECONDS)

    def _look(self) -> None:
        """See from time to time that we are known to live, and whether others still do."""
        while not self._ended.wait(_LOOK_SECONDS):
            try:
                self._life.hold()
                take_up()
                self.clear_daily()
            except (Error, OSError):
                connection.close()  # the worker itself tells it, and waits
        connection.close()

    def clear_daily(self) -> None:
        """Clear what ran out, unless that was done within a day."""
        if monotonic() >= self._clear_next:
            more = clear_over()
            self._clear_next = monotonic() + (0.0 if more else _CLEAR_SECONDS)


def take_up(idle: str = "") -> int:
    """Put back into the queue what a worker had in hand when it died; how many pieces of work.

    `idle` is a worker that lives and has nothing in hand, whatever the queue says.
    """
    taken = 0
    for task in DBTaskResult.objects.filter(status="RUNNING"):
        workers: list[Any] = list(task.worker_ids)
        if workers and workers[-1] != idle and lives(str(workers[-1])):
            continue
        # Another may look at the same moment, or have taken it already: only the row as it was seen is put back.
        same = DBTaskResult.objects.filter(pk=task.pk, status="RUNNING", started_at=task.started_at)
        taken += same.update(status="READY", started_at=None)
    if taken:
        _logger.warning("A worker ended in the middle of its work. Begun again: %s.", taken)
    return taken
