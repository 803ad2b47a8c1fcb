"""Every page of a store, and who may look at it: nobody, a stranger, and a wrong way of asking."""

import pytest
from django.urls import URLPattern, URLResolver, get_resolver

from web.conftest import Club


def _names(patterns: list[URLPattern | URLResolver], inside: bool = False) -> list[str]:
    names = []
    for each in patterns:
        if isinstance(each, URLResolver):
            names += _names(each.url_patterns, inside or "slug" in str(each.pattern))
        elif inside and not each.pattern.converters and each.name:
            names.append(each.name)
    return names


PLAIN_PAGES = sorted(set(_names(get_resolver().url_patterns)))


def test_there_are_pages_to_walk() -> None:
    assert {"today"} <= set(PLAIN_PAGES)


@pytest.mark.parametrize("name", PLAIN_PAGES)
def test_nobody_is_asked_to_sign_in_and_a_stranger_finds_nothing(club: Club, name: str) -> None:
    from django.urls import reverse

    address = reverse(name, args=[club.store.slug])
    asked = club.nobody.get(address)
    assert asked.status_code == 302
    assert asked["Location"].startswith("/sign-in")
    assert club.stranger.get(address).status_code == 404
    assert club.stranger.post(address).status_code == 404
    assert club.keeper.put(address).status_code == 405
    assert club.keeper.get("/no-such-store/").status_code == 404
