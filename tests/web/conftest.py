"""A small invented store with one person in each role, and a stranger from another club."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Event,
    Marked,
    Measured,
    PutIntoService,
    Register,
    RopeState,
    StoreDescribed,
    Washed,
)
from tethera.store.events import Dried
from tethera.web.accounts.models import Account, Membership
from tethera.web.accounts.roles import Role
from tethera.web.store.models import LoggedEvent, Person, Store
from tethera.web.store.opened import forget, held

LONG_AGO = datetime(2024, 5, 1, 9, tzinfo=UTC)
DAY = PartialDate(2024, 5, 1)


@dataclass
class Club:
    """A store, and clients signed in as each kind of person."""

    store: Store
    keeper: Client
    competent: Client
    member: Client
    reader: Client
    stranger: Client
    nobody: Client

    @property
    def address(self) -> str:
        """Where its pages begin."""
        return f"/{self.store.slug}"

    def did(self, *events: Event, recorded: datetime = LONG_AGO, by: str = "p1") -> None:
        """Record events behind the pages' back."""
        with held(self.store.pk) as opened:
            opened.register.record_all(events, recorded=recorded, by=by)

    def ready(self, rope: str, metres: int = 30, **specified: object) -> str:
        """One more rope that is ready."""
        self.did(
            Bought(rope=rope, happened=DAY, length_cm=metres * 110, **specified),  # type: ignore[arg-type]
            Washed(rope=rope, happened=DAY, how="machine"),
            Dried(rope=rope, happened=DAY),
            Measured(rope=rope, happened=DAY, length_cm=metres * 100, counts_cm=(metres * 100, metres * 100)),
            Marked(rope=rope, happened=DAY, length_m=metres),
            PutIntoService(rope=rope, happened=DAY),
        )
        return rope

    def rope(self, number: str, on: date | None = None) -> RopeState:
        """A rope as the store has it now, or on a day."""
        with held(self.store.pk) as opened:
            return opened.register.rope(number, on or timezone.localdate() + timedelta(days=1))

    def register(self) -> Register:
        """The register itself."""
        with held(self.store.pk) as opened:
            return opened.register

    def log(self) -> list[Event]:
        """Every event of the store, as written."""
        with held(self.store.pk) as opened:
            return [each.event for each in opened.log.read()]

    def events(self) -> int:
        """How many events the database has."""
        return LoggedEvent.objects.filter(store=self.store).count()


@pytest.fixture(autouse=True)
def _every_store_is_read_anew() -> Iterator[None]:
    forget()
    yield
    forget()


@pytest.fixture
def club(db: None, make_club: Callable[..., Club]) -> Club:
    """Store UG of an invented club, still without ropes."""
    return make_club("ug", "UG", "Ulvergarth Caving Club")


@pytest.fixture
def make_club(db: None) -> Callable[..., Club]:
    """Makes stores; the second and later ones are strangers to the first."""

    def make(slug: str, code: str, name: str) -> Club:
        store = Store.objects.create(slug=slug, name=name)
        other = Store.objects.create(slug=f"{slug}-other", name="Fellmoor Potholers")
        people = [("p1", "Maud Ellerbeck"), ("p2", "Tobias Quarmby"), ("p3", "Ines Ravel"), ("p4", "Bronwen Skail")]
        clients = []
        for (key, person), role in zip(people, (Role.KEEPER, Role.COMPETENT, Role.MEMBER, Role.READER), strict=True):
            Person.objects.create(store=store, key=key, name=person)
            account = Account.objects.create_user(f"{key}@{slug}.invalid", "three odd words", name=person)
            Membership.objects.create(account=account, store=store, role=role, person=key)
            clients.append(_signed_in(account))
        stranger = Account.objects.create_user(f"stranger@{slug}.invalid", "three odd words", name="Otto Fremd")
        Membership.objects.create(account=stranger, store=other, role=Role.KEEPER, person="p1")
        Person.objects.create(store=other, key="p1", name="Otto Fremd")
        club = Club(store, *clients, stranger=_signed_in(stranger), nobody=Client())
        club.did(StoreDescribed(happened=DAY, code=code, owner=name))
        return club

    return make


def _signed_in(account: Account) -> Client:
    client = Client()
    client.force_login(account)
    return client
