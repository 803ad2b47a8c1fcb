"""Ropes drawn aside by slings, against a general minimiser and the bisector."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from tethera.rigging.deviations import deviation_failure, deviation_forces, deviation_pull
from tethera.rope import fall_modulus


def test_one_deviation_hangs_where_an_independent_search_puts_it() -> None:
    hung = deviation_forces([0.0, 0.0, 0.0], [[1.0, 0.0, -5.0]], [0.3], 1.0)
    assert hung.points_m[0][[0, 2]] == pytest.approx([0.7007, -5.0208], abs=1e-4)
    assert float(hung.turn_deg[0]) == pytest.approx(7.945, abs=1e-3)
    assert float(hung.share[0]) == pytest.approx(0.13856, abs=1e-5)


@pytest.mark.parametrize(
    ("turn", "pull"),
    [(5, 0.087), (10, 0.174), (15, 0.261), (20, 0.347), (30, 0.518), (45, 0.765), (60, 1.0), (90, 1.414)],
)
def test_the_pull_of_a_turn(turn: float, pull: float) -> None:
    assert float(deviation_pull(turn)) == pytest.approx(pull, abs=0.0006)


def test_several_in_a_row_agree_with_a_constrained_minimiser() -> None:
    anchor, held, slings = (
        np.zeros(3),
        np.array([[1.0, 0.0, -5.0], [-0.6, 0.2, -9.0], [0.8, 0.0, -14.0]]),
        [0.3, 0.2, 0.4],
    )

    def height(x: np.ndarray) -> float:
        points = np.vstack([anchor, x.reshape(-1, 3)])
        return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum() + points[-1, 2])

    bounds = [
        {"type": "ineq", "fun": lambda x, i=i: slings[i] ** 2 - ((x.reshape(-1, 3)[i] - held[i]) ** 2).sum()}
        for i in range(3)
    ]
    found = minimize(height, held.ravel(), constraints=bounds, method="SLSQP", options={"ftol": 1e-15, "maxiter": 500})
    hung = deviation_forces(anchor, held, slings, 0.83)
    assert height(hung.points_m.ravel()) == pytest.approx(height(found.x), abs=1e-6)
    assert hung.points_m == pytest.approx(found.x.reshape(-1, 3), abs=1e-3)


def test_each_sling_lies_on_the_bisector_of_its_turn() -> None:
    anchor, held = np.zeros(3), np.array([[1.0, 0.3, -5.0], [-0.6, 0.2, -9.0]])
    hung = deviation_forces(anchor, held, [0.3, 0.2], 1.0)
    corners = np.vstack([anchor, hung.points_m, hung.points_m[-1] - [0, 0, 1]])
    along = np.diff(corners, axis=0) / np.linalg.norm(np.diff(corners, axis=0), axis=1, keepdims=True)
    for number in range(2):
        pull = along[number] - along[number + 1]
        sling = held[number] - hung.points_m[number]
        assert sling / np.linalg.norm(sling) == pytest.approx(pull / np.linalg.norm(pull), abs=1e-5)
        assert float(hung.sling_kn[number]) == pytest.approx(np.linalg.norm(pull), rel=1e-6)


def test_a_deviation_that_does_not_touch_the_rope_carries_nothing() -> None:
    hung = deviation_forces([0.0, 0.0, 0.0], [[0.5, 0.0, -5.0]], [0.9], 1.0)
    assert hung.sling_kn.tolist() == [0.0]


@given(st.floats(-2.0, 2.0), st.floats(1.0, 40.0), st.floats(0.0, 1.0), st.floats(0.001, 50.0))
@example(aside=0.3125, down=35.0, sling=0.0, load=0.3125)
@example(aside=1.0, down=10.0, sling=1.0, load=1.0)
@example(aside=1.0, down=1.0, sling=1.0, load=1.0)
@settings(max_examples=60, deadline=None)
def test_the_rope_is_within_the_sling_and_no_force_is_unknown(
    aside: float, down: float, sling: float, load: float
) -> None:
    hung = deviation_forces([0.0, 0.0, 0.0], [[aside, 0.0, -down]], [sling], load)
    assert np.all(np.isfinite(hung.points_m))
    assert np.all(np.isfinite(hung.sling_kn))
    assert np.linalg.norm(hung.points_m[0] - [aside, 0.0, -down]) <= sling + 1e-5
    assert 0 <= float(hung.share[0]) <= 2


aside_m = st.floats(-2.0, 2.0)
steps = st.lists(st.tuples(aside_m, aside_m, st.floats(0.02, 30.0), st.floats(0.0, 20.0)), min_size=1, max_size=5)
where = st.tuples(*[st.floats(-800.0, 800.0)] * 3)


@given(steps, st.floats(0.001, 50.0), where)
@settings(max_examples=40, deadline=None)
def test_where_the_cave_lies_and_how_heavy_the_load_is_do_not_move_the_rope(
    row: list[tuple[float, float, float, float]], load: float, shift: tuple[float, float, float]
) -> None:
    down = -np.cumsum([step[2] for step in row])
    held = np.column_stack([[step[:2] for step in row], down])
    slings = [step[3] for step in row]
    here = deviation_forces(np.zeros(3), held, slings, 1.0)
    there = deviation_forces(np.array(shift), held + shift, slings, load)
    # A slack krab may lie anywhere along its rope: what hangs is compared by its height and its pulls.
    assert _height(np.zeros(3), here.points_m) == pytest.approx(_height(np.array(shift), there.points_m), abs=2e-5)
    assert there.share == pytest.approx(here.share, abs=2e-3)


def _height(anchor: np.ndarray, points: np.ndarray) -> float:
    corners = np.vstack([anchor, points])
    return float(np.linalg.norm(np.diff(corners, axis=0), axis=1).sum() + points[-1, 2] - anchor[2])


def test_a_failing_deviation_swings_the_rope_and_brings_about_twice_the_load() -> None:
    fails = deviation_failure([0.0, 0.0, 0.0], [0.7007, 0.0, -5.0208], 85.0, fall_modulus("A"))
    weight = 85 * 9.80665 / 1000
    assert fails.swing_m == pytest.approx(0.7007)
    assert 2 * weight < float(fails.peak_kn.likely) < 2.3 * weight


@pytest.mark.parametrize("sling", [-0.1, float("nan"), 30.0])
def test_a_sling_that_cannot_be_is_refused(sling: float) -> None:
    with pytest.raises(ValueError, match="slings_m"):
        deviation_forces([0.0, 0.0, 0.0], [[0.5, 0.0, -5.0]], [sling], 1.0)
