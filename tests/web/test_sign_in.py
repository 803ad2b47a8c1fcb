"""Signing in and out, and looking into the invented store."""

import pytest
from django.test import Client, override_settings

from tethera.web.accounts.models import Account
from web.conftest import Club

GOOD = {"email": "p1@ug.invalid", "password": "three odd words"}


def test_who_knows_the_password_goes_in_and_on_to_where_they_wanted(club: Club) -> None:
    asked = club.nobody.get(f"{club.address}/people")
    assert asked["Location"] == f"/sign-in?next={club.address}/people"
    page = club.nobody.get(asked["Location"]).content.decode()
    assert f'name="next" value="{club.address}/people"' in page
    answer = club.nobody.post("/sign-in", GOOD | {"next": f"{club.address}/people"})
    assert answer["Location"] == f"{club.address}/people"
    assert club.nobody.get("/me").status_code == 200


def test_capitals_in_an_address_do_not_matter(club: Club) -> None:
    assert club.nobody.post("/sign-in", GOOD | {"email": "P1@UG.invalid"}).status_code == 302


@pytest.mark.parametrize("onward", ["https://elsewhere.invalid/", "//elsewhere.invalid", "javascript:alert(1)", ""])
def test_nobody_is_sent_elsewhere(club: Club, onward: str) -> None:
    assert club.nobody.post("/sign-in", GOOD | {"next": onward})["Location"] == "/"


@pytest.mark.parametrize(
    "told",
    [GOOD | {"password": "three odd wards"}, GOOD | {"email": "nobody@ug.invalid"}, {"email": "", "password": ""},
     {"email": "no address", "password": "x"}],
)  # fmt: skip
def test_a_wrong_address_or_password_is_told_without_saying_which(club: Club, told: dict[str, str]) -> None:
    answer = club.nobody.post("/sign-in", told)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert 'class="error"' in page
    assert "has no account" not in page
    assert told["email"] in page
    assert "three odd wards" not in page
    assert club.nobody.get("/me").status_code == 302


def test_an_account_that_was_erased_opens_nothing(club: Club) -> None:
    Account.objects.filter(email="p1@ug.invalid").update(is_active=False)
    assert "do not belong together" in club.nobody.post("/sign-in", GOOD).content.decode()


def test_signing_out_ends_the_visit_and_is_not_done_by_a_link(club: Club) -> None:
    assert club.keeper.get("/sign-out").status_code == 405
    assert club.keeper.post("/sign-out")["Location"] == "/sign-in"
    assert club.keeper.get(club.address)["Location"].startswith("/sign-in")


def test_a_form_that_comes_from_elsewhere_is_not_taken(club: Club) -> None:
    strict = Client(enforce_csrf_checks=True)
    answer = strict.post("/sign-in", GOOD)
    assert answer.status_code == 403
    assert "Nothing was recorded" in answer.content.decode()


def test_nobody_looks_into_a_real_store(club: Club) -> None:
    keeper = Account.objects.get(email="p1@ug.invalid")
    assert "Look in as" not in club.nobody.get("/sign-in").content.decode()
    assert club.nobody.post("/look-in", {"account": keeper.pk}).status_code == 404
    assert club.nobody.get("/me").status_code == 302


@override_settings(DEMO=True)
def test_anybody_looks_into_the_invented_store(club: Club) -> None:
    keeper = Account.objects.get(email="p1@ug.invalid")
    assert "Look in as Maud Ellerbeck" in club.nobody.get("/sign-in").content.decode()
    assert club.nobody.get("/look-in").status_code == 405
    assert club.nobody.post("/look-in", {"account": "99999"}).status_code == 404
    assert club.nobody.post("/look-in", {"account": keeper.pk})["Location"] == "/"
    assert club.nobody.get("/")["Location"] == club.address


def test_home_leads_to_the_only_store_or_offers_several_or_none(club: Club) -> None:
    assert club.keeper.get("/")["Location"] == club.address
    account = Account.objects.create_user("new@ug.invalid", "three odd words", name="Perpetua Nkemelu")
    client = Client()
    client.force_login(account)
    assert "You belong to no store." in client.get("/").content.decode()
    assert "No account?" in club.nobody.get("/sign-in").content.decode()
