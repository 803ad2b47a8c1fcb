"""The long work of bringing in: reading a file in its child, recording a sheet, bringing a store's export back."""

from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from tethera.store import Fold, needs_competent
from tethera.store.exchange import AnotherStore, Exported, addition, form_of
from tethera.web.accounts.joining import make_keeper, new_store
from tethera.web.accounts.models import Membership
from tethera.web.accounts.roles import May
from tethera.web.importing.models import Draft
from tethera.web.importing.reading import read_draft, ropes_of, seal, sheets_out
from tethera.web.importing.workbook_child import read_export_safely, read_workbook_safely
from tethera.web.store.opened import held, writing
from tethera.web.work.doing import Progress, does, keeper_of
from tethera.web.work.models import Work

READ, RECORD, BRING_BACK, OWN_STORE = "read-spreadsheet", "record-spreadsheet", "bring-back", "own-store"


@does(READ)
def read_file(work: Work, progress: Progress) -> None:
    """Read what was brought, and choose the first sheet that holds ropes."""
    work.leads_to = reverse("import", args=[work.store.slug])
    draft = Draft.objects.get(pk=work.asked["draft"])
    try:
        progress(0, 3, _("Opening {name}").format(name=draft.name))
        with draft.path.open("rb") as file:
            draft.form = form_of(file) or ""
        progress(1, 3, _("Reading {name}").format(name=draft.name))
        if draft.form:
            draft.about = _about(draft, work.store_id)
        else:
            draft.sheets = sheets_out(read_workbook_safely(draft.path, draft.name), draft.name)
            progress(2, 3, _("Looking for ropes"))
            _choose_sheet(draft, work.store_id)
        draft.read = timezone.now()
        draft.save()
        if not draft.form:
            draft.path.unlink(missing_ok=True)
    except BaseException:
        # What cannot be read, or was stopped, leaves nothing behind.
        draft.drop()
        raise
    work.leads_to = reverse("import-draft", args=[work.store.slug, draft.pk])


def _choose_sheet(draft: Draft, store_key: int) -> None:
    best = 0
    with held(store_key) as opened:
        for number, _sheet in enumerate(draft.sheets):
            draft.sheet = number
            reading = read_draft(draft, opened.register, timezone.localdate())
            if reading.events or reading.again:
                return
            best = number if len(reading.read_as) > 0 and best == 0 else best
    draft.sheet = best


def _about(draft: Draft, store_key: int) -> dict[str, object]:
    """What an export holds, and what it would add to this store; None where it is another store's."""
    brought = read_export_safely(draft.path, draft.form, draft.name)
    described = Fold(brought.events).store()
    told: dict[str, object] = {
        "owner": described.owner if described else "",
        "holds": brought.in_words(),
        "last": brought.events[-1].recorded.isoformat() if brought.events else "",
        "adds": None,
    }
    with held(store_key) as opened:
        try:
            told["adds"] = len(addition(opened.log.read(), opened.people.names(), brought).events)
        except AnotherStore:
            told["ropes_here"] = len(opened.register.numbers_taken())
    return told


@does(RECORD)
def record_sheet(work: Work, progress: Progress) -> None:
    """Record every rope of a sheet, or none; done twice, it is recorded once."""
    key = work.asked["draft"]
    done = reverse("import-done", args=[work.store.slug, key])
    work.leads_to = reverse("import-draft", args=[work.store.slug, key])
    member = keeper_of(work)
    progress(0, 2, _("Reading the sheet once more"))
    with writing(work.store_id) as opened:
        draft = Draft.objects.select_for_update().get(pk=key, store=work.store)
        if draft.recorded is None:
            reading = read_draft(draft, opened.register, timezone.localdate())
            if seal(reading) != work.asked["seal"]:
                raise ValueError(_("The store or the sheet has changed meanwhile. Nothing was recorded: look again."))
            opened.register.record_all(reading.events, recorded=timezone.now(), by=member.person)
            draft.recorded, draft.account = timezone.now(), member.account
            draft.ropes = list(ropes_of(reading))
            draft.about = {
                "doubts": len(reading.doubts),
                "numbered": list(reading.numbered),
            }
            draft.save()
    work.leads_to = done


def _draft_of(work: Work) -> tuple[Draft, Membership]:
    """The draft that long work is about, and who asked for it; ValueError when they may not any more."""
    key = work.asked["draft"]
    work.leads_to = reverse("import-draft", args=[work.store.slug, key])
    return Draft.objects.get(pk=key, store=work.store), keeper_of(work)


def _brought(draft: Draft, progress: Progress, then: str) -> Exported:
    """Read an export in its child, and tell what comes then."""
    progress(0, 2, _("Reading {name}").format(name=draft.name))
    if not draft.path.is_file():
        raise ValueError(_("The file is not there any more. Bring it once more."))
    brought = read_export_safely(draft.path, draft.form, draft.name)
    progress(1, 2, then)
    return brought


@does(BRING_BACK)
def bring_back(work: Work, progress: Progress) -> None:
    """Add what an export holds beyond this store's own record."""
    from tethera.web import kept

    draft, member = _draft_of(work)
    if draft.recorded is None:
        brought = _brought(draft, progress, _("Adding what this store does not have"))
        with writing(work.store_id) as opened:
            have = opened.log.read()
            if not member.may(May.INSPECT) and any(
                needs_competent(each.event, brought.events) for each in brought.events[len(have) :]
            ):
                raise ValueError(_("It holds examinations. Only a competent person who is keeper too may add them."))
            added = kept.bring_back(work.store.slug, brought)
            draft.recorded, draft.about = timezone.now(), {**draft.about, "added": added.in_words()}
            draft.save()
    draft.path.unlink(missing_ok=True)
    work.leads_to = reverse("today", args=[work.store.slug])


@does(OWN_STORE)
def open_as_store(work: Work, progress: Progress) -> None:
    """Make an export a store of its own; whoever brought it is its keeper."""
    from tethera.web.installation import take_over

    draft, member = _draft_of(work)
    if draft.recorded is None:
        brought = addition((), {}, _brought(draft, progress, _("Opening the store")))
        with transaction.atomic():
            store = take_over(brought.events, brought.names, new_store)
            make_keeper(member.account, store, competent=member.may(May.INSPECT))
            draft.recorded, draft.about = timezone.now(), {**draft.about, "slug": store.slug}
            draft.save()
    draft.path.unlink(missing_ok=True)
    work.leads_to = reverse("today", args=[draft.about["slug"]])
