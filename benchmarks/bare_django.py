"""A bare Django page of as many rows, in one file: what the pages of the store are measured against.

python benchmarks/bare_django.py FOLDER PORT
"""

import sys
from pathlib import Path

import django
from django.conf import settings
from django.db import connection, models
from django.http import HttpRequest, HttpResponse
from django.template import Context, Engine
from django.urls import path

ROWS, LOGGED = 1_000, 100_000
FOLDER, PORT = Path(sys.argv[1]), int(sys.argv[2])
FOLDER.mkdir(parents=True, exist_ok=True)
settings.configure(
    SECRET_KEY="only for measuring",
    ALLOWED_HOSTS=["*"],
    ROOT_URLCONF=__name__,
    INSTALLED_APPS=["django.contrib.contenttypes", "django.contrib.auth"],
    DEFAULT_AUTO_FIELD="django.db.models.BigAutoField",
    DATABASES={
        "default": {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": FOLDER / "bare.sqlite3",
            "CONN_MAX_AGE": None,
            "OPTIONS": {
                "transaction_mode": "IMMEDIATE",
                "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;",
            },
        }
    },
)
django.setup()


class Row(models.Model):
    """As many columns as a rope shows."""

    number = models.CharField(max_length=10)
    length = models.FloatField()
    kind = models.CharField(max_length=20)
    state = models.CharField(max_length=20)
    since = models.CharField(max_length=20)
    note = models.TextField()

    class Meta:
        app_label = "bare"


class Line(models.Model):
    """As many lines as a log has."""

    row = models.ForeignKey(Row, models.CASCADE)
    body = models.TextField()

    class Meta:
        app_label = "bare"


_PAGE = Engine().from_string(
    "<!doctype html><title>Rows</title><table>{% for r in rows %}<tr><td><a href='/{{ r.number }}'>{{ r.number }}</a>"
    "<td>{{ r.length }}<td>{{ r.kind }}<td>{{ r.state }}<td>{{ r.since }}<td>{{ r.note }}{% endfor %}</table>"
)
_ONE = Engine().from_string(
    "<!doctype html><title>Row</title><ul>{% for l in lines %}<li>{{ l.body }}{% endfor %}</ul>"
)


def rows(request: HttpRequest) -> HttpResponse:
    """So many rows, as a table."""
    shown = Row.objects.order_by("pk")[: int(request.GET.get("rows", ROWS))]
    return HttpResponse(_PAGE.render(Context({"rows": shown})))


def one(request: HttpRequest, number: str) -> HttpResponse:
    """One row's hundred lines."""
    return HttpResponse(_ONE.render(Context({"lines": Line.objects.filter(row__number=number).order_by("pk")})))


def write(request: HttpRequest, number: str) -> HttpResponse:
    """One line more."""
    Line.objects.create(row=Row.objects.get(number=number), body="one more")
    return HttpResponse("kept")


urlpatterns = [path("", rows), path("write/<str:number>", write), path("<str:number>", one)]


def fill() -> None:
    """Rows and lines, once."""
    with connection.schema_editor() as editor:
        editor.create_model(Row)
        editor.create_model(Line)
    Row.objects.bulk_create(
        Row(number=f"UG{n}", length=30.0, kind="9 mm A", state="ready", since="2019", note="a note")
        for n in range(ROWS)
    )
    keys = list(Row.objects.values_list("pk", flat=True))
    body = "2024-05-01 used on route 3, pitch 2, one day"
    Line.objects.bulk_create((Line(row_id=keys[n % ROWS], body=body) for n in range(LOGGED)), batch_size=5_000)


if __name__ == "__main__":
    from django.core.wsgi import get_wsgi_application
    from waitress import serve

    sys.modules["__main__"].__dict__.setdefault("urlpatterns", urlpatterns)
    if not (FOLDER / "filled").exists():
        fill()
        (FOLDER / "filled").touch()
    print("ready", flush=True)
    serve(get_wsgi_application(), host="127.0.0.1", port=PORT, threads=6, _quiet=True)
