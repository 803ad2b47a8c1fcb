"""The page Today: what waits, what is out, trips ahead, doubts; and the way to a rope by its number."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    Described,
    LeftRigged,
    Marked,
    Measured,
    RecordedAsFound,
    Retired,
    Returned,
    SetAside,
    TakenOut,
    Washed,
)
from tethera.web.accounts.roles import May
from tethera.web.today.acts import ACTS, address
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
    assert "Marks no longer true" in told
    assert "Its mark says 31\u202fm but it has 30\u202fm" in told
    assert told.index("Marks no longer true") < told.index("To be washed")


def test_who_has_what_and_who_is_late(club: Club) -> None:
    today = timezone.localdate()
    club.ready("UG1", 30)
    club.ready("UG2", 20)
    past, later = PartialDate.of(today - timedelta(days=3)), PartialDate.of(today + timedelta(days=2))
    club.did(TakenOut(rope="UG1", happened=past, person="p3", until=PartialDate.of(today - timedelta(days=1))))
    club.did(TakenOut(rope="UG2", happened=past, person="p3", until=later))
    told = words(club)
    yesterday = PartialDate.of(today - timedelta(days=1)).spoken()
    assert f"Should be back UG1 Ines Ravel has had it for 3 days; due back {yesterday}" in told
    assert f"Out UG2 20\u202fm Ines Ravel, for 3 days; due back {later.spoken()}" in told


def test_a_rope_that_nobody_is_named_for_is_out_without_a_comma(club: Club) -> None:
    club.ready("UG1", 30)
    club.did(TakenOut(rope="UG1", happened=PartialDate.of(timezone.localdate())))
    assert "Out UG1 30\u202fm since today" in words(club)


def test_each_step_says_how_long_it_has_lasted_and_what_comes_then(club: Club) -> None:
    club.ready("UG1")
    club.did(Returned(rope="UG1", happened=PartialDate.of(timezone.localdate() - timedelta(days=3))))
    assert "To be washed UG1 for 3 days; then dry, check" in words(club)
    club.did(Washed(rope="UG1", happened=PartialDate.of(timezone.localdate())), recorded=timezone.now())
    assert re.search(r"Drying UG1 since today \d\d:\d\d; then check", words(club))


def test_who_may_not_examine_is_told_who_does(club: Club) -> None:
    club.ready("UG1")
    club.did(SetAside(rope="UG1", happened=DAY, reason="a flat spot at 12.4 m"))
    assert "A flat spot at 12.4 m Who examines: Tobias Quarmby." in words(club, "keeper")
    assert "Who examines" not in words(club, "competent")


def test_a_missing_rope_waits_to_be_found_and_not_to_be_measured(club: Club) -> None:
    club.did(RecordedAsFound(rope="UG1", happened=DAY, length_cm=2000, condition="missing"))
    told = words(club)
    assert "Missing UG1 missing since" in told
    assert "To be measured" not in told


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
    assert "2 ropes , such as UG1 : " in told
    assert "was a piece cut off?" in told


def test_the_way_out_of_a_doubt_about_one_rope_leads_there_for_who_may_go(club: Club) -> None:
    club.ready("UG1")
    club.did(Measured(rope="UG1", happened=PartialDate(2025), length_cm=1500))
    way = f'<span class="way"><a href="{club.address}/measure/UG1">'
    assert way in club.keeper.get(club.address).content.decode()
    assert way not in club.reader.get(club.address).content.decode()


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


def test_one_rope_alone_is_one_press_away_and_several_are_picked_first(club: Club) -> None:
    today = PartialDate.of(timezone.localdate())
    for rope in ("UG1", "UG2", "UG3"):
        club.ready(rope)
    club.did(Returned(rope="UG1", happened=today), Returned(rope="UG2", happened=today, clean=True))
    page = club.keeper.get(club.address).content.decode()
    assert f'href="{club.address}/preparation/washed?rope=UG1"' in page
    assert f'href="{club.address}/ropes/UG2"' in page
    for way in re.findall(rf'<a class="act[^"]*" href="({club.address}[^"]*)"', page):
        assert club.keeper.get(way.replace("&amp;", "&")).status_code == 200, way
    club.did(Returned(rope="UG3", happened=today))
    page = club.keeper.get(club.address).content.decode()
    assert f'href="{club.address}/preparation"' in page
    assert "washed?rope" not in page


@pytest.mark.parametrize("what", [act.what for act in ACTS])
def test_every_act_has_a_page_for_one_rope_and_one_for_several(club: Club, what: str) -> None:
    club.ready("UG1")
    club.ready("UG2")
    act = next(act for act in ACTS if act.what == what)
    for ropes in (["UG1"], ["UG1", "UG2"]):
        person = club.competent if act.needs == May.INSPECT else club.keeper
        assert person.get(address(club.store.slug, act, ropes)).status_code == 200


def test_only_who_may_check_is_offered_the_check(club: Club) -> None:
    club.ready("UG1")
    club.did(Returned(rope="UG1", happened=DAY, clean=True, dry=True))
    assert "Record the check" in words(club, "competent")
    assert "Record the check" not in words(club, "keeper")
    assert "Who examines: Tobias Quarmby." in words(club, "keeper")


def test_a_number_that_is_none_keeps_the_head_of_the_store(club: Club) -> None:
    club.ready("UG1")
    answer = club.reader.get(f"{club.address}/ropes/UG777")
    assert answer.status_code == 404
    page = answer.content.decode()
    assert 'id="find"' in page
    assert f'href="{club.address}/ropes"' in page
    outside = club.reader.get("/no-such-store/ropes")
    assert outside.status_code == 404
    assert 'id="find"' not in outside.content.decode()


def test_a_member_finds_first_what_a_member_comes_for(club: Club) -> None:
    club.ready("UG1")
    club.did(Returned(rope="UG1", happened=PartialDate.of(timezone.localdate())))
    told = words(club, "member")
    assert told.index("Take ropes out, or bring them back") < told.index("What the keeper has to do")
    assert told.index("What the keeper has to do") < told.index("To be washed")
    assert "What the keeper has to do" not in words(club, "keeper")
    assert "Take ropes out, or bring them back" not in words(club, "reader")


def test_marks_that_lie_out_there_say_who_has_the_rope_or_where_it_hangs(club: Club) -> None:
    for rope in ("UG1", "UG2", "UG3"):
        club.ready(rope)
    club.did(TakenOut(rope="UG1", happened=DAY, person="p3"))
    club.did(LeftRigged(rope="UG2", happened=DAY, route="Great Marrowgill", pitch="Long Drop"))
    club.did(SetAside(rope="UG3", happened=DAY, reason="a flat spot"))
    for rope in ("UG1", "UG2", "UG3"):
        club.did(Measured(rope=rope, happened=DAY, length_cm=2860))
    told = words(club, "keeper")
    lies = "Its mark says 30\u202fm but it has 28.6\u202fm"
    assert f"UG1 {lies} . Ines Ravel has it" in told
    assert f"UG2 {lies} . It hangs in Great Marrowgill, Long Drop" in told
    assert f"UG3 {lies}" in told
    assert f'href="{club.address}/marks"' in club.keeper.get(club.address).content.decode()


def test_one_rope_whose_mark_overstates_is_one_press_from_a_new_one(club: Club) -> None:
    club.ready("UG1")
    club.did(Measured(rope="UG1", happened=DAY, length_cm=2860))
    page = club.keeper.get(club.address).content.decode()
    assert f'href="{club.address}/marks?rope=UG1"' in page
    assert '<section class="entry at-once"><h2>Marks no longer true' in " ".join(page.split()).replace("> <", "><")


def test_a_rope_that_has_another_owner_than_its_ends_name_waits_for_new_marks(club: Club) -> None:
    club.ready("UG1")
    club.did(Marked(rope="UG1", happened=DAY, length_m=30, words="UG1 · 9 mm · Ulvergarth Caving Club"))
    club.did(Described(rope="UG1", happened=DAY, owner="Fellmoor Potholers"))
    told = words(club)
    assert "UG1 Its marks are void: it now belongs to Fellmoor Potholers." in told
    assert told.count("it now belongs to") == 1


def test_a_booked_rope_with_void_marks_is_doubted_beside_its_trip(club: Club) -> None:
    today = timezone.localdate()
    club.ready("UG1")
    first, last = today + timedelta(days=3), today + timedelta(days=4)
    club.did(Booked(rope="UG1", happened=DAY, first_day=first, last_day=last, person="p3", trip="Pewter Hole"))
    club.did(Measured(rope="UG1", happened=DAY, length_cm=2860))
    told = words(club, "keeper")
    assert "Pewter Hole, but its marks are void. Mark both ends anew before then." in told
    assert told.count("Pewter Hole") == 2


def test_a_rope_retired_while_somebody_has_it_is_fetched_back_from_them(club: Club) -> None:
    club.ready("UG1")
    club.did(TakenOut(rope="UG1", happened=DAY, person="p3"))
    club.did(Retired(rope="UG1", happened=DAY, reason="recalled"))
    told = words(club)
    assert "UG1 Ines Ravel has had it" in told
    assert "it was retired meanwhile, so cut it up once it is back" in told
    page = club.keeper.get(club.address).content.decode()
    assert re.search(r'<a class="act" href="[^"]*numbers=UG1">Bring back', page)
    held = club.keeper.get(f"{club.address}/out-and-back").content.decode()
    assert 'value="UG1"' in held
    own = club.keeper.get(f"{club.address}/ropes/UG1").content.decode()
    assert "Fetch it back, then cut it up." in own
    club.did(Returned(rope="UG1", happened=PartialDate.of(timezone.localdate())))
    assert "UG1 Ines Ravel" not in words(club)
    assert "Cut it up, so that nobody takes it" in club.keeper.get(f"{club.address}/ropes/UG1").content.decode()
