"""What changed between two versions of a route, as a person would tell it."""

import re
from dataclasses import replace
from importlib import resources
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigging.any_route import routes
from tethera.rigging import (
    Anchor,
    Edition,
    Learnt,
    Measure,
    Pitch,
    Route,
    Together,
    Totals,
    changed_pitches,
    read_route,
    route_from_table,
)
from tethera.rigging.route import exactly
from tethera.rigging.route_changes import PITCH_FACTS, longest_rising

A, B, C = (Pitch(name, exactly(depth)) for name, depth in (("Way In", 9.0), ("Barrow", 41.0), ("Anvil", 33.0)))
ROUTE = Route("Tallow", (A, B, C))


def demo(name: str) -> Route:
    return read_route((resources.files("tethera.cli") / "demo_data" / f"{name}.toml").read_text("utf-8")).route


def said(old: Route, new: Route) -> dict[str, tuple[str, ...]]:
    """What is told of each pitch, with plain spaces."""
    changes = changed_pitches(old, new)
    assert len({each.pitch for each in changes}) == len(changes)
    return {each.pitch: tuple(what.replace("\xa0", " ") for what in each.what) for each in changes}


def of_barrow(**changed: Any) -> tuple[str, ...]:
    told = said(ROUTE, replace(ROUTE, pitches=(A, replace(B, **changed), C)))
    assert told.keys() == {"Barrow"}
    return told["Barrow"]


def test_changes_are_told_pitch_by_pitch_in_words() -> None:
    old = demo("classic")
    barrow = old.pitch("Barrow")
    lower = replace(barrow.anchors[4], down_m=15.0)
    changed = replace(barrow, depth=exactly(38.0), anchors=(*barrow.anchors[:4], lower, *barrow.anchors[5:]))
    names = {"Entrance": "Way In"}
    new = replace(
        old,
        name="Cold Barrow Hole, upper way",
        pitches=tuple(
            changed if each is barrow else replace(each, name=names.get(each.name, each.name))
            for each in old.pitches
            if each.name != "Sump Drop"
        ),
    )
    told = said(old, new)
    assert told[""] == ("called Cold Barrow Hole, upper way, was Cold Barrow Hole",)
    assert told["Barrow"] == ("↓38 m, was ↓41 m", "rebelay 5: down 15 m, was 17 m")
    assert told["Way In"] == ("was called Entrance",)
    assert told["Sump Drop"] == ("taken out",)
    assert set(told) == {"", "Barrow", "Way In", "Sump Drop"}


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"depth": Measure(41.0, 45.0)}, "↓41 or 45 m, was ↓41 m"),
        ({"depth": Measure(41.0, 41.0, about=True)}, "about ↓41 m, was ↓41 m"),
        ({"depth": Measure(41.0, 41.0, pieces=(30.0, 11.0))}, "↓30 + 11 m, was ↓41 m"),
        ({"guide_rope": exactly(60.0)}, "guide's rope (60 m), was not said"),
        ({"guide_rope": Measure(55.0, 60.0)}, "guide's rope (55 or 60 m), was not said"),
        ({"to_next_m": 0.0}, "to the next 0 m, was not said"),
        ({"min_diameter_mm": 9.5}, "thinnest rope 9.5 mm, was not said"),
        ({"max_g_per_m": 70.0}, "heaviest rope 70 g/m, was not said"),
        ({"anchor_count": 6}, "anchors 6, was not said"),
        ({"pull_through": True}, "pulled through: yes"),
        ({"notes": ("Loose rock.",)}, "note: “Loose rock.”"),
        ({"editions": (Edition("Old guide, 1987", exactly(38.0), exactly(55.0), 1, "wet"),)},
         "Old guide, 1987 says ↓38 m, (55 m) of rope, 1 anchor, “wet”, new"),
        ({"editions": (Edition("Old guide, 1987"),)}, "Old guide, 1987 says nothing of it, new"),
        ({"anchors": (Anchor("backup"), Anchor("rebelay", down_m=20.0))},
         "now known anchor by anchor: backup, rebelay"),
    ],
)  # fmt: skip
def test_each_fact_is_told_as_it_is_now_and_as_it_was(changed: dict[str, Any], told: str) -> None:
    assert of_barrow(**changed) == (told,)


def test_only_a_rope_s_length_is_left_for_a_page_to_put_in_a_capsule() -> None:
    """A plain space before m is a rope's; a depth or a drop between anchors is held by one that does not break."""
    (change,) = changed_pitches(
        ROUTE, replace(ROUTE, pitches=(A, replace(B, depth=exactly(38.0), to_next_m=4.0, guide_rope=exactly(60.0)), C))
    )
    assert re.findall(r"\d+ m", " ".join(change.what)) == ["60 m"]


def test_an_anchor_put_in_between_moves_no_other() -> None:
    anchors = (Anchor("backup"), Anchor("y-hang", along_m=2.0), Anchor("rebelay", down_m=17.0))
    old = replace(ROUTE, pitches=(A, replace(B, anchors=anchors), C))
    new = replace(
        ROUTE, pitches=(A, replace(B, anchors=(anchors[0], Anchor("traverse", along_m=1.0), *anchors[1:])), C)
    )
    assert said(old, new) == {"Barrow": ("traverse 2: new",)}
    assert said(new, old) == {"Barrow": ("traverse 2: taken out",)}


@pytest.mark.parametrize(
    ("order", "told"),
    [
        ((C, A, B), {"Anvil": ("moved, now first",)}),
        ((B, C, A), {"Way In": ("moved, now after Anvil",)}),
        ((B, A, C), {"Barrow": ("moved, now first",)}),
    ],
)
def test_the_fewest_pitches_that_had_to_move_are_told(order: tuple[Pitch, ...], told: dict[str, Any]) -> None:
    assert said(ROUTE, replace(ROUTE, pitches=order)) in (
        told,
        {"Way In": ("moved, now after Barrow",)},  # of two that changed places either one moved
    )


@given(st.permutations(range(8)))
def test_those_that_stayed_rise_and_no_more_could_have(order: list[int]) -> None:
    stayed = [order[place] for place in sorted(longest_rising(order))]
    assert stayed == sorted(stayed)
    longest = [1] * len(order)
    for at, number in enumerate(order):
        longest[at] += max((longest[k] for k in range(at) if order[k] < number), default=0)
    assert len(stayed) == max(longest)


def test_another_pitch_at_the_same_place_is_no_new_name() -> None:
    other = Pitch("Chandler", exactly(17.0), guide_rope=exactly(25.0))
    told = said(ROUTE, replace(ROUTE, pitches=(A, other, C)))
    assert told == {"Chandler": ("new, ↓17 m deep",), "Barrow": ("taken out",)}


def test_a_new_name_is_followed_where_other_pitches_speak_of_it() -> None:
    old = replace(
        ROUTE,
        pitches=(A, B, replace(C, instead_of=("Barrow",))),
        together=(Together(("Way In", "Barrow"), exactly(70.0)),),
    )
    new = replace(
        old,
        pitches=(A, replace(B, name="Long Barrow"), replace(C, instead_of=("Long Barrow",))),
        together=(Together(("Way In", "Long Barrow"), exactly(70.0)),),
    )
    assert said(old, new) == {"Long Barrow": ("was called Barrow",)}


def test_what_the_route_says_as_a_whole_is_told_first() -> None:
    new = replace(
        ROUTE,
        team_size=4,
        notes=("Floods.",),
        together=(Together(("Way In", "Barrow"), exactly(70.0)),),
        stated_totals=Totals(rope=exactly(120.0), depth=exactly(83.0), anchors=14),
    )
    assert said(ROUTE, new) == {
        "": (
            "cavers 4, was not said",
            "note: “Floods.”",
            "rope for several pitches together: (70 m) for Way In and Barrow",
            "stated total of rope (120 m), was not said",
            "stated total of depth ↓83 m, was not said",
            "stated total of anchors 14, was not said",
        )
    }
    assert said(new, ROUTE)[""][2] == "rope for several pitches together: none"


def test_a_pitch_refined_says_that_it_is_now_known_anchor_by_anchor() -> None:
    table = {"name": "T", "pitches": [{"name": "Barrow", "depth": "41"}]}
    old = route_from_table(table).route
    table["pitches"][0]["anchor"] = [{"role": "backup"}, {"role": "rebelay", "down": "20"}]  # type: ignore[index]
    new = route_from_table(table).route
    assert old is not None
    assert new is not None
    assert said(old, new) == {"Barrow": ("now known anchor by anchor: backup, rebelay",)}


@settings(deadline=None)
@given(routes())
def test_the_same_route_has_changed_in_nothing(route: Route) -> None:
    taught = tuple(replace(pitch, learnt=Learnt(1.0, 0.5, 2)) for pitch in route.pitches)
    assert changed_pitches(route, replace(route, pitches=taught)) == ()
    assert changed_pitches(None, route)[0].pitch == ""


#: How what is told of a fact of two values begins; a name after "called" may end as the one before did.
LABELS = (*(called for called, _ in PITCH_FACTS.values()), "guide's rope", "stated total of", "↓", "about ↓")


@st.composite
def two_versions(draw: st.DrawFn) -> tuple[Route, Route]:
    """A route and another made of its pitches and of those of a second one, in any order."""
    old, other = draw(routes()), draw(routes())
    names = {pitch.name for pitch in old.pitches}
    pool = [*old.pitches, *(pitch for pitch in other.pitches if pitch.name not in names)]
    kept = draw(st.lists(st.sampled_from(pool), min_size=1, unique_by=lambda pitch: pitch.name))
    if draw(st.booleans()):
        facts = draw(st.sampled_from(other.pitches))
        kept[0] = replace(facts, name=kept[0].name)
    source = draw(st.sampled_from([old, other]))
    return old, replace(source, pitches=tuple(kept))


@settings(max_examples=200, deadline=None)
@given(two_versions())
def test_two_versions_that_differ_are_never_told_as_the_same(versions: tuple[Route, Route]) -> None:
    old, new = versions
    told = said(old, new)
    assert bool(told) == (old != new)
    for what in (each for whats in told.values() for each in whats):
        for label in LABELS:
            if what.startswith(label):
                now, _, was = what.removeprefix(label).partition(", was ")
                assert now.strip() != was.strip(), what


def test_names_of_pitches_told_are_those_of_the_route_they_stand_in() -> None:
    told = said(ROUTE, replace(ROUTE, pitches=(A, B)))
    assert told == {"Anvil": ("taken out",)}
