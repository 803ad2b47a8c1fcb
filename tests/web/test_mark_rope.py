"""Lettering by hand: what to write on both ends of one rope, and recorded only when both carry it."""

import re
from typing import Any

import pytest
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import Bought, Dried, Marked, Measured, Retired, StoreDescribed, Washed
from web.conftest import DAY, Club

TODAY = PartialDate.of(timezone.localdate())
BOTH = {"end-a": "1", "end-b": "1"}


def both(club: Club, address: str, **more: str) -> Any:
    """Send the form with both ends ticked, as the page was shown."""
    says = re.search(r'name="says" value="([^"]+)"', club.keeper.get(address).content.decode())
    assert says is not None
    return club.keeper.post(address, BOTH | {"says": says[1]} | more)


def measured(club: Club, rope: str = "UG1", length_cm: int = 2860) -> str:
    """A rope that waits for its marks."""
    club.did(
        Bought(rope=rope, happened=DAY, length_cm=3000, diameter_mm=10.0, rope_type="A"),
        Washed(rope=rope, happened=DAY),
        Dried(rope=rope, happened=DAY),
        Measured(rope=rope, happened=DAY, length_cm=length_cm, counts_cm=(length_cm, length_cm)),
    )
    return f"{club.address}/marks/{rope}"


def marks_of(club: Club) -> list[tuple[str, int, str]]:
    return [(each.rope, each.length_m, each.words) for each in club.log() if isinstance(each, Marked)]


def lines(html: str) -> list[str]:
    """What to write, line by line."""
    found = re.search(r'<ol class="letter">(.*?)</ol>', html, re.DOTALL)
    assert found is not None
    return [each.replace("&#8239;", " ") for each in re.findall(r"<li[^>]*>(.*?)</li>", found[1])]


def test_it_says_each_line_in_the_order_it_is_written_and_a_short_form(club: Club) -> None:
    html = club.reader.get(measured(club)).content.decode()
    since = f"{timezone.localdate():in service %b %Y}"
    assert lines(html) == ["28 m", "UG1", "10 mm type A", since, "Ulvergarth Caving Club"]
    short = re.sub(r"</?span[^>]*>", "", html)
    assert f"<b>28 m · UG1 · 10 mm A · {timezone.localdate():%m/%Y} · UCC</b>" in short


def test_the_length_is_in_metres_and_less_what_the_store_keeps_back(club: Club) -> None:
    address = measured(club)
    club.did(StoreDescribed(happened=DAY, code="UG", owner="Ulvergarth Caving Club", label_keeps_back_percent=5))
    assert lines(club.keeper.get(address).content.decode())[0] == "27 m"
    both(club, address)
    assert [length for _, length, _ in marks_of(club)] == [27]


def test_lettered_ends_and_the_store_s_own_band_are_said_in_words(club: Club) -> None:
    address = measured(club)
    club.did(StoreDescribed(happened=DAY, code="UG", bands="20 to 29 m: red and white", ends_lettered=True))
    html = club.keeper.get(address).content.decode()
    assert lines(html)[-2:] == ["A on one end, B on the other", "band: red and white"]
    assert "End A carries it" in html
    assert "End B carries it" in html
    assert "end A is missing" in club.keeper.post(address, {"end-b": "1"}).content.decode()
    assert "end B is missing" in club.keeper.post(address, {"end-a": "1"}).content.decode()
    assert marks_of(club) == []


@pytest.mark.parametrize("ticked", [{}, {"end-a": "1"}, {"end-b": "1"}])
def test_with_an_end_missing_nothing_is_recorded_and_the_tick_stays(club: Club, ticked: dict[str, str]) -> None:
    address = measured(club)
    answer = club.keeper.post(address, ticked | {"then": "UG1 UG2"})
    html = answer.content.decode()
    assert answer.status_code == 422
    assert "Nothing is recorded yet" in html
    assert re.findall(r'name="(end-.)" value="1" checked', html) == list(ticked)
    assert marks_of(club) == []


def test_with_both_ends_ticked_the_mark_is_recorded_with_its_words(club: Club) -> None:
    answer = both(club, measured(club))
    assert answer["Location"] == f"{club.address}/marks"
    (mark,) = marks_of(club)
    assert mark[:2] == ("UG1", 28)
    assert mark[2].startswith("UG1 · 10 mm type A · in service")
    assert club.rope("UG1").marked_m == 28


def test_sent_twice_it_is_recorded_once(club: Club) -> None:
    address = measured(club)
    token = re.search(r'name="once" value="([^"]+)"', club.keeper.get(address).content.decode())
    assert token is not None
    for _ in range(2):
        assert both(club, address, once=token[1]).status_code == 302
    assert len(marks_of(club)) == 1


def test_measured_again_meanwhile_it_is_not_recorded_as_it_was(club: Club) -> None:
    address = measured(club)
    says = re.search(r'name="says" value="([^"]+)"', club.keeper.get(address).content.decode())
    assert says is not None
    club.did(Measured(rope="UG1", happened=TODAY, length_cm=2750, counts_cm=(2750, 2750)))
    answer = club.keeper.post(address, BOTH | {"says": says[1]})
    assert answer.status_code == 422
    assert "has changed meanwhile" in answer.content.decode()
    assert lines(answer.content.decode())[0] == "27 m"
    assert "checked" not in answer.content.decode()
    assert marks_of(club) == []


def test_a_form_that_does_not_say_what_the_ends_carry_records_nothing(club: Club) -> None:
    answer = club.keeper.post(measured(club), BOTH)
    assert answer.status_code == 422
    assert "The form does not say what the ends carry" in answer.content.decode()
    assert marks_of(club) == []


def test_ticks_kept_on_the_device_belong_to_what_was_lettered_then(club: Club) -> None:
    address = measured(club)
    before = re.search(r'data-draft="([^"]+)"', club.keeper.get(address).content.decode())
    club.did(Measured(rope="UG1", happened=TODAY, length_cm=2750, counts_cm=(2750, 2750)))
    after = re.search(r'data-draft="([^"]+)"', club.keeper.get(address).content.decode())
    assert before is not None
    assert after is not None
    assert before[1] != after[1]


def test_of_several_the_next_rope_follows_recorded_or_left(club: Club) -> None:
    address = measured(club, "UG1")
    measured(club, "UG2")
    measured(club, "UG3")
    html = club.keeper.get(f"{address}?then=UG2,UG3").content.decode()
    assert f'href="{club.address}/marks/UG2?then=UG3"' in html
    answer = both(club, address, then="UG2 UG3")
    assert answer["Location"] == f"{club.address}/marks/UG2?then=UG3"
    last = both(club, f"{club.address}/marks/UG3", then="UG3")
    assert last["Location"] == f"{club.address}/marks"


def test_a_rope_that_cannot_be_marked_says_why_and_does_not_hold_up_the_next(club: Club) -> None:
    measured(club, "UG2")
    club.did(Bought(rope="UG1", happened=DAY, length_cm=3000))
    html = club.keeper.get(f"{club.address}/marks/UG1?then=UG2").content.decode()
    assert "Nobody has measured it." in html
    assert f"{club.address}/measure/UG1" in html
    assert f'href="{club.address}/marks/UG2"' in html
    assert "Record the mark" not in html
    assert club.keeper.post(f"{club.address}/marks/UG1", BOTH).status_code == 200
    club.did(Retired(rope="UG2", happened=TODAY, reason="age"))
    assert "cut up, not marked" in club.keeper.get(f"{club.address}/marks/UG2").content.decode()
    assert marks_of(club) == []


def test_old_marks_that_are_void_come_off_first(club: Club) -> None:
    club.ready("UG1", 30)
    club.did(Measured(rope="UG1", happened=TODAY, length_cm=2890, counts_cm=(2890, 2890)))
    assert "Take the old marks off first:" in club.keeper.get(f"{club.address}/marks/UG1").content.decode()


@pytest.mark.parametrize("who", ["member", "reader"])
def test_who_may_not_prepare_ropes_reads_the_words_and_records_nothing(club: Club, who: str) -> None:
    address = measured(club)
    client = getattr(club, who)
    html = client.get(address).content.decode()
    assert lines(html)[0] == "28 m"
    assert "Record the mark" not in html
    assert client.post(address, BOTH).status_code == 403
    assert marks_of(club) == []


def test_a_stranger_finds_nothing_and_an_unknown_number_or_another_way_of_asking_neither(club: Club) -> None:
    address = measured(club)
    assert club.stranger.get(address).status_code == 404
    assert club.stranger.post(address, BOTH).status_code == 404
    assert club.nobody.get(address).status_code == 302
    assert club.keeper.get(f"{club.address}/marks/UG99").status_code == 404
    assert club.keeper.put(address).status_code == 405
    assert marks_of(club) == []
