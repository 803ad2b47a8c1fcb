"""One person of a store, and by which names and accounts its working papers may know them."""

from dataclasses import dataclass

from tethera.store.people import plain_name
from tethera.web.accounts.models import Account, Membership
from tethera.web.store.models import Person, Store

#: Working papers keep so much of a name.
_KEPT_OF_A_NAME = 120


@dataclass(frozen=True)
class Somebody:
    """`names` are those that only they have in the store; a name that somebody else has too tells nothing."""

    store: Store
    person: str
    account: Account | None
    names: tuple[str, ...]
    shared: tuple[str, ...]

    def is_called(self, name: str) -> bool:
        """Whether a paper that says no more than this name means them."""
        return plain_name(name) in {plain_name(each[:cut]) for each in self.names for cut in (None, _KEPT_OF_A_NAME)}


def somebody(store: Store, person: str) -> Somebody:
    """The person behind an id: as the record calls them, and as their own account does."""
    names = dict(Person.objects.filter(store=store).exclude(name=None).values_list("key", "name"))
    account, own, others = None, [names.pop(person, None)], set(names.values())
    for membership in Membership.objects.filter(store=store).select_related("account"):
        if membership.person == person:
            account = membership.account
            own.append(account.name)
        else:
            others.add(membership.account.name)
    taken = {plain_name(each) for each in others if each}
    mine = {plain_name(each): each for each in reversed(own) if each and each.strip()}
    alone = tuple(name for plain, name in mine.items() if plain not in taken)
    return Somebody(store, person, account, alone, tuple(name for plain, name in mine.items() if plain in taken))
