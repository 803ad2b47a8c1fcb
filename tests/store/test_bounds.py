"""What a file brought in by its own keeper may hold at most: beyond, it is refused in words when it is read."""

import io
import json
from datetime import UTC, datetime

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Corrected,
    Event,
    Fold,
    MemoryLog,
    Recorded,
    Register,
    Washed,
    decode_event,
    decode_recorded,
    encode_event,
    encode_recorded,
    encode_to_keep,
)
from tethera.store.codec import MOST_IN_ONE_ANOTHER, MOST_NUMBER
from tethera.store.exchange import UnreadableExport, read_export

DAY = PartialDate(2026, 11, 25)
WRITTEN = datetime(2026, 11, 25, 9, tzinfo=UTC)


def nested(corrections: int) -> Event:
    """A correction of a correction of …, the innermost of which says that the rope was washed."""
    event: Event = Washed(rope="UG1", happened=DAY)
    for _ in range(corrections):
        event = Corrected(happened=DAY, event=0, reason="slip", replacement=event)
    return event


def bought(**more: object) -> dict[str, object]:
    return {"what": "bought", "happened": "2026", "rope": "UG1", "length_cm": 3000, **more}


def test_corrections_may_stand_in_one_another_as_deep_as_anybody_ever_went() -> None:
    event = nested(MOST_IN_ONE_ANOTHER - 1)
    assert decode_event(json.loads(json.dumps(encode_event(event)))) == event


@pytest.mark.parametrize("corrections", [MOST_IN_ONE_ANOTHER, 150, 100_000])
def test_deeper_is_told_in_words(corrections: int) -> None:
    written: dict[str, object] = {"what": "washed", "happened": "2026", "rope": "UG1"}
    for _ in range(corrections):
        written = {"what": "corrected", "happened": "2026", "event": 0, "reason": "slip", "replacement": written}
    with pytest.raises(ValueError, match="more than 20 corrections stand in one another"):
        decode_event(written)


@pytest.mark.parametrize(
    ("value", "told"),
    [
        (bought(price_pence=10**30), r"“price_pence” of “bought” should lie within ±1,000,000,000,000, not 10000"),
        (bought(price_pence=-(10**13)), "“price_pence” of “bought” should lie within"),
        (bought(price_pence=10**400), "not 1000000000"),
        (bought(diameter_mm=1e300), "“diameter_mm” of “bought” should lie within"),
        (bought(diameter_mm=10**400), "“diameter_mm” of “bought” should lie within"),
        (bought(length_cm=10**12), "length_cm must be more than 0, not"),
        (
            {"what": "corrected", "happened": "2026", "event": 10**40, "reason": "x"},
            "“event” of “corrected” should lie",
        ),
    ],
)
def test_numbers_no_store_comes_near_are_told_in_words(value: dict[str, object], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        decode_event(value)


@pytest.mark.parametrize(
    "moment", ["9999-12-31T23:59:59+00:00", "0001-01-01T00:00:00+14:00", "1899-12-31T00:00:00+00:00"]
)
def test_a_moment_of_recording_lies_in_years_in_which_somebody_wrote(moment: str) -> None:
    line = {**encode_recorded(Recorded(Washed(rope="UG1", happened=DAY), WRITTEN)), "recorded": moment}
    with pytest.raises(ValueError, match="“recorded” should lie in the years 1900 to 2200, not"):
        decode_recorded(line)


@pytest.mark.parametrize("event", [nested(150), Bought(rope="UG1", happened=DAY, length_cm=1, price_pence=10**30)])
def test_what_could_not_be_read_again_is_not_recorded_either(event: Event) -> None:
    with pytest.raises(ValueError, match=r"stand in one another|should lie within"):
        encode_to_keep(Recorded(event, WRITTEN))


def test_an_export_names_the_line_and_brings_nothing_in() -> None:
    good = encode_recorded(Recorded(Washed(rope="UG1", happened=DAY), WRITTEN))
    lines = [good, {**good, **encode_event(nested(150))}]
    with pytest.raises(UnreadableExport, match=r"Line 2: more than 20 corrections.*Nothing was brought in"):
        read_export(io.BytesIO("\n".join(map(json.dumps, lines)).encode()), "jsonl")


def test_a_log_at_the_bounds_is_folded() -> None:
    events = [
        Bought(rope="UG1", happened=DAY, length_cm=999_999_999, price_pence=MOST_NUMBER, diameter_mm=1e8),
        *(nested(MOST_IN_ONE_ANOTHER - 1) for _ in range(3)),
    ]
    log = MemoryLog([Recorded(each, WRITTEN) for each in events])
    assert Fold(log.read()).ids() == ("UG1",)
    assert len(Register(log)) == 4
