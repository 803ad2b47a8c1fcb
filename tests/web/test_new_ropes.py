"""New ropes: a reel written down and cut in one go, by the keeper only."""

from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import Bought, Cut, Dried, Measured, StoreDescribed, Washed
from tethera.web.accounts.models import Account
from web.conftest import Club

REEL = {"length": "200 m", "rope_type": "A", "diameter_mm": "10.5 mm", "maker": "Maker A", "product": "Long",
        "batch": "B7", "year_made": "2026", "price": "£189.50", "happened": "12 Nov 2025", "keep_off_cut": "on",
        "once": "t1"}  # fmt: skip


def send(club: Club, who: Client | None = None, **told: str) -> Any:
    return (who or club.keeper).post(f"{club.address}/new-ropes", REEL | told)


def test_a_reel_is_cut_at_once_and_what_is_left_over_has_a_number_of_its_own(club: Club) -> None:
    answer = send(club, into="50, 50, 60")
    assert answer.status_code == 302
    _, bought, cut = club.log()
    assert isinstance(bought, Bought)
    assert (bought.rope, bought.length_cm, bought.price_pence, bought.diameter_mm) == ("UG1", 20000, 18950, 10.5)
    assert (bought.rope_type, bought.maker, bought.batch, bought.year_made) == ("A", "Maker A", "B7", 2026)
    assert bought.happened == PartialDate(2025, 11, 12)
    assert isinstance(cut, Cut)
    assert [(each.rope, each.length_cm) for each in cut.into] == [
        ("UG2", 5000),
        ("UG3", 5000),
        ("UG4", 6000),
        ("UG5", 4000),
    ]
    assert cut.happened == PartialDate.of(timezone.localdate())
    assert cut.reason == ""  # nobody gave one
    assert club.rope("UG1").state == "retired"
    assert club.rope("UG5").waits[0] == "wash"


def test_the_new_numbers_stand_large_in_order_of_length_and_lead_to_the_wash(club: Club) -> None:
    written = club.keeper.get(send(club, into="50, 60")["Location"]).content.decode()
    places = [written.index(f'ropes/{each}"') for each in ("UG4", "UG3", "UG2")]
    assert places == sorted(places)
    assert "preparation?rope=UG4&amp;rope=UG3&amp;rope=UG2" in written
    assert "Written down: UG1, cut into UG2, UG3, UG4." in written
    board = club.keeper.get(f"{club.address}/preparation?rope=UG4&rope=UG3&rope=UG2").content.decode()
    assert board.count("checked") == 3


def test_several_equal_reels_are_cut_alike(club: Club) -> None:
    send(club, length="2 x 100", into="3x30", keep_off_cut="")
    cuts = [each for each in club.log() if isinstance(each, Cut)]
    assert [each.rope for each in cuts] == ["UG1", "UG2"]
    assert [[piece.rope for piece in each.into] for each in cuts] == [["UG3", "UG4", "UG5"], ["UG6", "UG7", "UG8"]]


def test_pieces_bought_as_pieces_stay_whole_and_the_type_is_never_guessed(club: Club) -> None:
    send(club, length="50, 30 yd", rope_type="", year_made="", price="")
    bought = [each for each in club.log() if isinstance(each, Bought)]
    assert [(each.rope, each.length_cm, each.rope_type) for each in bought] == [
        ("UG1", 5000, None),
        ("UG2", 2743, None),
    ]
    assert all(each.year_made is None and each.price_pence is None for each in bought)


def test_pieces_longer_than_the_reel_are_asked_about_once_and_then_recorded_with_the_doubt(club: Club) -> None:
    before = club.events()
    asked = send(club, into="4 x 51")
    assert asked.status_code == 200
    shown = asked.content.decode()
    assert "longer than the label says" in shown
    assert "Write them down all the same" in shown
    assert 'value="4 x 51"' in shown
    assert club.events() == before
    # Other lengths than those that were shown are asked about anew.
    assert send(club, into="4 x 52", sure="20000:20400").status_code == 200
    done = send(club, into="4 x 51", sure="20000:20400")
    assert done.status_code == 302
    assert "pieces-too-long" in {each.code for each in club.rope("UG1").findings}
    assert "Its pieces make" in club.keeper.get(done["Location"]).content.decode()


def test_what_it_comes_to_can_be_looked_at_first(club: Club) -> None:
    before = club.events()
    shown = send(club, into="50, 60", look="1").content.decode()
    assert club.events() == before
    assert "off-cut" in shown
    # Nothing measured, fibre not said: nine nylon ropes in ten lose 3.1 to 16.6 %, told in whole per cents.
    assert "41\u202fm to 48\u202fm" in shown
    assert "its fibre is not said, so by what was published of nylon" in shown


def test_what_the_store_measured_of_the_kind_tells_what_its_first_washes_will_take(club: Club) -> None:
    for once, metres in (("a", "46.5 m"), ("b", "46 m")):
        rope = send(club, length="50 m", material="polyamide", once=once)["Location"].partition("=")[2]
        day = PartialDate.of(timezone.localdate())
        cm = round(float(metres.removesuffix(" m")) * 100)
        club.did(Washed(rope=rope, happened=day), Dried(rope=rope, happened=day))
        club.did(Measured(rope=rope, happened=day, length_cm=cm))
    asked = {"length": "50", "maker": "Maker A", "product": "Long", "diameter_mm": "10.5", "rope_type": "A"}
    address = f"{club.address}/new-ropes/pieces"
    told = club.keeper.get(address, asked | {"material": "Polyamide"})
    assert told.context["foretold"].ropes == 2
    assert "by 2 ropes of its kind measured here" in told.content.decode()
    other = club.keeper.get(address, asked | {"material": "polyester", "diameter_mm": "thick"})
    assert other.context["foretold"].ropes == 0
    assert "by what was published of polyester" in other.content.decode()
    assert other.context["foretold"].loss.most < told.context["foretold"].loss.most


def test_what_it_comes_to_is_told_while_it_is_typed(club: Club) -> None:
    address = f"{club.address}/new-ropes/pieces"
    told = club.keeper.get(address, {"length": "100", "into": "45, 45", "keep_off_cut": "on"}).content.decode()
    assert "10\u202fm" in told
    assert "cannot be read as lengths" in club.keeper.get(address, {"length": "lots"}).content.decode()
    assert "Write a length" in club.keeper.get(address).content.decode()


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("length", "a lot", "cannot be read as lengths"),
        ("length", "", "Write the length on the reel"),
        ("into", "50, half", "cannot be read as lengths"),
        ("diameter_mm", "thick", "Write a number in mm"),
        ("price", "dear", "Write a number in £"),
        ("year_made", "last", "Write the year with four digits"),
        ("happened", "someday", "not a date that can be read"),
    ],
)
def test_what_cannot_be_read_is_told_beside_its_field_and_all_that_was_typed_stays(
    club: Club, field: str, typed: str, told: str
) -> None:
    before = club.events()
    answer = send(club, **{field: typed})
    assert answer.status_code == 422
    shown = answer.content.decode()
    assert told in shown
    assert f'value="{typed}"' in shown or typed == ""
    assert 'value="B7"' in shown
    assert club.events() == before


def test_reels_of_several_lengths_cannot_be_cut_alike(club: Club) -> None:
    shown = send(club, length="100, 200", into="50").content.decode()
    assert "one length at a time" in shown
    assert club.events() == 1


def test_sent_twice_it_is_written_down_once(club: Club) -> None:
    first, second = send(club, into="100, 100"), send(club, into="100, 100")
    assert first["Location"] == second["Location"]
    assert sum(isinstance(each, Bought) for each in club.log()) == 1


def test_a_number_is_never_given_twice(club: Club) -> None:
    club.ready("UG7")
    send(club)
    assert isinstance(club.log()[-1], Bought)
    assert club.rope("UG8").length_cm == 20000


def test_somebody_who_thinks_in_feet_may_write_feet(club: Club) -> None:
    Account.objects.filter(email="p1@ug.invalid").update(units="ft")
    assert "A bare number is feet." in club.keeper.get(f"{club.address}/new-ropes").content.decode()
    send(club, length="656")
    assert club.rope("UG1").length_cm == 19994


def test_only_the_keeper_writes_down_new_ropes(club: Club) -> None:
    for who in (club.competent, club.member, club.reader):
        assert who.get(f"{club.address}/new-ropes").status_code == 403
        assert send(club, who).status_code == 403
    assert send(club, club.stranger).status_code == 404
    assert send(club, club.nobody)["Location"].startswith("/sign-in")
    assert club.keeper.put(f"{club.address}/new-ropes").status_code == 405
    assert [type(each) for each in club.log()] == [StoreDescribed]


def test_numbers_nobody_has_lead_back_to_the_form(club: Club) -> None:
    assert club.keeper.get(f"{club.address}/new-ropes/written")["Location"] == f"{club.address}/new-ropes"
    assert club.keeper.get(f"{club.address}/new-ropes/written?ropes=UG99")["Location"] == f"{club.address}/new-ropes"


def test_a_date_that_could_be_two_is_kept_as_the_year_and_doubted(club: Club) -> None:
    written = club.keeper.get(send(club, happened="03/09/2025")["Location"]).content.decode()
    assert club.log()[-1].happened == PartialDate(2025)
    assert "only the year is kept." in written
