"""The list of ropes: found by typing, filtered, sorted and picked, all from the address."""

import re
from datetime import date

import pytest
from django.test import Client

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    Bought,
    Described,
    Inspected,
    LeftRigged,
    Marked,
    Measured,
    RecordedAsFound,
    Retired,
    SetAside,
    TakenOut,
)
from tethera.web.accounts.models import Account
from tethera.web.ropes import list_page
from tethera.web.ropes.list_doubts import WORDS
from web.conftest import DAY, Club

LATER = PartialDate(2024, 6, 1)


def page(club: Club, query: str = "", who: Client | None = None, **headers: str) -> str:
    """The list as somebody sees it, with every run of white space as one blank."""
    answer = (who or club.keeper).get(f"{club.address}/ropes{query}", headers=headers)
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def numbers(page: str) -> list[str]:
    """The ropes shown, in their order."""
    return re.findall(r'name="rope" value="(\w+)"', page)


def row(page: str, rope: str) -> str:
    """The row of one rope, without its marks of text."""
    found = next(each for each in re.findall(r"<tr.*?</tr>", page) if f'value="{rope}"' in each)
    return " ".join(re.sub(r"<[^>]+>", " ", found).split())


@pytest.fixture
def stocked(club: Club) -> Club:
    """One rope in most states, of several lengths, kinds and ages."""
    club.ready("UG1", 30, diameter_mm=10.0, rope_type="A", maker="Maker A", batch="A24-1", year_made=2023)
    club.ready("UG2", 45, diameter_mm=9.0, rope_type="B", maker="Maker B", batch="B20-7", year_made=2015)
    club.ready("UG3", 60, rope_type="A", product="Cave Ten", owner="North hut")
    club.ready("UG10", 20, diameter_mm=10.0, rope_type="dynamic")
    club.did(
        TakenOut(rope="UG2", happened=LATER, person="p3", until=PartialDate(2024, 6, 8), trip="Long Gill"),
        SetAside(rope="UG3", happened=LATER, reason="flat spot at 12.4 m"),
        Bought(rope="UG4", happened=LATER, length_cm=10_000, note="red fleck"),
        RecordedAsFound(rope="UG5", happened=LATER, known_by="sheet", length_cm=2500),
        Retired(rope="UG5", happened=LATER, reason="worn sheath"),
    )
    return club


def test_everybody_of_the_store_sees_every_rope_and_nobody_else(stocked: Club) -> None:
    for who in (stocked.keeper, stocked.competent, stocked.member, stocked.reader):
        told = page(stocked, who=who)
        assert sorted(numbers(told)) == ["UG1", "UG10", "UG2", "UG3", "UG4", "UG5"]
    address = f"{stocked.address}/ropes"
    assert stocked.stranger.get(address).status_code == 404
    assert stocked.nobody.get(address).status_code == 302
    assert stocked.keeper.post(address).status_code == 405


def test_an_empty_store_says_what_to_do_first(club: Club) -> None:
    assert "Bring in a spreadsheet" in page(club)
    assert "Bring in a spreadsheet" not in page(club, who=club.member)
    assert "The tackle keeper has not written down any" in page(club, who=club.member)


def test_a_row_says_length_kind_state_where_age_mark_and_doubt(stocked: Club) -> None:
    told = page(stocked)
    assert row(told, "UG1").startswith("Pick UG1 UG1 30 m 10 mm type A ready")
    assert "with Ines Ravel, due back 8 Jun 2024" in row(told, "UG2")
    assert "should be back" in row(told, "UG2")
    assert "flat spot at 12.4 m" in row(told, "UG3")
    assert "waits for wash, dry, measure, mark, put into service" in row(told, "UG4")
    assert "no mark" in row(told, "UG4")
    assert "type not declared" in row(told, "UG4")
    assert "worn sheath" in row(told, "UG5")


def test_what_needs_a_hand_now_is_marked_and_the_rest_is_not(stocked: Club) -> None:
    told = page(stocked)
    assert '<span class="hand">should be back</span>' in told
    assert "<span>type not declared</span>" in told


def test_the_head_counts_what_is_shown_and_what_of_it_is_ready(stocked: Club) -> None:
    assert '<span class="large">6</span> <span>of 6 ropes; 2 ready, 50 m in all</span>' in page(stocked)
    assert "none of these is ready" in page(stocked, "?state=out")


def test_usable_ropes_stand_first_and_retired_ones_last(stocked: Club) -> None:
    assert numbers(page(stocked)) == ["UG1", "UG10", "UG2", "UG4", "UG3", "UG5"]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("ug10", ["UG10"]),
        ("10+dynamic", ["UG10"]),
        ("UG1", ["UG1", "UG10"]),
        ("maker+a", ["UG1"]),
        ("b20-7", ["UG2"]),
        ("cave+ten", ["UG3"]),
        ("north", ["UG3"]),
        ("fleck", ["UG4"]),
        ("ines", ["UG2"]),
        ("set+aside", ["UG3"]),
        ("10+mm+ready", ["UG1", "UG10"]),
        ("3", ["UG3"]),
        ("flat+spot", ["UG3"]),
        ("nothing+like+it", []),
    ],
)
def test_words_find_a_rope_by_anything_said_of_it(stocked: Club, words: str, found: list[str]) -> None:
    assert numbers(page(stocked, f"?q={words}")) == found


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("length_from=45", ["UG2", "UG4", "UG3"]),
        ("length_to=45m&length_from=100+ft", ["UG2"]),
        ("state=ready&state=out", ["UG1", "UG10", "UG2"]),
        ("kind=A", ["UG1", "UG3"]),
        ("kind=none&kind=dynamic", ["UG10", "UG4", "UG5"]),
        ("mm=10", ["UG1", "UG10"]),
        ("maker=maker+b", ["UG2"]),
        ("batch=a24", ["UG1"]),
        ("made=2015", ["UG2"]),
        ("doubt=overdue", ["UG2"]),
        ("doubt=any&state=out", ["UG2"]),
        ("doubt=never-heard-of", []),
        ("age_from=10&state=out", ["UG2"]),
    ],
)
def test_filters_leave_what_fits(stocked: Club, query: str, found: list[str]) -> None:
    assert numbers(page(stocked, f"?{query}")) == found


def test_age_is_asked_in_years_and_a_rope_that_may_be_as_old_is_shown(club: Club) -> None:
    this_year = date.today().year  # noqa: DTZ011 - only the year, to make a rope a known number of years old
    club.ready("UG1", 30, year_made=this_year - 5)
    club.ready("UG2", 30, year_made=this_year - 12)
    assert numbers(page(club, "?age_to=5")) == ["UG1"]
    assert numbers(page(club, "?age_from=6")) == ["UG2"]
    assert numbers(page(club, "?age_from=4&age_to=13")) == ["UG1", "UG2"]


def test_ropes_of_which_it_is_not_known_are_named_beside_what_was_found(stocked: Club) -> None:
    told = page(stocked, "?maker=maker+a")
    assert numbers(told) == ["UG1"]
    doubt = re.search(r"These may belong here too.*?</p>", told)
    assert doubt is not None
    assert re.findall(r"/ropes/(\w+)\"", doubt[0]) == ["UG3", "UG4", "UG5", "UG10"]


def test_an_examination_that_is_due_soon_can_be_asked_for(club: Club) -> None:
    for rope, due in (("UG1", PartialDate(2024, 5, 20)), ("UG2", PartialDate(2199)), ("UG3", None)):
        club.ready(rope)
        club.did(Inspected(rope=rope, happened=DAY, outcome="fit", person="p2", next_due=due))
    assert numbers(page(club, "?due=on")) == ["UG1"]


@pytest.mark.parametrize(
    ("sort", "first", "last"),
    [
        ("number", "UG1", "UG10"),
        ("-number", "UG10", "UG1"),
        ("length", "UG10", "UG4"),
        ("-length", "UG4", "UG10"),
        ("kind", "UG3", "UG5"),
        ("-state", "UG5", "UG10"),
        ("mark", "UG10", "UG5"),
        ("age", "UG4", "UG5"),
        ("-age", "UG2", "UG5"),
    ],
)
def test_every_column_sorts_both_ways_and_what_is_not_known_stands_last(
    stocked: Club, sort: str, first: str, last: str
) -> None:
    shown = numbers(page(stocked, f"?sort={sort}"))
    assert len(shown) == 6
    assert (shown[0], shown[-1]) == (first, last)


def test_the_head_of_a_column_says_how_it_is_sorted_and_leads_the_other_way(stocked: Club) -> None:
    told = page(stocked, "?sort=length&q=ug")
    assert re.search(r'class="by-length" aria-sort="ascending"><a href="\?q=ug&amp;sort=-length">Length', told)
    assert re.search(r'class="by-number" aria-sort="none"><a href="\?q=ug&amp;sort=number">Rope', told)
    assert 'class="by-length" aria-sort="descending"' in page(stocked, "?sort=-length")


def test_an_order_nobody_knows_is_told_and_the_list_is_shown_all_the_same(stocked: Club) -> None:
    assert len(numbers(page(stocked, "?sort=weight"))) == 6


def test_a_length_that_cannot_be_read_is_told_beside_it_and_the_rest_is_kept(stocked: Club) -> None:
    told = page(stocked, "?length_from=long&state=ready")
    assert "“long” is not a length that can be read" in told
    assert 'value="long"' in told
    assert numbers(told) == ["UG1", "UG10"]
    # While typing only the list comes anew, so there it is said as well.
    assert "Length from (m): “long”" in page(stocked, "?length_from=long", **{"HX-Request": "true"})


def test_who_thinks_in_feet_asks_in_feet(stocked: Club) -> None:
    Account.objects.filter(name="Bronwen Skail").update(units="ft")
    told = page(stocked, "?length_from=148&sort=number", who=stocked.reader)
    assert "Length from (ft)" in told
    # 148 ft are 45.11 m.
    assert numbers(told) == ["UG3", "UG4"]


def test_the_address_says_only_what_was_asked(stocked: Club) -> None:
    query = "?q=ug&length_from=&maker=&sort=state&state=ready&rope=UG2"
    answer = stocked.keeper.get(f"{stocked.address}/ropes{query}", headers={"HX-Request": "true"})
    assert answer["HX-Replace-Url"] == "/ug/ropes?q=ug&state=ready"
    assert "HX-Replace-Url" not in stocked.keeper.get(f"{stocked.address}/ropes{query}")


def test_what_was_asked_stands_above_the_list_in_words(stocked: Club) -> None:
    told = page(stocked, "?state=ready&state=out&mm=10&due=on&q=ug")
    for said in ("Find: ug", "Diameter: 10 mm", "State: ready, out", "Examination due within 30 days"):
        assert f"<span>{said}</span>" in told
    assert "Show all ropes again" not in page(stocked)


def test_picked_ropes_stay_picked_while_others_are_looked_for(stocked: Club) -> None:
    told = page(stocked, "?q=ug3&rope=UG1&rope=UG3")
    assert numbers(told) == ["UG1", "UG3"]
    assert len(re.findall(r'name="rope" value="UG\d" checked', told)) == 2


def test_a_long_list_shows_some_and_all_on_request(stocked: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(list_page, "PAGE_ROWS", 4)
    told = page(stocked, "?sort=number")
    assert len(numbers(told)) == 4
    assert '<a class="act quiet" href="?sort=number&amp;show=all">Show the other 2 as well</a>' in told
    assert len(numbers(page(stocked, "?sort=number&show=all"))) == 6


def test_nobody_is_offered_what_is_for_others_to_do(stocked: Club) -> None:
    def offered(who: Client) -> set[str]:
        return set(re.findall(r'<option value="([a-z-]+)">', page(stocked, who=who).split('name="act"')[1]))

    assert offered(stocked.reader) == {"print", "marks"}
    assert offered(stocked.member) == {"take-out", "set-aside", "print", "marks"}
    assert {"washed", "put-into-service", "book", "retire"} <= offered(stocked.keeper)
    assert "examined" not in offered(stocked.keeper)
    assert {"examined", "washed"} <= offered(stocked.competent)
    assert "retire" not in offered(stocked.competent)


def test_ropes_left_rigged_or_booked_say_where_and_when(club: Club) -> None:
    club.ready("UG1")
    club.ready("UG2")
    club.did(
        LeftRigged(rope="UG1", happened=LATER, route="Long Gill", pitch="third"),
        Booked(rope="UG2", happened=LATER, first_day=date(2199, 5, 1), last_day=date(2199, 5, 3), trip="Deep Gill"),
        Described(rope="UG2", happened=LATER, maker="Maker C"),
    )
    told = page(club)
    assert "in Long Gill, third" in row(told, "UG1")
    assert "booked 1 to 3 May 2199, Deep Gill" in row(told, "UG2")


def test_a_mark_that_says_too_much_needs_a_hand_now(club: Club) -> None:
    club.ready("UG1", 30)
    club.did(Marked(rope="UG1", happened=LATER, length_m=32), Measured(rope="UG1", happened=LATER, length_cm=2950))
    assert '<span class="hand">mark says too much</span>' in page(club)


def test_a_stranger_to_the_form_cannot_put_words_of_its_own_into_the_page(stocked: Club) -> None:
    told = page(stocked, "?q=%3Cscript%3E&doubt=%3Cb%3E&sort=%22")
    assert "<script>" not in told.split('id="listed"')[1]
    assert "<b>" not in told


def test_each_finding_of_the_glossary_has_its_short_words() -> None:
    from pathlib import Path

    glossary = (Path(__file__).parents[2] / "docs/glossary.md").read_text("utf-8")
    table = glossary.split("## Findings about ropes")[1].split("\n## ")[0]
    codes = {code for line in table.splitlines() if line.startswith("| `") for code in re.findall(r"`([a-z-]+)`",
             line.split("|")[1])}  # fmt: skip
    assert codes
    assert codes <= set(WORDS)
