"""Rope numbers read from whatever was typed, scanned or pasted, however much it is."""

import pytest

from effort import at_most
from tethera.store import Bought
from tethera.web.paper.numbers import read_numbers
from web.conftest import DAY, Club


@pytest.fixture
def many(club: Club) -> Club:
    club.did(*(Bought(rope=f"UG{number}", happened=DAY, length_cm=5000) for number in range(1, 301)))
    return club


def test_known_and_unknown_are_told_apart_and_every_unknown_is_kept(many: Club) -> None:
    numbers = read_numbers(many.register(), "41 ug-42 https://ropes.invalid/ug/ropes/UG43?x=1 UG43 XX9")
    assert numbers.ropes == ("UG41", "UG42", "UG43")
    assert numbers.unknown == ("XX9",)
    assert "The nearest are" in numbers.told[0]


@pytest.mark.parametrize(
    "pasted", [" ".join(f"UX{n}" for n in range(5500)), "x" * 40_000, "a-" * 20_000, "/ropes/" * 5_000, "7" * 40_000]
)
def test_a_page_pasted_by_mistake_is_answered_at_once(many: Club, pasted: str) -> None:
    register = many.register()
    # It was twelve seconds, during which nobody else could use the store.
    with at_most(4_000_000):
        numbers = read_numbers(register, pasted)
    assert set(numbers.unknown) <= set(pasted.split()) or "/ropes/" in pasted
    assert len(numbers.told) == len(numbers.unknown)
    assert max(map(len, numbers.told), default=0) < 200


def test_a_word_longer_than_any_number_is_not_said_whole(many: Club) -> None:
    answer = many.member.get(f"{many.address}/out-and-back", {"take": "x" * 5000})
    assert f"{'x' * 40}…" in answer.content.decode()
    assert many.reader.get(f"{many.address}/measure/{'x' * 5000}").status_code in (403, 404)
