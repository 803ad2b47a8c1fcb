"""Recording one thing of one rope: who may, what it leaves in the log, and what is said when it cannot be taken."""

import re
from typing import Any

import pytest
from django.test import Client

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    BookingReleased,
    Bought,
    Chained,
    Cut,
    Described,
    Dried,
    Event,
    Found,
    LeftRigged,
    Marked,
    Measured,
    Missed,
    PutIntoService,
    SetAside,
    Spun,
    Used,
    Washed,
    Weighed,
)
from web.conftest import DAY, Club

LATER = PartialDate(2024, 6, 1)
WHEN = {"happened": "2024-06-01"}
PREPARE, TAKE = ("keeper", "competent"), ("keeper", "competent", "member")
ACTS: list[tuple[str, dict[str, str], Event, tuple[str, ...]]] = [
    ("washed", {"how": "machine", "temperature_c": "30"},
     Washed(rope="UG1", happened=LATER, how="machine", temperature_c=30), PREPARE),
    ("spun", {}, Spun(rope="UG1", happened=LATER), PREPARE),
    ("dried", {}, Dried(rope="UG1", happened=LATER), PREPARE),
    ("chained", {"strands": "4"}, Chained(rope="UG1", happened=LATER, strands=4), PREPARE),
    ("weighed", {"mass_g": "2.4 kg", "dry": "on"}, Weighed(rope="UG1", happened=LATER, mass_g=2400), PREPARE),
    ("marked", {"length_m": "28", "words": "UG1"}, Marked(rope="UG1", happened=LATER, length_m=28, words="UG1"),
     PREPARE),
    ("used", {"route": "Quillet Pot", "pitch": "First", "days": "2", "left_over_cm": "-1,5", "fall": "on"},
     Used(rope="UG1", happened=LATER, route="Quillet Pot", pitch="First", days=2, left_over_cm=-150, fall=True), TAKE),
    ("left-rigged", {"route": "Quillet Pot"}, LeftRigged(rope="UG1", happened=LATER, route="Quillet Pot"), TAKE),
    ("set-aside", {"reason": "flat spot at 12.4 m"},
     SetAside(rope="UG1", happened=LATER, reason="flat spot at 12.4 m"), TAKE),
    ("missed", {}, Missed(rope="UG1", happened=LATER), TAKE),
    ("found", {"place": "under the bench"}, Found(rope="UG1", happened=LATER, place="under the bench"), TAKE),
    ("note", {"note": "a new bag"}, Described(rope="UG1", happened=LATER, note="a new bag"), TAKE),
]  # fmt: skip


def send(club: Club, who: Client, word: str, told: dict[str, str], rope: str = "UG1") -> Any:
    return who.post(f"{club.address}/ropes/{rope}/do/{word}", WHEN | told)


@pytest.mark.parametrize(("word", "told", "event", "may"), ACTS, ids=[each[0] for each in ACTS])
def test_who_may_records_it_and_nobody_else(
    club: Club, word: str, told: dict[str, str], event: Event, may: tuple[str, ...]
) -> None:
    club.ready("UG1")
    before = club.log()
    for name in ("keeper", "competent", "member", "reader"):
        answer = send(club, getattr(club, name), word, told)
        if name in may:
            assert answer.status_code == 302, answer.content.decode()
            assert answer.headers["Location"] == f"{club.address}/ropes/UG1"
            assert club.log()[-1] == event
        else:
            assert answer.status_code == 403
            assert getattr(club, name).get(f"{club.address}/ropes/UG1/do/{word}").status_code == 403
    assert len(club.log()) == len(before) + len(may)
    assert send(club, club.stranger, word, told).status_code == 404
    assert len(club.log()) == len(before) + len(may)


def test_every_act_has_its_screen_with_one_button_that_says_what_happens(club: Club) -> None:
    club.ready("UG1")
    for word, *_ in ACTS:
        told = club.keeper.get(f"{club.address}/ropes/UG1/do/{word}").content.decode()
        (button,) = re.findall(r"<button>(.*?)</button>", told)
        assert button.startswith(("Record", "Set", "Write"))
    assert club.keeper.get(f"{club.address}/ropes/UG1/do/fly").status_code == 404
    assert club.keeper.put(f"{club.address}/ropes/UG1/do/spun").status_code == 405
    assert club.keeper.get(f"{club.address}/ropes/UG9/do/spun").status_code == 404


@pytest.mark.parametrize(
    ("word", "told", "said", "kept"),
    [
        ("weighed", {"mass_g": "a lot"}, "“a lot” is no weight", 'value="a lot"'),
        ("weighed", {"mass_g": "120"}, "could be kg or g", 'value="120"'),
        ("marked", {"length_m": "many"}, "Write a whole number", 'value="many"'),
        ("set-aside", {"reason": "", "note": "see the photo"}, "This is missing.", "see the photo"),
        ("washed", {"happened": "yesterdayish", "soap": "pure"}, "not a date that can be read", 'value="pure"'),
        ("used", {"days": "0", "pitch": "First"}, "Write 1 or more.", 'value="First"'),
        ("cut", {"piece_1": "30/40", "reason": "worn"}, "Split the row or pick one", 'value="worn"'),
    ],
)
def test_what_cannot_be_read_is_said_beside_its_field_and_what_was_typed_stays(
    club: Club, word: str, told: dict[str, str], said: str, kept: str
) -> None:
    club.ready("UG1")
    before = club.events()
    answer = send(club, club.keeper, word, told)
    page = answer.content.decode()
    assert answer.status_code == 400
    assert said in page
    assert kept in page
    assert 'aria-invalid="true"' in page
    assert club.events() == before


def test_a_form_sent_twice_records_once(club: Club) -> None:
    club.ready("UG1")
    before = club.events()
    for _ in range(2):
        assert send(club, club.keeper, "dried", {"once": "a-token"}).status_code == 302
    assert club.events() == before + 1


def test_what_a_declaration_lacks_is_listed_and_what_was_typed_stays(club: Club) -> None:
    club.did(Bought(rope="UG1", happened=DAY, length_cm=6000))
    answer = send(club, club.keeper, "put-into-service", {"note": "in a hurry"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "it was never measured" in page
    assert "its ends are not marked" in page
    assert "in a hurry" in page
    assert not any(isinstance(each, PutIntoService) for each in club.log())
    club.did(Measured(rope="UG1", happened=LATER, length_cm=5500), Marked(rope="UG1", happened=LATER, length_m=55))
    assert send(club, club.keeper, "put-into-service", {}).status_code == 302
    assert club.log()[-1] == PutIntoService(rope="UG1", happened=LATER)


def test_a_declaration_on_ground_that_changed_is_told(club: Club) -> None:
    club.did(
        Bought(rope="UG1", happened=DAY, length_cm=6000),
        Measured(rope="UG1", happened=DAY, length_cm=5500),
        Marked(rope="UG1", happened=DAY, length_m=55),
    )
    page = club.keeper.get(f"{club.address}/ropes/UG1/do/put-into-service").content.decode()
    seen = re.search(r'name="seen" value="(\d+)"', page)
    assert seen
    club.did(SetAside(rope="UG1", happened=LATER, reason="flat spot"))
    answer = send(club, club.keeper, "put-into-service", {"seen": seen[1]})
    assert answer.status_code == 409
    assert "Somebody was quicker" in answer.content.decode()


def test_a_mark_is_offered_by_the_stores_own_rule(club: Club) -> None:
    from tethera.store import StoreDescribed

    club.ready("UG1", 30)
    club.did(StoreDescribed(happened=LATER, code="UG", label_keeps_back_percent=5))
    page = club.keeper.get(f"{club.address}/ropes/UG1/do/marked").content.decode()
    assert 'value="28"' in page
    assert "keep 5 % back" in page


def test_lengths_can_come_filled_in_with_the_address(club: Club) -> None:
    club.ready("UG1", 30)
    page = club.keeper.get(f"{club.address}/ropes/UG1/do/cut?piece_1=12+m&piece_2=17+m&reason=flat+spot")
    told = page.content.decode()
    assert 'value="12 m"' in told
    assert 'value="17 m"' in told
    assert 'value="flat spot"' in told


def test_a_cut_gives_new_numbers_and_says_that_the_marks_are_void(club: Club) -> None:
    club.ready("UG1", 50)
    told = {"piece_1": "30", "piece_2": "12 m", "more": "6.5\n\n1", "reason": "flat spot at 31 m", "once": "t"}
    for _ in range(2):
        answer = send(club, club.keeper, "cut", told)
    assert answer.status_code == 302
    cuts = [each for each in club.log() if isinstance(each, Cut)]
    assert [[(piece.rope, piece.length_cm) for piece in each.into] for each in cuts] == [
        [("UG2", 3000), ("UG3", 1200), ("UG4", 650), ("UG5", 100)]
    ]
    page = club.keeper.get(answer.headers["Location"]).content.decode()
    assert "Mark both ends of each: the old marks are void." in page
    assert club.rope("UG2").waits == ("measure", "mark", "put into service")
    assert send(club, club.member, "cut", told).status_code == 403


def test_pieces_longer_than_the_rope_are_recorded_and_doubted(club: Club) -> None:
    club.ready("UG1", 30)
    answer = send(club, club.keeper, "cut", {"piece_1": "20", "piece_2": "20"})
    page = club.keeper.get(answer.headers["Location"]).content.decode()
    assert 'Its pieces make <span class="capsule">40\u202fm</span>' in page


def test_a_fall_sets_it_aside_at_once(club: Club) -> None:
    club.ready("UG1")
    send(club, club.member, "used", {"days": "1", "fall": "on"})
    assert club.rope("UG1").state == "set aside"


def test_a_booking_is_released(club: Club) -> None:
    from datetime import date

    club.ready("UG1")
    club.did(Booked(rope="UG1", happened=LATER, first_day=date(2999, 1, 2), last_day=date(2999, 1, 3)))
    number = club.rope("UG1").bookings[0].number
    assert send(club, club.keeper, "release", {"booking": str(number)}).status_code == 302
    assert club.log()[-1] == BookingReleased(rope="UG1", happened=LATER, booking=number)
    assert send(club, club.keeper, "release", {"booking": "999"}).status_code == 400


def test_feet_are_read_from_who_asked_for_them(club: Club) -> None:
    from tethera.web.accounts.models import Account

    club.ready("UG1", 30)
    Account.objects.filter(name="Maud Ellerbeck").update(units="ft")
    send(club, club.keeper, "used", {"days": "1", "left_over_cm": "10"})
    assert club.log()[-1] == Used(rope="UG1", happened=LATER, left_over_cm=304)  # 3.048 m, rounded down
    send(club, club.keeper, "used", {"days": "1", "left_over_cm": "-10"})
    assert club.log()[-1] == Used(rope="UG1", happened=LATER, left_over_cm=-305)  # so much short, rounded up
    send(club, club.keeper, "used", {"days": "1", "left_over_cm": "0"})
    assert club.log()[-1] == Used(rope="UG1", happened=LATER, left_over_cm=0)


def test_a_draft_of_a_mark_ends_when_the_rope_is_measured_anew(club: Club) -> None:
    """A device brings back what was typed: it must not be a length from before."""
    club.ready("UG1", 30)
    page = club.keeper.get(f"{club.address}/ropes/UG1/do/marked").content.decode()
    assert 'data-draft="marked-3000"' in page
    club.did(Measured(rope="UG1", happened=LATER, length_cm=2900))
    page = club.keeper.get(f"{club.address}/ropes/UG1/do/marked").content.decode()
    assert 'data-draft="marked-2900"' in page
    assert "data-draft" not in club.keeper.get(f"{club.address}/ropes/UG1").content.decode()


@pytest.mark.parametrize("seen", ["²", "-1", "seven", "9" * 40])
def test_a_hidden_field_that_says_nothing_is_taken_for_none(club: Club, seen: str) -> None:
    club.ready("UG1")
    before = len(club.log())
    assert send(club, club.keeper, "washed", {"seen": seen}).status_code == 302
    assert len(club.log()) == before + 1
