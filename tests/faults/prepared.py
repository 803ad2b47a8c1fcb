"""A small invented store with eight people signed in, to be kept by a server that will be killed."""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

PEOPLE, ROPES = 8, 24

_FILL = r"""
import json, sys
from datetime import UTC, datetime
from pathlib import Path
from tethera.web import installation
folder, people, ropes = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
installation.open_folder(folder)
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from tethera.basics import PartialDate
from tethera.store import Bought, Dried, Marked, Measured, PutIntoService, Recorded
from tethera.store import RouteWritten, StoreDescribed, Washed
from tethera.web.accounts.joining import new_store
from tethera.web.accounts.models import Account, Membership
day, moment = PartialDate(2024, 5, 1), datetime(2024, 5, 1, 9, tzinfo=UTC)
told = [StoreDescribed(happened=day, code="UG", owner="Ulvergarth Caving Club")]
for number in range(1, ropes + 1):
    rope, length = f"UG{number}", 18 + (13 * number) % 47
    told += [
        Bought(
            rope=rope, happened=day, length_cm=length * 110, maker="Hartsheath", product="Static 9", diameter_mm=9.0,
            rope_type="A",
        ),
        Washed(rope=rope, happened=day, how="machine"),
        Dried(rope=rope, happened=day),
        Measured(rope=rope, happened=day, length_cm=length * 100, counts_cm=(length * 100, length * 100)),
        Marked(rope=rope, happened=day, length_m=length),
        PutIntoService(rope=rope, happened=day),
    ]
pitches = "".join(
    f'[[pitch]]\nname = "Pitch {n}"\ndepth = "{9 + (7 * n) % 23} m"\nanchors = {3 + n % 4}\n' for n in range(1, 13)
)
told.append(RouteWritten(happened=day, key="long-rake", text=f'name = "Long Rake"\n{pitches}'))
names = {f"p{n + 1}": f"Keeper {n + 1}" for n in range(people)}
store = installation.take_over([Recorded(each, moment, "p1") for each in told], names, new_store)
sessions = []
for number in range(people):
    account = Account.objects.create_user(f"k{number}@ulvergarth.invalid", None, name=f"Keeper {number + 1}")
    Membership.objects.create(account=account, store=store, role="keeper", competent=True, person=f"p{number + 1}")
    session = SessionStore()
    session[SESSION_KEY], session[HASH_SESSION_KEY] = str(account.pk), account.get_session_auth_hash()
    session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
    session.save()
    sessions.append(session.session_key)
print(json.dumps({"slug": store.slug, "sessions": sessions}))
"""


@dataclass(frozen=True)
class Prepared:
    """A store in a folder, the environment its programs run in, and a session for each of its people."""

    folder: Path
    environment: dict[str, str]
    slug: str
    sessions: tuple[str, ...]


def clean(more: dict[str, str] | None = None) -> dict[str, str]:
    """The environment without another store's settings."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("TETHERA_", "DJANGO_"))}
    return kept | (more or {})


def prepare(folder: Path, more: dict[str, str] | None = None, *, people: int = PEOPLE, ropes: int = ROPES) -> Prepared:
    """Make the store; `more` names a PostgreSQL or other settings."""
    environment = clean(more)
    command = [sys.executable, "-c", _FILL, str(folder), str(people), str(ropes)]
    ran = subprocess.run(command, capture_output=True, text=True, env=environment, timeout=120, check=False)
    if ran.returncode:
        raise RuntimeError(ran.stderr)
    told = json.loads(ran.stdout.strip().splitlines()[-1])
    return Prepared(folder, environment, told["slug"], tuple(told["sessions"]))
