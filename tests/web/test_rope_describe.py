"""Saying more of what a rope is: only the keeper; only what was changed; nothing emptied by accident."""

from typing import Any

from django.test import Client

from tethera.basics import PartialDate
from tethera.store import Described
from web.conftest import Club

LATER = PartialDate(2024, 6, 1)


def send(club: Club, who: Client, **told: str) -> Any:
    known = {"happened": "2024-06-01", "maker": "Maker A", "diameter_mm": "10.0"}
    return who.post(f"{club.address}/ropes/UG1/describe", known | told)


def described(club: Club) -> Club:
    club.ready("UG1", maker="Maker A", diameter_mm=10.0)
    return club


def test_the_keeper_records_what_was_changed_and_nothing_else(club: Club) -> None:
    described(club)
    answer = send(club, club.keeper, rope_type="A", year_made="2021", age_limit_years="10", batch="A21-117")
    assert answer.status_code == 302
    assert club.log()[-1] == Described(
        rope="UG1", happened=LATER, rope_type="A", year_made=2021, age_limit_years=10, batch="A21-117"
    )


def test_what_its_leaflet_declares_is_recorded_shown_and_doubted_where_its_standard_forbids_it(club: Club) -> None:
    described(club)
    send(club, club.keeper, rope_type="A", elongation_percent="3.5", impact_force_kn="5.1")
    page = club.reader.get(f"{club.address}/ropes/UG1").content.decode()
    assert "elongation 3.5&#8239;%, impact force 5.1&#8239;kN" in page
    assert "EN 1891 allows" not in page
    send(club, club.keeper, rope_type="A", elongation_percent="35", impact_force_kn="22")
    page = club.reader.get(f"{club.address}/ropes/UG1").content.decode()
    assert "An elongation of 35 % is declared; EN 1891 allows 5 % at most." in page
    assert "An impact force of 22 kN is declared; EN 1891 allows 6 kN at most." in page


def test_nobody_else_may(club: Club) -> None:
    described(club)
    before = club.events()
    for who, status in ((club.competent, 403), (club.member, 403), (club.reader, 403), (club.stranger, 404)):
        assert send(club, who, rope_type="A").status_code == status
        assert who.get(f"{club.address}/ropes/UG1/describe").status_code == status
    assert club.keeper.put(f"{club.address}/ropes/UG1/describe").status_code == 405
    assert club.events() == before


def test_the_form_shows_what_is_known_and_offers_what_other_ropes_are(club: Club) -> None:
    described(club)
    club.ready("UG2", product="Maker B Nine")
    page = club.keeper.get(f"{club.address}/ropes/UG1/describe").content.decode()
    assert 'value="Maker A"' in page
    assert '<option value="Maker B Nine">' in page
    assert 'list="known_product"' in page


def test_what_was_declared_is_not_emptied_here(club: Club) -> None:
    described(club)
    before = club.events()
    answer = send(club, club.keeper, maker="", year_made="2021")
    assert answer.status_code == 400
    assert "Maker: what was once declared cannot be emptied here." in answer.content.decode()
    assert 'value="2021"' in answer.content.decode()
    assert club.events() == before


def test_a_form_that_says_nothing_new_is_told_so_and_a_note_alone_is_something(club: Club) -> None:
    described(club)
    assert "Nothing was changed." in send(club, club.keeper).content.decode()
    assert send(club, club.keeper, note="tape unreadable").status_code == 302
    assert club.log()[-1] == Described(rope="UG1", happened=LATER, note="tape unreadable")


def test_bad_numbers_are_said_beside_their_field(club: Club) -> None:
    described(club)
    page = send(club, club.keeper, year_made="21", diameter_mm="thick").content.decode()
    assert page.count('aria-invalid="true"') == 2
    assert 'value="thick"' in page


def test_sent_twice_it_is_recorded_once(club: Club) -> None:
    described(club)
    before = club.events()
    for _ in range(2):
        send(club, club.keeper, rope_type="A", once="token")
    assert club.events() == before + 1
