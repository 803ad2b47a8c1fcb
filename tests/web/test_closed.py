"""What keeps a store closed beside its permissions: sessions, headers, hosts, and addresses that are secrets."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.test import Client

from tethera.web.accounts.models import Account
from web.conftest import Club

_GOOD = {"email": "p1@ug.invalid", "password": "three odd words"}


def test_who_signs_in_gets_a_fresh_session(club: Club) -> None:
    """A session that somebody else planted before is not the one that is signed in."""
    client = Client()
    session = client.session
    session["planted"] = "before"
    session.save()
    before = session.session_key
    client.cookies["sessionid"] = before
    assert client.post("/sign-in", _GOOD).status_code == 302
    assert client.cookies["sessionid"].value != before
    planted = Client()
    planted.cookies["sessionid"] = before
    assert planted.get("/me").status_code == 302


def test_a_changed_password_signs_out_every_other_device(club: Club) -> None:
    here, there = Client(), Client()
    for client in (here, there):
        assert client.post("/sign-in", _GOOD).status_code == 302
        assert client.get("/me").status_code == 200
    assert here.post("/me/password", {"old": _GOOD["password"], "password": "four quite odd words"}).status_code == 302
    assert here.get("/me").status_code == 200
    assert there.get("/me").status_code == 302


def test_who_is_let_go_finds_nothing_with_a_page_still_open(club: Club) -> None:
    assert club.member.get(f"{club.address}/ropes").status_code == 200
    Account.objects.get(email="p3@ug.invalid").memberships.all().delete()
    assert club.member.get(f"{club.address}/ropes").status_code == 404
    assert club.member.post(f"{club.address}/trips/new", {"name": "x"}).status_code == 404


@pytest.mark.parametrize("path", ["/sign-in", "/ug", "/ug/ropes", "/nothing-here", "/ug/settings"])
def test_every_page_tells_browsers_what_it_may_do(club: Club, path: str) -> None:
    answer = club.keeper.get(path)
    policy = answer["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert "http:" not in policy
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["Cross-Origin-Opener-Policy"] == "same-origin"
    assert answer["Cross-Origin-Resource-Policy"] == "same-origin"
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["Permissions-Policy"].startswith("camera=(self), geolocation=()")
    assert answer["Cache-Control"].startswith("private")


def test_pages_asked_for_under_another_name_are_refused_in_words(club: Club) -> None:
    for host in ("elsewhere.invalid", "localhost.elsewhere.invalid", "testserver@elsewhere.invalid", "a b"):
        answer = club.keeper.get("/ug", headers={"host": host})
        assert answer.status_code == 400, host
        assert b"Traceback" not in answer.content


def test_the_address_of_the_calendar_is_renewed_and_the_old_one_is_none(club: Club) -> None:
    old = f"/calendar/{club.store.calendar_key}.ics"
    assert club.nobody.get(old).status_code == 200
    assert club.keeper.post(f"{club.address}/settings/calendar").status_code == 302
    club.store.refresh_from_db()
    assert club.nobody.get(old).status_code == 404
    assert club.nobody.get(f"/calendar/{club.store.calendar_key}.ics").status_code == 200
    assert len(club.store.calendar_key) >= 32


_SETTINGS = """
from django.conf import settings as s
print(s.SESSION_COOKIE_NAME, s.CSRF_COOKIE_NAME, s.SESSION_COOKIE_SECURE, s.CSRF_COOKIE_SECURE, s.SECURE_HSTS_SECONDS)
print(s.SESSION_COOKIE_HTTPONLY, s.SESSION_COOKIE_SAMESITE, s.DEBUG)
"""


@pytest.mark.parametrize(
    ("https", "told"),
    [("1", ["__Host-sessionid __Host-csrftoken True True 31536000", "True Lax False"]),
     ("", ["sessionid csrftoken False False 0", "True Lax False"])],
)  # fmt: skip
def test_behind_https_cookies_go_over_nothing_else(tmp_path: Path, https: str, told: list[str]) -> None:
    environment = {
        **os.environ,
        "TETHERA_STORE": str(tmp_path),
        "TETHERA_HTTPS": https,
        "DJANGO_SETTINGS_MODULE": "tethera.web.settings",
    }
    done = subprocess.run(
        [sys.executable, "-c", _SETTINGS], capture_output=True, text=True, env=environment, timeout=60, check=True
    )
    assert done.stdout.splitlines() == told
