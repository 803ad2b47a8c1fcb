"""An invitation taken up: by somebody new, by somebody with an account, twice, too late."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from tethera.web.accounts.joining import invite, take_up
from tethera.web.accounts.models import Account, Invitation, Membership
from tethera.web.accounts.roles import Role
from tethera.web.store.models import Person, Store
from web.conftest import Club

TOLD = {"name": "Perpetua Nkemelu", "email": "perpetua@ug.invalid", "password": "three odd words"}


def invited(club: Club, name: str = "Perpetua Nkemelu", role: Role = Role.MEMBER, *, competent: bool = False) -> str:
    _, token = invite(club.store, name, role, competent=competent)
    return f"/join/{token}"


def test_somebody_new_makes_an_account_and_is_in(club: Club) -> None:
    link, visitor = invited(club), Client()
    page = visitor.get(link).content.decode()
    assert "Perpetua Nkemelu, you are invited to this tackle store as member." in page
    assert 'value="Perpetua Nkemelu"' in page
    assert visitor.post(link, TOLD)["Location"] == club.address
    membership = Membership.objects.get(account__email="perpetua@ug.invalid")
    assert (membership.store, membership.role, membership.competent) == (club.store, "member", False)
    assert Person.objects.get(store=club.store, key=membership.person).name == "Perpetua Nkemelu"
    assert visitor.get("/me").status_code == 200
    assert visitor.get(f"{club.address}/people").status_code == 403


def test_a_person_of_the_record_is_the_same_person_with_an_account(club: Club) -> None:
    Person.objects.create(store=club.store, key="p5", name="Perpetua Nkemelu")
    Client().post(invited(club), TOLD)
    assert Membership.objects.get(account__email="perpetua@ug.invalid").person == "p5"


def test_two_people_of_one_name_are_two_people(club: Club) -> None:
    Client().post(invited(club, "Ines Ravel"), TOLD | {"name": "Ines Ravel"})
    second = Membership.objects.get(account__email="perpetua@ug.invalid")
    assert second.person != Membership.objects.get(account__email="p3@ug.invalid").person
    Client().post(invited(club, "Ines Ravel"), TOLD | {"name": "Ines Ravel", "email": "third@ug.invalid"})
    names = list(Person.objects.filter(store=club.store, name__startswith="Ines").values_list("name", flat=True))
    assert sorted(names) == ["Ines Ravel", "Ines Ravel (2)", "Ines Ravel (3)"]


def test_names_and_addresses_as_long_as_they_may_be_are_kept(club: Club) -> None:
    name = "N" * 200
    for number in (1, 2):
        email = f"{'a' * 60}@{'b' * 60}.{'c' * 60}.{'d' * 60}{number}.invalid"
        answer = Client().post(invited(club, name), TOLD | {"name": name, "email": email})
        assert answer.status_code == 302
    longer = TOLD | {"email": f"{'a' * 60}@{'b' * 60}.{'c' * 60}.{'d' * 60}.{'e' * 60}.invalid"}
    refused = Client().post(invited(club), longer)
    assert refused.status_code == 200
    assert Account.objects.filter(email=longer["email"]).count() == 0


def test_an_invitation_works_once(club: Club) -> None:
    link = invited(club)
    Client().post(link, TOLD)
    late = Client()
    assert late.get(link).status_code == 404
    answer = late.post(link, TOLD | {"email": "late@ug.invalid"})
    assert answer.status_code == 404
    assert "used already or has ended" in answer.content.decode()
    assert not Account.objects.filter(email="late@ug.invalid").exists()


def test_an_invitation_that_was_taken_up_in_the_same_moment_is_not_taken_up_again(club: Club) -> None:
    from django.http import Http404

    invitation, _ = invite(club.store, "Perpetua Nkemelu", Role.KEEPER, competent=False)
    first = Account.objects.create_user("a@ug.invalid", None, name="A")
    second = Account.objects.create_user("b@ug.invalid", None, name="B")
    take_up(invitation, first)
    with pytest.raises(Http404):
        take_up(invitation, second)
    assert not Membership.objects.filter(account=second).exists()


def test_an_invitation_ends(club: Club) -> None:
    link = invited(club)
    Invitation.objects.update(ends=timezone.now() - timedelta(seconds=1))
    assert Client().get(link).status_code == 404
    assert Client().post(link, TOLD).status_code == 404
    assert not Account.objects.filter(email="perpetua@ug.invalid").exists()


def test_a_guessed_link_leads_nowhere_and_the_link_is_not_kept(club: Club) -> None:
    link = invited(club)
    assert Client().get("/join/guessed").status_code == 404
    assert link.removeprefix("/join/") not in str(Invitation.objects.values_list())


@pytest.mark.parametrize(
    ("field", "typed"), [("name", " "), ("email", "p1@ug.invalid"), ("email", "x"), ("password", "short")]
)
def test_what_cannot_be_taken_is_told_and_the_invitation_still_holds(club: Club, field: str, typed: str) -> None:
    link, visitor = invited(club), Client()
    page = visitor.post(link, TOLD | {field: typed}).content.decode()
    assert f'id="id_{field}_error"' in page
    assert "three odd words" not in page
    assert visitor.post(link, TOLD).status_code == 302


def test_who_is_signed_in_joins_a_second_store_with_the_account_they_have(club: Club) -> None:
    link = invited(club, "Otto Fremd", Role.READER)
    page = club.stranger.get(link).content.decode()
    assert "Go in as Otto Fremd" in page
    assert 'name="password"' not in page
    assert club.stranger.post(link)["Location"] == club.address
    otto = Account.objects.get(name="Otto Fremd")
    assert {(each.store.slug, each.role) for each in otto.memberships.all()} == {
        ("ug", "reader"),
        ("ug-other", "keeper"),
    }
    stores = club.stranger.get("/").content.decode()
    assert "Fellmoor Potholers" in stores
    assert "Ulvergarth Caving Club" in stores


def test_who_has_an_account_signs_in_and_comes_back_to_the_invitation(club: Club) -> None:
    link, visitor = invited(club, "Otto Fremd"), Client()
    assert f"/sign-in?next={link}" in visitor.get(link).content.decode()
    answer = visitor.post(f"/sign-in?next={link}", {"email": "stranger@ug.invalid", "password": "three odd words"})
    assert answer["Location"] == link


def test_an_invitation_makes_a_member_more_but_nobody_less(club: Club) -> None:
    assert club.member.post(invited(club, "Ines Ravel", Role.COMPETENT)).status_code == 302
    assert Membership.objects.get(store=club.store, account__name="Ines Ravel").role == "competent"
    # The only keeper opens a link that was meant for a reader.
    link = invited(club, "Somebody", Role.READER)
    assert "You are in this store already, as tackle keeper." in club.keeper.get(link).content.decode()
    club.keeper.post(link)
    assert Membership.objects.get(store=club.store, account__name="Maud Ellerbeck").role == "keeper"
    assert Store.objects.get(slug="ug").memberships.filter(role="keeper").count() == 1


def test_a_wrong_way_of_asking_is_refused(club: Club) -> None:
    assert Client().put(invited(club)).status_code == 405
