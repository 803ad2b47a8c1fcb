"""Preparation: which rope is at which step, and many of them recorded at once."""

from datetime import UTC, datetime
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Chained,
    Dried,
    Inspected,
    Marked,
    Measured,
    PutIntoService,
    Returned,
    Spun,
    StoreDescribed,
    TakenOut,
    Washed,
)
from web.conftest import Club

DAY = PartialDate(2026, 11, 1)


@pytest.fixture
def new(club: Club) -> Club:
    """Three new ropes of 60, 30 and 12 m."""
    for number, metres in ((1, 60), (2, 30), (3, 12)):
        club.did(Bought(rope=f"UG{number}", happened=DAY, length_cm=metres * 100, rope_type="A", diameter_mm=10.0))
    return club


def board(club: Club, who: Client | None = None, **asked: Any) -> str:
    return (who or club.keeper).get(f"{club.address}/preparation", asked).content.decode()


def press(club: Club, step: str, *ropes: str, who: Client | None = None, **told: Any) -> Any:
    """A button of the board."""
    return (who or club.keeper).post(f"{club.address}/preparation", {"step": step, "rope": ropes} | told)


def record(club: Club, step: str, *ropes: str, who: Client | None = None, **told: Any) -> Any:
    """The button on the screen of a step."""
    return (who or club.keeper).post(
        f"{club.address}/preparation/{step}", {"rope": ropes, "shown": ropes, "once": f"{step}{ropes}"} | told
    )


def test_nothing_in_preparation_says_where_ropes_come_from(club: Club) -> None:
    shown = board(club)
    assert "No rope is in preparation." in shown
    assert f"{club.address}/new-ropes" in shown


def test_each_rope_stands_under_its_next_step_with_how_to_fold_it(new: Club) -> None:
    new.did(Washed(rope="UG3", happened=DAY))
    shown = board(new)
    wash, dry = shown.split("To be washed")[1].split("Drying")
    assert "UG1" in wash
    assert "fold into 4 strands; the chain is then about 5\u202fm" in wash
    assert "fold into 2 strands" in wash
    assert "UG3" in dry
    assert "UG1" not in dry


def test_since_when_is_a_moment_where_it_was_written_down_that_day(new: Club) -> None:
    now = timezone.now()
    new.did(Washed(rope="UG1", happened=PartialDate.of(timezone.localdate())), recorded=now)
    assert f"today {timezone.localtime(now):%H:%M}" in board(new)
    new.did(Washed(rope="UG2", happened=PartialDate(2026, 11)), recorded=datetime(2026, 11, 20, 9, tzinfo=UTC))
    assert "Nov 2026" in board(new)


def test_a_wash_is_asked_about_on_a_screen_of_its_own_and_recorded_for_all(new: Club) -> None:
    went = press(new, "washed", "UG1", "UG2")
    assert went["Location"] == f"{new.address}/preparation/washed?rope=UG1&rope=UG2"
    assert new.keeper.get(went["Location"]).content.decode().count('name="rope"') == 2
    done = record(
        new,
        "washed",
        "UG1",
        "UG2",
        how="machine",
        temperature_c="30",
        soap="pure",
        happened="12 Nov 2026",
        note="muddy",
    )
    assert done.status_code == 302
    washed = [each for each in new.log() if isinstance(each, Washed)]
    assert washed == [
        Washed(
            rope=rope, happened=PartialDate(2026, 11, 12), how="machine", temperature_c=30, soap="pure", note="muddy"
        )
        for rope in ("UG1", "UG2")
    ]
    assert "Washed: UG1, UG2." in board(new)


def test_dry_is_recorded_with_one_press(new: Club) -> None:
    new.did(*(Washed(rope=rope, happened=DAY) for rope in ("UG1", "UG2")))
    press(new, "dried", "UG1", "UG2", once="d")
    press(new, "dried", "UG1", "UG2", once="d")
    today = PartialDate.of(timezone.localdate())
    assert [each for each in new.log() if isinstance(each, Dried)] == [
        Dried(rope=rope, happened=today) for rope in ("UG1", "UG2")
    ]
    assert new.rope("UG1").waits[0] == "measure"


def test_chaining_offers_the_strands_for_each_rope(new: Club) -> None:
    shown = new.keeper.get(f"{new.address}/preparation/chained?rope=UG1&rope=UG3").content.decode()
    assert 'name="of-UG1" value="4"' in shown
    assert 'name="of-UG3" value="1"' in shown
    record(new, "chained", "UG1", "UG3", **{"of-UG1": "4", "of-UG3": "1"})
    assert [(e.rope, e.strands) for e in new.log() if isinstance(e, Chained)] == [("UG1", 4), ("UG3", 1)]
    assert "chained in 4 strands" in board(new)


def test_any_other_step_can_be_recorded_and_what_was_left_out_is_doubted(new: Club) -> None:
    went = press(new, "other", "UG1", other="spun")
    assert went["Location"].endswith("/preparation/spun?rope=UG1")
    record(new, "spun", "UG1")
    assert isinstance(new.log()[-1], Spun)
    # Measured and marked without a wash: put into service all the same, with the doubt beside it.
    new.did(Measured(rope="UG1", happened=DAY, length_cm=5500), Marked(rope="UG1", happened=DAY, length_m=55))
    press(new, "put-into-service", "UG1")
    assert new.rope("UG1").state == "ready"
    assert "not-washed" in {each.code for each in new.rope("UG1").findings}


def measured(club: Club, *ropes: str) -> None:
    for rope in ropes:
        club.did(
            Washed(rope=rope, happened=DAY), Dried(rope=rope, happened=DAY),
            Measured(rope=rope, happened=DAY, length_cm=2860, counts_cm=(2860, 2862)),
        )  # fmt: skip


def test_marks_are_filled_in_rounded_down_with_the_words_of_each_end(new: Club) -> None:
    measured(new, "UG2")
    shown = new.keeper.get(f"{new.address}/preparation/marked?rope=UG2").content.decode()
    assert 'name="of-UG2" value="28"' in shown
    assert '<span class="capsule">28\u202fm</span>' in shown
    words = f"UG2 · 10 mm type A · in service {timezone.localdate():%b %Y} · Ulvergarth Caving Club"
    assert words in shown
    record(new, "marked", "UG2", **{"of-UG2": "27"})
    marked = new.log()[-1]
    assert isinstance(marked, Marked)
    assert (marked.length_m, marked.words) == (27, words)


def test_a_store_that_keeps_some_back_says_less_on_its_marks(new: Club) -> None:
    measured(new, "UG2")
    new.did(StoreDescribed(happened=DAY, code="UG", owner="Ulvergarth Caving Club", label_keeps_back_percent=5))
    shown = new.keeper.get(f"{new.address}/preparation/marked?rope=UG2").content.decode()
    assert 'name="of-UG2" value="27"' in shown
    assert "keeps 5 % back" in shown


def test_a_mark_above_the_length_is_asked_about_and_then_recorded_with_the_doubt(new: Club) -> None:
    measured(new, "UG2", "UG1")
    before = new.events()
    asked = record(new, "marked", "UG2", "UG1", **{"of-UG2": "30", "of-UG1": "28"})
    assert asked.status_code == 422
    shown = asked.content.decode()
    assert "These marks say more metres than the rope is known to have: UG2." in shown
    assert 'name="of-UG2" value="30"' in shown
    assert new.events() == before
    record(new, "marked", "UG2", "UG1", sure="UG2:30", **{"of-UG2": "30", "of-UG1": "28"})
    shown = board(new)
    assert "Marks no longer true" in shown
    assert "Take the mark off and mark it anew." in shown


def test_a_rope_without_a_length_of_its_own_must_be_told_what_its_mark_says(new: Club) -> None:
    asked = record(new, "marked", "UG1", **{"of-UG1": ""})
    assert asked.status_code == 422
    assert "Write whole metres, or leave this rope unticked." in asked.content.decode()


def test_what_is_missing_stands_beside_its_rope_and_the_others_stay_ticked(new: Club) -> None:
    measured(new, "UG2", "UG3")
    new.did(Marked(rope="UG2", happened=DAY, length_m=28))
    before = new.events()
    refused = press(new, "put-into-service", "UG1", "UG2", "UG3")
    assert refused.status_code == 409
    shown = refused.content.decode()
    assert new.events() == before
    lines = {each.split('"')[0]: each for each in shown.split('name="shown" value="')[1:]}
    assert "it was never measured" in lines["UG1"]
    assert "its ends are not marked" in lines["UG3"]
    assert [rope for rope, line in lines.items() if " checked" in line] == ["UG2"]
    done = new.keeper.post(
        f"{new.address}/preparation/put-into-service", {"shown": ["UG1", "UG2", "UG3"], "rope": ["UG2"], "once": "p"}
    )
    assert done.status_code == 302
    assert new.rope("UG2").state == "ready"
    assert isinstance(new.log()[-1], PutIntoService)


def test_a_declaration_made_on_an_old_page_is_told_that_something_happened(new: Club) -> None:
    measured(new, "UG2")
    new.did(Marked(rope="UG2", happened=DAY, length_m=28))
    seen = new.events()
    new.did(Measured(rope="UG2", happened=DAY, length_cm=2855))
    answer = press(new, "put-into-service", "UG2", seen=str(seen))
    assert answer.status_code == 409
    assert "Somebody was quicker" in answer.content.decode()


def test_only_a_competent_person_records_the_check(club: Club) -> None:
    club.ready("UG1")
    club.did(TakenOut(rope="UG1", happened=DAY), Returned(rope="UG1", happened=DAY, clean=True, dry=True))
    before = club.events()
    assert "A competent person checks these" in board(club)
    assert record(club, "checked", "UG1", findings="fine").status_code == 403
    assert club.events() == before
    assert "Record the check" in board(club, club.competent)
    record(club, "checked", "UG1", who=club.competent, findings="Felt along, nothing found.")
    check = club.log()[-1]
    assert isinstance(check, Inspected)
    assert (check.outcome, check.person, check.findings) == ("fit", "p2", "Felt along, nothing found.")
    assert club.rope("UG1").state == "ready"


def test_nothing_ticked_is_said(new: Club) -> None:
    before = new.events()
    for answer in (press(new, "dried"), record(new, "washed")):
        assert answer.status_code == 422
        assert "ick" in answer.content.decode()
    assert new.keeper.get(f"{new.address}/preparation/washed")["Location"] == f"{new.address}/preparation"
    assert new.events() == before


def test_bad_words_are_told_and_all_that_was_typed_stays(new: Club) -> None:
    before = new.events()
    answer = new.keeper.post(
        f"{new.address}/preparation/washed",
        {"rope": ["UG1"], "shown": ["UG1", "UG2"], "temperature_c": "warm", "soap": "pure", "happened": "someday"},
    )
    assert answer.status_code == 422
    shown = answer.content.decode()
    assert "Write whole degrees, as 30." in shown
    assert "not a date that can be read" in shown
    assert 'value="warm"' in shown
    assert 'value="pure"' in shown
    assert shown.count('name="rope"') == 2
    assert shown.count(" checked") >= 1
    assert new.events() == before


def test_what_is_written_beside_a_rope_that_is_not_ticked_is_kept_and_not_judged(new: Club) -> None:
    measured(new, "UG2", "UG3")
    told = {"shown": ["UG2", "UG3"], "rope": ["UG2"], "of-UG2": "28", "of-UG3": "many", "once": "x"}
    assert new.keeper.post(f"{new.address}/preparation/marked", told).status_code == 302
    assert [each.rope for each in new.log() if isinstance(each, Marked)] == ["UG2"]


def test_who_may_prepare_and_who_may_not(new: Club) -> None:
    before = new.events()
    for who in (new.member, new.reader):
        assert who.get(f"{new.address}/preparation").status_code == 403
        assert press(new, "dried", "UG1", who=who).status_code == 403
        assert record(new, "washed", "UG1", who=who).status_code == 403
    assert press(new, "dried", "UG1", who=new.stranger).status_code == 404
    assert record(new, "washed", "UG1", who=new.nobody)["Location"].startswith("/sign-in")
    assert new.keeper.put(f"{new.address}/preparation/washed").status_code == 405
    assert new.events() == before
    assert press(new, "dried", "UG1", who=new.competent).status_code == 302
    assert new.events() == before + 1


def test_a_step_or_a_rope_that_is_not_there_is_not_found(new: Club) -> None:
    assert new.keeper.get(f"{new.address}/preparation/ironed?rope=UG1").status_code == 404
    assert press(new, "ironed", "UG1").status_code == 404
    assert press(new, "dried", "UG99").status_code == 404
    assert new.events() == 4


def test_a_date_that_could_be_two_is_kept_as_the_year_and_doubted(new: Club) -> None:
    record(new, "dried", "UG1", happened="03/09/2026")
    assert new.log()[-1].happened == PartialDate(2026)
    assert "could be 3 Sep 2026 or 9 Mar 2026; only the year is kept." in board(new)
