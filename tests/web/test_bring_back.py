"""Bringing back and leaving rigged: what each rope then waits for, and what sets it aside at once."""

from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import LeftRigged, Returned, TakenOut, Used
from web.conftest import DAY, Club

WHEN = PartialDate(2024, 6, 2)


@pytest.fixture
def away(club: Club) -> Club:
    """Three ropes that a member has."""
    for number in (1, 2, 3):
        club.ready(f"UG{number}", 30)
        club.did(TakenOut(rope=f"UG{number}", happened=DAY, person="p3"))
    return club


def back(club: Club, *ropes: str, who: Client | None = None, **told: Any) -> Any:
    sent = {"rope": ropes, "how": "muddy", "happened": "2024-06-02"} | told
    return (who or club.member).post(f"{club.address}/out-and-back/bring-back", sent)


def said(club: Club, answer: Any) -> str:
    return club.member.get(answer["Location"]).content.decode()


def test_who_may_brings_back_and_nobody_else(away: Club) -> None:
    before = away.events()
    for who, status in ((away.reader, 403), (away.stranger, 404), (away.nobody, 302)):
        assert back(away, "UG1", who=who).status_code == status
    assert away.events() == before
    for number, each in enumerate((away.keeper, away.competent, away.member), 1):
        assert back(away, f"UG{number}", who=each).status_code == 302
        assert away.rope(f"UG{number}").state == "in preparation"


@pytest.mark.parametrize(
    ("how", "waits", "note"),
    [
        ("muddy", ("wash", "dry", "check"), "muddy"),
        ("wet", ("wash", "dry", "check"), "wet"),
        ("dry", ("wash", "dry", "check"), "dry"),
        ("washed, still wet", ("dry", "check"), ""),
        ("washed and dry", ("check",), ""),
    ],
)
def test_what_came_back_waits_for_what_was_not_done(away: Club, how: str, waits: tuple[str, ...], note: str) -> None:
    answer = back(away, "UG1", how=how, person="Ines Ravel")
    event = away.log()[-1]
    assert isinstance(event, Returned)
    assert (event.rope, event.happened, event.person, event.note) == ("UG1", WHEN, "p3", note)
    assert away.rope("UG1").waits == waits
    assert f"Not ready yet, UG1: to {', '.join(waits)}." in said(away, answer)


def test_only_a_competent_person_makes_a_rope_ready_by_saying_it_was_looked_over(away: Club) -> None:
    told = {"how": "washed and dry", "checked": "on"}
    assert b"I ran each of them" not in away.member.get(f"{away.address}/out-and-back/bring-back?rope=UG1").content
    back(away, "UG1", **told)
    assert away.rope("UG1").waits == ("check",)
    assert b"I ran each of them" in away.competent.get(f"{away.address}/out-and-back/bring-back?rope=UG2").content
    back(away, "UG2", who=away.competent, **told)
    assert away.rope("UG2").state == "ready"


@pytest.mark.parametrize(("field", "value"), [("UG1-fall", "on"), ("UG1-chemical", "battery acid")])
def test_a_fall_or_a_chemical_sets_aside_at_once_and_the_page_says_so(away: Club, field: str, value: str) -> None:
    answer = back(away, "UG1", "UG2", how="washed and dry", **{field: value})
    assert away.rope("UG1").state == "set aside"
    assert away.rope("UG2").state == "in preparation"
    page = said(away, answer)
    assert "UG1: It is set aside:" in page
    assert "Nobody may take it until a competent person has examined it and cleared it in writing." in page
    assert "UG2: It is set aside" not in page


def test_a_chemical_that_is_none_sets_nothing_aside(away: Club) -> None:
    back(away, "UG1", **{"UG1-chemical": "none"})
    assert away.rope("UG1").state == "in preparation"


def test_where_it_was_used_is_recorded_before_it_is_back(away: Club) -> None:
    back(
        away, "UG1", "UG2", note="good trip",
        **{"UG1-route": "Quillet Pot", "UG1-pitch": "Second", "UG1-days": "2", "UG1-left_over_cm": "-1.5",
           "UG1-how": "wet", "UG1-note": "knocked by a stone"},
    )  # fmt: skip
    used, first, second = away.log()[-3:]
    assert used == Used(rope="UG1", happened=WHEN, route="Quillet Pot", pitch="Second", days=2, left_over_cm=-150)
    assert isinstance(first, Returned)
    assert first.note == "wet; knocked by a stone; good trip"
    assert isinstance(second, Returned)
    assert (second.rope, second.note) == ("UG2", "muddy; good trip")
    assert away.rope("UG1").wear == 2
    assert away.rope("UG2").wear == 1


def test_what_cannot_be_read_is_said_beside_its_rope_and_nothing_is_lost(away: Club) -> None:
    before = away.events()
    answer = back(away, "UG1", "UG2", **{"UG2-days": "many", "UG1-chemical": "bleach", "UG2-pitch": "Second"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Write a whole number, as 30." in page
    for kept in ('value="many"', 'value="bleach"', 'value="Second"'):
        assert kept in page
    assert away.events() == before


def test_numbers_are_typed_ticked_added_and_left_out(away: Club) -> None:
    page = away.member.get(f"{away.address}/out-and-back/bring-back", {"rope": "UG1", "numbers": "ug2\n99"})
    told = page.content.decode()
    assert "Bring back 2 ropes" in told
    assert "No rope has the number 99." in told
    assert ">99</textarea>" in told
    more = back(away, "UG1", numbers="3", more="1", **{"UG1-chemical": "bleach"}).content.decode()
    assert "Bring back 2 ropes" in more
    assert 'value="bleach"' in more
    less = back(away, "UG1", "UG2", without="UG2").content.decode()
    assert "Bring back 1 rope" in less
    assert back(away, "UG1", numbers="99").status_code == 422
    nothing = away.member.get(f"{away.address}/out-and-back/bring-back").content.decode()
    assert "Say first which ropes came back." in nothing
    assert not [each for each in away.log() if isinstance(each, Returned)]


def test_a_rope_nobody_took_comes_back_all_the_same_and_is_doubted(club: Club) -> None:
    club.ready("UG1")
    page = club.member.get(f"{club.address}/out-and-back/bring-back?rope=UG1").content.decode()
    assert "By this record nobody has it." in page
    answer = back(club, "UG1")
    assert "nobody had taken it" in said(club, answer)


def test_sent_twice_it_is_back_once(away: Club) -> None:
    for _ in range(2):
        assert back(away, "UG1", once="a-token").status_code == 302
    assert len([each for each in away.log() if isinstance(each, Returned)]) == 1


def leave(club: Club, *ropes: str, who: Client | None = None, **told: Any) -> Any:
    return (who or club.member).post(f"{club.address}/out-and-back/leave-rigged", {"rope": ropes} | told)


def test_ropes_that_stay_are_left_rigged_each_on_its_pitch(away: Club) -> None:
    before = away.events()
    assert leave(away, "UG1", who=away.reader).status_code == 403
    assert leave(away, "UG1", who=away.stranger).status_code == 404
    assert leave(away, "UG1", numbers="99").status_code == 422
    assert leave(away, "UG1", happened="someday", route="Quillet Pot").status_code == 422
    assert away.events() == before
    told = {"route": "Quillet Pot", "UG1-pitch": "First", "UG2-pitch": "Second", "once": "t"}
    for _ in range(2):
        assert leave(away, "UG1", "UG2", **told).status_code == 302
    today = PartialDate.of(timezone.localdate())
    assert away.log()[before:] == [
        LeftRigged(rope="UG1", happened=today, route="Quillet Pot", pitch="First"),
        LeftRigged(rope="UG2", happened=today, route="Quillet Pot", pitch="Second"),
    ]
    assert away.rope("UG1").rigged == "in Quillet Pot, First"
    assert back(away, "UG1", happened="").status_code == 302
    assert away.rope("UG1").state == "in preparation"
