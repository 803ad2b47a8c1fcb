"""The pages in the head of every page: those one may open, and the one they are at."""

import re

import pytest

from web.conftest import Club


def here(club: Club, path: str) -> list[str]:
    page = club.competent.get(f"{club.address}{path}").content.decode()
    return re.findall(r'aria-current="page">([^<]+)</a>', page)


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("", "Today"),
        ("/ropes", "Ropes"),
        ("/ropes/UG1", "Ropes"),
        ("/preparation", "Preparation"),
        ("/measure", "Preparation"),
        ("/measure/UG1", "Preparation"),
        ("/inspect/UG1", "Examine"),
    ],
)
def test_the_page_one_is_at_is_marked_and_measuring_belongs_to_preparation(club: Club, path: str, name: str) -> None:
    club.ready("UG1")
    assert here(club, path) == [name]


def test_a_page_lists_only_what_one_may_open(club: Club) -> None:
    page = club.reader.get(club.address).content.decode()
    assert f'href="{club.address}/ropes"' in page
    assert f'href="{club.address}/settings"' not in page
    assert f'href="{club.address}/preparation"' not in page
    assert f'href="{club.address}/settings"' in club.keeper.get(club.address).content.decode()
