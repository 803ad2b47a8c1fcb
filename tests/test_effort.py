"""The counter of calls counts, stops what runs away, and is not fooled by who catches everything."""

import sys
from contextlib import suppress
from itertools import count

import pytest

from effort import TooMuchWork, at_most


def called(made: list[int], times: range | count) -> None:
    for each in times:
        made.append(abs(each))


def test_as_many_calls_as_may_be_are_made_and_no_more() -> None:
    few: list[int] = []
    with at_most(100):
        called(few, range(40))
    assert few == list(range(40))
    many: list[int] = []
    with pytest.raises(TooMuchWork, match="more than 100 calls"), at_most(100):
        called(many, count())
    assert 40 < len(many) <= 50  # two calls in each turn
    assert sys.getprofile() is None


def test_a_stop_that_is_caught_is_told_all_the_same() -> None:
    with pytest.raises(AssertionError, match="more than 100 calls"), at_most(100), suppress(AssertionError):
        called([], range(80))
