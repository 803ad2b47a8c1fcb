"""Accounts for the invented people of the invented store, so that every role can be looked at."""

from tethera.web.accounts.models import Account, Membership
from tethera.web.accounts.roles import Role
from tethera.web.store.models import Person, Store

#: The id in the invented log, and what that person is.
_ROLES = (("p1", Role.KEEPER), ("p2", Role.COMPETENT), ("p3", Role.MEMBER), ("p5", Role.READER))


def make() -> None:
    """Make them, once. None of them has a password: only the invented store lets people look in."""
    store = Store.objects.order_by("pk").first()
    if store is None or Account.objects.exists():
        return
    names = dict(Person.objects.filter(store=store).values_list("key", "name"))
    for person, role in _ROLES:
        name = names.get(person) or person
        account = Account.objects.create_user(f"{person}@ulvergarth.invalid", None, name=name)
        Membership.objects.create(account=account, store=store, role=role, person=person)
