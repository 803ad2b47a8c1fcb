"""Corrections: both stand afterwards; the keeper's, an examination's only the competent person's."""

import re
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.test import Client

from store.test_life import filled
from tethera.basics import PartialDate
from tethera.store import (
    EVENT_KINDS,
    Booked,
    Bought,
    Corrected,
    Cut,
    DocumentAttached,
    Event,
    Inspected,
    Marked,
    Measured,
    Piece,
    PutIntoService,
    RecordedAsFound,
    Returned,
    RoutePutAway,
    RouteWritten,
    SetAside,
    Stocktaken,
    StoreDescribed,
    TakenOut,
    Used,
    Washed,
)
from tethera.web.ropes.one_event_form import fields_of
from tethera.web.ropes.one_event_words import LABELS
from web.conftest import DAY, Club

LATER = PartialDate(2024, 6, 1)


def address(club: Club, number: int, rope: str = "UG1") -> str:
    return f"{club.address}/ropes/{rope}/correct/{number}"


def typed(page: str) -> dict[str, str]:
    """A form's fields as a browser would send them."""
    form = page.split('data-draft="correct-')[1].split("</form>")[0]
    told: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", form):
        name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
        if name and not ('type="checkbox"' in tag and " checked" not in tag):
            told[name[1]] = _text(value[1]) if value else "on" if 'type="checkbox"' in tag else ""
    for name_, text in re.findall(r'<textarea name="([^"]*)"[^>]*>(.*?)</textarea>', form, re.DOTALL):
        told[name_] = _text(text).lstrip("\n").replace("\r\n", "\n").replace("\n", "\r\n")
    for name_, options in re.findall(r'<select name="([^"]*)".*?>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)"[^>]*selected', options)
        told[name_] = _text(chosen[1]) if chosen else ""
    return told


def _text(html: str) -> str:
    from html import unescape

    return unescape(html)


def correct(club: Club, who: Client, number: int, rope: str = "UG1", **changed: str) -> Any:
    """Open the form of an entry, change something in it, and send it."""
    told = typed(who.get(address(club, number, rope)).content.decode())
    return who.post(address(club, number, rope), told | {"reason": "read the wrong line"} | changed)


def test_the_keeper_corrects_an_entry_and_both_stand(club: Club) -> None:
    club.ready("UG1", 30)
    answer = correct(club, club.keeper, 4, to_length_cm="29.4 m", to_counts_cm="29.45\r\n29.42 m")
    assert answer.status_code == 302
    correction = club.log()[-1]
    assert isinstance(correction, Corrected)
    assert (correction.event, correction.reason) == (4, "read the wrong line")
    assert correction.replacement == Measured(rope="UG1", happened=DAY, length_cm=2940, counts_cm=(2945, 2942))
    assert club.rope("UG1").length_cm == 2940
    page = " ".join(club.keeper.get(address(club, 4)).content.decode().split())
    assert "Written first" in page
    assert "Stands now" in page
    assert 'value="29.4 m"' in page
    assert "read the wrong line. Maud Ellerbeck" in page


def test_it_did_not_happen_and_did_after_all(club: Club) -> None:
    club.ready("UG1")
    answer = club.keeper.post(address(club, 2), {"struck": "yes", "reason": "it was UG2"})
    assert answer.status_code == 302
    assert club.log()[-1] == Corrected(happened=club.log()[-1].happened, event=2, reason="it was UG2")
    page = club.keeper.get(address(club, 2)).content.decode()
    assert "It did not happen." in page
    assert "strike it out" not in page
    assert correct(club, club.keeper, 2, to_how="bath").status_code == 302
    assert [e.event for e in club.register().events("UG1") if isinstance(e.event, Washed)] == [
        Washed(rope="UG1", happened=DAY, how="bath")
    ]


def test_what_was_struck_out_can_stand_again_as_it_was_written(club: Club) -> None:
    club.ready("UG1")
    club.did(Corrected(happened=LATER, event=2, reason="it was UG2"))
    assert correct(club, club.keeper, 2, reason="it was UG1 after all").status_code == 302
    assert club.register().stands(2) == Washed(rope="UG1", happened=DAY, how="machine")


@pytest.mark.parametrize("struck", [True, False])
def test_a_reason_is_needed_and_what_was_typed_stays(club: Club, struck: bool) -> None:
    club.ready("UG1")
    before = club.events()
    told = {"reason": "", "to_soap": "pure"} | ({"struck": "yes"} if struck else {})
    answer = correct(club, club.keeper, 2, **told)
    assert answer.status_code == 400
    assert 'value="pure"' in answer.content.decode()
    assert 'id="id_reason_error"' in answer.content.decode()
    assert club.events() == before


def test_the_keeper_corrects_and_nobody_else(club: Club) -> None:
    club.ready("UG1")
    before = club.events()
    for who, status in ((club.competent, 403), (club.member, 403), (club.reader, 403), (club.stranger, 404)):
        assert who.get(address(club, 2)).status_code == status
        assert who.post(address(club, 2), {"struck": "yes", "reason": "no"}).status_code == status
    assert club.keeper.put(address(club, 2)).status_code == 405
    assert club.events() == before


def test_an_examination_only_a_competent_person_corrects(club: Club) -> None:
    club.ready("UG1")
    club.did(Inspected(rope="UG1", happened=LATER, findings="flat spot", outcome="not fit", person="p2"), by="p2")
    number, before = len(club.log()) - 1, club.events()
    assert club.keeper.get(address(club, number)).status_code == 403
    assert club.keeper.post(address(club, number), {"struck": "yes", "reason": "no"}).status_code == 403
    assert club.events() == before
    assert correct(club, club.competent, number, to_outcome="fit").status_code == 302
    correction = club.log()[-1]
    assert isinstance(correction, Corrected)
    assert isinstance(correction.replacement, Inspected)
    assert (correction.replacement.outcome, correction.replacement.person) == ("fit", "p2")


def test_an_entry_that_is_not_this_ropes_is_not_found(club: Club) -> None:
    club.ready("UG1")
    club.ready("UG2")
    for number in (0, 8, 999):  # the store's own rules, another rope's purchase, nothing
        assert club.keeper.get(address(club, number)).status_code == 404
    club.did(Corrected(happened=LATER, event=2, reason="no"))
    assert club.keeper.get(address(club, len(club.log()) - 1)).status_code == 404


def test_an_entry_made_for_the_wrong_rope_moves_to_the_right_one(club: Club) -> None:
    club.ready("UG1")
    club.ready("UG2")
    assert "No rope has the number UG9" in correct(club, club.keeper, 2, to_rope="UG9").content.decode()
    assert correct(club, club.keeper, 2, to_rope="ug 2").status_code == 302
    correction = club.log()[-1]
    assert isinstance(correction, Corrected)
    assert correction.replacement == Washed(rope="UG2", happened=DAY, how="machine")


def test_a_rope_that_begins_can_be_given_a_new_number(club: Club) -> None:
    club.ready("UG1")
    assert correct(club, club.keeper, 1, to_rope="UG77").status_code == 302
    correction = club.log()[-1]
    assert isinstance(correction, Corrected)
    assert isinstance(correction.replacement, Bought)
    assert correction.replacement.rope == "UG77"
    assert "at most 10 capitals" in correct(club, club.keeper, 1, to_rope="no number?").content.decode()


def test_nothing_changed_is_said(club: Club) -> None:
    club.ready("UG1")
    before = club.events()
    answer = correct(club, club.keeper, 4)
    assert answer.status_code == 400
    assert "Nothing was changed." in answer.content.decode()
    assert club.events() == before


def test_what_no_entry_can_say_is_told(club: Club) -> None:
    club.ready("UG1")
    club.did(Booked(rope="UG1", happened=LATER, first_day=date(2026, 1, 5), last_day=date(2026, 1, 6)))
    answer = correct(club, club.keeper, len(club.log()) - 1, to_last_day="2026-01-01")
    assert answer.status_code == 400
    assert "a booking cannot end" in answer.content.decode()


def test_who_took_it_is_corrected_by_name(club: Club) -> None:
    club.ready("UG1")
    club.did(TakenOut(rope="UG1", happened=LATER, person="p3", trip="Quillet Pot"))
    number = len(club.log()) - 1
    assert correct(club, club.keeper, number, to_person="Bronwen Skail").status_code == 302
    stands = club.register().stands(number)
    assert isinstance(stands, TakenOut)
    assert (stands.person, stands.trip) == ("p4", "Quillet Pot")


def test_two_keepers_at_once_do_not_overwrite_each_other(club: Club) -> None:
    club.ready("UG1")
    told = typed(club.keeper.get(address(club, 2)).content.decode())
    club.did(Corrected(happened=LATER, event=2, reason="by another", replacement=Washed(rope="UG1", happened=LATER)))
    before = club.events()
    answer = club.keeper.post(address(club, 2), told | {"to_how": "hand", "reason": "no machine"})
    assert answer.status_code == 409
    assert "Somebody corrected this meanwhile" in answer.content.decode()
    assert club.events() == before


def test_sent_twice_it_is_recorded_once(club: Club) -> None:
    club.ready("UG1")
    told = typed(club.keeper.get(address(club, 2)).content.decode()) | {"to_how": "hand", "reason": "no machine"}
    before = club.events()
    for _ in range(2):
        assert club.keeper.post(address(club, 2), told).status_code == 302
    assert club.events() == before + 1


def test_a_piece_leads_to_its_parents_entries(club: Club) -> None:
    club.ready("UG1", 50)
    club.did(Cut(rope="UG1", happened=LATER, into=(Piece(rope="UG2", length_cm=3000),)))
    assert club.keeper.get(address(club, 2, "UG2")).status_code == 200
    number = len(club.log()) - 1
    assert correct(club, club.keeper, number, to_into="UG2 29 m\r\nug3 18.5").status_code == 302
    assert club.rope("UG3").length_cm == 1850


def test_a_stocktake_is_corrected_from_a_rope_that_was_seen(club: Club) -> None:
    club.ready("UG1")
    club.ready("UG2")
    club.did(Stocktaken(happened=LATER, seen=("UG1", "UG2")))
    number = len(club.log()) - 1
    assert correct(club, club.keeper, number, to_seen="1").status_code == 302
    assert club.register().stands(number) == Stocktaken(happened=LATER, seen=("UG1",))


_OF_NO_ROPE = (StoreDescribed, Corrected, RouteWritten, RoutePutAway)
ROPE_KINDS = [word for word, each in EVENT_KINDS.items() if each not in _OF_NO_ROPE]


@pytest.mark.parametrize("word", ROPE_KINDS)
def test_every_kind_of_entry_opens_and_only_what_is_changed_changes(club: Club, word: str) -> None:
    """Filled in every detail, opened, its note changed, sent: all the rest is as it was."""
    import dataclasses

    club.ready("UG1")
    club.ready("UG3")
    event = filled(EVENT_KINDS[word])
    if word == "put-into-service":
        club.did(RecordedAsFound(rope="UG4", happened=DAY, condition="in preparation"))
        event = PutIntoService(rope="UG4", happened=DAY, note="as told")
        club.did(Measured(rope="UG4", happened=DAY, length_cm=3000), Marked(rope="UG4", happened=DAY, length_m=29))
    elif word == "cleared":
        club.did(SetAside(rope="UG1", happened=DAY, reason="flat spot"))
    club.did(event, recorded=datetime(2024, 9, 1, tzinfo=UTC))
    number, rope = len(club.log()) - 1, "UG4" if word == "put-into-service" else "UG1"
    who = club.competent if word in ("inspected", "cleared") else club.keeper
    answer = correct(club, who, number, rope, to_note="another note")
    assert answer.status_code == 302, re.findall(r'class="(?:error|doubt)[^>]*>(.*?)<', answer.content.decode())
    assert club.register().stands(number) == dataclasses.replace(event, note="another note")


@pytest.mark.parametrize("word", ROPE_KINDS)
def test_every_detail_of_every_kind_of_entry_has_a_name_in_plain_words(club: Club, word: str) -> None:
    from django.test import RequestFactory

    from tethera.web.accounts.models import Membership
    from tethera.web.accounts.visit import Visit
    from tethera.web.store.opened import held

    with held(club.store.pk) as opened:
        membership = Membership.objects.filter(store=club.store).select_related("account")[0]
        visit = Visit(RequestFactory().get("/"), club.store, membership, opened)
        for name, (field, _) in fields_of(filled(EVENT_KINDS[word]), visit).items():
            assert name in LABELS
            assert str(field.label)[0].isupper(), name


def test_photos_returns_and_ropes_taken_over_keep_what_the_form_does_not_show(club: Club) -> None:
    club.ready("UG1")
    club.did(
        RecordedAsFound(rope="UG5", happened=DAY, length_cm=4000, written=("45m", "blue"), source="old.csv"),
        DocumentAttached(rope="UG1", happened=DAY, title="worn", sha256="ab" * 32, to_event=2),
        Returned(rope="UG1", happened=DAY, clean=True),
        Used(rope="UG1", happened=DAY, left_over_cm=-150),
    )
    count = len(club.log())
    correct(club, club.keeper, count - 4, "UG5", to_length_cm="41 m")
    correct(club, club.keeper, count - 3, to_title="worn sheath")
    told = typed(club.keeper.get(address(club, count - 2)).content.decode())
    del told["to_clean"]  # what a browser does with a tick taken off
    club.keeper.post(address(club, count - 2), told | {"reason": "it was muddy"})
    correct(club, club.keeper, count - 1, to_days="2")
    assert [club.register().stands(number) for number in range(count - 4, count)] == [
        RecordedAsFound(rope="UG5", happened=DAY, length_cm=4100, written=("45m", "blue"), source="old.csv"),
        DocumentAttached(rope="UG1", happened=DAY, title="worn sheath", sha256="ab" * 32, to_event=2),
        Returned(rope="UG1", happened=DAY),
        Used(rope="UG1", happened=DAY, left_over_cm=-150, days=2),
    ]
    assert isinstance(club.log()[0], Event)
