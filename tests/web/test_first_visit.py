"""The first account of an installation: the keeper's, and the store with it."""

import pytest
from django.test import Client, override_settings

from tethera.basics import PartialDate
from tethera.store import RecordedAsFound, StoreDescribed
from tethera.web.accounts.joining import new_store
from tethera.web.accounts.models import Account, Membership
from tethera.web.installation import take_over
from tethera.web.store.models import Person, Store
from tethera.web.store.opened import held

pytestmark = pytest.mark.django_db
TOLD = {
    "name": "Maud  Ellerbeck",
    "email": "Maud@Ulvergarth.invalid",
    "password": "three odd words",
    "owner": "Ulvergarth Caving Club",
    "code": "ug",
}


def test_who_comes_first_is_led_to_the_first_visit() -> None:
    assert Client().get("/sign-in")["Location"] == "/first"
    assert Client().get("/")["Location"].startswith("/sign-in")
    assert "Nobody has an account here yet." in Client().get("/first").content.decode()


def test_the_first_account_is_the_keepers_and_the_store_is_theirs() -> None:
    client = Client()
    answer = client.post("/first", TOLD | {"competent": "on"})
    assert answer["Location"] == "/ug"
    store, account = Store.objects.get(), Account.objects.get()
    assert (store.slug, store.name, account.name, account.email) == (
        "ug", "Ulvergarth Caving Club", "Maud Ellerbeck", "maud@ulvergarth.invalid",
    )  # fmt: skip
    membership = Membership.objects.get()
    assert (membership.role, membership.competent, membership.person) == ("keeper", True, "p1")
    with held(store.pk) as opened:
        described = opened.register.store()
        assert described is not None
        assert (described.code, described.owner) == ("UG", "Ulvergarth Caving Club")
        assert opened.log.read()[0].by == "p1"
    assert client.get("/me").status_code == 200


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("name", "  ", "error"),
        ("email", "maud", "error"),
        ("password", "short", "at least 10"),
        ("password", "password123", "common"),
        ("password", "maud ellerbeck", "too similar"),
        ("code", "UG1", "One to five letters"),
        ("code", "TOOLONG", "One to five letters"),
        ("owner", "", "error"),
    ],
)
def test_what_cannot_be_taken_is_told_beside_the_field_and_stays_typed(field: str, typed: str, told: str) -> None:
    page = Client().post("/first", TOLD | {field: typed}).content.decode()
    assert f'id="id_{field}_error"' in page
    assert told in page
    assert 'value="Ulvergarth Caving Club"' in page or field == "owner"
    # A password is never sent back.
    assert "three odd words" not in page
    assert not Account.objects.exists()
    assert not Store.objects.exists()


def test_there_is_only_one_first_visit() -> None:
    Client().post("/first", TOLD)
    late = Client()
    assert late.get("/first").status_code == 404
    assert late.post("/first", TOLD | {"email": "late@ulvergarth.invalid"}).status_code == 404
    assert Account.objects.count() == 1
    assert late.get("/sign-in").status_code == 200


@override_settings(FIRST_VISIT_KEY="told-at-the-start")
def test_from_other_machines_only_who_knows_the_key_comes_first() -> None:
    for address in ("/first", "/first/guessed", "/first/told-at-the-start2"):
        assert Client().get(address).status_code == 404
        assert Client().post(address, TOLD).status_code == 404
    assert not Account.objects.exists()
    page = Client().get("/sign-in", follow=True)
    assert page.status_code == 404
    assert "printed at the start" in page.content.decode()
    assert Client().post("/first/told-at-the-start", TOLD)["Location"] == "/ug"


def test_a_store_that_is_there_already_gets_its_keeper_without_being_named_anew() -> None:
    day = PartialDate(2022, 11, 5)
    from datetime import UTC, datetime

    from tethera.store import Recorded

    then = datetime(2022, 11, 5, tzinfo=UTC)
    events = [
        Recorded(StoreDescribed(happened=day, code="UG", owner="Ulvergarth Caving Club"), then, "p1"),
        Recorded(RecordedAsFound(rope="UG1", happened=day, length_cm=3000), then, "p1"),
    ]
    store = take_over(events, {"p1": "Maud Ellerbeck"}, new_store)
    page = Client().get("/first").content.decode()
    assert "Ulvergarth Caving Club" in page
    assert 'name="code"' not in page
    Client().post("/first", TOLD)
    # The keeper is the person of that name in the record, and nothing was added to it.
    assert Membership.objects.get().person == "p1"
    assert Person.objects.count() == 1
    assert Store.objects.get().pk == store.pk
    assert Store.objects.get().length == 2
