"""The long work of taking away: the whole store in one file, and everything of this installation in another."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext as _

from tethera import __version__
from tethera.store.exchange import Exported, write_backup, write_export
from tethera.web import kept
from tethera.web.accounts.models import Account, Membership
from tethera.web.accounts.roles import May, Role
from tethera.web.store.models import Store
from tethera.web.store.opened import held
from tethera.web.work.doing import Progress, does, work_folder
from tethera.web.work.models import Work

EXPORT, BACKUP = "export", "backup"
_KEPT_SECONDS = 24 * 3600


def keeps_everything(account: Account) -> bool:
    """Whether somebody keeps every store of the installation: a backup holds them all, and everybody's address."""
    kept_here = Membership.objects.filter(account=account, role=Role.KEEPER).values("store")
    return not Store.objects.exclude(pk__in=kept_here).exists()


def _check(work: Work) -> None:
    member = Membership.objects.filter(account=work.account, store=work.store).first()
    if member is None or not member.may(May.KEEP):
        raise ValueError(_("You are not a keeper of this store any more."))


@contextmanager
def _file_of(work: Work) -> Iterator[IO[bytes]]:
    """The file that the work makes, there whole or not at all and for nobody else to read; old ones are cleared."""
    folder = Path(work_folder())
    for old in folder.iterdir():
        if old.is_file() and time.time() - old.stat().st_mtime > _KEPT_SECONDS and not old.name.startswith("import-"):
            old.unlink(missing_ok=True)
    part = folder / f".{work.pk}.part"
    try:
        with open(os.open(part, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o600), "w+b") as file:  # noqa: PTH123
            yield file
        part.replace(folder / str(work.pk))
    finally:
        part.unlink(missing_ok=True)


@does(EXPORT)
def export(work: Work, progress: Progress) -> None:
    """The whole store in one of the forms."""
    _check(work)
    form = str(work.asked["form"])
    progress(0, 2, _("Reading the record"))
    with held(work.store_id) as opened:
        events = tuple(opened.log.read())
        what = Exported(events, opened.people.names())
        ropes = opened.register.ropes(timezone.localdate()) if form == "xlsx" else ()
    progress(1, 2, _("Writing {holds}").format(holds=what.in_words()))
    with _file_of(work) as file:
        write_export(file, form, what, ropes)
    work.file_name = f"{work.store.slug}-{timezone.localdate():%Y-%m-%d}.{form}"


@does(BACKUP)
def backup(work: Work, progress: Progress) -> None:
    """Everything that the installation keeps, photographs too."""
    _check(work)
    if not keeps_everything(work.account):
        raise ValueError(_("There are stores here that you do not keep; a backup would hold them too."))
    progress(0, 100, _("Reading the record"))

    def told(done: int, total: int, what: str) -> None:
        progress(min(99, 100 * done // max(total, 1)), 100, _("Copying {what}").format(what=what or _("the record")))

    with _file_of(work) as file:
        write_backup(file, kept.kept(Path(settings.FOLDER)), made=timezone.now(), version=__version__, progress=told)
    work.file_name = f"tethera-backup-{timezone.localtime():%Y-%m-%d-%H%M}.zip"
