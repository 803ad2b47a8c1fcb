"""Who has what, and taking out: who may, what it leaves in the log, what speaks against it and is asked twice."""

import re
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import Booked, LeftRigged, SetAside, TakenOut
from web.conftest import DAY, Club


def today() -> date:
    return timezone.localdate()


def take(club: Club, ropes: str, who: Client | None = None, **told: str) -> Any:
    return (who or club.member).post(f"{club.address}/out-and-back", {"ropes": ropes, "until": "", **told})


def shown(club: Club, who: Client | None = None, **asked: str) -> str:
    return (who or club.member).get(f"{club.address}/out-and-back", asked).content.decode()


def test_who_may_takes_out_and_nobody_else(club: Club) -> None:
    club.ready("UG1")
    before = club.events()
    assert take(club, "1", club.reader).status_code == 403
    assert take(club, "1", club.stranger).status_code == 404
    assert take(club, "1", club.nobody).status_code == 302
    assert club.events() == before
    for number, who in enumerate((club.keeper, club.competent, club.member), 2):
        club.ready(f"UG{number}")
        assert take(club, str(number), who).status_code == 302
        assert club.rope(f"UG{number}").state == "out"


def test_a_member_takes_for_himself_until_sunday_unless_he_says_otherwise(club: Club) -> None:
    club.ready("UG1")
    page = shown(club)
    sunday = today() + timedelta(days=6 - today().weekday())
    assert 'name="person" value="Ines Ravel"' in page
    checked = re.search(r'name="until" value="([^"]*)"[^>]*checked', page)
    assert checked
    assert checked[1] == sunday.isoformat()


def test_typed_in_any_order_and_scanned_from_a_mark_each_is_taken_once(club: Club) -> None:
    for number in (1, 2, 3):
        club.ready(f"UG{number}")
    until = (today() + timedelta(days=7 + 6 - today().weekday())).isoformat()
    answer = take(
        club, "3, 1\nhttps://ropes.invalid/ug/ropes/UG2\nug 3", person="Ines Ravel", until=until, trip="Quillet Pot"
    )
    assert answer.status_code == 302
    taken = [each for each in club.log() if isinstance(each, TakenOut)]
    assert [each.rope for each in taken] == ["UG3", "UG1", "UG2"]
    assert taken[0] == TakenOut(
        rope="UG3", happened=PartialDate.of(today()), person="p3", until=PartialDate.fromisoformat(until),
        trip="Quillet Pot",
    )  # fmt: skip
    page = shown(club)
    assert "Taken out by Ines Ravel: UG3, UG1, UG2." in page
    assert "3 ropes, 90" in page


def test_a_number_no_rope_has_is_said_and_everything_typed_stays(club: Club) -> None:
    club.ready("UG1")
    before = club.events()
    answer = take(club, "1 77", person="Sunil Hathersage", trip="Quillet Pot", note="in the blue bag")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "No rope has the number 77." in page
    for kept in ("1 77</textarea>", 'value="Sunil Hathersage"', 'value="Quillet Pot"', 'value="in the blue bag"'):
        assert kept in page
    assert club.events() == before
    nothing = take(club, "")
    assert "Type or scan the numbers of the ropes first." in nothing.content.decode()


def test_another_day_must_be_written_and_not_lie_before(club: Club) -> None:
    club.ready("UG1")
    assert "Write the day, or choose" in take(club, "1", until="another").content.decode()
    assert "before they are taken" in take(club, "1", until="another", until_day="2024-01-01").content.decode()
    assert take(club, "1", until="another", until_day="Dec 2199").status_code == 302
    assert club.rope("UG1").out_until == PartialDate(2199, 12)


def test_what_speaks_against_is_told_and_asked_twice(club: Club) -> None:
    club.ready("UG1")
    club.ready("UG9")
    club.did(SetAside(rope="UG9", happened=DAY, reason="flat spot at 12.4 m"))
    first = take(club, "1 9")
    page = first.content.decode()
    assert first.status_code == 422
    assert "Set aside: flat spot at 12.4 m." in page
    assert "Take these out all the same" in page
    assert not [each for each in club.log() if isinstance(each, TakenOut)]
    sure = re.search(r'name="sure" value="(\w+)"', page)
    assert sure
    second = take(club, "1 9", sure=sure[1])
    assert second.status_code == 302
    assert [each.rope for each in club.log() if isinstance(each, TakenOut)] == ["UG1", "UG9"]
    # Recorded, and doubted: the next page says so.
    assert "Taken out" in shown(club)
    assert "taken-unready" in {each.code for each in club.rope("UG9").findings}


def test_saying_yes_to_one_doubt_says_yes_to_no_other(club: Club) -> None:
    for number in ("UG8", "UG9"):
        club.ready(number)
        club.did(SetAside(rope=number, happened=DAY, reason="furry"))
    sure = re.search(r'name="sure" value="(\w+)"', take(club, "9").content.decode())
    assert sure
    assert take(club, "8 9", sure=sure[1]).status_code == 422
    assert not [each for each in club.log() if isinstance(each, TakenOut)]


def test_a_rope_promised_to_others_speaks_against_and_the_trip_it_is_promised_to_does_not(club: Club) -> None:
    club.ready("UG1")
    first, last = today(), today() + timedelta(days=1)
    club.did(Booked(rope="UG1", happened=DAY, first_day=first, last_day=last, person="p2", trip="Quillet Pot"))
    assert take(club, "1").status_code == 422
    assert take(club, "1", trip="Quillet Pot").status_code == 302
    club.ready("UG2")
    club.did(Booked(rope="UG2", happened=DAY, first_day=first, last_day=last, person="p2"))
    assert take(club, "2", person="tobias  quarmby").status_code == 302


def test_ropes_that_are_out_for_their_trip_are_not_offered_to_it_again(club: Club) -> None:
    first, last = today() + timedelta(days=1), today() + timedelta(days=2)
    for rope in ("UG1", "UG2"):
        club.ready(rope)
        club.did(Booked(rope=rope, happened=DAY, first_day=first, last_day=last, person="p3", trip="Quillet Pot"))
    assert "?take=UG1+UG2&" in shown(club).replace("&amp;", "&")
    take(club, "1", trip="quillet pot")
    assert "?take=UG2&" in shown(club).replace("&amp;", "&")
    take(club, "2", trip="Quillet Pot")
    assert "?take=" not in shown(club)
    assert "they are out" in shown(club)


def test_numbers_are_looked_at_while_they_are_typed_and_nothing_is_recorded(club: Club) -> None:
    club.ready("UG1", 45)
    before = club.events()
    told = {"ropes": "1 88", "look": "1", "until": ""}
    part = club.member.post(f"{club.address}/out-and-back", told, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert "45\u202fm" in part
    assert "No rope has the number 88." in part
    whole = club.member.post(f"{club.address}/out-and-back", told).content.decode()
    assert "<html" in whole
    assert "1 88</textarea>" in whole
    assert club.events() == before


def test_sent_twice_it_is_taken_once(club: Club) -> None:
    club.ready("UG1")
    for _ in range(2):
        assert take(club, "1", once="a-token").status_code == 302
    assert len([each for each in club.log() if isinstance(each, TakenOut)]) == 1


def test_a_booking_fills_in_the_form(club: Club) -> None:
    club.ready("UG1")
    saturday = today() + timedelta(days=20)
    club.did(Booked(rope="UG1", happened=DAY, first_day=saturday, last_day=saturday, person="p2", trip="Quillet Pot"))
    page = shown(club)
    assert "Quillet Pot" in page
    link = re.search(r'\?(take=[^"#]*)', page)
    assert link
    filled = club.member.get(f"{club.address}/out-and-back?{link[1].replace('&amp;', '&')}").content.decode()
    assert "UG1</textarea>" in filled
    assert 'name="person" value="Tobias Quarmby"' in filled
    assert f'name="until_day" value="{saturday.isoformat()}"' in filled


def test_who_has_what_with_the_late_ones_first_and_the_rigged_on_a_list_of_their_own(club: Club) -> None:
    for number in (1, 2, 3):
        club.ready(f"UG{number}")
    club.did(
        TakenOut(rope="UG1", happened=DAY, person="p2", until=PartialDate(2999, 1, 1)),
        TakenOut(rope="UG2", happened=DAY, person="p3", until=PartialDate(2024, 5, 5)),
        LeftRigged(rope="UG3", happened=DAY, route="Quillet Pot", pitch="Second"),
    )
    page = shown(club, club.reader)
    assert "Take these out" not in page
    assert "<textarea" not in page
    assert page.index("Ines Ravel</h3>" if "Ines Ravel</h3>" in page else "Ines Ravel <span") < page.index("Tobias")
    assert '<td class="hand">should have been back 5 May 2024' in page
    assert "in Quillet Pot, Second" in page
    assert re.search(r"underground for \d+ (years|months)", page)


def test_ticks_come_with_the_address_of_a_rope_to_bring_back(club: Club) -> None:
    club.ready("UG1")
    club.did(TakenOut(rope="UG1", happened=DAY, person="p3"))
    assert re.search(r'name="rope" value="UG1" checked', shown(club, back="UG1"))


@pytest.mark.parametrize("who", ["keeper", "member", "reader"])
def test_an_empty_store_says_what_to_do_first(club: Club, who: str) -> None:
    page = shown(club, getattr(club, who))
    assert "No ropes yet." in page
    assert ("/new-ropes" in page.split("</header>")[1]) == (who == "keeper")


def test_after_taking_out_one_lands_where_it_is_told(club: Club) -> None:
    club.ready("UG1")
    assert take(club, "1")["Location"] == f"{club.address}/out-and-back#page"
