"""Who may do what, at every address there is: the table in permissions.py against the pages."""

import copy
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.contrib.sessions.models import Session
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tethera.web.accounts.models import Membership
from tethera.web.store.opened import forget
from web.conftest import Club
from web.furnished import furnish
from web.permissions import IN_A_STORE, OUTSIDE

_ROLES = ("reader", "member", "competent", "keeper")


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, settings: Any) -> None:
    settings.FOLDER = tmp_path


def _addresses(patterns: list[URLPattern | URLResolver], inside: bool = False) -> Iterator[tuple[str, bool]]:
    for each in patterns:
        if isinstance(each, URLResolver):
            yield from _addresses(each.url_patterns, inside or "slug" in str(each.pattern))
        else:
            assert each.name, f"{each.pattern} has no name"
            yield each.name, inside


ADDRESSES = dict(_addresses(get_resolver().url_patterns))


def test_every_address_has_its_row_and_every_row_its_address() -> None:
    assert {name for name, inside in ADDRESSES.items() if inside} == set(IN_A_STORE)
    assert {name for name, inside in ADDRESSES.items() if not inside} == set(OUTSIDE)


def _of(name: str, told: dict[str, object], words: str, slug: str | None) -> str:
    args = [told.get(word, word) for word in words.split()]
    return reverse(name, args=[*([slug] if slug else []), *args])


def _rows() -> dict[str, int]:
    """How many rows each table has, sessions left out: signing in and what is told on the next page live there."""
    return {m._meta.label: m._default_manager.count() for m in apps.get_models() if m is not Session}


def _asked(client: Client, method: str, address: str) -> int:
    """The status; afterwards everything is as it was before, who is signed in too."""
    cookies = copy.deepcopy(client.cookies)
    with transaction.atomic():
        answer = getattr(client, method)(address)
        answer.close()
        transaction.set_rollback(True)
    client.cookies = cookies
    forget()
    return int(answer.status_code)


@pytest.mark.parametrize("name", sorted(IN_A_STORE))
def test_in_a_store_each_may_do_what_the_table_says(club: Club, name: str) -> None:
    words, *expected = IN_A_STORE[name]
    address = _of(name, furnish(club), words, club.store.slug)
    for method, statuses in zip(("get", "post"), expected, strict=True):
        found = [_asked(getattr(club, who), method, address) for who in _ROLES]
        assert found == [int(each) for each in statuses.split()], method
        assert _asked(club.nobody, method, address) == 302
        assert club.nobody.get(address)["Location"].startswith("/sign-in?next=")
        assert _asked(club.stranger, method, address) == 404


#: What is gone already is not told to who presses twice.
_WITHDRAWN_TWICE = {"invitation-withdraw"}
#: Addresses that name something of the store, not only a word.
_NAMING = sorted(name for name, row in IN_A_STORE.items() if row[0] and row[0] not in ("washed",))


@pytest.mark.parametrize("name", _NAMING)
def test_what_is_of_one_store_is_not_reached_through_another(club: Club, name: str) -> None:
    """The keeper of another store asks for it under the address of their own."""
    words, looking, sending = IN_A_STORE[name]
    address = _of(name, furnish(club), words, f"{club.store.slug}-other")
    Membership.objects.filter(account__email__startswith="stranger").update(competent=True)
    before, events = _rows(), club.log()
    for method, statuses in (("get", looking), ("post", sending)):
        expected = 405 if statuses.split()[-1] == "405" else 404
        if name in _WITHDRAWN_TWICE and method == "post":
            expected = 302
        assert getattr(club.stranger, method)(address).status_code == expected, method
    assert _rows() == before
    assert club.log() == events


@pytest.mark.parametrize("name", sorted(OUTSIDE))
def test_outside_of_stores_each_may_do_what_the_table_says(club: Club, name: str) -> None:
    words, *expected = OUTSIDE[name]
    address = _of(name, furnish(club), words, None)
    for method, statuses in zip(("get", "post"), expected, strict=True):
        found = [_asked(getattr(club, who), method, address) for who in ("nobody", "stranger", *_ROLES)]
        assert found == [int(each) for each in statuses.split()], method


@pytest.mark.parametrize("name", sorted(ADDRESSES))
def test_other_ways_to_ask_are_told_apart_and_looking_changes_nothing(club: Club, name: str) -> None:
    words = (IN_A_STORE | OUTSIDE)[name][0]
    address = _of(name, furnish(club), words, club.store.slug if ADDRESSES[name] else None)
    for method in ("put", "patch", "delete"):
        assert _asked(club.keeper, method, address) == 405, method
    before, events = _rows(), club.log()
    for client in (club.keeper, club.nobody):
        client.get(address).close()
        client.head(address).close()
    assert _rows() == before
    assert club.log() == events


@pytest.mark.parametrize("name", sorted(ADDRESSES))
def test_nothing_is_sent_without_the_word_that_the_form_carries(club: Club, name: str) -> None:
    """A form of another site has the cookies of who is signed in, and not this word."""
    words, _looking, sending = (IN_A_STORE | OUTSIDE)[name]
    address = _of(name, furnish(club), words, club.store.slug if ADDRESSES[name] else None)
    strict = Client(enforce_csrf_checks=True)
    strict.cookies = club.keeper.cookies
    before, events = _rows(), club.log()
    answer = strict.post(address, {"act": "record", "confirm": "1"})
    # Django asks for the word before anything else does: also where nothing can be sent.
    assert answer.status_code == 403, sending
    assert "This form was open too long" in answer.content.decode()
    assert _rows() == before
    assert club.log() == events


def test_a_store_that_is_not_there_is_not_found(club: Club) -> None:
    assert club.keeper.get("/no-such-store").status_code == 404
    assert club.keeper.get("/no-such-store/ropes").status_code == 404
