"""What a keeper may do about the members of a store: change what they are, let them go, forget a name, help with a
password. A store always keeps one keeper."""

from datetime import timedelta

from django.contrib.auth.hashers import make_password
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from tethera.web.accounts.models import Account, Invitation, Membership, PasswordLink
from tethera.web.accounts.roles import Role
from tethera.web.store.models import Person, Store
from tethera.web.store.people import DatabasePeople

PASSWORD_LINK_HOURS = 24


class LastKeeper(ValueError):
    """The only keeper of a store cannot go."""

    def __init__(self, name: str) -> None:
        told = _("{name} is the only tackle keeper of this store. Make somebody else keeper first.")
        super().__init__(told.format(name=name))


def is_last_keeper(membership: Membership) -> bool:
    """Whether the store would be without a keeper."""
    keepers = Membership.objects.filter(store=membership.store_id, role=Role.KEEPER, account__is_active=True)
    return membership.role == Role.KEEPER and not keepers.exclude(pk=membership.pk).exists()


def change_role(membership: Membership, role: Role, *, competent: bool) -> None:
    """Somebody is this from now on; LastKeeper."""
    with transaction.atomic():
        # Two keepers who let each other go at the same moment wait here for each other.
        Store.objects.select_for_update().get(pk=membership.store_id)
        if role is not Role.KEEPER and is_last_keeper(membership):
            raise LastKeeper(membership.account.name)
        membership.role, membership.competent = role, competent and role is Role.KEEPER
        membership.save(update_fields=["role", "competent"])


def end_membership(membership: Membership) -> None:
    """The store is closed to somebody; their account, and their name in the record, stay. LastKeeper."""
    with transaction.atomic():
        Store.objects.select_for_update().get(pk=membership.store_id)
        if is_last_keeper(membership):
            raise LastKeeper(membership.account.name)
        PasswordLink.objects.filter(account=membership.account_id, store=membership.store_id).delete()
        membership.delete()


def erase(store: Store, person: str) -> None:
    """Forget a name beside a store's record, and the account of that person unless another store knows it. LastKeeper.

    What working papers hold of them goes in personal/forgetting.py.
    """
    with transaction.atomic():
        Store.objects.select_for_update().get(pk=store.pk)
        membership = Membership.objects.filter(store=store, person=person).select_related("account").first()
        DatabasePeople(store.pk).erase(person)
        if membership is None:
            return
        account = membership.account
        end_membership(membership)
        if not Membership.objects.filter(account=account).exists():
            account.name, account.email = person, f"erased-{account.pk}@erased.invalid"
            account.password, account.is_active = make_password(None), False
            account.save()


def why_no_password_link(keeper: Account, account: Account) -> str:
    """Why a keeper may not let somebody choose a new password, or nothing.

    Whoever holds the link can sign in as that person: it may open no store but those this keeper keeps.
    """
    theirs = set(Membership.objects.filter(account=account).values_list("store", flat=True))
    kept = set(Membership.objects.filter(account=keeper, role=Role.KEEPER).values_list("store", flat=True))
    if theirs - kept:
        told = _("{name} belongs to another store too, which you do not keep. A keeper of all their stores can help.")
        return told.format(name=account.name)
    return ""


def password_link(keeper: Account, account: Account, store: Store) -> tuple[PasswordLink, str]:
    """A link with which somebody chooses a new password, once, within a day; told once. Earlier links end."""
    token = Invitation.new_token()
    with transaction.atomic():
        PasswordLink.objects.filter(account=account, used=None).delete()
        link = PasswordLink.objects.create(
            account=account,
            store=store,
            made_by=keeper,
            sum=Invitation.sum_of(token),
            ends=timezone.now() + timedelta(hours=PASSWORD_LINK_HOURS),
        )
    return link, token


def good_password_link(token: str) -> PasswordLink | None:
    """The link, if it still opens anything: not used, not ended, and its maker could make it today."""
    found = PasswordLink.objects.select_related("account", "made_by")
    link = found.filter(sum=Invitation.sum_of(token), used=None, ends__gt=timezone.now()).first()
    if link is None or not link.account.is_active or not link.made_by.is_active:
        return None
    if not Membership.objects.filter(account=link.account, store=link.store_id).exists():
        return None
    return None if why_no_password_link(link.made_by, link.account) else link


def use_password_link(link: PasswordLink, password: str) -> bool:
    """Set the password, once; False when somebody was quicker. Whoever is signed in as that person is signed out."""
    with transaction.atomic():
        held = PasswordLink.objects.select_for_update().get(pk=link.pk)
        if held.used is not None:
            return False
        held.used = timezone.now()
        held.save(update_fields=["used"])
        link.account.set_password(password)
        link.account.save(update_fields=["password"])
    return True


def rename(account: Account) -> None:
    """Who changes the name of their account is called so in the record of their stores too, if nobody else is."""
    for membership in Membership.objects.filter(account=account):
        people = Person.objects.filter(store=membership.store_id)
        if not people.filter(name__iexact=account.name).exclude(key=membership.person).exists():
            people.filter(key=membership.person).exclude(name=None).update(name=account.name)
