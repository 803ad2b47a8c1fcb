"""Forgetting somebody: what working papers hold goes with the name, it is told before and after, the record stays."""

import html
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.test import Client

from tethera.store import verify
from tethera.web.accounts.models import Account, Invitation, Membership, PasswordLink
from tethera.web.accounts.signed_in import sessions_of
from tethera.web.buying.models import BuyingList
from tethera.web.importing.models import Draft
from tethera.web.personal.forgetting import papers_of
from tethera.web.store.models import LoggedEvent, Person
from tethera.web.store.opened import forget as read_anew
from tethera.web.store.opened import held
from tethera.web.trips.models import Trip
from tethera.web.work.files import work_folder
from tethera.web.work.models import Work
from web.conftest import Club
from web.papers_of_ines import fill, ines, maud, other_store

HELD = (
    "leader of 1 trip; 2 ticks in bags; who asked for 1 list to buy; 1 piece of long work, with what it made; "
    "1 title of others' long work; 1 invitation; 1 link for a new password; signed in on 2 devices; "
    "1 file brought in, not recorded; who brought in 1 file that is recorded"
)


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, settings: Any) -> None:
    settings.FOLDER = tmp_path


@pytest.fixture
def filled(club: Club) -> Club:
    """Everything that can hold Ines does."""
    fill(club)
    Work.objects.create(store=club.store, account=maud(), kind="none", title="Ropes for ines ravel, 5 Dec")
    Client().force_login(ines())
    return club


def erase(club: Club, person: str = "p3", name: str = "Ines Ravel") -> str:
    """The keeper erases a name; what the page says then."""
    answer = club.keeper.post(f"{club.address}/people/erase/{person}", {"name": name})
    assert answer.status_code == 302, answer.content.decode()
    return html.unescape(club.keeper.get(f"{club.address}/people").content.decode())


def page_before(club: Club) -> str:
    return html.unescape(club.keeper.get(f"{club.address}/people/erase/p3").content.decode())


def bodies(club: Club) -> list[str]:
    return list(LoggedEvent.objects.filter(store=club.store).order_by("number").values_list("body", flat=True))


def test_what_will_be_cleared_is_told_before_and_nothing_happens_by_looking(filled: Club) -> None:
    page = page_before(filled)
    assert f"Beside the record: {HELD}." in page
    for words in ("the name of a trip or file", "A name they had before", "Photographs", "backups"):
        assert words in page
    assert Trip.objects.get(name="Sunday").leader == "ines  RAVEL"
    assert papers_of(filled.store, "p3").in_words() == HELD


def test_what_was_cleared_is_counted_and_what_nobody_can_find_is_told(filled: Club) -> None:
    page = erase(filled)
    assert "In the record this person is called p3 from now on." in page
    assert f"Cleared beside the record: {HELD}." in page
    assert "Notes, the names of trips and files, photographs and backups may still hold it: look through those." in page


def test_no_working_paper_holds_them_any_more(filled: Club) -> None:
    erase(filled)
    assert Trip.objects.get(name="Sunday").leader == ""
    packed = Trip.objects.get(name="Monday").packed
    assert packed["wick/UG1"] == {"by": "", "at": "09:10"}
    assert packed["wick/UG3"] == {"by": "", "at": "09:14"}
    assert [each.by for each in BuyingList.objects.order_by("pk")] == ["", "Maud Ellerbeck"]
    titles = set(Work.objects.values_list("title", flat=True))
    assert titles == {"Work his", "Ropes for p3, 5 Dec"}
    assert not Invitation.objects.filter(name="Ines Ravel").exists()
    assert not PasswordLink.objects.filter(account=ines_gone()).exists()
    assert not list(sessions_of(ines_gone()))
    assert not Draft.objects.filter(account=ines_gone()).exists()
    assert set(Draft.objects.values_list("name", "account__name")) == {
        ("begun-his.csv", "Maud Ellerbeck"), ("brought-his.csv", "Maud Ellerbeck"), ("brought-hers.csv", None),
    }  # fmt: skip
    # Of the files of hers that lay on the disk none is left, of others' all.
    assert len([each for each in work_folder().iterdir() if each.is_file()]) == 2
    assert papers_of(filled.store, "p3").in_words() == ""


def ines_gone() -> Account:
    return Account.objects.get(email__startswith="erased-")


def test_what_others_have_stays(filled: Club) -> None:
    erase(filled)
    assert Trip.objects.get(name="Monday").leader == "Maud Ellerbeck"
    assert Trip.objects.get(name="Monday").packed["wick/UG2"]["by"] == "Maud Ellerbeck"
    assert Trip.objects.get(name="Elsewhere").leader == "Ines Ravel"
    assert Invitation.objects.filter(name="Olaf Trenholme").exists()
    assert PasswordLink.objects.filter(account=maud()).exists()
    assert filled.competent.get("/me").status_code == 200
    assert Session.objects.count() >= 4


def test_pages_stand_without_the_name(filled: Club) -> None:
    hers = Work.objects.get(title="Work hers").pk
    Trip.objects.update(work=hers)
    BuyingList.objects.update(work=hers)
    erase(filled)
    lists = [f"/buying/{each.pk}" for each in BuyingList.objects.all()]
    for path in (*lists, "", "/trips", "/buying", "/import", "/people", "/year", "/ropes/UG1", "/out-and-back"):
        answer = filled.keeper.get(f"{filled.address}{path}")
        assert answer.status_code == 200, path
        assert "Ines" not in answer.content.decode(), path
    for trip in Trip.objects.filter(store=filled.store):
        for part in ("", "/bags", "/paper"):
            answer = filled.keeper.get(f"{filled.address}/trips/{trip.pk}{part}")
            assert (answer.status_code, "Ines" in answer.content.decode()) == (200, False), part


def test_the_record_is_letter_for_letter_what_it_was_and_proves_whole(filled: Club) -> None:
    before = bodies(filled)
    with held(filled.store.pk) as opened:
        head = opened.chain().head
    erase(filled)
    assert bodies(filled) == before
    read_anew()
    with held(filled.store.pk) as opened:
        assert opened.chain().head == head
        assert verify(opened.log.read(), [head]).troubles == ()


def test_verify_at_the_terminal_says_whole_after_somebody_was_forgotten(tmp_path: Path) -> None:
    """In a process of its own, over a store in its folder."""
    script = (
        "import pathlib, sys\n"
        "from tethera.web.installation import open_folder\n"
        "open_folder(pathlib.Path(sys.argv[1]))\n"
        "from tethera.web.accounts import joining\n"
        "from tethera.web.accounts.models import Account\n"
        "from tethera.web.personal.forgetting import forget\n"
        "from tethera.cli.main import main\n"
        "store = joining.new_store('Ulvergarth', 'UG')\n"
        "for name in ('Maud Ellerbeck', 'Ines Ravel'):\n"
        "    account = Account.objects.create_user(f'{name[:4]}@ug.invalid', None, name=name)\n"
        "    joining.make_keeper(account, store, competent=False)\n"
        "joining.describe(store, 'Ulvergarth', 'UG', account)\n"
        "head = ('verify', '--store', sys.argv[1], '--head-only')\n"
        "main(head)\n"
        "forget(store, 'p2')\n"
        "main(head)\n"
        "sys.exit(main(head[:3]))\n"
    )
    ran = subprocess.run([sys.executable, "-c", script, tmp_path], capture_output=True, text=True, check=True, env={})
    before, after, *told = ran.stdout.splitlines()
    assert before == after
    assert " 1:" in before
    assert "Whole:" in "\n".join(told)


def test_papers_with_the_name_of_two_are_left_and_the_keeper_is_told(filled: Club) -> None:
    Account.objects.filter(email="p2@ug.invalid").update(name="INES RAVEL")
    told = "Somebody else here is called Ines Ravel too: papers that hold no more than that name stay as they are."
    assert told in page_before(filled)
    assert told in erase(filled)
    assert Trip.objects.get(name="Sunday").leader == "ines  RAVEL"
    assert BuyingList.objects.filter(by="Ines Ravel").exists()
    assert Invitation.objects.filter(name="Ines Ravel").exists()
    packed = Trip.objects.get(name="Monday").packed
    # Where the id stands beside the name, it says whose it is.
    assert (packed["wick/UG1"]["by"], packed["wick/UG3"]["by"]) == ("Ines Ravel", "")
    assert not Work.objects.filter(title="Work hers").exists()


def test_an_account_that_another_store_knows_stays_signed_in(filled: Club) -> None:
    Membership.objects.create(account=ines(), store=other_store(filled), role="reader", person="p2")
    assert "signed in on" not in page_before(filled)
    erase(filled)
    assert filled.member.get("/me").status_code == 200
    assert ines().name == "Ines Ravel"
    assert not Draft.objects.filter(account=ines()).exists()


def test_the_only_keeper_cannot_be_forgotten_and_nothing_is_cleared(filled: Club) -> None:
    answer = filled.keeper.post(f"{filled.address}/people/erase/p1", {"name": "Maud Ellerbeck"})
    assert "Make somebody else keeper first." in html.unescape(answer.content.decode())
    assert Trip.objects.get(name="Tuesday").leader == "Maud Ellerbeck"
    assert Work.objects.filter(title="Work his").exists()
    assert len([each for each in work_folder().iterdir() if each.is_file()]) == 4


def test_who_never_had_an_account_is_cleared_by_name(filled: Club) -> None:
    Person.objects.create(store=filled.store, key="p5", name="Olaf Trenholme")
    Trip.objects.filter(name="Tuesday").update(leader="Olaf Trenholme")
    page = erase(filled, "p5", "Olaf Trenholme")
    assert "Cleared beside the record: leader of 1 trip; 1 invitation." in page
    assert Trip.objects.get(name="Tuesday").leader == ""


def test_where_no_paper_holds_them_that_is_told(club: Club) -> None:
    Person.objects.create(store=club.store, key="p5", name="Olaf Trenholme")
    assert "Nothing else beside the record held it." in erase(club, "p5", "Olaf Trenholme")
