"""How gunicorn serves the pages: each of its workers folds the stores for itself, threads share the fold.

Every setting of https://docs.gunicorn.org can still be given on the command line, which goes before this file.
"""

import os
import threading
from typing import Any

wsgi_app = "tethera.web.wsgi:application"
bind = os.environ.get("TETHERA_LISTEN", "127.0.0.1:8017")
workers = int(os.environ.get("TETHERA_PROCESSES", "0")) or min(os.cpu_count() or 1, 8)
worker_class = "gthread"
threads = 6
#: A request that takes longer than this is given up with its process [s]; an upload over a slow line is not counted.
timeout = 120
graceful_timeout = 30
#: Behind a server that keeps its lines open; gunicorn must not be the one that closes first.
keepalive = 75
# Nobody is to command it through a file in somebody's home.
control_socket_disable = True
# No preload: each process opens its own line to the database.
preload_app = False


def post_worker_init(_worker: Any) -> None:
    """Fold the stores before the first visitor."""
    from tethera.web.serving import read_ahead

    threading.Thread(target=read_ahead, name="read-ahead", daemon=True).start()
