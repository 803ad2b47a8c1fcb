"""Marks: what needs them, printed, lettered by hand, and recorded once both ends carry them."""

import io
import re

import pdfplumber
import pytest
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import Bought, Described, Dried, Marked, Measured, Retired, StoreDescribed, Washed
from web.conftest import DAY, Club

TODAY = PartialDate.of(timezone.localdate())


def measured(club: Club, rope: str = "UG1", length_cm: int = 2860, **specified: object) -> str:
    """A rope that waits for its marks."""
    club.did(
        Bought(rope=rope, happened=DAY, length_cm=3000, **({"diameter_mm": 10.0, "rope_type": "A"} | specified)),  # type: ignore[arg-type]
        Washed(rope=rope, happened=DAY),
        Dried(rope=rope, happened=DAY),
        Measured(rope=rope, happened=DAY, length_cm=length_cm, counts_cm=(length_cm, length_cm)),
    )
    return rope


def shown(club: Club, query: str = "", by: str = "keeper") -> str:
    answer = getattr(club, by).get(f"{club.address}/marks{query}")
    assert answer.status_code == 200
    return str(answer.content.decode())


def marks_of(club: Club) -> list[tuple[str, int]]:
    return [(each.rope, each.length_m) for each in club.log() if isinstance(each, Marked)]


def test_what_waits_for_marks_is_ticked_with_what_it_may_say_and_the_tube_over_it(club: Club) -> None:
    measured(club)
    html = shown(club)
    assert '<span class="capsule">28\u202fm</span>' in html
    assert "UG1 · 10 mm type A · in service" in html
    assert re.search(r'value="UG1"\s+checked', html)
    assert "12.7 mm (2:1)" in html
    assert "Cut " in html
    assert "Heat harms nylon" in html


def test_void_marks_stand_first_with_what_they_say_and_why(club: Club) -> None:
    measured(club, "UG1")
    club.ready("UG2", 30, diameter_mm=9.0)
    club.did(Measured(rope="UG2", happened=TODAY, length_cm=2890, counts_cm=(2890, 2890)))
    html = shown(club)
    assert html.index(">UG2</a>") < html.index(">UG1</a>")
    assert "Take the old marks off: it was measured 28.9 m, shorter than its mark of 30 m." in html
    assert '<span class="struck"><span class="capsule">30\u202fm</span></span>' in html


def test_the_strips_are_fetched_with_the_diameter_that_was_measured(club: Club) -> None:
    measured(club)
    html = shown(club, "?rope=UG1&paper=letter&over-UG1=10.8")
    url = re.search(r'href="([^"]*strips\.pdf[^"]*)"', html)
    assert url is not None
    answer = club.reader.get(url[1].replace("&amp;", "&"))
    assert answer.headers["Content-Type"] == "application/pdf"
    with pdfplumber.open(io.BytesIO(answer.content)) as pdf:
        assert round(pdf.pages[0].width * 25.4 / 72, 1) == 279.4
        assert "wind round 10.8 mm" in pdf.pages[0].extract_text()


def test_a_rope_of_unknown_diameter_asks_for_it_and_is_not_printed(club: Club) -> None:
    measured(club, diameter_mm=None)
    html = shown(club, "?rope=UG1")
    assert "Nobody declared the diameter of UG1." in html
    assert "strips.pdf" not in html
    assert "is no diameter" in shown(club, "?rope=UG1&over-UG1=ten")
    assert "strips.pdf" in shown(club, "?rope=UG1&over-UG1=10.4")


def test_a_rope_that_nobody_measured_gets_no_mark_and_says_what_to_do(club: Club) -> None:
    club.did(Bought(rope="UG1", happened=DAY, length_cm=3000))
    html = shown(club, "?rope=UG1")
    assert "Nobody has measured it." in html
    assert f"{club.address}/measure/UG1" in html
    assert club.keeper.get(f"{club.address}/marks/strips.pdf?rope=UG1").status_code == 400
    assert club.keeper.post(f"{club.address}/marks", {"record": "1", "rope": "UG1"}).status_code == 422
    assert marks_of(club) == []


def test_recorded_are_all_that_are_ticked_with_the_words_on_their_ends(club: Club) -> None:
    measured(club, "UG1")
    measured(club, "UG2", 4199)
    told = {"record": "1", "rope": ["UG1", "UG2"], "paper": "a4"}
    assert club.keeper.post(f"{club.address}/marks", told).status_code == 302
    assert marks_of(club) == [("UG1", 28), ("UG2", 41)]
    event = club.log()[-1]
    assert isinstance(event, Marked)
    assert event.words.startswith("UG2 · 10 mm type A · in service")


def test_nothing_ticked_records_nothing_and_says_so(club: Club) -> None:
    measured(club)
    answer = club.keeper.post(f"{club.address}/marks", {"record": "1"})
    assert answer.status_code == 422
    assert "Tick the ropes" in answer.content.decode()
    assert marks_of(club) == []


def test_a_store_that_keeps_some_back_prints_and_records_less(club: Club) -> None:
    measured(club)
    club.did(StoreDescribed(happened=DAY, code="UG", owner="Ulvergarth Caving Club", label_keeps_back_percent=5))
    assert '<span class="capsule">27\u202fm</span>' in shown(club)
    club.keeper.post(f"{club.address}/marks", {"record": "1", "rope": "UG1"})
    assert marks_of(club) == [("UG1", 27)]


def test_the_store_s_own_band_and_lettered_ends_are_said(club: Club) -> None:
    measured(club)
    club.did(
        StoreDescribed(
            happened=DAY, code="UG", owner="Ulvergarth Caving Club", bands="20 to 29 m: red", ends_lettered=True
        )
    )
    html = shown(club)
    assert "Band of this store: red" in html
    assert "end B" in html
    assert "End B carries it" in club.keeper.get(f"{club.address}/marks/UG1").content.decode()


def test_lettering_records_only_when_both_ends_are_ticked(club: Club) -> None:
    measured(club)
    address = f"{club.address}/marks/UG1"
    html = club.keeper.get(address).content.decode()
    assert "28\u202fm" in html or "28&#8239;m" in html
    assert "10 mm A" in html
    one = club.keeper.post(address, {"end-a": "1"})
    assert one.status_code == 422
    assert "the other end is missing" in one.content.decode()
    assert re.search(r'id="end-a"[^>]*checked', one.content.decode())
    assert marks_of(club) == []
    assert club.keeper.post(address, {"end-a": "1", "end-b": "1"}).status_code == 302
    assert marks_of(club) == [("UG1", 28)]


def test_of_several_the_next_rope_follows(club: Club) -> None:
    measured(club, "UG1")
    measured(club, "UG2")
    measured(club, "UG3")
    answer = club.keeper.post(f"{club.address}/marks/UG1", {"end-a": "1", "end-b": "1", "then": "UG2 UG3"})
    assert answer.headers["Location"] == f"{club.address}/marks/UG2?then=UG3"


@pytest.mark.parametrize("who", ["member", "reader"])
def test_who_may_not_prepare_ropes_may_look_and_print_but_not_record(club: Club, who: str) -> None:
    measured(club)
    html = shown(club, by=who)
    assert "Print the strips" in html
    assert "record the marks" not in html
    client = getattr(club, who)
    assert client.post(f"{club.address}/marks", {"record": "1", "rope": "UG1"}).status_code == 403
    assert client.post(f"{club.address}/marks/UG1", {"end-a": "1", "end-b": "1"}).status_code == 403
    assert marks_of(club) == []


def test_a_stranger_finds_nothing_and_a_wrong_number_is_not_found(club: Club) -> None:
    measured(club)
    for page in ("marks", "marks/UG1", "marks/strips.pdf?rope=UG1"):
        assert club.stranger.get(f"{club.address}/{page}").status_code == 404
        assert club.nobody.get(f"{club.address}/{page}").status_code == 302
    assert club.keeper.get(f"{club.address}/marks/UG99").status_code == 404
    assert club.keeper.delete(f"{club.address}/marks").status_code == 405


def test_sent_twice_it_is_recorded_once(club: Club) -> None:
    measured(club)
    html = shown(club)
    token = re.search(r'name="once" value="([^"]+)"', html)
    assert token is not None
    told = {"record": "1", "rope": "UG1", "once": token[1]}
    club.keeper.post(f"{club.address}/marks", told)
    club.keeper.post(f"{club.address}/marks", told)
    assert marks_of(club) == [("UG1", 28)]


def test_a_retired_rope_asked_for_says_that_it_gets_no_mark(club: Club) -> None:
    club.ready("UG1", 30)
    club.did(Retired(rope="UG1", happened=TODAY, reason="age"))
    assert "A retired rope is cut up, not marked." in shown(club, "?rope=UG1")


def test_given_to_another_owner_it_waits_for_marks_that_name_them(club: Club) -> None:
    club.ready("UG1", 30, diameter_mm=9.0, owner="Ulvergarth Caving Club")
    club.did(Described(rope="UG1", happened=TODAY, owner="Fellmoor Potholers"))
    assert "it now belongs to Fellmoor Potholers" in shown(club)


def test_an_empty_store_says_when_ropes_come_here(club: Club) -> None:
    assert "No rope waits for marks." in shown(club)
