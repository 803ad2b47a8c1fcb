"""A form sent twice counts once, and leads where it led; the same form with something else typed is another act."""

import io
import threading

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from PIL import Image

from tethera.store import Corrected, DocumentAttached, TakenOut, Washed
from tethera.web.accounts.models import Invitation
from tethera.web.store.models import Acknowledged
from web.conftest import Club


def _washes(club: Club) -> list[str]:
    return [each.soap or "" for each in club.log() if isinstance(each, Washed) and each.soap]


def _wash(club: Club, soap: str, once: str = "t1") -> int:
    told = {"once": once, "soap": soap, "happened": "", "note": ""}
    return club.keeper.post(f"{club.address}/ropes/UG1/do/washed", told).status_code


def test_the_same_form_with_something_else_typed_is_recorded_too(club: Club) -> None:
    club.ready("UG1")
    for soap in ("pure", "pure", "none at all", "none at all"):
        assert _wash(club, soap) == 302
    assert _washes(club) == ["pure", "none at all"]


def test_taken_out_twice_by_an_impatient_thumb_it_leads_on_and_asks_nothing(club: Club) -> None:
    club.ready("UG1")
    told = {"ropes": "1", "person": "Ines Ravel", "until": "", "trip": "", "happened": "", "note": "", "once": "t"}
    answers = [club.member.post(f"{club.address}/out-and-back", told) for _ in range(2)]
    assert [each.status_code for each in answers] == [302, 302]
    assert answers[0]["Location"] == answers[1]["Location"]
    assert sum(isinstance(each, TakenOut) for each in club.log()) == 1
    page = club.member.get(answers[1]["Location"]).content.decode()
    assert page.count("Taken out by Ines Ravel: UG1.") == 1


def test_a_correction_changed_and_sent_again_is_not_lost(club: Club) -> None:
    club.ready("UG1")
    number = next(n for n, each in enumerate(club.log()) if isinstance(each, Washed))
    for how in ("bath", "bath", "hand"):
        typed = {"to_happened": "1 May 2024", "to_rope": "UG1", "to_how": how, "reason": "misread", "once": "t"}
        assert club.keeper.post(f"{club.address}/ropes/UG1/correct/{number}", typed).status_code == 302
    corrections = [each for each in club.log() if isinstance(each, Corrected)]
    assert [each.replacement.how for each in corrections if isinstance(each.replacement, Washed)] == ["bath", "hand"]


def test_two_invitations_from_one_form_are_two(club: Club) -> None:
    for name in ("Perpetua Nkemelu", "Perpetua Nkemelu", "Odd Sunnfjord"):
        told = {"name": name, "role": "member", "once": "t"}
        assert club.keeper.post(f"{club.address}/people", told).status_code == 302
    assert Invitation.objects.filter(store=club.store).count() == 2


def test_a_form_that_recorded_nothing_is_looked_at_again(club: Club) -> None:
    club.ready("UG1")
    told = {"once": "t", "happened": "no day at all"}
    assert club.keeper.post(f"{club.address}/ropes/UG1/do/washed", told).status_code == 400
    assert club.keeper.post(f"{club.address}/ropes/UG1/do/washed", told).status_code == 400
    assert not Acknowledged.objects.exists()


def test_a_token_no_database_could_keep_is_a_token_like_any_other(club: Club) -> None:
    club.ready("UG1")
    for _ in range(2):
        assert _wash(club, "pure", once="a\x00" * 200) == 302
    assert _washes(club) == ["pure"]


def test_another_photo_under_the_same_token_is_kept_too(club: Club) -> None:
    club.ready("UG1")
    for colour in ("red", "red", "white"):
        file = io.BytesIO()
        Image.new("RGB", (40, 30 if colour == "red" else 31), colour).save(file, "PNG")
        told = {"once": "t", "photos": SimpleUploadedFile("a.png", file.getvalue())}
        assert club.member.post(f"{club.address}/ropes/UG1/photos", told).status_code == 302
    assert sum(isinstance(each, DocumentAttached) for each in club.log()) == 2


@pytest.mark.django_db(transaction=True)
def test_two_that_race_record_once(club: Club) -> None:
    if connection.vendor == "sqlite":
        pytest.skip("threads cannot share the database in memory; the run on PostgreSQL tries this")
    club.ready("UG1")
    start, codes = threading.Barrier(4), list[int]()

    def send() -> None:
        start.wait()
        try:
            codes.append(_wash(club, "pure"))
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(4)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert codes == [302] * 4
    assert _washes(club) == ["pure"]
