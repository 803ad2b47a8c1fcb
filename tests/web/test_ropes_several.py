"""One act for several ropes: who may, all or none, what is missing beside each, and nothing typed is lost."""

import re
from datetime import date

import pytest
from django.test import Client

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    Bought,
    Chained,
    Dried,
    Inspected,
    Measured,
    Missed,
    PutIntoService,
    Retired,
    SetAside,
    Spun,
    StoreDescribed,
    TakenOut,
    Washed,
)
from web.conftest import DAY, Club

LATER = PartialDate(2024, 6, 1)
WHO = ("keeper", "competent", "member", "reader", "stranger")
#: What each act needs to be filled in, and who may do it.
DETAILS: dict[str, dict[str, str]] = {
    "washed": {"how": "bath"},
    "spun": {},
    "dried": {},
    "chained": {"strands": "2"},
    "put-into-service": {},
    "take-out": {"person": "Ines Ravel", "until": "8 Jun 2199"},
    "book": {"first_day": "2199-06-01", "last_day": "2199-06-02", "trip": "Long Gill"},
    "set-aside": {"reason": "smells of petrol"},
    "examined": {"findings": "nothing", "outcome": "fit"},
    "retire": {"choice": "worn sheath"},
}
_PREPARES, _TAKES = {"keeper", "competent"}, {"keeper", "competent", "member"}
MAY = {
    "washed": _PREPARES,
    "spun": _PREPARES,
    "dried": _PREPARES,
    "chained": _PREPARES,
    "put-into-service": _PREPARES,
    "take-out": _TAKES,
    "book": _PREPARES,
    "set-aside": _TAKES,
    "examined": {"competent"},
    "retire": {"keeper"},
}
EVENTS = {
    "washed": Washed,
    "spun": Spun,
    "dried": Dried,
    "chained": Chained,
    "put-into-service": PutIntoService,
    "take-out": TakenOut,
    "book": Booked,
    "set-aside": SetAside,
    "examined": Inspected,
    "retire": Retired,
}


def send(club: Club, act: str, ropes: tuple[str, ...] = ("UG1", "UG2"), who: Client | None = None, **more: str):  # type: ignore[no-untyped-def]
    """Send the second step."""
    told = {"act": act, "rope": list(ropes), "back": "", **DETAILS[act], **more}
    return (who or club.keeper).post(f"{club.address}/ropes/several", told)


def look(club: Club, query: str, who: Client | None = None) -> str:
    """The second step as somebody sees it."""
    answer = (who or club.keeper).get(f"{club.address}/ropes/several?{query}")
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


@pytest.fixture
def two(club: Club) -> Club:
    """Two ropes for which every act can be recorded."""
    club.ready("UG1", 30)
    club.ready("UG2", 45)
    return club


@pytest.fixture
def prepared(club: Club) -> Club:
    """Two ropes that only wait to be put into service."""
    from tethera.store import Marked

    for rope in ("UG1", "UG2"):
        club.did(
            Bought(rope=rope, happened=DAY, length_cm=3300),
            Washed(rope=rope, happened=DAY),
            Dried(rope=rope, happened=DAY),
            Measured(rope=rope, happened=DAY, length_cm=3000),
            Marked(rope=rope, happened=DAY, length_m=30),
        )
    return club


@pytest.mark.parametrize("act", list(DETAILS))
@pytest.mark.parametrize("who", WHO)
def test_each_act_by_each_role(club: Club, act: str, who: str, request: pytest.FixtureRequest) -> None:
    request.getfixturevalue("prepared" if act == "put-into-service" else "two")
    before = club.events()
    answer = send(club, act, who=getattr(club, who))
    if who not in MAY[act]:
        assert answer.status_code == (404 if who == "stranger" else 403)
        assert club.events() == before
        return
    assert answer.status_code == 302, answer.content.decode()
    recorded = club.log()[before:]
    assert [type(each) for each in recorded] == [EVENTS[act]] * 2
    assert [each.rope for each in recorded] == ["UG1", "UG2"]  # type: ignore[attr-defined]


def test_somebody_not_signed_in_is_asked_to_and_another_way_of_asking_is_refused(two: Club) -> None:
    assert send(two, "washed", who=two.nobody).status_code == 302
    assert send(two, "washed", who=two.nobody)["Location"].startswith("/sign-in")
    assert two.keeper.put(f"{two.address}/ropes/several").status_code == 405


def test_the_details_are_kept_in_each_event(two: Club) -> None:
    before = two.events()
    send(two, "washed", temperature_c="30", soap="plain soap", happened="12 May 2024", note="together")
    assert two.log()[before:] == [
        Washed(
            rope=rope,
            happened=PartialDate(2024, 5, 12),
            how="bath",
            temperature_c=30,
            soap="plain soap",
            note="together",
        )
        for rope in ("UG1", "UG2")
    ]


def test_what_was_done_is_told_on_the_list_as_it_was(two: Club) -> None:
    answer = send(two, "set-aside", back="q=ug&sort=-length&nonsense=1")
    assert answer["Location"] == "/ug/ropes?q=ug&sort=-length"
    told = two.keeper.get(answer["Location"]).content.decode()
    assert "Set aside: UG1, UG2." in told


def test_the_list_somebody_is_sent_back_to_is_always_this_stores(two: Club) -> None:
    answer = send(two, "set-aside", back="//elsewhere.invalid/?q=a")
    assert answer["Location"] == "/ug/ropes"


def test_the_second_step_shows_the_picked_ropes_and_one_button(two: Club) -> None:
    told = look(two, "act=set-aside&rope=UG2&rope=UG1&rope=UG2&q=ug")
    assert told.count("<button>Set aside 2 ropes</button>") == 1
    assert re.findall(r'name="rope" value="(\w+)"', told) == ["UG2", "UG1"]
    assert "2 ropes, 75 m" in told
    assert 'name="back" value="q=ug"' in told
    assert '/ug/ropes?q=ug&amp;rope=UG2&amp;rope=UG1"' in told
    assert "<button>Set aside 1 rope</button>" in look(two, "act=set-aside&rope=UG2")


def test_what_speaks_against_taking_a_rope_stands_beside_it(two: Club) -> None:
    two.did(SetAside(rope="UG2", happened=LATER, reason="flat spot at 12.4 m"))
    assert "set aside: flat spot at 12.4 m" in look(two, "act=take-out&rope=UG1&rope=UG2")
    # It is a fact that somebody took it: recorded, and doubted.
    answer = send(two, "take-out")
    assert answer.status_code == 302
    told = two.keeper.get(answer["Location"]).content.decode()
    assert "while set aside" in told


def test_nothing_picked_says_what_to_do(two: Club) -> None:
    assert "Tick the ropes in the list" in look(two, "act=washed")
    assert "Tick the ropes in the list" in look(two, "act=print")
    assert "Tick the ropes in the list" in look(two, "act=washed", who=two.competent)


def test_an_act_or_a_rope_nobody_knows_is_not_found(two: Club) -> None:
    address = f"{two.address}/ropes/several"
    assert two.keeper.get(f"{address}?act=burn&rope=UG1").status_code == 404
    assert two.keeper.get(f"{address}?rope=UG1").status_code == 404
    assert two.keeper.get(f"{address}?act=washed&rope=UG99").status_code == 404


def test_a_reader_may_not_even_open_the_form_of_an_act(two: Club) -> None:
    address = f"{two.address}/ropes/several?rope=UG1&act="
    assert two.reader.get(address + "washed").status_code == 403
    assert two.member.get(address + "washed").status_code == 403
    assert two.member.get(address + "set-aside").status_code == 200


def test_their_records_can_be_printed_by_anybody_of_the_store(two: Club) -> None:
    answer = two.reader.get(f"{two.address}/ropes/several?act=print&rope=UG1&rope=UG2")
    assert answer.status_code == 302
    assert answer["Location"].endswith("?rope=UG1&rope=UG2")


def test_where_one_lacks_something_none_is_recorded_and_each_lack_stands_beside_its_rope(prepared: Club) -> None:
    prepared.did(
        Bought(rope="UG3", happened=DAY, length_cm=3300),
        Bought(rope="UG4", happened=DAY, length_cm=3300),
        Measured(rope="UG4", happened=DAY, length_cm=3000),
    )
    before = prepared.events()
    answer = send(prepared, "put-into-service", ("UG1", "UG3", "UG4"), note="after the wash day")
    told = " ".join(answer.content.decode().split())
    assert answer.status_code == 409
    assert prepared.events() == before
    assert "after the wash day" in told
    # Those that lack something stand first.
    assert re.findall(r'name="rope" value="(\w+)"', told) == ["UG3", "UG4", "UG1"]
    third, fourth, first = re.findall(r'<li><input type="hidden".*?Leave out', told)
    assert "it was never measured" in third
    assert "its ends are not marked" in third
    assert "its ends are not marked" in fourth
    assert "never measured" not in fourth
    assert "doubt" not in first


def test_a_rope_is_left_out_and_what_was_typed_stays(two: Club) -> None:
    before = two.events()
    answer = send(two, "set-aside", without="UG1", reason="half a reason", happened="nonsense", back="q=ug")
    told = " ".join(answer.content.decode().split())
    assert answer.status_code == 200
    assert two.events() == before
    assert re.findall(r'name="rope" value="(\w+)"', told) == ["UG2"]
    assert 'value="half a reason"' in told
    assert 'value="nonsense"' in told
    assert 'name="back" value="q=ug"' in told
    assert "<button>Set aside 1 rope</button>" in told
    assert "Tick the ropes in the list" in send(two, "washed", ("UG1",), without="UG1").content.decode()


def test_the_button_that_return_presses_is_the_one_that_records(two: Club) -> None:
    form = look(two, "act=set-aside&rope=UG2").split('<form method="post"')[1]
    first = re.search(r"<button[^>]*>[^<]*</button>", form)
    assert first is not None
    assert "Set aside 1 rope" in first[0]
    assert "without" not in first[0]


@pytest.mark.parametrize(
    ("act", "more", "said"),
    [
        ("washed", {"happened": "sometime"}, "“sometime” is not a date that can be read"),
        ("set-aside", {"reason": ""}, "This is missing. Write it, or choose it."),
        ("book", {"first_day": "tomorrow"}, "Write the day as 2026-12-05."),
        ("book", {"first_day": ""}, "This is missing. Write it, or choose it."),
        ("book", {"last_day": "2199-05-01"}, "That is before the first day."),
        ("retire", {"choice": "own"}, "Write the reason."),
        ("take-out", {"until": "soon"}, "“soon” is not a date that can be read"),
    ],
)
def test_what_cannot_be_read_is_told_and_what_was_typed_stays(
    two: Club, act: str, more: dict[str, str], said: str
) -> None:
    before = two.events()
    answer = send(two, act, **more, note="typed with care")
    told = answer.content.decode()
    assert answer.status_code == 400
    assert two.events() == before
    assert said in told
    assert "aria-invalid" in told
    for value in more.values():
        assert value in told


def test_sent_twice_it_is_recorded_once(two: Club) -> None:
    before = two.events()
    for _ in range(2):
        assert send(two, "washed", once="the same form").status_code == 302
    assert two.events() == before + 2


def test_one_more_reason_does_not_hide_why_a_rope_was_set_aside_already(two: Club) -> None:
    two.did(SetAside(rope="UG2", happened=LATER, reason="flat spot at 12.4 m"))
    send(two, "set-aside")
    assert two.rope("UG1").set_aside == "smells of petrol"
    assert two.rope("UG2").set_aside == "smells of petrol; flat spot at 12.4 m"
    send(two, "set-aside")
    assert two.rope("UG2").set_aside == "smells of petrol; flat spot at 12.4 m"


def test_a_booking_without_a_last_day_is_for_one_day_and_for_whom_is_named(two: Club) -> None:
    send(two, "book", last_day="", person="New Person")
    booking = two.rope("UG1").bookings[0]
    assert (booking.first_day, booking.last_day, booking.trip) == (date(2199, 6, 1), date(2199, 6, 1), "Long Gill")
    assert booking.person == two.rope("UG2").bookings[0].person is not None


def test_ropes_booked_by_somebody_else_are_not_booked_again(two: Club) -> None:
    assert send(two, "book").status_code == 302
    before = two.events()
    answer = send(two, "book", ("UG1",), trip="Other Gill")
    assert answer.status_code == 409
    assert "it is booked 1 to 2 Jun 2199, Long Gill" in answer.content.decode()
    assert "Other Gill" in answer.content.decode()
    assert two.events() == before


def test_something_recorded_meanwhile_is_told_before_a_declaration(prepared: Club) -> None:
    seen = prepared.events()
    prepared.did(Missed(rope="UG1", happened=LATER))
    before = prepared.events()
    answer = send(prepared, "put-into-service", seen=str(seen), note="typed")
    assert answer.status_code == 409
    assert "Something else was recorded about UG1, UG2 meanwhile" in answer.content.decode()
    assert "typed" in answer.content.decode()
    assert prepared.events() == before


def test_whoever_examined_them_is_who_is_signed_in_and_the_next_day_is_offered_by_the_stores_rule(two: Club) -> None:
    two.did(StoreDescribed(happened=DAY, code="UG", inspection_months=12))
    told = look(two, "act=examined&rope=UG1", who=two.competent)
    assert re.search(r'name="next_due" value="\d{4}-\d\d-\d\d"', told)
    send(two, "examined", who=two.competent, next_due="May 2199")
    state = two.rope("UG2")
    assert state.next_due == PartialDate(2199, 5)
    examined = two.log()[-1]
    assert isinstance(examined, Inspected)
    assert examined.person == "p2"


def test_the_same_doubt_about_several_ropes_is_told_once(two: Club) -> None:
    two.did(Missed(rope="UG1", happened=LATER), Missed(rope="UG2", happened=LATER))
    told = two.keeper.get(send(two, "take-out", happened="2 June 2024")["Location"]).content.decode()
    doubts = re.findall(r'<p class="doubt">(.*?)</p>', told)
    assert [each for each in doubts if "Taken out" in each] == [
        "UG1, UG2: Taken out 2 Jun 2024 while missing. Fetch it back, or correct the record."
    ]


def test_a_hundred_ropes_are_counted_not_listed(club: Club) -> None:
    ropes = tuple(f"UG{number}" for number in range(1, 101))
    club.did(*(Bought(rope=rope, happened=DAY, length_cm=3300) for rope in ropes))
    before = club.events()
    answer = send(club, "washed", ropes)
    assert club.events() == before + 100
    assert "Washed: 100 ropes." in club.keeper.get(answer["Location"]).content.decode()
