"""People: let in, changed, let go, forgotten; and a link for a password that was forgotten."""

import html
import re
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import TakenOut
from tethera.web.accounts.keeping import good_password_link, password_link
from tethera.web.accounts.models import Account, Invitation, Membership, PasswordLink
from tethera.web.store.models import Person, Store
from web.conftest import Club


def account(name: str) -> Account:
    return Account.objects.get(name=name)


def membership(club: Club, name: str) -> Membership:
    return Membership.objects.get(store=club.store, account__name=name)


def people_page(club: Club) -> str:
    return html.unescape(club.keeper.get(f"{club.address}/people").content.decode())


def link_on(page: str) -> str:
    found = re.search(r'id="link"[^>]* value="http://testserver([^"]+)"', page)
    assert found, page
    return found[1]


def member_address(club: Club, name: str, what: str = "") -> str:
    return f"{club.address}/people/{membership(club, name).pk}{what}"


def test_only_keepers_see_people_and_do_anything_about_them(club: Club) -> None:
    key = membership(club, "Bronwen Skail").pk
    for path in ("", f"/{key}", f"/{key}/end", f"/{key}/password", "/erase/p4", "/invitations/1/withdraw"):
        for client in (club.competent, club.member, club.reader):
            assert client.get(f"{club.address}/people{path}").status_code == 403
            assert client.post(f"{club.address}/people{path}", {"name": "Bronwen Skail"}).status_code == 403
        assert club.stranger.post(f"{club.address}/people{path}", {"name": "Bronwen Skail"}).status_code == 404
        assert club.nobody.get(f"{club.address}/people{path}").status_code == 302
    assert Membership.objects.filter(store=club.store).count() == 4
    assert not Invitation.objects.exists()
    assert not PasswordLink.objects.exists()


@pytest.mark.parametrize("what", ["/end", "/password"])
def test_what_changes_somebody_is_not_done_by_looking(club: Club, what: str) -> None:
    assert club.keeper.get(member_address(club, "Ines Ravel", what)).status_code == 405
    assert membership(club, "Ines Ravel")


def test_the_page_names_everybody_with_what_they_are(club: Club) -> None:
    Person.objects.create(store=club.store, key="p5", name="Olaf Trenholme")
    Person.objects.create(store=club.store, key="p6", name=None)
    page = people_page(club)
    for word in ("Maud Ellerbeck", "tackle keeper", "competent person", "p3@ug.invalid", "Olaf Trenholme"):
        assert word in page
    assert "One name was erased." in page
    assert "Otto Fremd" not in page


def test_an_invitation_is_shown_once_and_withdrawn(club: Club) -> None:
    told = {"name": "Perpetua  Nkemelu", "role": "member", "once": "t1"}
    for _ in range(2):
        club.keeper.post(f"{club.address}/people", told)
    invitation = Invitation.objects.get()
    assert (invitation.name, invitation.role) == ("Perpetua Nkemelu", "member")
    assert timedelta(days=13) < invitation.ends - timezone.now() <= timedelta(days=14)
    page = people_page(club)
    link = link_on(page)
    assert Client().get(link).status_code == 200
    # The link itself is nowhere kept, and never shown again.
    assert 'id="link"' not in people_page(club)
    assert "Perpetua Nkemelu" in people_page(club)
    club.keeper.post(f"{club.address}/people/invitations/{invitation.pk}/withdraw")
    assert Client().get(link).status_code == 404
    club.keeper.post(f"{club.address}/people/invitations/{invitation.pk}/withdraw")


def test_an_invitation_of_another_store_is_not_withdrawn(club: Club) -> None:
    other = Store.objects.exclude(pk=club.store.pk).get()
    ends = timezone.now() + timedelta(days=1)
    invitation = Invitation.objects.create(store=other, name="X", role="member", sum="0", ends=ends)
    club.keeper.post(f"{club.address}/people/invitations/{invitation.pk}/withdraw")
    assert Invitation.objects.exists()


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"name": "", "role": "member"}, "name"),
        ({"name": "X", "role": "owner"}, "role"),
        ({"name": "X", "role": "reader", "competent": "on"}, "competent"),
    ],
)
def test_an_invitation_that_says_too_little_is_told_beside_the_field(
    club: Club, told: dict[str, str], field: str
) -> None:
    answer = club.keeper.post(f"{club.address}/people", told)
    assert answer.status_code == 400
    assert f'id="id_{field}_error"' in answer.content.decode()
    assert not Invitation.objects.exists()


def test_a_role_is_changed(club: Club) -> None:
    address = member_address(club, "Ines Ravel")
    assert "Ines Ravel" in club.keeper.get(address).content.decode()
    club.keeper.post(address, {"role": "keeper", "competent": "on"})
    assert (membership(club, "Ines Ravel").role, membership(club, "Ines Ravel").competent) == ("keeper", True)
    assert "Ines Ravel is tackle keeper and competent person from now on." in people_page(club)
    assert club.member.get(f"{club.address}/people").status_code == 200
    # Who is competent person alone is not marked twice.
    club.keeper.post(address, {"role": "competent", "competent": "on"})
    assert (membership(club, "Ines Ravel").role, membership(club, "Ines Ravel").competent) == ("competent", False)


def test_a_change_of_role_says_what_changed_and_nothing_that_was_so_before(club: Club) -> None:
    address = member_address(club, "Maud Ellerbeck")
    for sent, told in (
        ({"role": "keeper", "competent": "on"}, "Maud Ellerbeck is a competent person too from now on."),
        ({"role": "keeper", "competent": "on"}, "Nothing was changed."),
        ({"role": "keeper"}, "Maud Ellerbeck is not a competent person any more."),
    ):
        club.keeper.post(address, sent)
        page = people_page(club)
        assert told in page
        assert "is tackle keeper" not in page


def test_the_only_keeper_cannot_give_the_role_up_or_leave(club: Club) -> None:
    address = member_address(club, "Maud Ellerbeck")
    assert "is the only tackle keeper" in club.keeper.get(address).content.decode()
    answer = club.keeper.post(address, {"role": "reader"})
    assert answer.status_code == 400
    assert "Make somebody else keeper first." in answer.content.decode()
    assert club.keeper.post(f"{address}/end").status_code == 400
    answer = club.keeper.post(f"{club.address}/people/erase/p1", {"name": "Maud Ellerbeck"})
    assert "Make somebody else keeper first." in answer.content.decode()
    assert membership(club, "Maud Ellerbeck").role == "keeper"
    assert Person.objects.get(store=club.store, key="p1").name == "Maud Ellerbeck"


def test_a_keeper_beside_another_may_go(club: Club) -> None:
    club.keeper.post(member_address(club, "Ines Ravel"), {"role": "keeper"})
    answer = club.keeper.post(member_address(club, "Maud Ellerbeck"), {"role": "reader"})
    assert answer["Location"] == f"{club.address}"
    assert club.keeper.get(f"{club.address}/people").status_code == 403


def test_a_member_of_another_store_is_not_found(club: Club) -> None:
    other = Membership.objects.get(account__name="Otto Fremd")
    for what in ("", "/end", "/password"):
        assert club.keeper.post(f"{club.address}/people/{other.pk}{what}", {"role": "reader"}).status_code == 404
    assert Membership.objects.get(pk=other.pk).role == "keeper"


def test_a_membership_ends_and_the_account_stays(club: Club) -> None:
    club.keeper.post(member_address(club, "Ines Ravel", "/end"))
    assert account("Ines Ravel").is_active
    assert club.member.get(f"{club.address}/people").status_code == 404
    page = people_page(club)
    assert "The store is closed to Ines Ravel." in page
    assert "/people/erase/p3" in page


def test_a_name_is_erased_when_it_is_typed_once_more(club: Club) -> None:
    club.did(TakenOut(rope=club.ready("UG1"), happened=PartialDate(2026), person="p3"))
    before = club.log()
    address = f"{club.address}/people/erase/p3"
    page = club.keeper.get(address).content.decode()
    assert "A name that somebody wrote into a note" in page
    answer = club.keeper.post(address, {"name": "Ines"})
    assert answer.status_code == 400
    assert 'value="Ines"' in answer.content.decode()
    assert account("Ines Ravel")
    club.keeper.post(address, {"name": "ines  ravel"})
    assert Person.objects.get(store=club.store, key="p3").name is None
    gone = Account.objects.get(name="p3")
    assert (gone.is_active, gone.has_usable_password(), gone.email) == (
        False, False, f"erased-{gone.pk}@erased.invalid",
    )  # fmt: skip
    assert not gone.memberships.exists()
    # Who was signed in is out, the record stays as it was, and nobody gets the number again.
    assert club.member.get("/me").status_code == 302
    assert club.log() == before
    assert "Ines Ravel" not in people_page(club).replace("The name is erased", "")
    assert club.keeper.get(address).status_code == 404
    assert club.keeper.post(address, {"name": "Ines Ravel"}).status_code == 404


def test_a_name_that_another_store_knows_keeps_its_account(club: Club) -> None:
    other = Store.objects.exclude(pk=club.store.pk).get()
    Membership.objects.create(account=account("Ines Ravel"), store=other, role="member", person="p2")
    assert "they belong to another store too" in club.keeper.get(f"{club.address}/people/erase/p3").content.decode()
    club.keeper.post(f"{club.address}/people/erase/p3", {"name": "Ines Ravel"})
    assert account("Ines Ravel").is_active
    assert not Membership.objects.filter(store=club.store, account__name="Ines Ravel").exists()
    assert club.member.get(f"{club.address}/people").status_code == 404


def test_a_name_without_an_account_is_erased_with_its_invitations(club: Club) -> None:
    Person.objects.create(store=club.store, key="p5", name="Olaf Trenholme")
    club.keeper.post(f"{club.address}/people", {"name": "Olaf Trenholme", "role": "member"})
    club.keeper.post(f"{club.address}/people/erase/p5", {"name": "Olaf Trenholme"})
    assert Person.objects.get(store=club.store, key="p5").name is None
    assert not Invitation.objects.exists()


def test_who_erases_their_own_name_is_signed_out(club: Club) -> None:
    club.keeper.post(member_address(club, "Ines Ravel"), {"role": "keeper"})
    answer = club.keeper.post(f"{club.address}/people/erase/p1", {"name": "Maud Ellerbeck"})
    assert answer["Location"] == "/sign-in"
    assert club.keeper.get(f"{club.address}/people").status_code == 302


def forgotten(club: Club, name: str = "Ines Ravel") -> str:
    """The keeper makes a link; where it leads."""
    club.keeper.post(member_address(club, name, "/password"))
    return link_on(people_page(club))


def test_a_forgotten_password_is_chosen_anew_with_the_keepers_link_once(club: Club) -> None:
    link = forgotten(club)
    assert 'id="link"' not in people_page(club)
    visitor = Client()
    assert "Ines Ravel" in visitor.get(link).content.decode()
    answer = visitor.post(link, {"password": "short"})
    assert answer.status_code == 400
    answer = visitor.post(link, {"password": "ropes hang quietly"})
    assert answer["Location"] == "/"
    assert visitor.get("/me").status_code == 200
    assert account("Ines Ravel").check_password("ropes hang quietly")
    # Whoever was signed in with the old password is out, and the link is used up.
    assert club.member.get("/me").status_code == 302
    assert Client().get(link).status_code == 404
    assert Client().post(link, {"password": "another good one"}).status_code == 404


def test_a_password_link_ends_after_a_day_and_with_the_next_one(club: Club) -> None:
    first = forgotten(club)
    second = forgotten(club)
    assert Client().get(first).status_code == 404
    assert Client().get(second).status_code == 200
    PasswordLink.objects.update(ends=timezone.now() - timedelta(seconds=1))
    assert Client().get(second).status_code == 404
    assert PasswordLink.objects.get().ends - PasswordLink.objects.get().made <= timedelta(days=1)


def test_nobody_gets_into_a_store_they_do_not_keep_by_a_password_link(club: Club) -> None:
    other = Store.objects.exclude(pk=club.store.pk).get()
    ines = account("Ines Ravel")
    both = Membership.objects.create(account=ines, store=other, role="keeper", person="p2")
    answer = club.keeper.post(member_address(club, "Ines Ravel", "/password"))
    assert answer.status_code == 400
    assert not PasswordLink.objects.exists()
    assert "which you do not keep" in club.keeper.get(member_address(club, "Ines Ravel")).content.decode()
    # Nor when they come to another store between the making and the use.
    both.delete()
    link = forgotten(club)
    Membership.objects.create(account=ines, store=other, role="reader", person="p2")
    assert Client().get(link).status_code == 404


@pytest.mark.parametrize("gone", ["member", "keeper"])
def test_a_password_link_dies_with_the_membership_of_either(club: Club, gone: str) -> None:
    _, token = password_link(account("Maud Ellerbeck"), account("Ines Ravel"), club.store)
    assert good_password_link(token) is not None
    Membership.objects.filter(account=account("Ines Ravel" if gone == "member" else "Maud Ellerbeck")).delete()
    assert good_password_link(token) is None
