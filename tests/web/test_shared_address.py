"""Links that are sent to others lead to where others find the pages, or say that they do not."""

import os
import re

import pytest
from django.test import override_settings

from tethera.web import serving
from web.conftest import Club


def invitation(club: Club, host: str) -> str:
    club.keeper.post(f"{club.address}/people", {"name": "Olaf Trenholme", "role": "member"}, headers={"host": host})
    return club.keeper.get(f"{club.address}/people", headers={"host": host}).content.decode()


def link(page: str) -> str:
    found = re.search(r'id="link"[^>]*value="([^"]+)"', page)
    assert found
    return found[1]


def test_an_invitation_made_at_this_machine_leads_to_where_phones_find_it(club: Club) -> None:
    with override_settings(SHARED_ADDRESS="http://192.0.2.7:8017"):
        page = invitation(club, "localhost")
    assert link(page).startswith("http://192.0.2.7:8017/join/")
    assert "Only this machine can open it" not in page


def test_where_nobody_else_can_come_the_keeper_is_told_how_they_could(club: Club) -> None:
    page = invitation(club, "localhost")
    assert link(page).startswith("http://localhost/join/")
    assert "Only this machine can open it" in page
    assert "tethera serve --listen" in page


def test_an_address_the_keeper_came_by_is_kept(club: Club) -> None:
    with override_settings(SHARED_ADDRESS="http://192.0.2.7:8017", ALLOWED_HOSTS=["ropes.ulvergarth.invalid"]):
        assert link(invitation(club, "ropes.ulvergarth.invalid")).startswith("http://ropes.ulvergarth.invalid/join/")


def test_the_calendar_too(club: Club) -> None:
    with override_settings(SHARED_ADDRESS="http://192.0.2.7:8017"):
        page = club.keeper.get(f"{club.address}/settings", headers={"host": "localhost"}).content.decode()
    assert 'value="http://192.0.2.7:8017/calendar/' in page


def test_a_loopback_name_of_this_machine_is_no_address_for_others(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("TETHERA_ADDRESS", "TETHERA_FIRST_VISIT_KEY", "TETHERA_HOSTS", "TETHERA_DEMO"):
        monkeypatch.setenv(name, "")
        monkeypatch.delenv(name)
    monkeypatch.setattr(serving, "_own_names", lambda _host: ["hut", "127.0.1.1", "192.0.2.7"])
    serving.prepare_environment("0.0.0.0", 8017, demo=False)
    assert os.environ["TETHERA_ADDRESS"] == "http://192.0.2.7:8017"
    assert serving._address("0.0.0.0", 8017, ["127.0.1.1", "192.0.2.7"]) == "http://192.0.2.7:8017/"
