"""What is to be examined, and setting ropes aside: who may, what is due and why, what stays typed."""

import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import Inspected, Returned, SetAside, StoreDescribed, TakenOut
from web.conftest import DAY, Club

LATER = PartialDate(2024, 6, 1)


def shown(club: Club, who: Client | None = None) -> str:
    return (who or club.reader).get(f"{club.address}/inspect").content.decode()


def aside(club: Club, ropes: str, who: Client | None = None, **told: str) -> Any:
    sent = {"ropes": ropes, "reason": "flat spot at 12.4 m", "happened": "2024-06-01"} | told
    return (who or club.member).post(f"{club.address}/inspect", sent)


def due(club: Club, rope: str, day: date) -> None:
    club.ready(rope)
    club.did(Inspected(rope=rope, happened=LATER, outcome="fit", findings="nothing", next_due=PartialDate.of(day)))


def test_the_most_urgent_stands_first_and_says_why(club: Club) -> None:
    today = timezone.localdate()
    due(club, "UG1", today + timedelta(days=20))
    due(club, "UG2", today - timedelta(days=3))
    due(club, "UG3", today + timedelta(days=200))
    due(club, "UG4", today + timedelta(days=200))
    club.ready("UG5")
    club.did(
        TakenOut(rope="UG4", happened=LATER),
        Returned(rope="UG4", happened=LATER, clean=True, dry=True, checked=True, fall=True),
    )
    page = shown(club)
    order = ["Set aside", "Over their day", "Due within 30 days", "Never examined here"]
    places = [page.index(f"{title} <span") for title in order]
    assert places == sorted(places)
    assert "A fall, 1 Jun 2024" in page
    assert "was due" in page
    assert ">UG3<" not in page
    assert "Examine UG2" not in page
    assert "Examine UG2" in shown(club, club.competent)
    assert "Tobias Quarmby" in page


def test_how_often_is_the_stores_own_rule_with_its_sources_beside_it(club: Club) -> None:
    club.did(StoreDescribed(happened=LATER, code="UG", inspection_months=6))
    club.ready("UG1")
    page = shown(club)
    assert "This store: every 6 months." in page
    assert "LOLER regulation 9(3)(a)(i)" in page
    assert "EN 365 practice" in page
    assert "Over their day" in page  # in service since 2024, never examined


def test_nothing_to_examine_teaches(club: Club) -> None:
    assert "Once ropes are in service they stand here" in shown(club)
    due(club, "UG1", date(2999, 1, 1))
    page = shown(club, club.keeper)
    assert "No rope waits to be examined." in page
    assert f"{club.address}/settings" in page.split("</header>")[1]


def test_whoever_may_take_sets_aside_and_nobody_else(club: Club) -> None:
    for number in (1, 2, 3):
        club.ready(f"UG{number}")
    before = club.events()
    for who, status in ((club.reader, 403), (club.stranger, 404), (club.nobody, 302)):
        assert aside(club, "1", who).status_code == status
    assert club.events() == before
    assert '<form method="post"' not in shown(club).split("</header>")[1]
    for number, each in enumerate((club.keeper, club.competent, club.member), 1):
        assert aside(club, str(number), each).status_code == 302
        assert club.log()[-1] == SetAside(rope=f"UG{number}", happened=LATER, reason="flat spot at 12.4 m")


def test_several_at_once_and_an_earlier_reason_stays(club: Club) -> None:
    for number in (1, 2):
        club.ready(f"UG{number}")
    club.did(SetAside(rope="UG2", happened=DAY, reason="furry"))
    for _ in range(2):
        assert aside(club, "1 ug2", once="t").status_code == 302
    assert [each for each in club.log()[-2:] if isinstance(each, SetAside)] == [
        SetAside(rope="UG1", happened=LATER, reason="flat spot at 12.4 m"),
        SetAside(rope="UG2", happened=LATER, reason="flat spot at 12.4 m"),
    ]
    assert club.rope("UG2").set_aside == "flat spot at 12.4 m; furry"
    assert "Set aside: UG1, UG2." in shown(club, club.member)


@pytest.mark.parametrize(
    ("told", "said", "kept"),
    [
        ({"ropes": "1 77"}, "No rope has the number 77.", 'value="flat spot at 12.4 m"'),
        ({"reason": ""}, "This is missing.", 'value="1"'),
        ({"happened": "someday"}, "not a date that can be read", 'value="1"'),
    ],
)
def test_what_cannot_be_read_is_said_and_what_was_typed_stays(
    club: Club, told: dict[str, str], said: str, kept: str
) -> None:
    club.ready("UG1")
    before = club.events()
    answer = aside(club, "1") if not told else (club.member.post(
        f"{club.address}/inspect", {"ropes": "1", "reason": "flat spot at 12.4 m"} | told
    ))  # fmt: skip
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert kept in answer.content.decode()
    assert club.events() == before


def test_whoever_sent_something_wrong_is_brought_to_the_first_field_that_is(club: Club) -> None:
    club.ready("UG1")
    page = club.member.post(f"{club.address}/inspect", {"ropes": "1", "reason": ""}).content.decode()
    assert page.count("autofocus") == 1
    assert re.search(r'<input[^>]*name="reason"[^>]*autofocus', page)
    assert "autofocus" not in club.member.get(f"{club.address}/inspect").content.decode()
