"""Who acts at the terminal, in a store that has accounts: the same rules as at the pages."""

from collections.abc import Sequence

from tethera.store import Event, Recorded, needs_competent
from tethera.web.accounts.models import Membership
from tethera.web.accounts.roles import May
from tethera.web.store.models import Person, Store
from tethera.web.store.people import DatabasePeople


def person_of(slug: str, name: str) -> str:
    """The id of who acts: a member by the name of the account or in the log, else anybody of that name."""
    store = Store.objects.get(slug=slug)
    wanted = " ".join(name.split()).casefold()
    for membership in Membership.objects.filter(store=store).select_related("account"):
        person = Person.objects.filter(store=store, key=membership.person).first()
        known = {membership.account.name, person.name if person and person.name else ""}
        if wanted in {each.casefold() for each in known}:
            return membership.person
    return DatabasePeople(store.pk).id_of(name)


def lacks(slug: str, person: str, log: Sequence[Recorded], events: Sequence[Event]) -> str | None:
    """Why this person may not record these events, or None."""
    membership = Membership.objects.filter(store__slug=slug, person=person).first()
    if membership is not None and membership.may(May.INSPECT):
        return None
    for event in events:
        if needs_competent(event, log):
            competent = [
                each.account.name
                for each in Membership.objects.filter(store__slug=slug).select_related("account")
                if each.may(May.INSPECT)
            ]
            names = ", ".join(competent) or "nobody yet; the keeper names one on the page People"
            return f"Only a competent person may record this: say who with --by. In this store: {names}."
    return None
