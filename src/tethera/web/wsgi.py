"""The pages alone, for a server of several processes: `gunicorn -c python:tethera.web.gunicorn_conf`.

All settings come from the environment (docs/serving.md); long work is done by `tethera work` beside it.
"""

from tethera.web import installation, serving

_folder = installation.store_folder()
serving.prepare_behind(_folder)
installation.open_folder(_folder, wait=lambda: serving.wait_for_database(serving.log_line))

from django.core.wsgi import get_wsgi_application  # noqa: E402 (needs the folder opened)

application = get_wsgi_application()
serving.tell_first_visit()
