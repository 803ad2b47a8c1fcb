"""The pages and the worker in one process, for a laptop in the store or a small machine of the club's."""

import hashlib
import hmac
import ipaddress
import logging
import os
import secrets
import signal
import socket
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import FrameType

from filelock import FileLock

from tethera.web.installation import KEY_NAME, make_key

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


def prepare_behind(folder: Path) -> None:
    """Say to the settings, where another server stands in front, who may make the first account.

    All processes must know the same key, so it follows from the secret of the folder.
    """
    if not os.environ.get("TETHERA_FIRST_VISIT_KEY"):
        folder.mkdir(parents=True, exist_ok=True)
        secret = make_key(folder / KEY_NAME)
        key = hmac.new(secret.encode(), b"first visit", hashlib.sha256).hexdigest()[:20]
        os.environ["TETHERA_FIRST_VISIT_KEY"] = key
    os.environ["TETHERA_DEMO"] = "0"


def log_line(words: str) -> None:
    """Tell who looks after the server."""
    _logger.warning("%s", words)


def tell_first_visit() -> None:
    """Where the first account is made, while there is none."""
    from django.conf import settings

    if _nobody_yet():
        address = settings.SHARED_ADDRESS or f"https://{settings.ALLOWED_HOSTS[0]}"
        log_line(f"Nobody has an account yet. The keeper makes the first at {address}/first/{settings.FIRST_VISIT_KEY}")


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

    from tethera.web.work.worker import Worker

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
    worker = Worker()

    def stop(_signal: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, stop)
    worker.start()
    threading.Thread(target=read_ahead, name="read-ahead", daemon=True).start()
    address = _address(host, server.effective_port, settings.ALLOWED_HOSTS)
    key = settings.FIRST_VISIT_KEY
    said(f"{address}first/{key}" if key and _nobody_yet() else address)
    try:
        server.run()
    finally:
        worker.stop()
        server.close()


def read_ahead() -> None:
    """Fold every store before anybody asks: the first visitor of a long log would wait some seconds for it."""
    from django.db import connection
    from django.utils import timezone

    from tethera.web.store.models import Store
    from tethera.web.store.opened import held

    try:
        for key in Store.objects.values_list("pk", flat=True):
            with held(key) as opened:
                opened.ropes(timezone.localdate())
                opened.chain()
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


def work(said: Callable[[str], None]) -> None:
    """Do long work until stopped; as many of these as one likes beside pages served elsewhere."""
    from tethera.web.work.worker import Worker

    worker = Worker()

    def stop(_signal: int, _frame: FrameType | None) -> None:
        worker.ask_to_stop()

    for each in (signal.SIGTERM, signal.SIGINT):
        signal.signal(each, stop)
    said(worker.id)
    worker.run()


def wait_for_database(told: Callable[[str], None], seconds: float = 60.0) -> None:
    """Until it answers: after a power cut it may still be getting up. `told` is told once that it is waited for."""
    from django.db import OperationalError, connection

    until, waited = time.monotonic() + seconds, False
    while True:
        try:
            connection.ensure_connection()
            return
        except OperationalError as error:
            if connection.vendor == "sqlite" or time.monotonic() > until:
                raise
            if not waited:
                told(f"Waiting for the database: {str(error).strip().splitlines()[-1]}")
                waited = True
            time.sleep(0.3)


def bring_in_file_store(folder: Path, log_name: str, people_name: str) -> str | None:
    """Move a store kept in files into the database, once; what was moved is kept under another name.

    Killed in between, the next start finds by the sum of the file that the database has it, and only renames.
    """
    from django.db import transaction

    from tethera.store import FileLog, People
    from tethera.web.accounts.joining import new_store
    from tethera.web.installation import take_over
    from tethera.web.store.models import Acknowledged

    log_path = folder / log_name
    if not log_path.is_file():
        return None
    log = FileLog(log_path)
    # The lock that commands take to write: what is recorded meanwhile goes into the database.
    with FileLock(f"{log_path}.lock", timeout=30):
        events, names = log.read(), People(folder / people_name).names()
        token = hashlib.sha256(log_path.read_bytes()).hexdigest()
        before = Acknowledged.objects.filter(token=token, answer__brought_in=True).first()
        if before is not None:
            store = before.store
        else:
            with transaction.atomic():
                store = take_over(events, names, new_store)
                Acknowledged.objects.create(store=store, token=token, answer={"brought_in": True})
        for name in (people_name, log_name):
            if (folder / name).exists():
                (folder / name).replace(folder / f"{name}.brought-in")
    return store.slug
