"""Examining one rope: what is recorded, signed and drawn, what clears it, and the cut a fault asks for."""

import re
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from tethera.basics import PartialDate
from tethera.store import Bought, Cleared, Cut, Inspected, SetAside, StoreDescribed
from tethera.web.accounts.models import Membership
from tethera.web.store.opened import held
from web.conftest import DAY, Club

LATER = PartialDate(2024, 6, 1)
FIT = {"reason": "periodic", "findings": "nothing found", "outcome": "fit", "happened": "2024-06-01", "signed": "on"}


def examine(club: Club, who: Client | None = None, rope: str = "UG1", **told: Any) -> Any:
    sent = {"act": "record", "rows": "12", **FIT, **told}
    return (who or club.competent).post(f"{club.address}/inspect/{rope}", {k: v for k, v in sent.items() if v != ""})


def flat_spot(at: str = "12.4") -> dict[str, str]:
    return {"f0-at": at, "f0-what": "flat spot"}


def page_of(club: Club, address: str = "/inspect/UG1") -> str:
    return club.competent.get(club.address + address).content.decode()


def test_only_a_competent_person_examines(club: Club) -> None:
    club.ready("UG1")
    before = club.events()
    for who, status in (
        *((each, 403) for each in (club.keeper, club.member, club.reader)), (club.stranger, 404), (club.nobody, 302),
    ):  # fmt: skip
        assert examine(club, who).status_code == status
        assert who.get(f"{club.address}/inspect/UG1").status_code == status
    assert club.events() == before
    assert examine(club).status_code == 302
    assert club.log()[-1] == Inspected(
        rope="UG1", happened=LATER, reason="periodic", findings="nothing found", outcome="fit", person="p2"
    )
    assert club.competent.put(f"{club.address}/inspect/UG1").status_code == 405
    assert club.competent.get(f"{club.address}/inspect/UG99").status_code == 404


def test_who_may_not_examine_is_told_who_does(club: Club) -> None:
    """A keeper is never told to ask the keeper, that is themselves."""
    club.ready("UG1")

    def told(who: Client, path: str = "inspect/UG1") -> str:
        return who.get(f"{club.address}/{path}").content.decode()

    for who in (club.keeper, club.member):
        assert "Only a competent person examines ropes and clears them. Ask Tobias Quarmby." in told(who)
    Membership.objects.filter(store=club.store, person="p2").delete()
    link = f'<a href="{club.address}/people">Name a competent person</a>'
    for path in ("inspect/UG1", "inspect"):
        assert link in told(club.keeper, path)
        assert "sk the tackle keeper" not in told(club.keeper, path)
        assert link not in told(club.member, path)
    assert "Nobody here is one yet: the tackle keeper names one." in told(club.member)


def test_a_keeper_who_is_competent_too_examines(club: Club) -> None:
    from tethera.web.accounts.models import Membership

    club.ready("UG1")
    Membership.objects.filter(store=club.store, person="p1").update(competent=True)
    assert examine(club, club.keeper).status_code == 302
    last = club.log()[-1]
    assert isinstance(last, Inspected)
    assert last.person == "p1"


def test_the_next_day_follows_from_the_stores_rule_and_can_be_changed(club: Club) -> None:
    club.ready("UG1")
    assert 'name="next_due"' in page_of(club)
    club.did(StoreDescribed(happened=LATER, code="UG", inspection_months=6))
    assert re.search(r'name="next_due" value="\d\d? [A-Z][a-z]{2} 20\d\d"', page_of(club))
    assert "LOLER regulation 9(3)(a)(i)" in page_of(club)
    examine(club, next_due="Dec 2024")
    assert club.rope("UG1").next_due == PartialDate(2024, 12)
    assert "not after this examination" in examine(club, next_due="2024-05-01").content.decode()


def test_what_was_found_along_it_is_written_in_order_of_place(club: Club) -> None:
    club.ready("UG1")
    told = {
        **flat_spot("12.4"), "f1-at": "3 m 05", "f1-what": "glazed", "f1-words": "a fast descent",
        "f2-what": "stiff", "f3-at": "0", "f3-what": "other", "f3-words": "mark half gone",
    }  # fmt: skip
    assert examine(club, **told, outcome="undecided").status_code == 302
    last = club.log()[-1]
    assert isinstance(last, Inspected)
    assert last.findings == (
        "Mark half gone at 0 m; glazed at 3.05 m (a fast descent); flat spot at 12.4 m; stiff. nothing found"
    )
    assert "check" in club.rope("UG1").waits


def test_it_is_drawn_while_it_is_written_and_nothing_is_recorded(club: Club) -> None:
    club.ready("UG1", 30)
    before = club.events()
    told = {"act": "look", "rows": "12", **flat_spot(), "f1-at": "31", "f1-what": "soft"}
    address = f"{club.address}/inspect/UG1"
    part = club.competent.post(address, told, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert part.count("<svg") == 2
    assert "flat spot at 12.4 m" in part
    assert "lies beyond the end of the rope" in part
    assert re.search(r"A cut at 12.4\u202fm leaves.*12\u202fm.*17\u202fm", part, re.DOTALL)
    whole = club.competent.post(address, {**told, "findings": "furry near one end"}).content.decode()
    assert "<html" in whole
    assert "furry near one end" in whole
    assert "aria-invalid" not in whole
    more = club.competent.post(address, {**told, "act": "more"}).content.decode()
    assert 'name="f12-at"' in more
    assert 'name="rows" value="13"' in more
    assert club.events() == before


def test_a_fault_at_a_place_leads_to_the_cut_with_its_lengths_filled_in(club: Club) -> None:
    club.ready("UG1", 30)
    answer = examine(club, **flat_spot(), outcome="not fit", findings="")
    page = club.competent.get(answer["Location"]).content.decode()
    assert "flat spot at 12.4 m" in page
    link = re.search(r'href="([^"]*do/cut\?[^"]*)"', page)
    assert link
    form = club.competent.get(link[1].replace("&amp;", "&")).content.decode()
    assert 'value="12 m"' in form
    assert 'value="17 m"' in form
    assert 'value="flat spot at 12.4 m"' in form
    club.competent.post(f"{club.address}/ropes/UG1/do/cut", {"piece_1": "12 m", "piece_2": "17 m"})
    assert isinstance(club.log()[-1], Cut)
    assert club.rope("UG2").state == "set aside"
    assert "It is retired" in club.competent.get(answer["Location"]).content.decode()


def test_several_faults_propose_each_cut_and_all_of_them(club: Club) -> None:
    club.ready("UG1", 60)
    answer = examine(club, **flat_spot("10"), **{"f1-at": "40", "f1-what": "core shows"}, outcome="not fit")
    page = club.competent.get(answer["Location"]).content.decode()
    assert page.count("Record this cut") == 3
    assert "piece_1=9+m&amp;piece_2=29+m&amp;more=19+m" in page
    for who, status in ((club.keeper, 200), (club.member, 403), (club.stranger, 404)):
        assert who.get(answer["Location"]).status_code == status
    assert club.keeper.get(f"{club.address}/inspect/UG1/cut-out?at=x&what=y&at=99999999").status_code == 200


def test_a_place_beyond_the_end_is_recorded_and_doubted(club: Club) -> None:
    club.ready("UG1", 10)
    answer = examine(club, **flat_spot())
    assert answer["Location"] == f"{club.address}/ropes/UG1"
    assert "lies beyond its" in club.competent.get(answer["Location"]).content.decode()


def test_not_fit_sets_aside_and_keeps_what_it_was_set_aside_for(club: Club) -> None:
    club.ready("UG1")
    club.did(SetAside(rope="UG1", happened=DAY, reason="a fall"))
    examine(club, outcome="not fit", findings="core shows at the knot")
    assert isinstance(club.log()[-1], Inspected)
    assert club.rope("UG1").set_aside == "not fit when inspected: core shows at the knot; a fall"
    refused = examine(club, outcome="not fit", clear="on", answered="all well")
    assert refused.status_code == 422
    assert "Only a rope that is fit to go back can be cleared." in refused.content.decode()


def test_clearing_needs_what_answers_it_in_writing(club: Club) -> None:
    club.ready("UG1")
    club.did(SetAside(rope="UG1", happened=DAY, reason="a fall, 1 May 2024"))
    page = page_of(club)
    assert re.search(r'value="in doubt"|value="after a fall"[^>]*checked', page)
    before = club.events()
    refused = examine(club, clear="on")
    told = refused.content.decode()
    assert refused.status_code == 409
    assert "What the competent person found is not written." in told
    assert "nothing found" in told
    assert club.events() == before
    assert examine(club).status_code == 302
    assert club.rope("UG1").state == "set aside"
    for _ in range(2):
        done = examine(club, clear="on", answered="a small fall, nothing found along it", once="t")
        assert done.status_code == 302
    assert club.log()[-1] == Cleared(
        rope="UG1", happened=LATER, person="p2", findings="a small fall, nothing found along it"
    )
    assert len([each for each in club.log() if isinstance(each, Cleared)]) == 1
    assert club.rope("UG1").state == "ready"


def test_a_rope_that_was_not_fit_is_cleared_by_a_new_examination(club: Club) -> None:
    club.ready("UG1")
    examine(club, outcome="not fit", findings="glazed")
    assert examine(club, clear="on", answered="it was wax, and is off").status_code == 302
    assert club.rope("UG1").state == "ready"


def test_clearing_on_ground_that_changed_is_told(club: Club) -> None:
    club.ready("UG1")
    club.did(SetAside(rope="UG1", happened=DAY, reason="a fall"))
    seen = re.search(r'name="seen" value="(\d+)"', page_of(club))
    assert seen
    club.did(SetAside(rope="UG1", happened=LATER, reason="acid"))
    answer = examine(club, clear="on", answered="nothing found", seen=seen[1])
    assert answer.status_code == 409
    assert "Somebody was quicker" in answer.content.decode()


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"signed": ""}, "Without a signature it is no examination."),
        ({"outcome": ""}, "This is missing."),
        ({"findings": ""}, "if only that you saw nothing"),
        ({"f0-at": "12.4"}, "Say what is there."),
        ({"f0-at": "30/40", "f0-what": "soft"}, "Split the row or pick one."),
        ({"f0-what": "other"}, "Say it in your own words."),
        ({"happened": "someday"}, "not a date that can be read"),
    ],
)
def test_what_is_missing_is_said_beside_its_field_and_nothing_is_lost(
    club: Club, told: dict[str, str], said: str
) -> None:
    club.ready("UG1")
    before = club.events()
    answer = examine(club, **{"next_due": "Dec 2099", **told})
    page = answer.content.decode()
    assert 'value="Dec 2099"' in page
    assert answer.status_code == 422
    assert said in page
    assert club.events() == before


def test_feet_are_read_from_who_asked_for_them(club: Club) -> None:
    from tethera.web.accounts.models import Account

    club.ready("UG1")
    Account.objects.filter(name="Tobias Quarmby").update(units="ft")
    assert "At, feet" in page_of(club)
    examine(club, **flat_spot("10"))
    last = club.log()[-1]
    assert isinstance(last, Inspected)
    assert last.findings.startswith("Flat spot at 3.04 m.")


def test_a_rope_of_unknown_length_and_a_new_one_can_be_examined(club: Club) -> None:
    from tethera.store import RecordedAsFound

    club.did(
        RecordedAsFound(rope="UG1", happened=DAY, known_by="sheet"), Bought(rope="UG2", happened=DAY, length_cm=100)
    )
    assert "Its length is not known, so nothing can be drawn along it." in page_of(club)
    assert examine(club, **flat_spot())["Location"] == f"{club.address}/ropes/UG1"
    assert re.search(r'value="before first use"[^>]*checked', page_of(club, "/inspect/UG2"))


def test_fit_beside_a_fault_is_recorded_and_doubted(club: Club) -> None:
    club.ready("UG1", 30)
    told = "“Fit to go back” stands beside what was found: flat spot at 12.4 m."
    looked = club.competent.post(
        f"{club.address}/inspect/UG1",
        {**FIT, "act": "look", "rows": "12", **flat_spot()},
        headers={"HX-Request": "true"},
    )
    assert told in looked.content.decode()
    before = club.events()
    answer = examine(club, **flat_spot())
    assert club.events() == before + 1
    last = club.log()[-1]
    assert isinstance(last, Inspected)
    assert last.outcome == "fit"
    # It stays with its day, on the rope's own page too (test_fit_beside_a_fault).
    recorded = "“Fit to go back” stands beside what was found, 1 Jun 2024: Flat spot at"
    assert recorded in club.competent.get(answer["Location"]).content.decode()
    assert "stands beside a fault that is named" in page_of(club)


@pytest.mark.parametrize("outcome", ["not fit", "undecided"])
def test_another_outcome_beside_a_fault_is_not_doubted(club: Club, outcome: str) -> None:
    club.ready("UG1", 30)
    answer = examine(club, **flat_spot(), outcome=outcome)
    assert "stands beside" not in club.competent.get(answer["Location"]).content.decode()
    assert "stands beside" not in page_of(club)


def test_fit_without_a_fault_is_not_doubted(club: Club) -> None:
    club.ready("UG1", 30)
    examine(club, findings="No flat spot and nothing stiff.")
    assert "stands beside" not in page_of(club)


def test_what_is_known_of_it_stands_before_the_form(club: Club) -> None:
    club.ready("UG1")
    page = page_of(club)
    assert page.index("Before you begin") < page.index("Examined before") < page.index('name="reason"')


def test_the_outcome_has_the_same_words_wherever_it_is_chosen_and_read(club: Club) -> None:
    from tethera.store import equipment_record
    from tethera.web.paper.words import CHOICES, OUTCOMES

    club.ready("UG1")
    page = page_of(club)
    for word, said in (("fit", "fit to go back"), ("not fit", "not fit"), ("undecided", "undecided")):
        assert CHOICES[word] == said
        assert str(dict(OUTCOMES)[word]).startswith(f"{said}: ")
        assert str(dict(OUTCOMES)[word]) in page
        examine(club, outcome=word)
        with held(club.store.pk) as opened:
            told = equipment_record(opened.register, "UG1", timezone.localdate(), str)
        assert told.examinations[-1].outcome == said
        assert f"Outcome: {said}." in page_of(club)
