"""“Fit to go back” beside a fault: recorded as the competent person said it, and doubted until it is answered."""

import re
from typing import Any

from tethera.basics import PartialDate
from tethera.store import Cleared, SetAside
from web.conftest import Club

LATER = PartialDate(2024, 5, 20)


def examine(club: Club, happened: str, **told: Any) -> Any:
    sent = {"act": "record", "rows": "12", "reason": "in doubt", "outcome": "fit", "signed": "on", "happened": happened}
    return club.competent.post(f"{club.address}/inspect/UG1", {**sent, **told})


def in_doubt(club: Club) -> str:
    """The margin of the rope's page."""
    shown = club.keeper.get(f"{club.address}/ropes/UG1").content.decode()
    margin = shown.split("In doubt</h2>")[1].split("</aside>")[0]
    return " ".join(re.sub(r"<[^>]+>", "", margin).split())


def test_the_doubt_stays_with_who_said_it_and_when_until_it_is_answered(club: Club) -> None:
    club.ready("UG1")
    club.did(SetAside(rope="UG1", happened=LATER, reason="core seen"))
    fault = {"f0-at": "12.4", "f0-what": "core shows"}
    done = examine(club, "2024-06-01", **fault, clear="on", answered="looked at it")
    assert isinstance(club.log()[-1], Cleared)
    assert club.rope("UG1").state == "ready"
    told = re.sub(r"<[^>]+>", "", club.competent.get(done["Location"], follow=True).content.decode())
    assert told.count("stands beside what was found") == 1
    said = in_doubt(club)
    assert "“Fit to go back” stands beside what was found, 1 Jun 2024: Core shows at 12.4" in said
    assert "That was said by Tobias Quarmby." in said
    examine(club, "2024-07-01", findings="No core shows: it was a white thread of the bag.")
    assert "beside what was found" not in in_doubt(club)
