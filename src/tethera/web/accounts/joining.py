"""How people and stores come in: a new store, its keeper, an invitation and who takes it up."""

from datetime import timedelta

from django.db import connection, transaction
from django.http import Http404
from django.utils import timezone
from django.utils.text import slugify

from tethera.basics import PartialDate
from tethera.store import StoreDescribed
from tethera.web.accounts.models import Account, Invitation, Membership
from tethera.web.accounts.roles import Role, allowed
from tethera.web.store.models import Store
from tethera.web.store.opened import writing
from tethera.web.store.people import DatabasePeople

INVITATION_DAYS = 14
#: Of an advisory lock at PostgreSQL: "tethcome" in ASCII.
_NEWCOMERS_KEY = 0x74657468636F6D65
_NOT_A_SLUG = {
    *("me", "static", "join", "first", "store", "sign-in", "sign-out", "stores", "calendar", "look-in", "feed"),
    "password",
}


def one_after_the_other() -> None:
    """Until the transaction ends nobody else makes a first account or a store, in whichever process."""
    # SQLite lets one transaction at a time write anyway.
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_NEWCOMERS_KEY])


def new_store(name: str, code: str) -> Store:
    """A store with an address of its own, made of its letters."""
    one_after_the_other()
    base = slugify(code) or "store"
    slug, number = base, 1
    while slug in _NOT_A_SLUG or Store.objects.filter(slug=slug).exists():
        number += 1
        slug = f"{base}-{number}"
    return Store.objects.create(slug=slug, name=name)


def describe(store: Store, owner: str | None, code: str | None, account: Account) -> None:
    """Write into a new store's log who it is."""
    if code is None:
        return
    membership = Membership.objects.get(store=store, account=account)
    event = StoreDescribed(happened=PartialDate.of(timezone.localdate()), code=code, owner=owner or "")
    with writing(store.pk) as opened:
        opened.register.record(event, recorded=timezone.now(), by=membership.person)


def make_keeper(account: Account, store: Store, *, competent: bool) -> Membership:
    """The keeper of a store; known in its log by the id of their name."""
    person = DatabasePeople(store.pk).id_of(account.name)
    return Membership.objects.create(
        account=account, store=store, role=Role.KEEPER, competent=competent, person=_free(store, person, account)
    )


def invite(store: Store, name: str, role: Role, *, competent: bool) -> tuple[Invitation, str]:
    """An invitation and the token of its link, which is told once and not kept."""
    token = Invitation.new_token()
    invitation = Invitation.objects.create(
        store=store,
        name=name,
        role=role,
        competent=competent and role is Role.KEEPER,
        sum=Invitation.sum_of(token),
        ends=timezone.now() + timedelta(days=INVITATION_DAYS),
    )
    return invitation, token


def take_up(invitation: Invitation, account: Account) -> Membership:
    """Make the invited a member, once; the person of that name in the log is they."""
    with transaction.atomic():
        held = Invitation.objects.select_for_update().get(pk=invitation.pk)
        if held.used is not None:
            raise Http404("This invitation was used already. Ask the tackle keeper for a new one.")
        held.used, held.used_by = timezone.now(), account
        held.save(update_fields=["used", "used_by"])
        person = DatabasePeople(held.store_id).id_of(held.name)
        membership, new = Membership.objects.get_or_create(
            account=account,
            store=held.store,
            defaults={
                "role": held.role,
                "competent": held.competent,
                "person": _free(held.store, person, account),
            },
        )
        # Who is here already may come to be more by it, never less: a keeper opens a link meant for somebody else.
        if not new and allowed(Role(held.role), competent=held.competent) >= membership.allowed:
            membership.role, membership.competent = held.role, held.competent
            membership.save()
        return membership


def _free(store: Store, person: str, account: Account) -> str:
    """The id, unless somebody else's account is that person already: then one more of the same name.

    They are told apart by a number: whoever reads the store sees every name, and nobody's address.
    """
    others = set(Membership.objects.filter(store=store).exclude(account=account).values_list("person", flat=True))
    number = 1
    while person in others:
        number += 1
        person = DatabasePeople(store.pk).id_of(f"{account.name[:190]} ({number})")
    return person
