"""One's own page: name, feet or metres, paper or night, password; and one more store."""

import pytest
from django.test import Client

from tethera.web.accounts.models import Account, Membership
from tethera.web.store.models import Person, Store
from web.conftest import Club

LIKES = {"name": "Ines Ravel", "units": "m", "paper": "auto"}


def ines() -> Account:
    return Account.objects.get(email="p3@ug.invalid")


def test_everybody_has_a_page_and_nobody_else_sees_it(club: Club) -> None:
    for client in (club.keeper, club.competent, club.member, club.reader, club.stranger):
        assert client.get("/me").status_code == 200
    assert club.nobody.get("/me")["Location"] == "/sign-in?next=/me"
    assert club.nobody.post("/me", LIKES)["Location"].startswith("/sign-in")
    assert club.member.put("/me").status_code == 405


def test_lengths_are_shown_in_feet_to_who_likes_feet(club: Club) -> None:
    club.ready("UG1", 30)
    assert "30\u202fm" in club.member.get(f"{club.address}/ropes/UG1").content.decode()
    club.member.post("/me", LIKES | {"units": "ft"})
    page = club.member.get(f"{club.address}/ropes/UG1").content.decode()
    # 30 m are 98.4 ft; what somebody measured is rounded down.
    assert '<span class="capsule">98\u202fft</span>' in page
    assert '<span class="capsule">30\u202fm</span>' not in page
    # Everybody else sees what they saw.
    assert "30\u202fm" in club.keeper.get(f"{club.address}/ropes/UG1").content.decode()


def test_night_pages_are_dark(club: Club) -> None:
    club.member.post("/me", LIKES | {"paper": "night"})
    assert 'data-paper="night"' in club.member.get("/me").content.decode()


def test_a_new_name_is_the_name_in_the_record_too(club: Club) -> None:
    club.member.post("/me", LIKES | {"name": "Ines Ravel-Quarmby"})
    assert Person.objects.get(store=club.store, key="p3").name == "Ines Ravel-Quarmby"
    # Not the name of somebody else, for two would be one.
    club.member.post("/me", LIKES | {"name": "maud ellerbeck"})
    assert Person.objects.get(store=club.store, key="p3").name == "Ines Ravel-Quarmby"


@pytest.mark.parametrize(("field", "typed"), [("name", ""), ("units", "yards"), ("paper", "pink")])
def test_what_cannot_be_kept_is_told_beside_the_field(club: Club, field: str, typed: str) -> None:
    page = club.member.post("/me", LIKES | {field: typed}).content.decode()
    assert f"id_{field}_error" in page
    assert (ines().name, ines().units, ines().paper) == ("Ines Ravel", "m", "auto")


def test_a_password_is_changed_by_who_knows_the_old_one(club: Club) -> None:
    elsewhere = Client()
    elsewhere.force_login(ines())
    wrong = club.member.post("/me/password", {"old": "three odd wards", "password": "ropes hang quietly"})
    assert wrong.status_code == 400
    assert "This is not your password." in wrong.content.decode()
    short = club.member.post("/me/password", {"old": "three odd words", "password": "short"})
    assert short.status_code == 400
    assert ines().check_password("three odd words")
    answer = club.member.post("/me/password", {"old": "three odd words", "password": "ropes hang quietly"})
    assert answer["Location"] == "/me"
    assert ines().check_password("ropes hang quietly")
    assert "every other device you are signed out" in club.member.get("/me").content.decode()
    assert elsewhere.get("/me").status_code == 302
    assert club.nobody.get("/me/password").status_code == 302
    assert club.member.put("/me/password").status_code == 405


def test_a_keeper_begins_one_more_store_and_nobody_else_does(club: Club) -> None:
    told = {"owner": "Ulvergarth Juniors", "code": "UG"}
    for client in (club.competent, club.member, club.reader):
        assert "stores/new" not in client.get("/me").content.decode()
        assert client.get("/stores/new").status_code == 404
        assert client.post("/stores/new", told).status_code == 404
    assert "/stores/new" in club.keeper.get("/me").content.decode()
    assert club.keeper.post("/stores/new", told | {"code": "U-G"}).status_code == 200
    answer = club.keeper.post("/stores/new", told)
    assert answer["Location"] == "/ug-2"
    store = Store.objects.get(slug="ug-2")
    assert Membership.objects.get(store=store).account.email == "p1@ug.invalid"
    assert club.member.get("/ug-2").status_code == 404
