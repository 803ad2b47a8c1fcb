"""Dates of a plain mapping, however they are written: a PartialDate, a date, a moment or ISO 8601 text."""

from datetime import date, datetime
from typing import Any

from tethera.basics import PartialDate


def spoken_date(written: Any) -> str:
    """A date as people say it, a moment with its time; what is not one is left as it is written.

    >>> spoken_date("2021-09"), spoken_date(datetime(2026, 3, 2, 9, 5)), spoken_date(None)
    ('Sep 2021', '2 Mar 2026 09:05', '')
    """
    if isinstance(written, datetime):
        return f"{PartialDate.of(written.date()).spoken()} {written:%H:%M}"
    read = _partial(written)
    return read.spoken() if read else str(written or "")


def span_of(written: Any) -> tuple[date, date]:
    """The first and the last day a date can mean; ValueError when it is none.

    >>> span_of("2021-09")
    (datetime.date(2021, 9, 1), datetime.date(2021, 9, 30))
    """
    read = _partial(written)
    if read is None:
        raise ValueError(f"expected a date, as 2021-09-03, not “{written}”")
    return read.earliest, read.latest


def middle_of(written: Any) -> float:
    """Where a date stands on a line of days: the middle of what it can mean, as a day number."""
    first, last = span_of(written)
    return (first.toordinal() + last.toordinal()) / 2


def _partial(written: Any) -> PartialDate | None:
    if isinstance(written, PartialDate):
        return written
    if isinstance(written, datetime):
        written = written.date()
    if isinstance(written, date):
        return PartialDate.of(written)
    try:
        return PartialDate.fromisoformat(written) if isinstance(written, str) else None
    except ValueError:
        return None
