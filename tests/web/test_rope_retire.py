"""Retiring a rope: final, only for the keeper, with a reason."""

from typing import Any

from django.test import Client

from tethera.basics import PartialDate
from tethera.store import Retired
from web.conftest import Club

LATER = PartialDate(2024, 6, 1)


def send(club: Club, who: Client, **told: str) -> Any:
    return who.post(f"{club.address}/ropes/UG1/retire", {"happened": "2024-06-01"} | told)


def test_the_keeper_retires_it_with_a_reason_in_the_trades_words(club: Club) -> None:
    club.ready("UG1")
    answer = send(club, club.keeper, choice="worn sheath", own="at 12.4 m")
    assert answer.status_code == 302
    assert club.log()[-1] == Retired(rope="UG1", happened=LATER, reason="worn sheath: at 12.4 m")
    page = club.keeper.get(answer.headers["Location"]).content.decode()
    assert "UG1 is retired. Cut it up" in page
    assert "is retired already" in club.keeper.get(f"{club.address}/ropes/UG1/retire").content.decode()


def test_another_reason_must_be_written(club: Club) -> None:
    club.ready("UG1")
    before = club.events()
    for told, said in (({}, "This is missing."), ({"choice": "own"}, "Write the reason.")):
        answer = send(club, club.keeper, **told)
        assert answer.status_code == 400
        assert said in answer.content.decode()
    assert club.events() == before
    assert send(club, club.keeper, choice="own", own="towed a car").status_code == 302
    assert club.log()[-1] == Retired(rope="UG1", happened=LATER, reason="towed a car")


def test_nobody_else_may(club: Club) -> None:
    club.ready("UG1")
    before = club.events()
    for who, status in ((club.competent, 403), (club.member, 403), (club.reader, 403), (club.stranger, 404)):
        assert send(club, who, choice="worn sheath").status_code == status
        assert who.get(f"{club.address}/ropes/UG1/retire").status_code == status
    assert club.keeper.put(f"{club.address}/ropes/UG1/retire").status_code == 405
    assert club.events() == before


def test_the_page_says_that_it_is_final_and_shows_age_use_and_doubts(club: Club) -> None:
    club.ready("UG1", 30)
    page = club.keeper.get(f"{club.address}/ropes/UG1/retire").content.decode()
    assert "This is final." in page
    assert "1 May 2024" in page
    assert "0 days" in page
    assert "Nobody declared whether it is type A" in page


def test_sent_twice_it_is_recorded_once(club: Club) -> None:
    club.ready("UG1")
    before = club.events()
    for _ in range(2):
        send(club, club.keeper, choice="a hard fall", once="token")
    assert club.events() == before + 1
