"""A route larger than any is told in words, and one full of faults is read in a moment."""

from typing import Any

import pytest

from effort import at_most
from tethera.rigging import UnreadableRoute, read_route, read_route_rows, route_from_table
from tethera.rigging.table_faults import MOST_FAULTS

#: Twice what the longest of these takes. Read as a whole once for each fault, as it was, a route of 200 pitches took
#: hundreds of times as many, and two minutes.
_MOST_CALLS = 16_000_000


def table(pitches: int, anchors: int, **of_an_anchor: str) -> dict[str, Any]:
    rows = [{"role": "rebelay", "down": "1.5", **of_an_anchor} for _ in range(anchors)]
    return {"name": "Long", "pitches": [{"name": f"P{n}", "depth": "90", "anchor": rows} for n in range(pitches)]}


@pytest.mark.parametrize(
    ("pitches", "anchors", "told"),
    [(201, 0, "201 pitches; at most 200"), (1, 101, "101 anchors and other guides; at most 100"),
     (40, 60, "2,400 anchors and other guides; at most 2,000")],
)  # fmt: skip
def test_more_than_any_route_has_is_told(pitches: int, anchors: int, told: str) -> None:
    reading = route_from_table(table(pitches, anchors))
    assert reading.route is None
    assert told in reading.errors[0].message
    row = '[[pitch.anchor]]\nrole = "rebelay"\n'
    text = 'name = "Long"\n' + "".join(
        f'[[pitch]]\nname = "P{n}"\ndepth = "9 m"\n{row * anchors}' for n in range(pitches)
    )
    with pytest.raises(UnreadableRoute, match=told):
        read_route(text)


def test_a_sheet_of_more_pitches_than_any_route_has_is_told() -> None:
    rows = [["Pitch", "Depth (m)"], *([f"P{n}", 9] for n in range(201))]
    with pytest.raises(UnreadableRoute, match="201 pitches; at most 200"):
        read_route_rows(rows)


def test_what_just_fits_is_read() -> None:
    route = route_from_table(table(200, 10)).route
    assert route is not None
    assert sum(len(pitch.anchors) for pitch in route.pitches) == 2000


@pytest.mark.parametrize(
    "wrong", [{"down": "deep"}, {"role": "main"}, {"bolts": "many", "loop": "x", "knot": "granny"}]
)
def test_a_table_full_of_faults_names_them_without_making_anybody_wait(wrong: dict[str, str]) -> None:
    cells = table(200, 10, **wrong)
    with at_most(_MOST_CALLS // 4):
        reading = route_from_table(cells)
    assert len(reading.errors) == MOST_FAULTS + 1
    assert {error.key for error in reading.errors[:-1]} <= set(wrong)
    assert "Mend some of them first" in reading.errors[-1].message


def test_pitches_of_one_name_or_instead_of_none_are_told_without_making_anybody_wait() -> None:
    twice = table(200, 10)
    for cells in twice["pitches"][:150]:
        cells["name"] = "Same"
    instead = table(200, 10)
    for cells in instead["pitches"][50:]:
        cells["instead_of"] = "Nowhere"
    with at_most(_MOST_CALLS):
        assert len(route_from_table(twice).errors) == 149
    with at_most(_MOST_CALLS):
        read = route_from_table(instead)
    assert len(read.errors) == 150
    assert read.route is not None
    assert len(read.route.pitches) == 50
