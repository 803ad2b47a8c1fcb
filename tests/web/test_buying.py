"""Buying: what is asked, worked out in the background, told with its reasons, and handed on to New ropes."""

import re
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from django.utils.html import strip_tags

from tethera.basics import PartialDate
from tethera.store import Described, RouteWritten
from tethera.web.buying.models import BuyingList
from tethera.web.work.doing import do_work
from tethera.web.work.models import Work
from web.conftest import Club
from web.furnished import WANTED

TALLOW = """
name = "Tallow Hole"
[[pitch]]
name = "Entrance"
depth = "12 m"
anchors = 3
[[pitch]]
name = "Chandler"
depth = "31 m"
anchors = 4
"""


@pytest.fixture
def ready(club: Club) -> Club:
    """One route, and a rope for its first pitch."""
    club.did(RouteWritten(happened=PartialDate(2024), key="tallow-hole", text=TALLOW))
    club.ready("UG1", 30, diameter_mm=9.5, rope_type="A")
    return club


def ask(club: Club, by: str = "keeper", **told: Any) -> Any:
    return getattr(club, by).post(f"{club.address}/buying", {**WANTED, **told})


def worked_out(club: Club, **told: Any) -> BuyingList:
    answer = ask(club, **told)
    assert answer.status_code == 302, strip_tags(answer.content.decode())
    for work in Work.objects.filter(ended=None):
        do_work.call(work.pk)
    return BuyingList.objects.latest("pk")


def page_of(club: Club, paper: BuyingList, by: str = "reader") -> str:
    answer = getattr(club, by).get(f"{club.address}/buying/{paper.pk}")
    assert answer.status_code == 200
    return str(answer.content.decode())


def words(html: str) -> str:
    return " ".join(strip_tags(html).split())


def test_what_a_route_lacks_is_bought_with_the_reason_and_what_goes_without_it(ready: Club) -> None:
    paper = worked_out(ready, routes=["tallow-hole"])
    assert paper.answer is not None
    assert paper.answer["price_pence"] == 17_000
    said = words(page_of(ready, paper))
    assert "£170" in said
    assert "Tallow Hole: Chandler takes" in said
    assert "Left out, Tallow Hole no longer goes" in said
    assert "Proven" in said
    assert "UG1" in said
    piece = paper.answer["reels"][0]["pieces"][0]
    assert piece["cut_cm"] > piece["typical_cm"] > piece["needed_cm"] > 3100
    assert paper.answer["holds"] >= 0.95


def test_a_store_that_has_enough_is_told_so(ready: Club) -> None:
    ready.ready("UG2", 60, diameter_mm=9.5, rope_type="A")
    paper = worked_out(ready, routes=["tallow-hole"])
    assert "Nothing need be bought" in page_of(ready, paper)


def test_the_list_leads_to_new_ropes_with_the_reel_and_its_cuts_filled_in(ready: Club) -> None:
    paper = worked_out(ready, needs="20 m, 25 m", reels="100 m £170")
    html = page_of(ready, paper, by="keeper")
    link = next(each for each in re.findall(r'href="([^"]+)"', html) if "/new-ropes?" in each).replace("&amp;", "&")
    told = parse_qs(urlsplit(link).query)
    assert told["length"] == ["100 m"]
    cut = [piece["cut_cm"] for piece in (paper.answer or {})["reels"][0]["pieces"]]
    assert told["into"] == [", ".join(f"{cm / 100:g} m" for cm in cut)]
    form = ready.keeper.get(link).content.decode()
    assert 'value="100 m"' in form
    assert f'value="{told["into"][0]}"' in form
    sent = {"length": told["length"][0], "into": told["into"][0], "happened": "2026-11-25", "keep_off_cut": "on",
            "cut_on": "2026-11-25", "price": told["price"][0], "rope_type": "A"}  # fmt: skip
    assert ready.keeper.post(f"{ready.address}/new-ropes", sent).status_code == 302
    lengths = [rope.length_cm for rope in ready.register().ropes(PartialDate(2026, 11, 25).latest)]
    assert all(cm in lengths for cm in cut)


def test_a_soaked_reel_is_written_down_whole(ready: Club) -> None:
    paper = worked_out(ready, needs="20 m, 25 m", habit="soak-then-cut")
    html = page_of(ready, paper, by="keeper")
    assert "soak" in html
    link = next(each for each in re.findall(r'href="([^"]+)"', html) if "/new-ropes?" in each)
    assert "into" not in parse_qs(urlsplit(link.replace("&amp;", "&")).query)


def test_a_ceiling_says_which_route_is_lost(ready: Club) -> None:
    paper = worked_out(ready, routes=["tallow-hole"], ceiling="100")
    said = words(page_of(ready, paper))
    assert "With at most £100" in said
    assert "These can no longer be rigged: Tallow Hole" in said


def test_three_years_name_what_goes_what_is_bought_and_what_each_route_costs(ready: Club) -> None:
    ready.did(Described(rope="UG1", happened=PartialDate(2026), year_made=2018, age_limit_years=10))
    ready.ready("UG2", 60, diameter_mm=9.5, rope_type="A")
    paper = worked_out(ready, routes=["tallow-hole"], years="3", reels="40 m £60\n100 m £170")
    years = (paper.answer or {})["years"]
    assert [each["year"] for each in years] == [2027, 2028, 2029]
    # Made in 2018 and ten years in service at most: to the end of 2028, so that 2029 cannot count on it.
    assert [[rope for rope, *_ in each["leaving"]] for each in years] == [[], [], ["UG1"]]
    assert [each["plan"]["price_pence"] for each in years] == [0, 0, 6000]
    said = words(page_of(ready, paper))
    assert "£60 in 3 years" in said
    assert "2027: nothing." in said
    assert "Tallow Hole£0£0£60£60" in said
    assert "Nothing need be bought" in said


def test_what_a_year_bought_the_next_counts_on(ready: Club) -> None:
    paper = worked_out(ready, routes=["tallow-hole"], years="3")
    assert [each["plan"]["price_pence"] for each in (paper.answer or {})["years"]] == [17_000, 0, 0]


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("reels", "a long one", "cannot be read as a reel"),
        ("reels", "", "Write at least one reel"),
        ("needs", "20 and some", "cannot be read as lengths"),
        ("per_metre", "cheap", "cannot be read as pounds"),
        ("at_once", "9", "4"),
    ],
)
def test_what_cannot_be_read_is_told_beside_its_field_and_nothing_is_made(
    ready: Club, field: str, typed: str, told: str
) -> None:
    wanted = {"needs": "20 m", field: typed}
    answer = ask(ready, **wanted)
    assert answer.status_code == 422
    assert told in answer.content.decode()
    assert not BuyingList.objects.exists()


def test_routes_or_lengths_but_not_neither_and_not_both(ready: Club) -> None:
    assert "Choose a route" in ask(ready).content.decode()
    assert "Either routes or lengths" in ask(ready, routes=["tallow-hole"], needs="20 m").content.decode()


def test_a_route_put_away_meanwhile_is_named(ready: Club) -> None:
    ask(ready, routes=["tallow-hole"])
    ready.keeper.post(f"{ready.address}/routes/tallow-hole/put-away", {"reason": "collapsed"})
    for work in Work.objects.filter(ended=None):
        do_work.call(work.pk)
    said = words(page_of(ready, BuyingList.objects.get()))
    assert "It could not be worked out." in said
    assert "tallow-hole" in said


def test_worked_out_anew_it_counts_what_was_bought_meanwhile(ready: Club) -> None:
    paper = worked_out(ready, routes=["tallow-hole"])
    ready.ready("UG2", 60, diameter_mm=9.5, rope_type="A")
    ready.keeper.post(f"{ready.address}/buying/{paper.pk}", {"again": "1"})
    for work in Work.objects.filter(ended=None):
        do_work.call(work.pk)
    assert "Nothing need be bought" in page_of(ready, paper)


def test_only_a_keeper_asks_and_a_stranger_finds_nothing(ready: Club) -> None:
    paper = worked_out(ready, needs="20 m")
    for who in ("reader", "member", "competent"):
        assert ask(ready, by=who, needs="20 m").status_code == 403
    assert ready.stranger.get(f"{ready.address}/buying/{paper.pk}").status_code == 404
    assert ready.keeper.get(f"{ready.address}/buying/{paper.pk + 1}").status_code == 404
    assert ready.keeper.put(f"{ready.address}/buying").status_code == 405


def cutting(club: Club, by: str = "keeper", **told: str) -> Any:
    return getattr(club, by).get(f"{club.address}/buying/cutting", told)


def test_the_cuts_come_in_order_and_with_the_off_cut_add_up_to_the_reel(ready: Club) -> None:
    answer = cutting(ready, wanted="40, 40, 55", length="200")
    plan = answer.context["plan"]
    parts = sorted([(s.from_cm, s.until_cm) for s in plan.steps] + [(r.from_cm, r.until_cm) for r in plan.rests])
    assert [start for start, _end in parts] == [0, *(end for _start, end in parts[:-1])]
    assert parts[-1][1] == 20_000
    assert plan.holds >= 0.95
    assert "sure that all of them come out long enough" in words(answer.content.decode())


def test_a_measured_piece_changes_what_is_cut_for_the_others(ready: Club) -> None:
    first = cutting(ready, wanted="40, 40, 55", length="200").context["plan"]
    small = next(step for step in first.steps if step.first_of_reel)
    longer = cutting(
        ready, wanted="40, 40, 55", length="200", done=f"{small.cut_cm / 100:g} = {small.cut_cm * 0.97 / 100:.2f}"
    )
    again = longer.context["plan"]
    assert len(again.steps) == 2
    assert sum(step.cut_cm for step in again.steps) < sum(step.cut_cm for step in first.steps[1:])


def test_damage_is_cut_around_and_a_rope_of_the_store_leads_to_recording_its_cut(ready: Club) -> None:
    ready.ready("UG7", 60, diameter_mm=9.5, rope_type="A")
    html = cutting(ready, wanted="20, 20", rope="UG7", damaged="25").content.decode()
    assert "waste, damaged" in html
    link = next(each for each in re.findall(r'href="([^"]+)"', html) if "/do/cut" in each).replace("&amp;", "&")
    form = ready.keeper.get(link).content.decode()
    assert 'value="20 m"' in form


def test_what_cannot_be_cut_is_told(ready: Club) -> None:
    assert "do not come out of it" in cutting(ready, wanted="60, 60", length="100").content.decode()
    assert "“tall” cannot be read" in cutting(ready, wanted="tall").content.decode()
    assert "cannot be read. Write 46" in cutting(ready, wanted="40", done="x = 3").content.decode()
    assert cutting(ready, wanted="40", length="no").status_code == 422
    assert cutting(ready, by="reader", wanted="40").status_code == 200
    assert "/new-ropes?" not in cutting(ready, by="reader", wanted="40").content.decode()
