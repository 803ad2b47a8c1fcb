"""The page Today: what waits, what is out, trips ahead, doubts; and the way to a rope by its number."""

import re
from datetime import timedelta

from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import Booked, Marked, Measured, Returned, TakenOut
from web.conftest import DAY, Club


def words(club: Club, who: str = "reader") -> str:
    page = getattr(club, who).get(club.address)
    assert page.status_code == 200
    return re.sub(r"[ \n]+", " ", re.sub(r"<[^>]+>", " ", page.content.decode()))


def test_an_empty_store_teaches_the_keeper_how_to_begin_and_others_to_wait(club: Club) -> None:
    assert "Bring in a spreadsheet" in words(club, "keeper")
    assert "Write down new ropes" in words(club, "keeper")
    assert "Bring in a spreadsheet" not in words(club, "member")
    assert "Come back later" in words(club, "member")


def test_what_needs_a_hand_comes_first(club: Club) -> None:
    today = PartialDate.of(timezone.localdate())
    club.ready("UG1", 30)
    club.ready("UG2", 20)
    club.did(Marked(rope="UG1", happened=today, length_m=31))
    club.did(Returned(rope="UG2", happened=today))
    told = words(club)
    assert "The mark says more than there is" in told
    assert "Its mark says 31\u202fm but it has 30\u202fm" in told
    assert told.index("The mark says more") < told.index("To be washed")


def test_who_has_what_and_who_is_late(club: Club) -> None:
    today = timezone.localdate()
    club.ready("UG1", 30)
    club.ready("UG2", 20)
    past, later = PartialDate.of(today - timedelta(days=3)), PartialDate.of(today + timedelta(days=2))
    club.did(TakenOut(rope="UG1", happened=past, person="p3", until=PartialDate.of(today - timedelta(days=1))))
    club.did(TakenOut(rope="UG2", happened=past, person="p3", until=later))
    told = words(club)
    assert re.search(r"Should be back UG1 It should have been back", told)
    assert re.search(rf"Out UG2 20\u202fm Ines Ravel, 3 days ago; due back {later.spoken()}", told)


def test_trips_ahead_stand_together_and_past_ones_are_gone(club: Club) -> None:
    today = timezone.localdate()
    first = today + timedelta(days=3)
    for rope in ("UG1", "UG2"):
        club.ready(rope)
        last = first + timedelta(days=1)
        club.did(Booked(rope=rope, happened=DAY, first_day=first, last_day=last, person="p3", trip="Great Marrowgill"))
    club.ready("UG3")
    club.did(Booked(rope="UG3", happened=DAY, first_day=DAY.earliest, last_day=DAY.latest, trip="Long Ago"))
    told = words(club)
    assert told.count("Great Marrowgill") == 1
    assert "Long Ago" not in told


def test_a_doubt_says_its_way_out_and_several_ropes_share_one_line(club: Club) -> None:
    for rope in ("UG1", "UG2"):
        club.ready(rope)
        club.did(Measured(rope=rope, happened=PartialDate(2025), length_cm=1500))
    told = words(club)
    assert "2 ropes" in told
    assert "was a piece cut off?" in told


def test_a_number_leads_to_its_rope_and_other_words_to_the_list(club: Club) -> None:
    club.ready("UG1")
    assert club.reader.get(f"{club.address}/find?number=1")["Location"] == f"{club.address}/ropes/UG1"
    assert club.reader.get(f"{club.address}/find?number=ug1")["Location"] == f"{club.address}/ropes/UG1"
    assert club.reader.get(f"{club.address}/find?number=Maker A")["Location"] == f"{club.address}/ropes?q=Maker+A"
    assert club.stranger.get(f"{club.address}/find?number=1").status_code == 404


def test_lengths_are_in_feet_for_who_likes_feet(club: Club) -> None:
    from tethera.web.accounts.models import Account

    club.ready("UG1", 30)
    club.did(TakenOut(rope="UG1", happened=DAY, person="p3"))
    Account.objects.filter(name="Bronwen Skail").update(units="ft")
    assert "98\u202fft" in words(club, "reader")
    assert "30\u202fm" in words(club, "member")


def test_an_act_is_offered_only_to_who_may_do_it(club: Club) -> None:
    club.ready("UG1")
    club.did(Returned(rope="UG1", happened=PartialDate.of(timezone.localdate())))
    assert "Record the wash" in words(club, "keeper")
    assert "Record the wash" in words(club, "competent")
    for who in ("member", "reader"):
        assert "To be washed" in words(club, who)
        assert "Record the wash" not in words(club, who)
