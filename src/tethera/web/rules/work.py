"""The long work of taking away: the whole store in one file, and everything of this installation in another."""

from pathlib import Path

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext as _

from tethera import __version__
from tethera.store.exchange import Exported, write_backup, write_export
from tethera.web import kept
from tethera.web.accounts.models import Account, Membership
from tethera.web.accounts.roles import Role
from tethera.web.store.models import Store
from tethera.web.store.opened import held
from tethera.web.work.doing import Progress, does, keeper_of
from tethera.web.work.files import whole_file
from tethera.web.work.models import Work

EXPORT, BACKUP = "export", "backup"


def keeps_everything(account: Account) -> bool:
    """Whether somebody keeps every store of the installation: a backup holds them all, and everybody's address."""
    kept_here = Membership.objects.filter(account=account, role=Role.KEEPER).values("store")
    return not Store.objects.exclude(pk__in=kept_here).exists()


@does(EXPORT)
def export(work: Work, progress: Progress) -> None:
    """The whole store in one of the forms."""
    keeper_of(work)
    form = str(work.asked["form"])
    progress(0, 2, _("Reading the record"))
    with held(work.store_id) as opened:
        events = tuple(opened.log.read())
        what = Exported(events, opened.people.names())
        ropes = opened.register.ropes(timezone.localdate()) if form == "xlsx" else ()
    progress(1, 2, _("Writing {holds}").format(holds=what.in_words()))
    with whole_file(work.path) as file:
        write_export(file, form, what, ropes)
    work.file_name = f"{work.store.slug}-{timezone.localdate():%Y-%m-%d}.{form}"


@does(BACKUP)
def backup(work: Work, progress: Progress) -> None:
    """Everything that the installation keeps, photographs too."""
    keeper_of(work)
    if not keeps_everything(work.account):
        raise ValueError(_("There are stores here that you do not keep; a backup would hold them too."))
    progress(0, 100, _("Reading the record"))

    def told(done: int, total: int, what: str) -> None:
        progress(min(99, 100 * done // max(total, 1)), 100, _("Copying {what}").format(what=what or _("the record")))

    with whole_file(work.path) as file:
        write_backup(file, kept.kept(Path(settings.FOLDER)), made=timezone.now(), version=__version__, progress=told)
    work.file_name = f"tethera-backup-{timezone.localtime():%Y-%m-%d-%H%M}.zip"
