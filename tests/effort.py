"""How much work something is, counted in calls: the same on every machine, however busy it is."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType


class TooMuchWork(AssertionError):
    """More calls were made than may be."""


@contextmanager
def at_most(calls: int) -> Iterator[None]:
    """Stop what is done within as soon as it has called so many functions, those of C among them.

    What hangs inside one of them (a pattern that backtracks) is not seen here: faulthandler_timeout ends that run.
    """
    made, before = 0, sys.getprofile()

    def seen(_frame: FrameType, event: str, _of: object) -> None:
        nonlocal made
        if event in ("call", "c_call"):
            made += 1
            if made > calls:
                raise TooMuchWork(f"more than {calls:,} calls")

    sys.setprofile(seen)
    try:
        yield
    finally:
        sys.setprofile(before)
    # Whoever catches everything may have caught the stop as well.
    assert made <= calls, f"more than {calls:,} calls"
