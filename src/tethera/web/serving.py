"""The pages and the worker in one process, for a laptop in the store or a small machine of the club's."""

import ipaddress
import logging
import os
import secrets
import signal
import socket
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from types import FrameType

_logger = logging.getLogger("tethera.serving")
_THREADS = 6


def prepare_environment(host: str, port: int, *, demo: bool) -> None:
    """Say to the settings who may ask for pages, and where others find them. Before `installation.open_folder`."""
    named = [each for each in os.environ.get("TETHERA_HOSTS", "").split(",") if each]
    # Behind a server that speaks for it to the world, it listens to this machine and is asked from everywhere.
    alone = is_loopback(host) and not _https() and all(map(is_loopback, named))
    if not alone and not os.environ.get("TETHERA_FIRST_VISIT_KEY"):
        os.environ["TETHERA_FIRST_VISIT_KEY"] = secrets.token_urlsafe(12)
    if alone:
        os.environ.pop("TETHERA_FIRST_VISIT_KEY", None)
    os.environ["TETHERA_DEMO"] = "1" if demo and alone else "0"
    own = _own_names(host)
    others_ask = next((each for each in own if each[:1].isdigit() and not is_loopback(each)), None)
    if others_ask and not _https():
        os.environ.setdefault("TETHERA_ADDRESS", f"http://{others_ask}:{port}")
    everybody = [*named, "localhost", "127.0.0.1", "[::1]", *own]
    os.environ["TETHERA_HOSTS"] = ",".join(dict.fromkeys(everybody))


def _https() -> bool:
    return os.environ.get("TETHERA_HTTPS") == "1"


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach an address.

    >>> is_loopback("127.0.0.1"), is_loopback("localhost"), is_loopback("[::1]"), is_loopback("0.0.0.0")
    (True, True, True, False)
    """
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def _own_names(host: str) -> list[str]:
    """Names and addresses of this machine, when it is asked from others."""
    if is_loopback(host):
        return []
    names = [socket.gethostname(), f"{socket.gethostname()}.local", host]
    try:
        names += [str(each[4][0]) for each in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(("10.255.255.255", 1))  # nothing is sent: it tells which of our addresses leads out
            names.append(probe.getsockname()[0])
    except OSError:
        pass
    return [each for each in names if each not in ("0.0.0.0", "::")]


def serve(host: str, port: int, said: Callable[[str], None]) -> None:
    """Serve until stopped; `said` tells the address once the pages can be asked for."""
    from django.conf import settings
    from django.core.wsgi import get_wsgi_application
    from waitress.server import create_server

    server = create_server(
        get_wsgi_application(),
        host=host,
        port=port,
        threads=_THREADS,
        ident=None,
        # What another server says of how it was asked is not believed; whoever set it up says that all come by https.
        url_scheme="https" if _https() else "http",
        max_request_body_size=settings.LARGEST_REQUEST_BYTES,
    )
    worker = _Worker()

    def stop(_signal: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, stop)
    worker.start()
    threading.Thread(target=_read_ahead, name="read-ahead", daemon=True).start()
    address = _address(host, server.effective_port, settings.ALLOWED_HOSTS)
    key = settings.FIRST_VISIT_KEY
    said(f"{address}first/{key}" if key and _nobody_yet() else address)
    try:
        server.run()
    finally:
        worker.stop()
        server.close()


def _read_ahead() -> None:
    """Fold every store before anybody asks: the first visitor of a long log would wait some seconds for it."""
    from django.db import connection
    from django.utils import timezone

    from tethera.web.store.models import Store
    from tethera.web.store.opened import held

    try:
        for key in Store.objects.values_list("pk", flat=True):
            with held(key) as opened:
                opened.ropes(timezone.localdate())
    except Exception:
        # Whoever visits the store is told what is wrong with it.
        _logger.exception("A store could not be read ahead.")
    finally:
        connection.close()


def _address(host: str, port: int, names: Sequence[str]) -> str:
    """Where to look: over https under the first name that was given, else at this machine itself.

    >>> _address("127.0.0.1", 8017, ["localhost"]), _address("0.0.0.0", 8017, ["hut", "192.0.2.7"])
    ('http://localhost:8017/', 'http://192.0.2.7:8017/')
    """
    if _https() and not is_loopback(names[0]):
        return f"https://{names[0].removeprefix('.')}/"
    asked = (each for each in names if each[:1].isdigit() and not is_loopback(each))
    shown = "localhost" if is_loopback(host) else next(asked, host)
    return f"http://{shown}:{port}/"


def _nobody_yet() -> bool:
    from tethera.web.accounts.models import Account

    return not Account.objects.exists()


class _Worker:
    """Does long work in a thread of this process. The one place that knows the worker's inside."""

    def __init__(self) -> None:
        from django_tasks_db.management.commands.db_worker import Worker

        self._worker = Worker(
            queue_names=["*"],
            excluded_queue_names=[],
            interval=0.5,
            batch=False,
            backend_name="default",
            startup_delay=False,
            max_tasks=None,
            worker_id=secrets.token_hex(8),
        )
        self._thread = threading.Thread(target=self._run, name="worker", daemon=True)

    def start(self) -> None:
        """Take up again what a crash left half-done, then begin."""
        from django_tasks_db.models import DBTaskResult

        if not os.environ.get("TETHERA_DATABASE"):
            # On SQLite this process is the only worker: whatever runs, ran in one that is gone.
            DBTaskResult.objects.filter(status="RUNNING").update(status="READY", started_at=None)
        self._thread.start()

    def stop(self) -> None:
        """After the work in hand."""
        self._worker.running = False
        self._thread.join(timeout=10)

    def _run(self) -> None:
        try:
            self._worker.run()
        except SystemExit:
            pass
        except Exception:
            _logger.exception("The worker stopped; long work waits until Tethera is started again.")


def bring_in_file_store(folder: Path, log_name: str, people_name: str) -> str | None:
    """Move a store kept in files into the database, once; what was moved is kept under another name."""
    from tethera.store import FileLog, People
    from tethera.web.accounts.joining import new_store
    from tethera.web.installation import take_over

    log_path = folder / log_name
    if not log_path.is_file():
        return None
    events, names = FileLog(log_path).read(), People(folder / people_name).names()
    store = take_over(events, names, new_store)
    for name in (log_name, people_name):
        if (folder / name).exists():
            (folder / name).replace(folder / f"{name}.brought-in")
    return store.slug
