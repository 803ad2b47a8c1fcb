"""Marks: what needs them, printed, and recorded once both ends carry them."""

import io
import re
from urllib.parse import urlencode

import pdfplumber
import pytest
from django.http import HttpResponse
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Described,
    Dried,
    Marked,
    Measured,
    Retired,
    SetAside,
    StoreDescribed,
    TakenOut,
    Washed,
)
from tethera.web.accounts.models import Account
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


def plain(html: str) -> str:
    """What is read, without the paper it stands on."""
    words = re.sub(r"<[^>]*>", "", re.sub(r"</span>|<span", r" \g<0>", html))
    return re.sub(r"\s+([.,])", r"\1", " ".join(words.replace("&#8239;", " ").replace("\u202f", " ").split()))


def marks_of(club: Club) -> list[tuple[str, int]]:
    return [(each.rope, each.length_m) for each in club.log() if isinstance(each, Marked)]


def test_what_waits_for_marks_is_ticked_with_what_it_may_say_and_the_tube_over_it(club: Club) -> None:
    measured(club)
    html = shown(club)
    assert '<span class="capsule">28&#8239;m</span>' in html
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
    assert "Take the old marks off: it was measured 28.9 m, shorter than its mark of 30 m." in plain(html)
    assert '<span class="struck"><span class="capsule">30&#8239;m</span></span>' in html


def test_a_void_mark_is_told_even_where_the_rope_must_be_washed_first_or_is_out(club: Club) -> None:
    for rope in ("UG1", "UG2"):
        club.ready(rope, 30, diameter_mm=9.0, owner="Ulvergarth Caving Club")
        club.did(Described(rope=rope, happened=TODAY, owner="Fellmoor Potholers"))
    club.did(TakenOut(rope="UG1", happened=TODAY), SetAside(rope="UG2", happened=TODAY, reason="stiff"))
    club.did(Bought(rope="UG3", happened=DAY, length_cm=3000), Washed(rope="UG3", happened=TODAY))
    told = plain(shown(club).partition("Not yet")[2])
    assert re.search(r"UG1 out\. 30 m Its marks are void: it now belongs to Fellmoor Potholers\. Mark it when", told)
    assert re.search(r"UG2 set aside\. 30 m Its marks are void: .* Take the old marks off now; mark it once", told)
    assert re.search(r"UG3 in preparation\. First: dry, measure\.", told)


def test_who_counts_in_feet_still_reads_the_metres_that_are_lettered(club: Club) -> None:
    measured(club)
    Account.objects.filter(memberships__store=club.store).update(units="ft")
    assert '<span class="capsule">28&#8239;m</span>' in shown(club)


def sent(club: Club, by: str = "keeper", **told: object) -> HttpResponse:
    if "record" in told and "rope" in told:
        # As the page was shown, with what each of the ropes may say.
        html = shown(club, f"?{urlencode({'rope': told['rope']}, doseq=True)}")
        told = dict(re.findall(r'name="(says-\w+)" value="([^"]+)"', html)) | told
    return getattr(club, by).post(f"{club.address}/marks", {"paper": "a4", **told})  # type: ignore[no-any-return]


def test_a_form_that_does_not_say_what_the_ends_carry_records_nothing(club: Club) -> None:
    measured(club)
    answer = club.keeper.post(f"{club.address}/marks", {"paper": "a4", "rope": "UG1", "record": "1"})
    assert answer.status_code == 422
    assert "The form does not say what these carry: UG1." in answer.content.decode()
    assert marks_of(club) == []


def test_a_paper_nobody_has_is_told_and_not_taken_for_another(club: Club) -> None:
    measured(club)
    for path in ("marks?paper=a5", "marks/strips.pdf?rope=UG1&paper=a5"):
        answer = club.keeper.get(f"{club.address}/{path}")
        assert answer.status_code == 400
        assert "“a5” is no paper for marks. Known are a4, letter, tape-12" in answer.content.decode()
    assert sent(club, rope="UG1", paper="legal", print="1").status_code == 400


@pytest.mark.parametrize("who", ["keeper", "reader"])
def test_what_is_ticked_typed_and_chosen_is_printed_without_a_step_between(club: Club, who: str) -> None:
    measured(club, "UG1")
    measured(club, "UG2")
    answer = sent(club, who, rope="UG1", more="2", paper="letter", **{"over-UG1": "10,8", "print": "1"})
    assert answer.status_code == 302
    printed = club.reader.get(answer["Location"])
    assert printed.headers["Content-Type"] == "application/pdf"
    with pdfplumber.open(io.BytesIO(printed.content)) as pdf:
        assert round(pdf.pages[0].width * 25.4 / 72, 1) == 279.4
        said = " ".join(page.extract_text() for page in pdf.pages)
    assert said.count("UG1: wind round 10.8 mm") == 2
    assert said.count("UG2: wind round 10.3 mm") == 2


def test_the_paper_chosen_is_remembered_on_this_device(club: Club) -> None:
    measured(club)
    sent(club, rope="UG1", paper="tape-18", print="1")
    assert re.search(r'value="tape-18"\s+checked', shown(club))
    assert re.search(r'value="a4"\s+checked', shown(club, by="reader"))


def test_a_rope_of_unknown_diameter_asks_for_it_and_is_not_printed(club: Club) -> None:
    measured(club, diameter_mm=None)
    html = shown(club, "?rope=UG1")
    assert "Nobody declared the diameter of UG1." in html
    assert f"{club.address}/ropes/UG1/describe" in html
    answer = sent(club, rope="UG1", print="1")
    assert answer.status_code == 422
    assert "Nothing is printed yet. See beside UG1, or untick." in answer.content.decode()
    wrong = sent(club, rope="UG1", print="1", **{"over-UG1": "ten"})
    assert wrong.status_code == 422
    assert "is no diameter" in wrong.content.decode()
    assert 'value="ten"' in wrong.content.decode()
    assert sent(club, rope="UG1", print="1", **{"over-UG1": "10.4"}).status_code == 302
    # Without a strip it can still be lettered by hand, and recorded.
    assert sent(club, rope="UG1", hand="1")["Location"] == f"{club.address}/marks/UG1"
    assert sent(club, rope="UG1", record="1").status_code == 302


@pytest.mark.parametrize("act", ["print", "hand", "record"])
def test_nothing_ticked_does_nothing_and_says_what_to_tick(club: Club, act: str) -> None:
    measured(club)
    answer = sent(club, **{act: "1"})
    assert answer.status_code == 422
    assert "Tick the ropes" in answer.content.decode()
    assert not re.search(r'value="UG1"\s+checked', answer.content.decode())
    assert marks_of(club) == []


@pytest.mark.parametrize("act", ["print", "hand", "record"])
def test_a_number_the_store_never_had_stops_the_act_and_stays_where_it_was_typed(club: Club, act: str) -> None:
    measured(club)
    answer = sent(club, rope="UG1", more="UG77", **{act: "1"})
    assert answer.status_code == 422
    assert re.search(r"<textarea[^>]*>UG77</textarea>", answer.content.decode())
    assert re.search(r'value="UG1"\s+checked', answer.content.decode())
    assert marks_of(club) == []


def test_a_rope_typed_at_the_last_moment_is_shown_before_its_mark_is_recorded(club: Club) -> None:
    measured(club, "UG1")
    club.ready("UG2", 30, diameter_mm=9.0)
    answer = sent(club, rope="UG1", more="UG2", record="1")
    assert answer.status_code == 422
    html = answer.content.decode()
    assert "look first at what the ropes you added may say" in html
    assert re.search(r'value="UG2"\s+checked', html)
    assert marks_of(club) == [("UG2", 30)]
    assert sent(club, rope=["UG1", "UG2"], record="1").status_code == 302
    assert marks_of(club) == [("UG2", 30), ("UG1", 28), ("UG2", 30)]


def test_a_rope_measured_again_meanwhile_is_not_recorded_with_a_mark_it_does_not_carry(club: Club) -> None:
    measured(club)
    says = re.search(r'name="says-UG1" value="([^"]+)"', shown(club))
    assert says is not None
    club.did(Measured(rope="UG1", happened=TODAY, length_cm=2750, counts_cm=(2750, 2750)))
    answer = sent(club, rope="UG1", record="1", **{"says-UG1": says[1]})
    assert answer.status_code == 422
    assert "has changed since you opened this page: UG1" in answer.content.decode()
    assert marks_of(club) == []


def test_what_is_unticked_stays_on_the_page_with_what_was_typed_for_it(club: Club) -> None:
    club.ready("UG1", 30, diameter_mm=9.0)
    html = sent(club, shown="UG1", look="1", **{"over-UG1": "9.9"}).content.decode()
    assert re.search(r'name="rope" value="UG1">', html)
    assert re.search(r'name="over-UG1" value="9.9"', html)


def test_of_several_lettering_goes_on_from_rope_to_rope(club: Club) -> None:
    for rope in ("UG1", "UG2", "UG3"):
        measured(club, rope)
    answer = sent(club, rope=["UG1", "UG2", "UG3"], hand="1")
    assert answer["Location"] == f"{club.address}/marks/UG1?then=UG2+UG3"


def test_of_many_ropes_only_the_first_strips_are_drawn_and_no_rope_is_left_out(club: Club) -> None:
    ropes = [measured(club, f"UG{n}") for n in range(1, 15)]
    html = shown(club)
    assert html.count('class="strip"') == 12
    assert all(f">{rope}</a>" in html for rope in ropes)
    assert sent(club, rope=ropes, record="1").status_code == 302
    assert len(marks_of(club)) == 14


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
    measured(club, "UG2", 2799)
    assert sent(club, record="1", rope=["UG1", "UG2"]).status_code == 302
    assert marks_of(club) == [("UG1", 28), ("UG2", 27)]
    event = club.log()[-1]
    assert isinstance(event, Marked)
    assert event.words.startswith("UG2 · 10 mm type A · in service")


def test_a_store_that_keeps_some_back_prints_and_records_less(club: Club) -> None:
    measured(club)
    club.did(StoreDescribed(happened=DAY, code="UG", owner="Ulvergarth Caving Club", label_keeps_back_percent=5))
    assert '<span class="capsule">27&#8239;m</span>' in shown(club)
    sent(club, rope="UG1", record="1")
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


@pytest.mark.parametrize("who", ["member", "reader"])
def test_who_may_not_prepare_ropes_may_look_and_print_but_not_record(club: Club, who: str) -> None:
    measured(club)
    html = shown(club, by=who)
    assert "Print the strips" in html
    assert "record the marks" not in html
    client = getattr(club, who)
    assert client.post(f"{club.address}/marks", {"look": "1", "rope": "UG1"}).status_code == 200
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
    says = dict(re.findall(r'name="(says-\w+)" value="([^"]+)"', html))
    for _ in range(2):
        assert sent(club, record="1", rope="UG1", once=token[1], **says).status_code == 302
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
