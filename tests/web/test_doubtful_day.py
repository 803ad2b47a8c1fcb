"""A day that could be two days is kept as a year, and whoever wrote it is told so, whatever was recorded with it."""

import re

import pytest

from tethera.store import Measured, TakenOut
from web.conftest import DAY, Club

WRITTEN = "03/04/25"
SENT: dict[str, tuple[str, dict[str, object]]] = {
    "a wash": ("ropes/UG1/do/washed", {}),
    "a cut": ("ropes/UG1/do/cut", {"piece_1": "12", "piece_2": "10"}),
    "several washes": ("ropes/several", {"act": "washed", "rope": ["UG1", "UG2"]}),
    "a retirement": ("ropes/UG1/retire", {"choice": "worn sheath"}),
    "a description": ("ropes/UG1/describe", {"product": "Fell 9", "maker": "Maker A", "rope_type": "A"}),
    "a recall": ("ropes/recall", {"maker": "Maker A", "reason": "notice"}),
    "a step of preparation": ("preparation/washed", {"rope": "UG1"}),
    "a count": ("measure/UG1", {"count_1": "29.40", "count_2": "29.42"}),
    "new ropes": ("new-ropes", {"length": "50"}),
    "taking out": ("out-and-back", {"ropes": "UG1", "until": ""}),
    "bringing back": ("out-and-back/bring-back", {"rope": "UG3", "how": "muddy"}),
    "leaving rigged": ("out-and-back/leave-rigged", {"rope": "UG3"}),
    "setting aside": ("inspect", {"ropes": "UG1", "reason": "flat spot"}),
    "an examination": (
        "inspect/UG1",
        {"reason": "periodic", "findings": "nothing", "outcome": "fit", "signed": "on", "act": "record"},
    ),
    "a stocktake": ("stocktake", {"rope": "UG1", "act": "record"}),
}


@pytest.fixture
def busy(club: Club) -> Club:
    for rope in ("UG1", "UG2", "UG3"):
        club.ready(rope, 30, maker="Maker A", rope_type="A")
    club.did(TakenOut(rope="UG3", happened=DAY))
    return club


@pytest.mark.parametrize("what", SENT)
def test_a_day_that_could_be_two_is_told(busy: Club, what: str) -> None:
    address, fields = SENT[what]
    who = busy.competent if what == "an examination" else busy.keeper
    answer = who.post(f"{busy.address}/{address}", {"happened": WRITTEN, **fields}, follow=True)
    assert answer.status_code == 200, re.findall(r"error[^>]*>([^<]+)<", answer.content.decode())
    assert "only the year is kept" in answer.content.decode()
    assert any(each.happened.month is None and each.happened.year == 2025 for each in busy.log())


def test_a_corrected_day_that_could_be_two_is_told(busy: Club) -> None:
    number = next(n for n, each in enumerate(busy.log()) if isinstance(each, Measured) and each.rope == "UG1")
    page = busy.keeper.get(f"{busy.address}/ropes/UG1/correct/{number}").content.decode()
    counts = re.search(r'<textarea name="to_counts_cm"[^>]*>\s*([^<]*)</textarea>', page)
    length = re.search(r'name="to_length_cm" value="([^"]*)"', page)
    assert length
    told = {
        "to_happened": WRITTEN, "to_rope": "UG1", "to_length_cm": length[1], "reason": "read the bench",
        "to_counts_cm": counts[1] if counts else "",
    }  # fmt: skip
    answer = busy.keeper.post(f"{busy.address}/ropes/UG1/correct/{number}", told, follow=True)
    assert answer.status_code == 200
    assert "only the year is kept" in answer.content.decode()
