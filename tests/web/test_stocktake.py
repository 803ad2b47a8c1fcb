"""The stocktake: what was seen against what should be there, and all of it recorded in one go."""

from typing import Any

import pytest
from django.test import Client

from tethera.basics import PartialDate
from tethera.store import Found, LeftRigged, Missed, Retired, Returned, SetAside, Stocktaken, TakenOut
from web.conftest import DAY, Club

WHEN = PartialDate(2024, 9, 1)


@pytest.fixture
def hut(club: Club) -> Club:
    """Ropes in every state, by number: 1 to 3 ready, 4 out, 5 rigged, 6 missing, 7 retired, 8 set aside."""
    for number in range(1, 9):
        club.ready(f"UG{number}", 10 * number)
    club.did(
        TakenOut(rope="UG4", happened=DAY, person="p3"), LeftRigged(rope="UG5", happened=DAY, route="Quillet Pot"),
        Missed(rope="UG6", happened=DAY), Retired(rope="UG7", happened=DAY, reason="worn sheath"),
        SetAside(rope="UG8", happened=DAY, reason="furry"),
    )  # fmt: skip
    return club


def walk(club: Club, act: str, *ropes: str, who: Client | None = None, **told: Any) -> Any:
    sent = {"act": act, "rope": ropes, "happened": "2024-09-01"} | told
    return (who or club.keeper).post(f"{club.address}/stocktake", sent)


def test_who_may_walks_and_nobody_else(hut: Club) -> None:
    before = hut.events()
    for who, status in (
        (hut.member, 403), (hut.reader, 403), (hut.stranger, 404), (hut.nobody, 302),
    ):  # fmt: skip
        assert walk(hut, "record", "UG1", who=who).status_code == status
        assert who.get(f"{hut.address}/stocktake").status_code == status
    assert hut.events() == before
    for who in (hut.keeper, hut.competent):
        assert walk(hut, "record", "UG1", who=who).status_code == 302
        assert hut.log()[-1] == Stocktaken(happened=WHEN, seen=("UG1",))


def test_the_list_is_by_length_or_by_number_without_the_retired(hut: Club) -> None:
    page = hut.keeper.get(f"{hut.address}/stocktake").content.decode()
    assert page.index('value="UG8"') < page.index('value="UG2"') < page.index('value="UG1"')
    assert 'value="UG7"' not in page
    assert "None yet." in page
    page = hut.keeper.get(f"{hut.address}/stocktake?by=number").content.decode()
    assert page.index('value="UG1"') < page.index('value="UG2"') < page.index('value="UG8"')


def test_the_comparison_says_what_is_gone_and_what_should_not_be_there(hut: Club) -> None:
    before = hut.events()
    page = walk(hut, "compare", "UG1", "UG4", "UG6", "UG8", numbers="5 7 zz9", place="the hut").content.decode()
    gone, odd = page.split("Should be here, and was not seen")[1].split("Here, and not expected")
    assert all(f'value="{number}"' in gone for number in ("UG2", "UG3"))
    assert 'value="UG1"' not in gone
    assert all(f">{number}</a>" in odd for number in ("UG4", "UG5", "UG6", "UG7", "UG8"))
    assert "Ines Ravel" in odd
    assert "Take it off the rack and cut it up" in odd
    assert "No rope has the number zz9." in page
    assert "zz9</textarea>" in page
    assert hut.events() == before


def test_all_is_recorded_in_one_go(hut: Club) -> None:
    before = hut.events()
    told = {
        "numbers": "zz9", "place": "the hut", "note": "cold", "missed": ["UG2"], "do-UG4": "returned",
        "do-UG5": "leave", "once": "t",
    }  # fmt: skip
    for _ in range(2):
        answer = walk(hut, "record", "UG1", "UG4", "UG5", "UG6", "UG8", **told)
        assert answer.status_code == 302
    assert hut.log()[before:] == [
        Returned(rope="UG4", happened=WHEN, note="seen at the stocktake"),
        Found(rope="UG6", happened=WHEN, place="the hut"),
        Stocktaken(happened=WHEN, seen=("UG1", "UG4", "UG5", "UG6", "UG8"), place="the hut",
                   note="cold Numbers nobody knows: zz9."),
        Missed(rope="UG2", happened=WHEN),
    ]  # fmt: skip
    states = {number: hut.rope(number).state for number in ("UG1", "UG2", "UG3", "UG4", "UG5", "UG6", "UG8")}
    assert states == {
        "UG1": "ready", "UG2": "missing", "UG3": "ready", "UG4": "in preparation", "UG5": "rigged",
        "UG6": "in preparation", "UG8": "set aside",
    }  # fmt: skip
    codes = {number: {each.code for each in hut.rope(number).findings} for number in ("UG3", "UG4", "UG5", "UG6")}
    assert "not-seen" in codes["UG3"]
    assert "seen-on-rack" in codes["UG5"]
    assert not codes["UG4"] & {"seen-on-rack", "never-taken"}
    assert not codes["UG6"] & {"seen-on-rack", "not-missing"}
    page = hut.keeper.get(answer["Location"]).content.decode()
    assert "Stocktake recorded: 5 ropes seen. Missing: UG2. Brought back: UG4. Found again: UG6." in page
    assert "<b>1 Sep 2024</b>, the hut" in page
    assert "Maud Ellerbeck" in page.split("<h2>Last stocktakes")[1]


def test_only_what_was_not_seen_can_be_recorded_as_missing(hut: Club) -> None:
    walk(hut, "record", "UG1", missed=["UG1", "UG4", "UG7", "nonsense", "UG3"])
    assert [each.rope for each in hut.log() if isinstance(each, Missed)] == ["UG6", "UG3"]


def test_going_back_to_the_racks_loses_nothing(hut: Club) -> None:
    page = walk(hut, "list", "UG1", "UG7", numbers="zz9", place="the hut", note="cold").content.decode()
    assert 'value="UG1" checked' in page
    assert "UG7 zz9</textarea>" in page
    assert 'value="the hut"' in page
    assert 'value="cold"' in page


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"rope": (), "numbers": ""}, "Tick or write the ropes you saw first."),
        ({"happened": "someday"}, "not a date that can be read"),
    ],
)
def test_what_cannot_be_taken_is_said_and_nothing_is_lost(hut: Club, told: dict[str, Any], said: str) -> None:
    before = hut.events()
    answer = walk(hut, "record", "UG1", place="the hut", **told)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert said in page
    assert 'value="the hut"' in page
    assert hut.events() == before


def test_unknown_numbers_alone_are_kept_too(hut: Club) -> None:
    assert walk(hut, "record", numbers="zz9").status_code == 302
    assert hut.log()[-1] == Stocktaken(happened=WHEN, seen=(), note="Numbers nobody knows: zz9.")


def test_everything_seen_says_so(club: Club) -> None:
    club.ready("UG1")
    assert "Everything that should be here was seen." in walk(club, "compare", "UG1").content.decode()


def test_an_empty_store_says_what_to_do_first(club: Club) -> None:
    page = club.keeper.get(f"{club.address}/stocktake").content.decode()
    assert "No ropes yet." in page
    assert f"{club.address}/new-ropes" in page.split("</header>")[1]
