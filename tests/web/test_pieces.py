"""Several lengths in one line, as people write a cut."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.web.reels.pieces import read_pieces


@pytest.mark.parametrize(
    ("written", "metres"),
    [
        ("50, 50, 60, 40", [50, 50, 60, 40]),
        ("3x50", [50, 50, 50]),
        ("3 × 50m", [50, 50, 50]),
        ("3*50 + 12.5", [50, 50, 50, 12.5]),
        ("50 m x 2", [50, 50]),
        ("2 of 60 m and a 40", [60, 60, 40]),
        ("50 50\n60", [50, 50, 60]),
        ("50m,60m;40m", [50, 60, 40]),
        ("50,60", [50, 60]),
        ("100 ft", [30.48]),
        ("100 yd", [91.44]),
        ("2 x 100'", [30.48, 30.48]),
        ("200.", [200]),
        ("4500 cm", [45]),
    ],
)
def test_lengths_are_read_as_people_write_them(written: str, metres: list[float]) -> None:
    assert read_pieces(written) == tuple(round(each * 100) for each in metres)


def test_a_bare_number_is_in_the_readers_unit() -> None:
    assert read_pieces("100, 30 m", "ft") == (3048, 3000)


@pytest.mark.parametrize("written", ["12,5", "1,250"])
def test_a_comma_that_could_be_a_point_is_asked_about(written: str) -> None:
    with pytest.raises(ValueError, match="one length or two"):
        read_pieces(written)


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("61,5", "“61,5” could be one length or two. Write 61.5 for one, 61, 5 with a space for two."),
        ("1,000 ft", "“1,000 ft” could be one length or two. Write 1000 without a comma for one."),
        ("30/40", "“30/40” could be two lengths or a choice. Write 30, 40 for two, or the one it is."),
        ("30 m or 40", "“30 m or 40” could be two lengths or a choice. Write 30 m, 40 for two, or the one it is."),
        ("50, half", "In “50, half” the part “half” cannot be read as lengths. Write them as 50, 50, 60 or 3 x 50."),
        ("Fifty", "“Fifty” cannot be read as lengths. Write them as 50, 50, 60 or 3 x 50."),
    ],
)
def test_a_complaint_quotes_all_that_was_typed_and_says_how_to_write_it(written: str, told: str) -> None:
    with pytest.raises(ValueError, match=re.escape(told)):
        read_pieces(written)


@pytest.mark.parametrize("written", ["fifty", "50, , 60", "50,", "3x", "x50", "50 furlongs", "3x50x2", "-50", "0"])
def test_what_cannot_be_read_is_told_and_nothing_is_guessed(written: str) -> None:
    with pytest.raises(ValueError, match=r"cannot be read|no length of rope"):
        read_pieces(written)


@pytest.mark.parametrize("written", ["999x1", "0x50"])
def test_a_slip_of_the_finger_makes_no_thousand_ropes(written: str) -> None:
    with pytest.raises(ValueError, match="At most 100"):
        read_pieces(written)


@given(st.lists(st.integers(1, 30_000), min_size=1, max_size=20))
def test_what_is_written_in_centimetres_comes_back(lengths: list[int]) -> None:
    assert read_pieces(", ".join(f"{each} cm" for each in lengths)) == tuple(lengths)
