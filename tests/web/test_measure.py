"""Measuring: two counts agree or a third decides; a phone may send them later, once."""

import json
import re
from typing import Any

import pytest
from django.test import Client

from tethera.basics import PartialDate
from tethera.store import Bought, Dried, Measured, Washed, Weighed
from web.conftest import Club

DAY = PartialDate(2026, 11, 1)


@pytest.fixture
def dry(club: Club) -> Club:
    """One rope, UG1, washed and dry, bought as 30 m."""
    club.did(
        Bought(rope="UG1", happened=DAY, length_cm=3000, rope_type="A", diameter_mm=10.0),
        Washed(rope="UG1", happened=DAY), Dried(rope="UG1", happened=DAY),
    )  # fmt: skip
    return club


def words(club: Club, address: str) -> str:
    """A page without its marks."""
    return re.sub(r"<[^>]+>", "", club.keeper.get(address).content.decode())


def count(club: Club, *counts: str, who: Client | None = None, rope: str = "UG1", **told: str) -> Any:
    typed = {f"count_{number}": each for number, each in enumerate(counts, 1)}
    return (who or club.keeper).post(f"{club.address}/measure/{rope}", typed | {"once": "c1"} | told)


def from_phone(club: Club, *counts: str, who: Client | None = None, **told: str) -> tuple[int, dict[str, Any]]:
    typed = {f"count_{number}": each for number, each in enumerate(counts, 1)} | {"once": "c1", "counted_by": "p1"}
    answer = (who or club.keeper).post(f"{club.address}/measure/UG1", typed | told, headers={"X-Kept": "phone"})
    return answer.status_code, json.loads(answer.content)


def test_ropes_that_wait_for_it_are_offered(dry: Club) -> None:
    shown = dry.keeper.get(f"{dry.address}/measure").content.decode()
    assert f"{dry.address}/measure/UG1" in shown


def test_nothing_to_measure_is_said(club: Club) -> None:
    club.ready("UG1")
    assert "No rope waits for it." in club.keeper.get(f"{club.address}/measure").content.decode()


def test_ropes_measured_one_after_the_other_are_marked_together(dry: Club) -> None:
    dry.did(
        Bought(rope="UG2", happened=DAY, length_cm=3000), Washed(rope="UG2", happened=DAY),
        Dried(rope="UG2", happened=DAY), Measured(rope="UG2", happened=DAY, length_cm=2800, counts_cm=(2800, 2800)),
    )  # fmt: skip
    assert "waits for its marks" not in words(dry, f"{dry.address}/measure?done=UG2")
    count(dry, "28.6", "28.6")
    shown = dry.keeper.get(f"{dry.address}/measure?done=UG1").content.decode()
    assert f'href="{dry.address}/marks?rope=UG1"' in shown
    assert f'<a href="{dry.address}/marks">One rope is measured and waits for its marks</a>' in shown


def test_a_number_typed_or_scanned_leads_to_its_rope(dry: Club) -> None:
    assert dry.keeper.get(f"{dry.address}/measure?number=ug 1")["Location"] == f"{dry.address}/measure/UG1"
    unknown = dry.keeper.get(f"{dry.address}/measure?number=77")
    assert "No rope has the number 77." in unknown.content.decode()
    assert 'value="77"' in unknown.content.decode()


def test_two_counts_that_agree_are_recorded_as_the_lower(dry: Club) -> None:
    done = count(dry, "28.62", "28.60 m", happened="12 Nov 2026", note="on the bench")
    assert done["Location"] == f"{dry.address}/measure?done=UG1"
    assert dry.log()[-1] == Measured(
        rope="UG1", happened=PartialDate(2026, 11, 12), length_cm=2860, counts_cm=(2862, 2860), note="on the bench"
    )
    shown = words(dry, done["Location"])
    assert "UG1 measures 28.6\u202fm. Its mark may say 28\u202fm." in shown
    assert "Mark both ends of UG1" in shown


def test_two_that_do_not_agree_ask_for_a_third_and_keep_what_was_typed(dry: Club) -> None:
    before = dry.events()
    asked = count(dry, "28.60", "29.60")
    assert asked.status_code == 422
    shown = asked.content.decode()
    assert "The first two differ by more than 10 cm. Count a third time: it decides." in shown
    assert 'value="28.60"' in shown
    assert 'value="29.60"' in shown
    assert dry.events() == before


def test_a_third_decides_and_the_odd_one_is_told(dry: Club) -> None:
    count(dry, "28.60", "29.60", "28.63")
    told = dry.log()[-1]
    assert isinstance(told, Measured)
    assert (told.length_cm, told.counts_cm) == (2860, (2860, 2863))
    assert told.note == "Counted 28.6 m, 29.6 m and 28.63 m; the first and the third agree."
    assert "counts-disagree" not in {each.code for each in dry.rope("UG1").findings}


def test_where_no_two_agree_the_lowest_is_kept_and_doubted(dry: Club) -> None:
    count(dry, "28.60", "29.60", "30.60")
    assert dry.rope("UG1").length_cm == 2860
    assert "counts-disagree" in {each.code for each in dry.rope("UG1").findings}


def test_one_count_can_be_recorded(dry: Club) -> None:
    count(dry, "28.6")
    told = dry.log()[-1]
    assert isinstance(told, Measured)
    assert (told.length_cm, told.counts_cm) == (2860, (2860,))
    assert "counted-once" in {each.code for each in dry.rope("UG1").findings}
    count(dry, "28.62", once="c2")
    assert "counted-once" not in {each.code for each in dry.rope("UG1").findings}


def test_measured_wet_is_warned_of_before_and_doubted_after(club: Club) -> None:
    club.did(Bought(rope="UG1", happened=DAY, length_cm=3000), Washed(rope="UG1", happened=DAY))
    assert "It is not recorded as dry." in club.keeper.get(f"{club.address}/measure/UG1").content.decode()
    done = count(club, "28.6", "28.6")
    assert "measured before it was dry" in club.keeper.get(done["Location"]).content.decode()


def test_the_scale_raises_an_alarm_and_changes_no_length(dry: Club) -> None:
    """10 mm rope weighs about 67 g/m: 28.6 m are 1.9 kg, and 3.2 kg are more than 45 m."""
    done = count(dry, "28.60", "28.60", mass="3.2 kg")
    measured, weighed = dry.log()[-2:]
    assert isinstance(measured, Measured)
    assert isinstance(weighed, Weighed)
    assert weighed.mass_g == 3200
    assert dry.rope("UG1").length_cm == 2860
    shown = words(dry, done["Location"])
    assert "its weight speaks for about 48\u202fm; 28.6\u202fm was counted." in shown
    assert shown.count("weight speaks for") == 1


def test_a_rope_that_was_weighed_before_is_judged_by_its_own_weight_in_one_sentence(dry: Club) -> None:
    dry.did(
        Measured(rope="UG1", happened=DAY, length_cm=2300, counts_cm=(2300, 2301)),
        Weighed(rope="UG1", happened=DAY, mass_g=1150),
    )
    shown = words(dry, count(dry, "22.99", "23.01", mass="3.5 kg")["Location"])
    assert "Its weight speaks for about 70\u202fm, its record for 22.99\u202fm." in shown
    assert shown.count("weight speaks for") == 1


def test_a_length_in_doubt_says_what_counts_until_it_is_counted_again(dry: Club) -> None:
    count(dry, "22.99", "23.01")
    shown = words(dry, count(dry, "27.9", "27.95", once="c2")["Location"])
    assert "UG1: 27.9\u202fm counted, and that is in doubt." in shown
    assert "Until it is counted again, its mark may say 22\u202fm and no more." in shown
    assert "Count UG1 again" in shown
    assert "Mark both ends of UG1" not in shown
    assert (dry.rope("UG1").length_cm, dry.rope("UG1").doubted_cm) == (2299, 2790)
    for page in ("marks", "marks/UG1"):
        told = words(dry, f"{dry.address}/{page}?rope=UG1")
        assert "It has become longer: measured 27.9\u202fm, 22.99\u202fm before." in told
        assert "Until it is counted again, 22.99\u202fm counts." in told
        assert "27\u202fm" not in told


def test_a_weight_that_fits_is_only_told(dry: Club) -> None:
    shown = words(dry, count(dry, "28.60", "28.60", mass="1900 g")["Location"])
    assert "Its weight speaks for about 28\u202fm." in shown
    assert "far from" not in shown


@pytest.mark.parametrize(
    ("typed", "told"), [("lots", "not a length"), ("", "Count it off, then write it here."), ("12,", "not a length")]
)
def test_what_is_no_count_is_told(dry: Club, typed: str, told: str) -> None:
    answer = count(dry, typed, "28.60")
    assert answer.status_code == 422
    assert told in answer.content.decode()
    assert 'value="28.60"' in answer.content.decode()
    assert not any(isinstance(each, Measured) for each in dry.log())


def test_sent_twice_it_is_recorded_once(dry: Club) -> None:
    count(dry, "28.60", "28.60")
    count(dry, "28.60", "28.60")
    assert sum(isinstance(each, Measured) for each in dry.log()) == 1


def test_a_phone_is_told_where_to_go_on(dry: Club) -> None:
    assert from_phone(dry, "2862 cm", "2860 cm") == (200, {"next": f"{dry.address}/measure?done=UG1"})
    assert dry.rope("UG1").length_cm == 2860


def test_a_phone_that_sends_later_and_again_records_once_on_the_day_of_the_count(dry: Club) -> None:
    for _ in range(2):
        status, said = from_phone(dry, "2862 cm", "2860 cm", happened="2026-11-12", later="1")
        assert status == 200
        assert said["told"] == "UG1 measures (28.6\u202fm). Its mark may say (28\u202fm)."
        assert said["doubts"] == []
    counted = [each for each in dry.log() if isinstance(each, Measured)]
    assert [each.happened for each in counted] == [PartialDate(2026, 11, 12)]


def test_what_a_phone_sends_wrong_is_told_in_words_and_stays_on_the_phone(dry: Club) -> None:
    status, said = from_phone(dry, "2862 cm", "2760 cm", mass="heavy")
    assert (status, said["keep"]) == (422, True)
    assert "is no weight" in said["told"]
    assert not any(isinstance(each, Measured) for each in dry.log())


def test_counts_of_one_person_are_not_recorded_as_anothers(dry: Club) -> None:
    status, said = from_phone(dry, "2862 cm", "2860 cm", who=dry.competent)
    assert status == 409
    assert said["told"] == "Maud Ellerbeck counted this. Sign in as Maud Ellerbeck to record it."
    assert not any(isinstance(each, Measured) for each in dry.log())


def test_who_may_measure_and_who_may_not(dry: Club) -> None:
    before = dry.events()
    for who in (dry.member, dry.reader):
        assert who.get(f"{dry.address}/measure").status_code == 403
        assert who.get(f"{dry.address}/measure/UG1").status_code == 403
        assert count(dry, "28", "28", who=who).status_code == 403
    assert count(dry, "28", "28", who=dry.stranger).status_code == 404
    assert count(dry, "28", "28", who=dry.nobody)["Location"].startswith("/sign-in")
    assert dry.keeper.put(f"{dry.address}/measure/UG1").status_code == 405
    assert dry.keeper.get(f"{dry.address}/measure/UG99").status_code == 404
    assert dry.events() == before
    count(dry, "28", "28", who=dry.competent)
    assert dry.events() == before + 1


def test_the_page_works_without_any_script(dry: Club) -> None:
    shown = dry.keeper.get(f"{dry.address}/measure/UG1").content.decode()
    assert '<details id="written" open>' in shown
    assert 'id="counter" class="counter" hidden' in shown


def test_a_date_that_could_be_two_is_kept_as_the_year_and_doubted(dry: Club) -> None:
    shown = dry.keeper.get(count(dry, "28.6", "28.6", happened="03/09/2026")["Location"]).content.decode()
    assert dry.log()[-1].happened == PartialDate(2026)
    assert "only the year is kept." in shown
