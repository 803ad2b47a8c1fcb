"""A rope that was taken although it is set aside: first on every list of who has what, with the way back."""

import re

from tethera.basics import PartialDate
from tethera.store import SetAside, TakenOut
from web.conftest import Club

LATER = PartialDate(2024, 6, 1)


def taken(club: Club) -> Club:
    """UG1 and UG2 are out with p1, UG2 although it is set aside."""
    for rope in ("UG1", "UG2"):
        club.ready(rope)
    club.did(
        SetAside(rope="UG2", happened=LATER, reason="flat spot"),
        *(TakenOut(rope=rope, happened=PartialDate(2024, 6, 2), person="p1") for rope in ("UG1", "UG2")),
    )
    return club


def text(club: Club, path: str) -> str:
    shown = club.keeper.get(f"{club.address}/{path}".rstrip("/")).content.decode()
    return " ".join(re.sub(r"<[^>]+>", " ", shown).split())


def test_it_stands_first_under_the_name_of_who_has_it(club: Club) -> None:
    shown = text(taken(club), "out-and-back")
    assert "2 ropes" in shown
    listed = shown[shown.index("Who has what") if "Who has what" in shown else shown.index("Bring back") :]
    assert listed.index("UG2") < listed.index("UG1")
    assert "set aside: not to be used" in listed


def test_its_page_says_who_has_it_and_how_it_comes_back(club: Club) -> None:
    shown = text(taken(club), "ropes/UG2")
    assert "Maud Ellerbeck has had it" in shown
    assert "Bring it back" in shown
    back = text(club, "out-and-back/bring-back?numbers=UG2")
    assert "It is set aside: flat spot. Keep it apart" in back
    assert "By this record nobody has it" not in back


def test_today_asks_to_fetch_it_back(club: Club) -> None:
    shown = text(taken(club), "")
    assert "it is set aside and not to be used" in shown


def test_nobody_looks_for_it_on_the_racks(club: Club) -> None:
    assert not taken(club).rope("UG2").in_the_store
