"""Anchors asked about whole: the end that hurts, what is not known, what looks bad."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tethera.rigging.across import ask_deviations, ask_traverse
from tethera.rigging.anchors import AnchorAnswer
from tethera.rigging.holding import Holding
from tethera.rigging.y_hang import ask_y

NEW_A = Holding(rope_type="A", wet=False, used_years=0.0)
WEIGHT = 100 * 9.80665 / 1000


def level_y(angle_deg: float, leg: float = 0.6) -> tuple[list[list[float]], list[float]]:
    half = leg * np.sin(np.radians(angle_deg / 2))
    return [[-half, 0, 0], [half, 0, 0]], [leg, leg]


def ends(answer: AnchorAnswer, place: int) -> list[float]:
    band = answer.loads[place].hanging_kn
    return [float(band.low), float(band.likely), float(band.high)]


def test_legs_a_tenth_out_carry_more_than_the_closed_form() -> None:
    low, likely, high = ends(ask_y(*level_y(90.0), 100.0, NEW_A), 0)
    assert likely == pytest.approx(WEIGHT / 2**0.5, rel=1e-4)
    assert low < likely < high


def test_every_load_is_told_twice_over_for_a_load_that_moves() -> None:
    """HSE report 364/2001, p.28: at the extreme 200 % of the gross weight."""
    load = ask_y(*level_y(60.0), 100.0, NEW_A).loads[0]
    assert load.moving_kn == pytest.approx(2 * float(load.hanging_kn.high))


def test_a_wide_y_looks_bad_and_a_narrow_one_is_only_not_told() -> None:
    wide, narrow = ask_y(*level_y(140.0), 100.0, NEW_A), ask_y(*level_y(60.0), 100.0, NEW_A)
    assert [found.code for found in wide.findings] == ["y-wide"]
    assert narrow.findings == ()


def test_an_anchor_declared_weaker_than_its_load_looks_bad() -> None:
    answer = ask_y(*level_y(60.0), 100.0, Holding(rating_kn=1.0, rope_type="A"))
    assert {found.code for found in answer.findings} == {"likely-over-what-held"}
    assert all(found.message.startswith("Looks bad: likely") for found in answer.findings)


def test_an_anchor_that_only_the_worst_end_passes_is_told_so() -> None:
    """What comes on a leg when the other fails: the rating lies between what is likely and the end that hurts."""
    bands = [load.fall_kn for load in ask_y(*level_y(60.0), 100.0, Holding(rope_type="A")).loads]
    likely, high = max(float(b.likely) for b in bands if b), min(float(b.high) for b in bands if b)
    answer = ask_y(*level_y(60.0), 100.0, Holding(rating_kn=(likely + high) / 2, rope_type="A"))
    told = [found for found in answer.findings if "of the anchor" in found.message]
    assert {found.code for found in told} == {"over-what-held"}
    assert all(found.message.startswith("Looks bad at the worst") for found in told)


def test_nobody_declared_nothing_known() -> None:
    held = ask_y(*level_y(60.0), 100.0, Holding()).loads[0].against
    assert [(each.held_kn, each.share) for each in held] == [(None, None), (None, None)]
    assert all("none known" in " ".join(each.words) for each in held)


def test_a_load_pulled_past_a_leg_leaves_it_slack_and_says_so() -> None:
    answer = ask_y(*level_y(60.0), 100.0, NEW_A, aside_deg=50.0)
    assert "leg-slack" in {found.code for found in answer.findings}


def test_one_deviation_and_its_anchor() -> None:
    answer = ask_deviations([(1.0, 5.0, 0.3)], 100.0, NEW_A)
    assert ends(answer, 1)[1] == pytest.approx(0.13856 * WEIGHT, rel=1e-3)
    assert ends(answer, 1)[2] > ends(answer, 1)[1]
    assert answer.loads[0].fall_kn is not None
    assert float(answer.loads[0].fall_kn.high) > 2 * WEIGHT


def test_a_deviation_that_does_nothing_is_told() -> None:
    assert ask_deviations([(0.5, 5.0, 0.9)], 100.0, NEW_A).findings[0].code == "deviation-idle"


def test_a_traverse_counts_less_slack_at_the_end_that_hurts() -> None:
    answer = ask_traverse(5.0, 0.25, 100.0, NEW_A)
    low, likely, high = ends(answer, 0)
    assert low < likely < high
    assert answer.facts["line_m"] == 5.25
    assert 0.4 < answer.facts["unloaded_sag_m"] < answer.facts["sag_m"]


def test_a_tight_traverse_breaks_the_rule_of_twice_the_load() -> None:
    codes = {found.code for found in ask_traverse(5.0, 0.0, 100.0, NEW_A).findings}
    assert "person-force" in codes
    assert {f.code for f in ask_traverse(5.0, 0.0, 60.0, Holding(wet=True)).findings} >= {"end-force"}


@pytest.mark.parametrize("mass", [float("nan"), 5.0, 900.0])
def test_a_mass_nobody_has_is_refused(mass: float) -> None:
    with pytest.raises(ValueError, match="mass_kg"):
        ask_y(*level_y(60.0), mass, NEW_A)


@given(st.floats(20.0, 140.0), st.floats(0.2, 5.0), st.floats(40.0, 200.0), st.floats(0.0, 20.0), st.sampled_from("AB"))
@settings(max_examples=30, deadline=None)
def test_no_answer_holds_an_unknown_number_or_a_promise(
    angle: float, leg: float, mass: float, below: float, kind: str
) -> None:
    holding = Holding(rating_kn=12.0, rope_type=kind)  # type: ignore[arg-type]
    told = json.dumps(ask_y(*level_y(angle, leg), mass, holding, below_m=below).to_mapping(), allow_nan=False)
    assert "safe" not in told.casefold()
    span, slack = leg * 2, min(below / 10, leg)
    json.dumps(ask_traverse(max(span, 0.5), slack, mass, holding).to_mapping(), allow_nan=False)
