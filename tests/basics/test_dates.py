"""Dates people write, to the precision they are known: ISO 8601-1:2019, 5.2.2 (reduced precision; from memory)."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.basics import PartialDate, read_date


@pytest.mark.parametrize(
    ("written", "iso"),
    [
        ("2021", "2021"),
        ("Sept 21", "2021-09"),
        ("Sept '21", "2021-09"),
        ("september 2021", "2021-09"),
        ("09/2021", "2021-09"),
        ("2021-09", "2021-09"),
        ("2021-09-03", "2021-09-03"),
        ("3 Sep 2021", "2021-09-03"),
        ("3rd September 2021", "2021-09-03"),
        ("Sep 3rd, 2021", "2021-09-03"),
        ("13/09/2021", "2021-09-13"),
        ("09/13/2021", "2021-09-13"),
        ("7/7/21", "2021-07-07"),
        ("3-Sep-21", "2021-09-03"),
        ("Jan 98", "1998-01"),
    ],
)
def test_a_date_is_kept_as_precisely_as_it_is_written(written: str, iso: str) -> None:
    reading = read_date(written)
    assert reading.date is not None
    assert (reading.date.isoformat(), reading.findings) == (iso, ())


def test_a_date_that_could_be_two_days_keeps_the_year_and_says_so() -> None:
    reading = read_date("03/09/2021", where="row 3, column Bought")
    assert reading.date == PartialDate(2021)
    assert [(f.code, f.where) for f in reading.findings] == [("date-ambiguous", "row 3, column Bought")]
    assert "3 Sep 2021" in reading.findings[0].message
    assert "9 Mar 2021" in reading.findings[0].message


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("", "date-missing"),
        ("last summer", "date-unreadable"),
        ("31/02/2021", "date-impossible"),
        ("2021-13", "date-impossible"),
        ("0000", "date-impossible"),
        ("31 Dec 9999", "date-impossible"),
        ("0202-05-01", "date-impossible"),
        ("21", "date-unreadable"),
    ],
)
def test_a_date_that_cannot_be_read_is_a_finding(written: str, code: str) -> None:
    reading = read_date(written)
    assert (reading.date, [f.code for f in reading.findings]) == (None, [code])


def test_a_month_spans_its_first_to_its_last_day() -> None:
    assert PartialDate(2024, 2).earliest == date(2024, 2, 1)
    assert PartialDate(2024, 2).latest == date(2024, 2, 29)


@given(st.dates(date(1900, 1, 1), date(2200, 12, 31)), st.sampled_from([4, 7, 10]))
def test_iso_dates_of_any_precision_survive_being_written_and_read(day: date, length: int) -> None:
    iso = day.isoformat()[:length]
    assert PartialDate.fromisoformat(iso).isoformat() == iso
    reading = read_date(iso)
    assert reading.date is not None
    assert reading.date.isoformat() == iso


@pytest.mark.parametrize("iso", ["2021-02-30", "2021-13", "0000"])
def test_a_day_that_no_calendar_has_is_told_in_words(iso: str) -> None:
    with pytest.raises(ValueError, match=rf"^there is no (day|month or year) {iso}$"):
        PartialDate.fromisoformat(iso)


@given(st.text())
def test_any_text_gives_a_date_or_a_reason(text: str) -> None:
    reading = read_date(text)
    assert reading.date is not None or reading.findings
