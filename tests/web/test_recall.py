"""A maker's recall: every rope and piece of the batch, who has each, and all set aside at once."""

import re

import pytest
from django.test import Client

from tethera.basics import PartialDate
from tethera.store import Cut, Described, LeftRigged, Piece, Retired, SetAside, TakenOut
from web.conftest import Club

LATER = PartialDate(2024, 6, 1)


def page(club: Club, query: str = "", who: Client | None = None) -> str:
    """The page as somebody sees it."""
    answer = (who or club.keeper).get(f"{club.address}/ropes/recall{query}")
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def called(page: str) -> list[str]:
    """The ropes found, in their order."""
    return re.findall(r'<th scope="row"><a class="rope" href="/ug/ropes/(\w+)">', page)


@pytest.fixture
def batch(club: Club) -> Club:
    """Four ropes of batch 7: one cut, one out, one rigged, one retired. Of UG5 nobody knows the batch."""
    for rope in ("UG1", "UG2", "UG3", "UG4"):
        club.ready(rope, 50, maker="Maker A", batch="A24-7", year_made=2023)
    club.ready("UG5", 50, maker="Maker A")
    club.ready("UG6", 50, maker="Maker B", batch="A24-7", year_made=2023)
    pieces = (Piece(rope="UG11", length_cm=2000), Piece(rope="UG12", length_cm=2900))
    club.did(
        Cut(rope="UG1", happened=LATER, into=pieces),
        TakenOut(rope="UG2", happened=LATER, person="p3", until=PartialDate(2199, 6, 8)),
        LeftRigged(rope="UG3", happened=LATER, route="Long Gill", pitch="third"),
        Retired(rope="UG4", happened=LATER, reason="worn sheath"),
    )
    return club


FOUND = "?maker=maker+a&batch=A24-7"


def test_ropes_and_pieces_of_the_batch_are_found_those_away_first(batch: Club) -> None:
    told = page(batch, FOUND)
    assert called(told) == ["UG2", "UG3", "UG11", "UG12"]
    assert '<b class="hand">with Ines Ravel, due back 8 Jun 2199</b>' in told
    assert '<b class="hand">in Long Gill, third</b>' in told
    assert "2 are not in the store: somebody must be called" in told
    assert 'cut from <a class="rope" href="/ug/ropes/UG1">UG1</a>' in told


def test_anything_the_notice_names_will_do(batch: Club) -> None:
    assert called(page(batch, "?year_made=2023")) == ["UG2", "UG3", "UG6", "UG11", "UG12"]
    assert called(page(batch, "?batch=a24-7&maker=Maker+B")) == ["UG6"]


def test_a_batch_written_down_of_the_parent_after_the_cut_finds_its_pieces(batch: Club) -> None:
    batch.did(Described(rope="UG1", happened=PartialDate(2024, 7), product="Cave Ten"))
    assert called(page(batch, "?product=cave+ten")) == ["UG11", "UG12"]


def test_ropes_of_which_it_is_not_written_down_are_named_as_well(batch: Club) -> None:
    told = page(batch, FOUND)
    doubt = re.search(r"is not written down of these.*?</p>", told)
    assert doubt is not None
    assert re.findall(r"/ropes/(\w+)\"", doubt[0]) == ["UG5"]


def test_nothing_named_shows_nothing_but_the_form(batch: Club) -> None:
    for query in ("", "?maker=&batch=", "?maker=+"):
        told = page(batch, query)
        assert called(told) == []
        assert "Show which ropes these are" in told
        assert "No rope of the store" not in told


def test_a_batch_the_store_does_not_have_says_so(batch: Club) -> None:
    assert "No rope of the store is known to be one of these." in page(batch, "?batch=Z1")


def test_a_year_that_is_none_is_told(batch: Club) -> None:
    told = page(batch, "?year_made=last+year")
    assert "Write a whole number, as 30." in told
    assert 'value="last year"' in told


def test_what_the_store_has_is_offered_while_typing(batch: Club) -> None:
    told = page(batch)
    assert '<datalist id="known_batch"><option value="A24-7">' in told
    assert '<datalist id="known_maker"><option value="Maker A"></option><option value="Maker B">' in told


@pytest.mark.parametrize("who", ["keeper", "competent", "member", "reader", "stranger"])
def test_only_the_keeper_sets_all_aside_at_once(batch: Club, who: str) -> None:
    before = batch.events()
    client = getattr(batch, who)
    told = {"maker": "Maker A", "batch": "A24-7", "reason": "maker's notice 3: sheath"}
    answer = client.post(f"{batch.address}/ropes/recall", told)
    if who != "keeper":
        assert answer.status_code == (404 if who == "stranger" else 403)
        assert batch.events() == before
        return
    assert answer.status_code == 302
    recorded = batch.log()[before:]
    assert [each.rope for each in recorded if isinstance(each, SetAside)] == ["UG2", "UG3", "UG11", "UG12"]
    assert {each.reason for each in recorded if isinstance(each, SetAside)} == {"maker's notice 3: sheath"}
    for rope in ("UG2", "UG3", "UG11", "UG12"):
        assert batch.rope(rope).state == "set aside"
    assert batch.rope("UG6").state == "ready"
    page_after = client.get(answer["Location"]).content.decode()
    assert "4 ropes are set aside. Not in the store, call for them: UG2, UG3." in page_after
    assert "All of them are set aside already." in page_after


def test_everybody_else_may_look_and_is_told_whom_to_tell(batch: Club) -> None:
    for who in (batch.competent, batch.member, batch.reader):
        told = page(batch, FOUND, who=who)
        assert called(told) == ["UG2", "UG3", "UG11", "UG12"]
        assert "Tell the keeper" in told
        assert "Set aside all" not in told
    address = f"{batch.address}/ropes/recall"
    assert batch.stranger.get(address).status_code == 404
    assert batch.nobody.get(address).status_code == 302
    assert batch.keeper.put(address).status_code == 405


def test_without_a_reason_nothing_is_recorded_and_the_ropes_stay_shown(batch: Club) -> None:
    before = batch.events()
    answer = batch.keeper.post(
        f"{batch.address}/ropes/recall", {"batch": "A24-7", "maker": "Maker A", "reason": "", "happened": "whenever"}
    )
    told = " ".join(answer.content.decode().split())
    assert answer.status_code == 400
    assert batch.events() == before
    assert called(told) == ["UG2", "UG3", "UG11", "UG12"]
    assert 'value="whenever"' in told


def test_sent_twice_it_is_recorded_once(batch: Club) -> None:
    before = batch.events()
    told = {"batch": "A24-7", "maker": "Maker A", "reason": "maker's notice 3", "once": "the same form"}
    for _ in range(2):
        assert batch.keeper.post(f"{batch.address}/ropes/recall", told).status_code == 302
    assert batch.events() == before + 4


def test_a_rope_set_aside_already_keeps_its_own_reason_too(batch: Club) -> None:
    batch.did(SetAside(rope="UG11", happened=LATER, reason="flat spot at 3 m"))
    batch.keeper.post(f"{batch.address}/ropes/recall", {"batch": "A24-7", "reason": "maker's notice 3"})
    assert batch.rope("UG11").set_aside == "maker's notice 3; flat spot at 3 m"


def test_posting_without_a_notice_sets_nothing_aside(batch: Club) -> None:
    before = batch.events()
    answer = batch.keeper.post(f"{batch.address}/ropes/recall", {"reason": "everything"})
    assert answer.status_code == 400
    assert batch.events() == before


@pytest.mark.parametrize("typed", ["A24-T", "A24 7", "A2A-7", "a24/7", "A24-77"])
def test_a_batch_written_nearly_the_same_is_offered_where_nothing_is_found(batch: Club, typed: str) -> None:
    told = page(batch, f"?maker=Maker+A&batch={typed}")
    near = re.search(r'<div class="doubt near">.*?</div>', told)
    assert called(told) == []
    assert near is not None
    assert "Is it meant?" in near[0]
    assert "<b>A24-7</b>" in near[0]
    assert "4 ropes" in near[0]
    query = re.search(r'href="/ug/ropes/recall(\?[^"]+)"', near[0])
    assert query is not None
    assert called(page(batch, query[1].replace("&amp;", "&"))) == ["UG2", "UG3", "UG11", "UG12"]


def test_a_letter_read_for_a_figure_is_told_although_others_are_found(batch: Club) -> None:
    batch.ready("UG30", 20, batch="A26-40")
    batch.ready("UG31", 20, batch="A26-4O")
    told = page(batch, "?batch=A26-4O")
    assert called(told) == ["UG31"]
    assert "Nearly the same is written down of other ropes:" in told
    assert "<b>A26-40</b>" in told


def test_what_is_quite_different_is_not_offered(batch: Club) -> None:
    assert "Nearly the same" not in page(batch, "?batch=Z1")
    assert "Nearly the same" not in page(batch, FOUND)


def test_where_all_are_set_aside_the_form_is_not_offered_again(batch: Club) -> None:
    assert "Set aside all 4 ropes" in page(batch, FOUND)
    batch.keeper.post(f"{batch.address}/ropes/recall", {"batch": "A24-7", "maker": "Maker A", "reason": "notice 3"})
    told = page(batch, FOUND)
    assert "All of them are set aside already." in told
    assert "Set aside all" not in told
    assert "<h2>Set all of them aside</h2>" not in told
    # One that was set aside for something else may still get the notice as one more reason.
    assert "<details><summary>Set aside for something else?" in told
