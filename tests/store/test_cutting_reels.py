"""Reels cut as soon as they are bought: nothing is lost, and every rope gets a number of its own."""

from hypothesis import given
from hypothesis import strategies as st

from tethera.basics import PartialDate
from tethera.store import Bought, Cut, Cutting

DAY = PartialDate(2026, 3, 1)


@given(st.integers(1000, 30_000), st.lists(st.integers(100, 9_000), min_size=1, max_size=5))
def test_the_pieces_and_the_off_cut_are_the_reel_and_no_centimetre_is_lost(reel: int, into: list[int]) -> None:
    cutting = Cutting((reel,), tuple(into))
    if cutting.too_much:
        assert cutting.over_cm == sum(into) - reel
        assert cutting.pieces_cm == tuple(into)
    else:
        assert sum(cutting.pieces_cm) == reel


def test_two_reels_cut_alike_give_numbers_to_the_reels_first_and_then_to_their_pieces() -> None:
    cutting = Cutting((10_000, 10_000), (6000, 3000))
    numbers = [f"UG{number}" for number in range(1, cutting.numbers + 1)]
    pattern = Bought(rope="NEW", happened=DAY, length_cm=1, maker="Maker A")
    events = cutting.events(numbers, pattern, DAY)
    assert [(each.rope, each.length_cm) for each in events if isinstance(each, Bought)] == [
        ("UG1", 10_000),
        ("UG2", 10_000),
    ]
    cuts = [
        (each.rope, [(piece.rope, piece.length_cm) for piece in each.into]) for each in events if isinstance(each, Cut)
    ]
    assert cuts == [
        ("UG1", [("UG3", 6000), ("UG4", 3000), ("UG5", 1000)]),
        ("UG2", [("UG6", 6000), ("UG7", 3000), ("UG8", 1000)]),
    ]


def test_an_off_cut_that_is_not_kept_gets_no_number() -> None:
    cutting = Cutting((10_000,), (6000, 3000), keep_off_cut=False)
    assert (cutting.numbers, cutting.pieces_cm, cutting.left_cm) == (3, (6000, 3000), 1000)


def test_what_may_be_left_after_washing_is_rounded_down() -> None:
    """55 m less 16 % is 46.2 m to the centimetre, though not in binary."""
    assert [line.shortest_cm for line in Cutting((5500,)).lines] == [4620]
