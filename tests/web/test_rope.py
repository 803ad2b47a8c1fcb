"""One rope's page: what it says, what to do next for each kind of visitor, and what is doubted."""

from datetime import date
from pathlib import Path

import pytest
from django.test import Client

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    Bought,
    Corrected,
    Cut,
    Described,
    Measured,
    Missed,
    Piece,
    RecordedAsFound,
    Retired,
    SetAside,
    TakenOut,
    Used,
    Washed,
    Weighed,
)
from web.conftest import DAY, Club

LATER = PartialDate(2024, 6, 1)


def page(club: Club, rope: str = "UG1", who: Client | None = None) -> str:
    """The page as somebody sees it."""
    answer = (who or club.keeper).get(f"{club.address}/ropes/{rope}")
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def test_everybody_of_the_store_sees_a_rope_and_nobody_else(club: Club) -> None:
    club.ready("UG1", 30, diameter_mm=10.0, rope_type="A")
    for who in (club.keeper, club.competent, club.member, club.reader):
        told = page(club, "UG1", who)
        assert '<span class="capsule">30 m</span>' in told
        assert "10 mm type A" in told
    address = f"{club.address}/ropes/UG1"
    assert club.stranger.get(address).status_code == 404
    assert club.nobody.get(address).status_code == 302
    assert club.keeper.post(address).status_code == 405


def test_a_number_the_store_never_had_is_not_found_and_the_nearest_are_named(club: Club) -> None:
    club.ready("UG1")
    answer = club.keeper.get(f"{club.address}/ropes/UG7")
    assert answer.status_code == 404
    assert "UG1" in answer.content.decode()


def test_a_bare_number_leads_to_the_rope(club: Club) -> None:
    club.ready("UG1")
    answer = club.keeper.get(f"{club.address}/ropes/1")
    assert answer.headers["Location"] == f"{club.address}/ropes/UG1"


def test_the_next_step_is_the_first_act_for_who_may_do_it_and_words_for_the_others(club: Club) -> None:
    club.did(Bought(rope="UG1", happened=DAY, length_cm=6000))
    assert "Record the wash</button>" in page(club)
    told = page(club, who=club.reader)
    assert "It waits for its wash." in told
    assert "<button>" not in told.split("<main")[1]
    club.did(Washed(rope="UG1", happened=DAY))
    assert "Record that it is dry</button>" in page(club)


@pytest.mark.parametrize(
    ("event", "keeper", "competent", "member"),
    [
        (SetAside(rope="UG1", happened=LATER, reason="flat spot"), None, "Examine it", None),
        (TakenOut(rope="UG1", happened=LATER), "Bring it back", "Bring it back", "Bring it back"),
        (Missed(rope="UG1", happened=LATER), *("Record that it was found",) * 3),
        (Retired(rope="UG1", happened=LATER, reason="worn"), None, None, None),
    ],
)
def test_what_comes_next_depends_on_the_state_and_on_who_looks(
    club: Club, event: SetAside, keeper: str | None, competent: str | None, member: str | None
) -> None:
    club.ready("UG1")
    club.did(event)
    for who, label in ((club.keeper, keeper), (club.competent, competent), (club.member, member)):
        told = page(club, who=who).split('aria-label="What to do next"')[1].split("</section>")[0]
        acts = ("Examine it", "Bring it back", "Record that it was found")
        assert [each for each in acts if each in told] == ([label] if label else [])


def test_a_mark_that_says_too_much_comes_first_and_its_doubt_leads_there(club: Club) -> None:
    club.ready("UG1", 30)
    club.did(Measured(rope="UG1", happened=LATER, length_cm=2870))
    told = page(club)
    assert f'href="{club.address}/marks?rope=UG1">Print or letter its marks</a>' in told
    assert f'href="{club.address}/marks?rope=UG1">Take the mark off and mark it anew.</a>' in told
    assert f'href="{club.address}/marks?rope=UG1">Take' not in page(club, who=club.member)


def test_a_doubt_about_what_it_is_leads_to_describing_it(club: Club) -> None:
    club.did(RecordedAsFound(rope="UG1", happened=DAY, length_cm=4000))
    told = page(club)
    assert f'href="{club.address}/ropes/UG1/describe"' in told.split("<aside")[1].split("</aside>")[0]


def test_after_a_cut_the_pieces_are_there_and_the_old_marks_are_void(club: Club) -> None:
    club.ready("UG1", 50)
    pieces = (Piece(rope="UG2", length_cm=3000), Piece(rope="UG3", length_cm=1900))
    club.did(Cut(rope="UG1", happened=LATER, into=pieces, reason="flat spot"))
    told = page(club)
    assert 'Its ends still say <span class="capsule">50 m</span>' in told
    assert f'href="{club.address}/ropes/UG2"' in told
    assert f'href="{club.address}/marks?rope=UG2"' in told
    piece = page(club, "UG2")
    assert "Cut from" in piece
    assert f'href="{club.address}/ropes/UG1">UG1</a>' in piece
    assert "Cut into UG2 <span" in piece


def test_the_life_shows_what_was_written_struck_and_what_stands(club: Club) -> None:
    club.ready("UG1")
    instead = Washed(rope="UG1", happened=DAY, how="hand")
    club.did(Corrected(happened=LATER, event=2, reason="there was no machine", replacement=instead), by="p2")
    club.did(Corrected(happened=LATER, event=3, reason="it was another rope"))
    told = page(club)
    assert "<p>Washed by hand.</p>" in told
    assert "<del>1 May 2024: Washed in the machine.</del>" in told
    assert "Corrected: there was no machine. Tobias Quarmby" in told
    assert "<p><del>Dry.</del></p>" in told
    assert "Struck out: it was another rope. Maud Ellerbeck" in told


def test_only_who_may_correct_is_led_to_it(club: Club) -> None:
    club.ready("UG1")
    address = f"{club.address}/ropes/UG1/correct/2"
    assert address in page(club)
    for who in (club.competent, club.member, club.reader):
        assert address not in page(club, who=who)


def test_words_of_others_are_shown_as_words(club: Club) -> None:
    club.ready("UG1")
    club.did(Described(rope="UG1", happened=LATER, note="<script>alert(1)</script>", maker="<b>Maker"))
    told = page(club)
    assert "<script>alert" not in told
    assert "&lt;script&gt;alert(1)" in told
    assert "<b>Maker" not in told


def test_weight_bookings_use_and_lengths_are_told(club: Club) -> None:
    club.ready("UG1", 30, mass_g_per_m=64.0)
    club.did(
        Weighed(rope="UG1", happened=LATER, mass_g=1500),
        Described(rope="UG1", happened=LATER, mass_g_per_m=64.0),
        Used(rope="UG1", happened=LATER, days=3),
        Booked(rope="UG1", happened=LATER, first_day=date(2999, 1, 2), last_day=date(2999, 1, 3), trip="Quillet Pot"),
    )
    told = page(club)
    assert "1.9 kg" in told  # 30 m of 64 g/m
    assert "The weight is an alarm, never a length" in told  # 1.5 kg speak for 23 m
    assert "3 days" in told
    assert "2 Jan 2999 to 3 Jan 2999, Quillet Pot" in told
    assert "on the maker&#x27;s label" in told


def test_feet_are_shown_to_who_asked_for_them(club: Club) -> None:
    from tethera.web.accounts.models import Account

    club.ready("UG1", 30)
    Account.objects.filter(name="Maud Ellerbeck").update(units="ft")
    told = page(club)
    assert '<span class="capsule">98 ft</span>' in told
    assert 'Measured <span class="capsule">98 ft</span>' in told


def test_routes_are_asked_for_until_there_are_some_and_then_its_pitches_are_named(
    club: Club, tmp_path: Path, settings: object
) -> None:
    settings.FOLDER = tmp_path  # type: ignore[attr-defined]
    club.ready("UG1", 30)
    assert "No route is kept here yet." in page(club)
    assert f'<a href="{club.address}/write-route">Write a route</a>' in page(club)
    assert f'<a href="{club.address}/routes">Routes</a>' in page(club)
    (tmp_path / "routes").mkdir()
    (tmp_path / "routes" / "quillet.toml").write_text(
        'name = "Quillet Pot"\n[[pitch]]\nname = "First"\ndepth = "12 m"\nanchors = 2\n'
        '[[pitch]]\nname = "Second"\ndepth = "60 m"\n',
        "utf-8",
    )
    told = page(club)
    assert 'First <span class="depth">↓ 12 m</span>' in told
    assert "Second" not in told
    assert "1 of 2 pitches" in told
    (tmp_path / "routes" / "bad.toml").write_text("name = 3", "utf-8")
    told = page(club)
    assert "bad.toml, line 1" in told
    assert "First" in told
