"""Which pitches one rope rigs alone: the need with margins, and what else a pitch asks of a rope."""

import pytest

from tethera.planning import pitches_reached
from tethera.rigging import read_route, rope_needs
from tethera.store import RopeState

ROUTE = """
name = "Quillet Pot"
[[pitch]]
name = "First"
depth = "20 m"
guide_rope = "30 m"
anchors = 4
[[pitch]]
name = "Old Rope"
depth = "5 m"
left_in_place = true
[[pitch]]
name = "Second"
depth = "10 m"
anchors = 2
min_diameter_mm = 9
type_a_only = true
max_g_per_m = 70
"""


def answers(rope: RopeState) -> dict[str, str | None]:
    route = read_route(ROUTE).route
    return {each.pitch: each.why_not for each in pitches_reached(rope, route.pitches, rope_needs(route))}


def test_a_long_rope_that_is_all_the_pitch_asks_rigs_every_pitch_that_needs_one() -> None:
    rope = RopeState("UG1", 6000, "measured", diameter_mm=10.0, rope_type="A", mass_g_per_m=65.0)
    assert answers(rope) == {"First": None, "Second": None}


def test_a_short_rope_is_told_by_how_many_metres() -> None:
    route = read_route(ROUTE).route
    first = pitches_reached(RopeState("UG1", 2000, "measured"), route.pitches, rope_needs(route))[0]
    assert first.why_not == f"{-(-(first.need_cm - 2000) // 100)} m short"
    assert first.need_cm > 2000


def test_a_length_known_from_paper_only_must_be_longer() -> None:
    route = read_route(ROUTE).route
    needs = rope_needs(route)
    measured = pitches_reached(RopeState("UG1", 4000, "measured"), route.pitches, needs)[0].need_cm
    assert pitches_reached(RopeState("UG1", 4000, "sheet"), route.pitches, needs)[0].need_cm > measured


@pytest.mark.parametrize(
    ("told", "why"),
    [
        ({"rope_type": "B", "diameter_mm": 10.0}, "only type A may hang here"),
        ({"rope_type": "A", "diameter_mm": 8.0}, "thinner than 9 mm"),
        ({"rope_type": "A"}, "its diameter is not known"),
        ({"rope_type": "A", "diameter_mm": 10.0}, "its mass is not known"),
        ({"rope_type": "A", "diameter_mm": 10.0, "mass_g_per_m": 75.0}, "heavier than 70 g/m"),
    ],
)
def test_what_a_pitch_asks_beside_metres_is_asked(told: dict[str, object], why: str) -> None:
    assert answers(RopeState("UG1", 6000, "measured", **told))["Second"] == why  # type: ignore[arg-type]


def test_of_a_rope_of_unknown_length_that_is_said() -> None:
    assert answers(RopeState("UG1"))["First"] == "its length is not known"
