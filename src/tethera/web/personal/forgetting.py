"""Forgetting somebody: the name beside the record and the account, and what working papers hold of them.

The record itself is never touched. What no machine can tell, as a name in a note or on a photograph, is told in words.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from django.db import transaction
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import ngettext_lazy

from tethera.web.accounts import keeping
from tethera.web.accounts.models import Invitation, Membership
from tethera.web.accounts.signed_in import sessions_of
from tethera.web.buying.models import BuyingList
from tethera.web.personal.papers import (
    drafts_of,
    invitations_of,
    links_of,
    lists_of,
    titles_with,
    trips_of,
    work_of,
)
from tethera.web.personal.somebody import Somebody, somebody
from tethera.web.store.models import Store
from tethera.web.work.models import Work

_WORDS: Mapping[str, Promise] = {
    "led": ngettext_lazy("leader of %(n)d trip", "leader of %(n)d trips", "n"),
    "ticks": ngettext_lazy("%(n)d tick in bags", "%(n)d ticks in bags", "n"),
    "lists": ngettext_lazy("who asked for %(n)d list to buy", "who asked for %(n)d lists to buy", "n"),
    "work": ngettext_lazy(
        "%(n)d piece of long work, with what it made", "%(n)d pieces of long work, with what they made", "n"
    ),
    "titles": ngettext_lazy("%(n)d title of others' long work", "%(n)d titles of others' long work", "n"),
    "invitations": ngettext_lazy("%(n)d invitation", "%(n)d invitations", "n"),
    "links": ngettext_lazy("%(n)d link for a new password", "%(n)d links for a new password", "n"),
    "sessions": ngettext_lazy("signed in on %(n)d device", "signed in on %(n)d devices", "n"),
    "begun": ngettext_lazy("%(n)d file brought in, not recorded", "%(n)d files brought in, not recorded", "n"),
    "brought": ngettext_lazy(
        "who brought in %(n)d file that is recorded", "who brought in %(n)d files that are recorded", "n"
    ),
}


@dataclass(frozen=True)
class Papers:
    """What lies beside the record about somebody, counted by its kind."""

    who: Somebody
    counts: Mapping[str, int]

    def in_words(self) -> str:
        """How much of each kind there is; nothing where there is none."""
        return "; ".join(str(words % {"n": self.counts[kind]}) for kind, words in _WORDS.items() if self.counts[kind])


def papers_of(store: Store, person: str) -> Papers:
    """What forgetting them would clear."""
    who = somebody(store, person)
    trips = [(leads, len(ticks)) for _trip, leads, ticks in trips_of(who)]
    counts = {
        "led": sum(leads for leads, _ticks in trips),
        "ticks": sum(ticks for _leads, ticks in trips),
        "lists": sum(1 for _ in lists_of(who)),
        "work": work_of(who).count(),
        "titles": sum(1 for _ in titles_with(who)),
        "invitations": sum(1 for _ in invitations_of(who)),
        "links": links_of(who).count(),
        "sessions": sum(1 for _ in sessions_of(who.account)) if who.account and _account_goes(who) else 0,
        "begun": drafts_of(who).filter(recorded=None).count(),
        "brought": drafts_of(who).exclude(recorded=None).count(),
    }
    return Papers(who, counts)


def _account_goes(who: Somebody) -> bool:
    """An account that another store knows stays, and stays signed in."""
    return not Membership.objects.filter(account=who.account).exclude(store=who.store).exists()


def forget(store: Store, person: str) -> Papers:
    """Forget somebody, all or nothing; what working papers held of them. LastKeeper."""
    with transaction.atomic():
        # Whoever ticks into a bag meanwhile waits for this row.
        Store.objects.select_for_update().get(pk=store.pk)
        papers = papers_of(store, person)
        signed_out = papers.who.account is not None and _account_goes(papers.who)
        _clear_names(papers.who)
        keeping.erase(store, person)
        _clear_rows(papers.who, signed_out=signed_out)
    return papers


def _clear_names(who: Somebody) -> None:
    for trip, leads, ticks in list(trips_of(who)):
        trip.leader = "" if leads else trip.leader
        # What lies in the bag still lies there.
        trip.packed = trip.packed | {what: {"by": "", "at": tick.get("at", "")} for what, tick in ticks.items()}
        trip.save(update_fields=["leader", "packed"])
    BuyingList.objects.filter(pk__in=[each.pk for each in lists_of(who)]).update(by="")
    for work, title in list(titles_with(who)):
        Work.objects.filter(pk=work.pk).update(title=title)
    Invitation.objects.filter(pk__in=[each.pk for each in invitations_of(who)]).delete()


def _clear_rows(who: Somebody, *, signed_out: bool) -> None:
    """What hangs on the account. Files go last: one that was deleted does not come back with its row."""
    if who.account is not None and signed_out:
        for session in list(sessions_of(who.account)):
            session.delete()
    links_of(who).delete()
    drafts_of(who).exclude(recorded=None).update(account=None)
    paths = [each.path for each in work_of(who)]
    work_of(who).delete()
    for draft in list(drafts_of(who)):
        draft.drop()
    for path in paths:
        path.unlink(missing_ok=True)


def said(papers: Papers) -> str:
    """What was cleared, and what only somebody who looks can find, in sentences."""
    words = papers.in_words()
    told = _("Cleared beside the record: {papers}.").format(papers=words) if words else ""
    left = _("Notes, the names of trips and files, photographs and backups may still hold it: look through those.")
    return " ".join(filter(None, (told or _("Nothing else beside the record held it."), shared_said(papers.who), left)))


def shared_said(who: Somebody) -> str:
    """That somebody else has the same name, where it is so."""
    if not who.shared:
        return ""
    told = _("Somebody else here is called {name} too: papers that hold no more than that name stay as they are.")
    return told.format(name=who.shared[0])
