"""No reader of what others wrote ends in a traceback, hangs, or takes much memory, whatever it is given.

A few hundred tries a reader, half of them good files with pieces cut, doubled or replaced.
"""

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from effort import at_most
from faults.parsers import readers

#: Twenty times what the longest of these takes, a spreadsheet of ropes.
_MOST_CALLS = 2_000_000
_ODD = (
    b"",
    b"\x00",
    b"=",
    b"[",
    b"]" * 60,
    b'"',
    b"\n",
    b"-",
    b"1e999",
    b"nan",
    b"9" * 400,
    b"[[pitch]]\n",
    b"{" * 500,
)
_ODD += ("\u202e".encode(), "½²٣".encode(), "İ".encode(), b"\xff\xfe", b"0001-01-01", b"9999-12-31", b"\r\t,;|")


@st.composite
def damaged(draw: st.DrawFn, seeds: tuple[bytes, ...]) -> bytes:
    """A good file with up to six pieces cut, doubled, turned round, replaced or put in."""
    data = draw(st.sampled_from(seeds))
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(data)))
        long = draw(st.integers(0, 40))
        piece = data[at : at + long]
        new = draw(st.sampled_from((b"", piece * 2, piece[::-1], *_ODD)) | st.binary(max_size=8))
        data = data[:at] + new + data[at + long :]
    return data


@pytest.mark.parametrize("name", sorted(readers()))
def test_whatever_is_given_is_read_or_complained_of(name: str) -> None:
    reader = readers()[name]

    @settings(max_examples=150, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(
        damaged(reader.seeds)
        | st.binary(max_size=200)
        | st.text(max_size=80).map(lambda t: t.encode("utf-8", "replace"))
    )
    @example(b"")
    @example(b"\xff" * 50)
    def tried(data: bytes) -> None:
        with at_most(_MOST_CALLS):
            reader.take(data)

    tried()


@pytest.mark.parametrize("name", sorted(readers()))
def test_the_good_files_that_are_damaged_are_good(name: str) -> None:
    """Else the test above would never get beyond the first line of that file."""
    reader = readers()[name]
    assert all(reader.take(seed) for seed in reader.seeds)
