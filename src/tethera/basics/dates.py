"""Dates known to the year, the month or the day (ISO 8601 reduced precision), as people write them."""

import calendar
import re
from dataclasses import dataclass
from datetime import date

from tethera.basics.findings import Finding

_MONTHS = {name.lower(): i for i, name in enumerate(calendar.month_abbr) if name} | {
    name.lower(): i for i, name in enumerate(calendar.month_name) if name
}
_MONTHS["sept"] = 9
#: Whatever was written, no rope was ever used outside these years: it is a slip of the finger.
FIRST_YEAR, LAST_YEAR = 1900, 2200
#: Read once: the calendar asks the system for each name anew.
_SHORT = tuple(calendar.month_abbr)


@dataclass(frozen=True, slots=True)
class PartialDate:
    """A date known to the year, the month or the day.

    >>> PartialDate(2021, 9).isoformat(), PartialDate(2021, 9).latest
    ('2021-09', datetime.date(2021, 9, 30))
    """

    year: int
    month: int | None = None
    day: int | None = None

    def __post_init__(self) -> None:
        if self.month is None and self.day is not None:
            raise ValueError("a day needs its month")
        date(self.year, self.month or 1, self.day or 1)

    @property
    def earliest(self) -> date:
        """First day it can mean."""
        return date(self.year, self.month or 1, self.day or 1)

    @property
    def latest(self) -> date:
        """Last day it can mean."""
        month = self.month or 12
        return date(self.year, month, self.day or calendar.monthrange(self.year, month)[1])

    def isoformat(self) -> str:
        """ISO 8601, as precise as it is known."""
        parts = [f"{self.year:04d}"] + [f"{part:02d}" for part in (self.month, self.day) if part is not None]
        return "-".join(parts)

    def spoken(self) -> str:
        """As a person would say it.

        >>> PartialDate(2021, 9, 3).spoken(), PartialDate(2021, 9).spoken(), PartialDate(2021).spoken()
        ('3 Sep 2021', 'Sep 2021', '2021')
        """
        month = "" if self.month is None else f"{_SHORT[self.month]} "
        return f"{'' if self.day is None else f'{self.day} '}{month}{self.year}"

    @classmethod
    def fromisoformat(cls, text: str) -> "PartialDate":
        """Read 2021, 2021-09 or 2021-09-03; ValueError on anything else."""
        if not re.fullmatch(r"\d{4}(-\d{2}(-\d{2})?)?", text, re.ASCII):
            raise ValueError(f"expected YYYY, YYYY-MM or YYYY-MM-DD, not “{text[:60]}”")
        try:
            return cls(*(int(part) for part in text.split("-")))
        except ValueError:
            raise ValueError(f"there is no {'day' if text.count('-') == 2 else 'month or year'} {text}") from None

    @classmethod
    def of(cls, day: date) -> "PartialDate":
        """A date known to the day."""
        return cls(day.year, day.month, day.day)


def spoken_days(first: date, last: date) -> str:
    """The days from one to another as a person would say them, each word once.

    >>> spoken_days(date(2026, 12, 5), date(2026, 12, 6)), spoken_days(date(2026, 12, 5), date(2026, 12, 5))
    ('5 to 6 Dec 2026', '5 Dec 2026')
    >>> spoken_days(date(2026, 11, 30), date(2026, 12, 2)), spoken_days(date(2026, 12, 31), date(2027, 1, 2))
    ('30 Nov to 2 Dec 2026', '31 Dec 2026 to 2 Jan 2027')
    """
    begins, ends = PartialDate.of(first).spoken(), PartialDate.of(last).spoken()
    if first == last:
        return ends
    if first.year == last.year:
        begins = str(first.day) if first.month == last.month else begins.rpartition(" ")[0]
    return f"{begins} to {ends}"


@dataclass(frozen=True, slots=True)
class DateReading:
    """What a written date was understood to say, or None, with findings where it could be read in two ways."""

    date: PartialDate | None
    findings: tuple[Finding, ...] = ()


def read_date(text: str, *, where: str = "date") -> DateReading:
    """Read a date as people write it. What is certain is kept, what is ambiguous is a finding.

    >>> [read_date(t).date.isoformat() for t in ("2021", "Sept 21", "09/2021", "2021-09-03", "13/9/21")]
    ['2021', '2021-09', '2021-09', '2021-09-03', '2021-09-13']
    >>> reading = read_date("03/09/2021")
    >>> reading.date.isoformat(), reading.findings[0].code
    ('2021', 'date-ambiguous')
    """
    words = " ".join(re.sub(r"[.,\u2019']", " ", text.strip().lower()).split())
    if not words:
        return _doubt("date-missing", where, "No date is written.", "Write what is known, if only the year.")
    try:
        reading = _named_month(words, text, where) or _numbers(words, text, where)
    except ValueError:
        reading = _doubt(
            "date-impossible", where, f"“{text.strip()}” is not a day that exists.", "Check the day and month."
        )
    if reading is None:
        return _doubt(
            "date-unreadable",
            where,
            f"“{text.strip()}” is not a date that can be read.",
            "Write 2021, Sep 2021 or 2021-09-03.",
        )
    if reading.date is not None and not FIRST_YEAR <= reading.date.year <= LAST_YEAR:
        told = f"“{text.strip()}” is a day in the year {reading.date.year}, when nothing happened to any rope."
        return _doubt("date-impossible", where, told, f"Write a year from {FIRST_YEAR} to {LAST_YEAR}.")
    return reading


def _century(year: str) -> int:
    # Two digits: ropes are not older than the kernmantel rope, so 69 and below are 20xx.
    return int(year) if len(year) == 4 else 2000 + int(year) if int(year) < 70 else 1900 + int(year)


def _named_month(words: str, text: str, where: str) -> DateReading | None:
    match = re.fullmatch(r"(?:(\d{1,2})(?:st|nd|rd|th)?[ -/]*)?([a-z]+)[ -/]*(\d{4}|\d{2})", words)
    if match and match[2] in _MONTHS:
        return DateReading(PartialDate(_century(match[3]), _MONTHS[match[2]], int(match[1]) if match[1] else None))
    match = re.fullmatch(r"([a-z]+) (\d{1,2})(?:st|nd|rd|th)? (\d{4})", words)
    if match and match[1] in _MONTHS:
        return DateReading(PartialDate(int(match[3]), _MONTHS[match[1]], int(match[2])))
    return None


def _numbers(words: str, text: str, where: str) -> DateReading | None:
    parts = re.split(r"[-/ ]", words)
    if not all(re.fullmatch(r"[0-9]+", part) for part in parts):
        return None
    match [len(part) for part in parts]:
        case [4]:
            return DateReading(PartialDate(int(parts[0])))
        case [4, 1 | 2]:
            return DateReading(PartialDate(int(parts[0]), int(parts[1])))
        case [1 | 2, 4]:
            return DateReading(PartialDate(int(parts[1]), int(parts[0])))
        case [4, 1 | 2, 1 | 2]:
            return DateReading(PartialDate(int(parts[0]), int(parts[1]), int(parts[2])))
        case [1 | 2, 1 | 2, 2 | 4]:
            return _day_and_month(parts, text, where)
    return None


def _day_and_month(parts: list[str], text: str, where: str) -> DateReading:
    first, second, year = int(parts[0]), int(parts[1]), _century(parts[2])
    if len(parts[2]) == 2 and len(parts[0]) == 2 and first > 31:
        raise ValueError
    if first > 12 or first == second:
        return DateReading(PartialDate(year, second, first))
    if second > 12:
        return DateReading(PartialDate(year, first, second))
    known = PartialDate(year)
    return DateReading(
        known,
        (
            Finding(
                "date-ambiguous",
                where,
                f"“{text.strip()}” could be {PartialDate(year, second, first).spoken()} or "
                f"{PartialDate(year, first, second).spoken()}; only the year is kept.",
                "Write the month as a word, or the date as 2021-09-03.",
            ),
        ),
    )


def _doubt(code: str, where: str, message: str, way_out: str) -> DateReading:
    return DateReading(None, (Finding(code, where, message, way_out),))
