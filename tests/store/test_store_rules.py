"""The store's own rules: what holds when nothing was said, what was said before there were so many, and last."""

from datetime import UTC, datetime

import pytest

from tethera.basics import PartialDate
from tethera.store import DEFAULT_CODE, MemoryLog, Register, StoreDescribed, decode_event, encode_event

NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)
DAY = PartialDate(2026, 11, 25)


def test_a_store_described_before_there_were_these_rules_still_reads() -> None:
    line = {"what": "store-described", "happened": "2022-11", "code": "UG", "owner": "Ulvergarth Caving Club"}
    event = decode_event(line)
    assert event == StoreDescribed(happened=PartialDate(2022, 11), code="UG", owner="Ulvergarth Caving Club")
    assert isinstance(event, StoreDescribed)
    assert (event.inspection_months, event.label_keeps_back_percent, event.knots) == (None, 0, "")
    assert encode_event(event) == line


def test_every_rule_is_written_and_read_back() -> None:
    event = StoreDescribed(
        happened=DAY, code="UG", inspection_months=6, label_keeps_back_percent=5, knots="figure of nine, bowline"
    )
    assert decode_event(encode_event(event)) == event


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        ({"inspection_months": 0}, "inspection_months must be more than 0"),
        ({"label_keeps_back_percent": -1}, "keeps back 0 to 30 %, not -1"),
        ({"label_keeps_back_percent": 31}, "keeps back 0 to 30 %, not 31"),
    ],
)
def test_a_rule_that_cannot_be_is_told(rule: dict[str, int], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        StoreDescribed(happened=DAY, code="UG", **rule)  # type: ignore[arg-type]


def test_the_rules_are_those_said_last_and_until_then_the_usual_ones() -> None:
    register = Register(MemoryLog())
    assert register.store() is None
    assert register.store_rules().code == DEFAULT_CODE
    assert register.store_rules().inspection_months is None
    for months in (12, 6):
        event = StoreDescribed(happened=DAY, code="UG", inspection_months=months)
        register.record(event, recorded=NOW)
    assert register.store_rules() == event
