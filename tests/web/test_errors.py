"""What goes wrong below the pages: words for the visitor, a trace for who looks after them."""

import logging

import pytest
from django.db import DataError, OperationalError

from tethera.web.store import opened
from web.conftest import Club


@pytest.mark.parametrize(
    ("error", "status", "told"),
    [
        (ValueError("a day needs its month"), 400, "a day needs its month"),
        (DataError("value too long for type"), 400, "Something in it cannot be kept"),
        (OperationalError("locked"), 503, "The database did not answer in time"),
    ],
)
def test_an_error_from_below_is_told_in_words_and_leaves_a_trace(
    club: Club,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    error: Exception,
    status: int,
    told: str,
) -> None:
    def fail(*_: object) -> None:
        raise error

    monkeypatch.setattr(opened.OpenedStore, "ropes", fail)
    with caplog.at_level(logging.WARNING):
        answer = club.keeper.get(f"{club.address}/ropes")
    assert answer.status_code == status
    assert told in answer.content.decode()
    assert str(error) in caplog.text


@pytest.mark.parametrize(
    "address", ["/calendar/%00.ics", "/join/%00", "/password/%00", "/first/%00", "/%00", "/ug/under-way/0"]
)
def test_an_address_no_database_could_keep_is_not_found_or_not_read(club: Club, address: str) -> None:
    assert club.keeper.get(address).status_code in (400, 404)
