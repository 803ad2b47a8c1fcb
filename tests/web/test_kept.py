"""What the pages keep is taken out and put back, and no new model is forgotten."""

import datetime
from typing import Any

import pytest
from django.apps import apps

from tethera.basics import PartialDate
from tethera.store import Recorded, Washed
from tethera.store.exchange import AnotherStore, Exported, KeptStore
from tethera.web import kept
from tethera.web.accounts.joining import make_keeper
from tethera.web.accounts.models import Account, Membership
from tethera.web.settings import FOLDER
from tethera.web.store.models import LoggedEvent, Person, Photo, Store
from tethera.web.store.people import DatabasePeople
from tethera.web.trips.models import Trip

pytestmark = pytest.mark.django_db


def test_every_model_is_kept_or_left_out_for_a_reason() -> None:
    """A new model goes into KEPT, with the code that takes it out and puts it back, or into NOT_KEPT."""
    ours = {each._meta.label for each in apps.get_models() if each.__module__.startswith("tethera.")}
    assert ours - set(kept.KEPT) - set(kept.NOT_KEPT) == set()


def test_what_was_taken_out_of_a_database_is_put_back_into_an_empty_one(club) -> None:  # type: ignore[no-untyped-def]
    club.ready("UG1")
    long_ago = datetime.datetime(2020, 1, 1, tzinfo=datetime.UTC)
    Photo.objects.create(store=club.store, sha256="ab" * 32, width=4, height=3, size=7)
    Photo.objects.update(kept=long_ago)
    days = {"first_day": datetime.date(2026, 12, 5), "last_day": datetime.date(2026, 12, 6)}
    Trip.objects.create(store=club.store, name="Novices", routes=["wick"], packed={"wick/UG1": {"by": "Ines"}}, **days)
    Account.objects.update(made=long_ago, units="ft")
    before = kept.kept(FOLDER)
    with pytest.raises(ValueError, match="holds a store or an account already"):
        kept.put_back(before.stores, before.accounts or ())
    for model in (Trip, Photo, Membership, Person, LoggedEvent, Account, Store):
        model.objects.all().delete()
    kept.put_back(before.stores, before.accounts or ())
    assert kept.kept(FOLDER) == before
    assert Account.objects.filter(made=long_ago, units="ft").count() == len(before.accounts or ())


def test_a_row_from_a_newer_tethera_is_told_and_nothing_is_put_back() -> None:
    with pytest.raises(ValueError, match="Account has no “colour”: a newer Tethera wrote the backup"):
        kept.put_back((), [{"email": "a@b.invalid", "name": "A", "colour": "red", "memberships": []}])
    with pytest.raises(ValueError, match=r"Account: .*True or False"):
        kept.put_back((), [{"email": "a@b.invalid", "name": "A", "is_active": "perhaps"}])
    assert not Account.objects.exists()


_ACCOUNT = {"email": "a@b.invalid", "name": "A", "password": "x"}
_TRIP = {"name": "Sunday", "first_day": "2026-12-05", "last_day": "2026-12-05"}


@pytest.mark.parametrize(
    ("about", "accounts", "told"),
    [
        ({"store": "ug"}, [], "stores/ug/about.json does not say what a backup's should"),
        ({"photos": 3}, [], "stores/ug/about.json does not say"),
        ({"trips": ["Sunday"]}, [], "stores/ug/about.json does not say"),
        ({"trips": [_TRIP | {"routes": 5}]}, [], "Trip: “routes” cannot be read"),
        ({"trips": [_TRIP | {"name": None}]}, [], "Trip: “name” cannot be read"),
        ({"trips": [_TRIP | {"made": 7}]}, [], "Trip: “made” cannot be read"),
        ({"trips": [_TRIP, _TRIP]}, [], "holds twice what may be there only once"),
        ({"photos": [{"sha256": "ab" * 40, "width": 1, "height": 1, "size": 1}]}, [], "Photo: “sha256”: .*64"),
        (
            {"photos": [{"sha256": "ab", "width": 10**30, "height": 1, "size": 1}]},
            [],
            "Photo: “width”: Write [0-9]+ or less",
        ),
        ({"photos": [{"sha256": "ab"}]}, [], "Photo lacks “width”"),
        ({}, 1, "accounts.json does not say"),
        ({}, ["a"], "accounts.json does not say"),
        ({}, [_ACCOUNT | {"memberships": 2}], "accounts.json does not say"),
        ({}, [_ACCOUNT | {"email": 5}], "Account: .*email"),
        ({}, [_ACCOUNT, _ACCOUNT], "holds twice"),
        ({}, [_ACCOUNT | {"memberships": [{"store": ["ug"]}]}], "names a store that is not in the backup"),
        ({}, [_ACCOUNT | {"memberships": [{"store": "ug", "role": "king", "person": "p1"}]}], "Membership: “role”"),
        ({}, [_ACCOUNT | {"memberships": [{"store": "ug", "person": "p1"}]}], "Membership lacks “role”"),
    ],
)
def test_what_no_backup_says_is_told_in_words_and_nothing_is_put_back(about: Any, accounts: Any, told: str) -> None:
    """Found by guided_fuzz.py: each of these ended in a traceback, or was kept and broke a page later."""
    with pytest.raises(ValueError, match=told):
        kept.put_back((KeptStore("ug", "UG", (), {}, about),), accounts)
    assert not Store.objects.exists()
    assert not Account.objects.exists()


def log(*days: int) -> tuple[Recorded, ...]:
    moment = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)
    return tuple(Recorded(Washed(rope="UG1", happened=PartialDate(2025, 1, day)), moment, "p1") for day in days)


def test_the_keeper_of_an_empty_store_stays_themselves_when_an_export_is_brought_in() -> None:
    store = Store.objects.create(slug="ug", name="UG")
    jo = make_keeper(Account.objects.create_user("jo@b.invalid", None, name="Jo Fell"), store, competent=False)
    assert jo.person == "p1"
    added = kept.bring_back("ug", Exported(log(1, 2), {"p1": "Maud Ellerbeck", "p2": None}))
    jo.refresh_from_db()
    assert len(added.events) == 2
    names = {"p1": "Maud Ellerbeck", "p2": None, "p3": "Jo Fell"}
    assert (jo.person, DatabasePeople(store.pk).names()) == ("p3", names)


def test_a_store_that_went_its_own_way_is_left_alone() -> None:
    store = Store.objects.create(slug="ug", name="UG")
    kept.bring_back("ug", Exported(log(1), {"p1": "Maud"}))
    assert len(kept.bring_back("ug", Exported(log(1, 2), {"p1": "Maud"})).events) == 1
    with pytest.raises(AnotherStore, match="differs from event 1 on"):
        kept.bring_back("ug", Exported(log(1, 3), {"p1": "Maud"}))
    assert LoggedEvent.objects.filter(store=store).count() == 2
