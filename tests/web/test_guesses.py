"""Guessing passwords is slowed down, in every process alike, and nobody is shut out of their own store by others."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from tethera.web.accounts.guesses import PAUSE, TRIES, TRIES_FROM_ANYWHERE, TRIES_OF_A_PLACE
from tethera.web.accounts.models import WrongGuesses
from web.conftest import Club

_RIGHT, _WRONG = "three odd words", "wrong words here"


def tries(email: str, password: str, place: str = "192.0.2.1", device: Client | None = None) -> str:
    told = {"email": email, "password": password}
    answer = (device or Client()).post("/sign-in", told, REMOTE_ADDR=place)
    return "in" if answer.status_code == 302 else answer.content.decode()


def test_guessing_is_slowed_down_and_others_are_not_hindered(club: Club) -> None:
    for _ in range(TRIES):
        assert "do not belong together" in tries("p1@ug.invalid", _WRONG)
    assert "Wait a quarter of an hour" in tries("p1@ug.invalid", _WRONG)
    # Not even the right one helps now, or a guesser would know; from elsewhere the keeper still comes in.
    assert "Wait a quarter of an hour" in tries("P1@ug.invalid", _RIGHT)
    assert tries("p1@ug.invalid", _RIGHT, "192.0.2.2") == "in"
    assert tries("p2@ug.invalid", _RIGHT) == "in"


def test_the_pause_ends_by_itself(club: Club) -> None:
    for _ in range(TRIES):
        tries("p1@ug.invalid", _WRONG)
    WrongGuesses.objects.update(since=timezone.now() - PAUSE - timedelta(seconds=1))
    assert tries("p1@ug.invalid", _RIGHT) == "in"
    tries("p1@ug.invalid", _WRONG)
    assert set(WrongGuesses.objects.values_list("count", flat=True)) == {1}  # what is over is not kept


def test_the_right_password_wipes_the_slate(club: Club) -> None:
    for _ in range(3):
        for _ in range(TRIES - 1):
            tries("p1@ug.invalid", _WRONG)
        assert tries("p1@ug.invalid", _RIGHT) == "in"


def test_one_place_does_not_try_one_address_after_the_other(club: Club) -> None:
    for number in range(TRIES_OF_A_PLACE):
        tries(f"q{number}@ug.invalid", _WRONG)
    assert "Wait a quarter of an hour" in tries("p2@ug.invalid", _RIGHT)
    assert tries("p2@ug.invalid", _RIGHT, "192.0.2.2") == "in"


def test_many_places_do_not_guess_one_address_and_its_own_device_still_opens_it(club: Club) -> None:
    own = Client()
    assert tries("p1@ug.invalid", _RIGHT, "192.0.2.200", own) == "in"
    own.post("/sign-out")
    for number in range(TRIES_FROM_ANYWHERE):
        tries("p1@ug.invalid", _WRONG, f"198.51.100.{number}")
    assert "Wait a quarter of an hour" in tries("p1@ug.invalid", _RIGHT, "203.0.113.1")
    assert tries("p1@ug.invalid", _RIGHT, "198.51.100.1", own) == "in"


def test_a_known_device_is_slowed_down_as_well_and_opens_no_other_account_for_it(club: Club) -> None:
    own = Client()
    assert tries("p1@ug.invalid", _RIGHT, device=own) == "in"
    for _ in range(TRIES):
        tries("p1@ug.invalid", _WRONG, device=own)
    assert "Wait a quarter of an hour" in tries("p1@ug.invalid", _RIGHT, device=own)
    for _ in range(TRIES):
        tries("p2@ug.invalid", _WRONG)
    assert "Wait a quarter of an hour" in tries("p2@ug.invalid", _RIGHT, device=own)


def test_a_forged_mark_of_a_device_is_none(club: Club) -> None:
    forged = Client()
    forged.cookies["known-device"] = "1:abc:forged"
    for _ in range(TRIES):
        tries("p1@ug.invalid", _WRONG, device=forged)
    assert "Wait a quarter of an hour" in tries("p1@ug.invalid", _RIGHT)


@pytest.mark.parametrize("place", ["127.0.0.1", "::1"])
def test_behind_a_server_that_speaks_for_all_of_them_strangers_do_not_shut_out_everybody(
    club: Club, place: str
) -> None:
    for number in range(TRIES_OF_A_PLACE + 1):
        tries(f"q{number}@ug.invalid", _WRONG, place)
    assert tries("p2@ug.invalid", _RIGHT, place) == "in"
