"""What each leg of a bridle carries, against closed forms, an independent linear solve and scipy's minimiser."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize, nnls

from tethera.rigging.bridle import angle_between_deg, bridle_forces, legs_meet, y_share
from tethera.rigging.equilibrium import NoRest

metres = st.floats(-3.0, 3.0)


def level_y(angle_deg: float) -> tuple[list[list[float]], list[float]]:
    """Two anchors 2 m apart and the legs that make this angle."""
    leg = 1 / np.sin(np.radians(angle_deg / 2))
    return [[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]], [leg, leg]


@pytest.mark.parametrize("angle", [10.0, 60.0, 90.0, 120.0, 150.0, 160.0])
def test_a_level_y_shares_as_its_angle_says(angle: float) -> None:
    anchors, legs = level_y(angle)
    forces = bridle_forces(anchors, legs, [0.0, 0.0, -1.0])
    assert forces.share == pytest.approx([0.5 / np.cos(np.radians(angle / 2))] * 2, rel=1e-5)
    assert angle_between_deg(np.array(anchors), forces.point_m, forces.tension_kn) == pytest.approx(angle, abs=1e-3)


@pytest.mark.parametrize(
    ("pull_deg", "far", "near"), [(10, 0.82, 0.57), (20, 0.91, 0.42), (30, 0.97, 0.26), (40, 0.996, 0.09), (45, 1.0, 0)]
)
def test_a_right_angled_y_pulled_aside_shares_as_lami_says(pull_deg: float, far: float, near: float) -> None:
    """Lami: each leg by the sine of the angle between the other one and the pull."""
    anchors, legs = level_y(90.0)
    pull = np.radians(pull_deg)
    share = bridle_forces(anchors, legs, [np.sin(pull), 0.0, -np.cos(pull)]).share
    assert sorted(share) == pytest.approx([np.sin(np.pi / 4 - pull), np.cos(np.pi / 4 - pull)], abs=1e-6)
    assert sorted(share) == pytest.approx([near, far], abs=0.006)


def test_unequal_legs_obey_lami() -> None:
    anchors, legs = np.array([[0.0, 0.0, 0.0], [1.5, 0.0, -0.3]]), [1.2, 0.9]
    forces = bridle_forces(anchors, legs, [0.1, 0.0, -0.9])
    along = (anchors - forces.point_m) / np.linalg.norm(anchors - forces.point_m, axis=1, keepdims=True)
    pull = np.array([0.1, 0.0, -0.9])
    sine = [np.linalg.norm(np.cross(a, b)) for a, b in ((along[1], pull), (along[0], pull), (along[0], along[1]))]
    assert forces.tension_kn[0] / sine[0] == pytest.approx(1 / sine[2], rel=1e-6)
    assert forces.tension_kn[1] / sine[1] == pytest.approx(1 / sine[2], rel=1e-6)


THREE = np.array([[0.0, 0.0, 0.0], [1.2, 0.3, 0.1], [0.5, 0.9, -0.2]])
POINT = np.array([0.55, 0.4, -1.2])


def test_three_legs_agree_with_the_linear_equations_of_their_point() -> None:
    legs = np.linalg.norm(POINT - THREE, axis=1)
    share = bridle_forces(THREE, legs, [0.0, 0.0, -1.0]).share
    solved = np.linalg.solve(((THREE - POINT) / legs[:, None]).T, [0.0, 0.0, 1.0])
    assert share == pytest.approx(solved, abs=1e-5)
    assert share == pytest.approx([0.40774, 0.39703, 0.32567], abs=1e-5)


def test_one_of_three_legs_five_per_cent_too_long_carries_less() -> None:
    legs = np.linalg.norm(POINT - THREE, axis=1) * [1.0, 1.05, 1.0]
    assert bridle_forces(THREE, legs, [0.0, 0.0, -1.0]).share == pytest.approx([0.44, 0.25, 0.42], abs=0.01)


def test_a_batch_is_each_of_its_bridles() -> None:
    loads = np.array([[0.0, 0.0, -1.0], [0.2, 0.1, -0.9], [0.0, 0.3, -2.0]])
    legs = np.linalg.norm(POINT - THREE, axis=1)
    together = bridle_forces(THREE, legs, loads)
    for number, load in enumerate(loads):
        assert together.tension_kn[number] == pytest.approx(bridle_forces(THREE, legs, load).tension_kn, abs=1e-6)


def test_stretching_legs_agree_with_a_general_minimiser() -> None:
    legs, stiffness, load = np.array([1.3, 1.25, 1.2]), 5.0, np.array([0.2, -0.1, -0.8])

    def energy(p: np.ndarray) -> float:
        far = np.linalg.norm(p - THREE, axis=1)
        return float(-load @ p + 0.5 * (stiffness / legs * np.maximum(far - legs, 0) ** 2).sum())

    ours = bridle_forces(THREE, legs, load, stiffness)
    theirs = minimize(energy, POINT, method="Nelder-Mead", options={"xatol": 1e-10, "fatol": 1e-14, "maxiter": 9000})
    assert ours.point_m == pytest.approx(theirs.x, abs=1e-5)


@given(st.lists(st.tuples(metres, metres, metres), min_size=1, max_size=4), st.data())
@settings(max_examples=60, deadline=None)
def test_legs_only_pull_balance_the_load_and_are_no_longer_than_they_are(
    places: list[tuple[float, float, float]], data: st.DataObject
) -> None:
    anchors = np.array(places)
    legs = np.array([data.draw(st.floats(0.3, 5.0)) for _ in places])
    load = np.array(
        [data.draw(st.floats(-1.0, 1.0)), data.draw(st.floats(-1.0, 1.0)), data.draw(st.floats(-1.5, -0.2))]
    )
    assume(bool(legs_meet(anchors, legs, spare=1e-3)))
    try:
        forces = bridle_forces(anchors, legs, load)
    except NoRest:
        # Three legs that meet two by two need not all meet.
        assert len(places) > 2
        return
    away = anchors - forces.point_m
    far = np.linalg.norm(away, axis=1)
    assert np.all(np.isfinite(forces.tension_kn))
    assert np.all(forces.tension_kn >= 0)
    assert np.all(far <= legs * (1 + 1e-4))
    assert np.all((forces.tension_kn == 0) | (far >= legs * (1 - 1e-9)))
    _, rest = nnls((away / far[:, None]).T, -load)
    assert rest == pytest.approx(0, abs=1e-6)
    assert (away / far[:, None] * forces.tension_kn[:, None]).sum(axis=0) == pytest.approx(-load, abs=1e-6)


@given(
    st.lists(st.tuples(metres, metres, metres), min_size=1, max_size=4),
    st.data(),
    st.tuples(*[st.floats(-900.0, 900.0)] * 3),
    st.floats(0.0011, 99.0),
)
@settings(max_examples=60, deadline=None)
def test_where_the_cave_lies_and_how_heavy_the_load_is_do_not_move_the_shares(
    places: list[tuple[float, float, float]], data: st.DataObject, shift: tuple[float, float, float], load: float
) -> None:
    anchors = np.array(places)
    legs = np.array([data.draw(st.floats(0.02, 50.0)) for _ in places])
    assume(bool(legs_meet(anchors, legs, spare=1e-3)))
    aside, other = data.draw(st.floats(-1.0, 1.0)), data.draw(st.floats(-1.0, 1.0))
    pull = np.array([aside, other, -1.0]) / np.linalg.norm([aside, other, -1.0])
    try:
        here = bridle_forces(anchors, legs, pull)
    except NoRest:
        # Three legs that meet two by two need not all meet.
        assert len(places) > 2
        return
    there = bridle_forces(anchors + np.array(shift), legs, load * pull)
    assert there.point_m - shift == pytest.approx(here.point_m, abs=1e-5)
    _, rest = nnls(((anchors - here.point_m) / legs[:, None])[there.share > 0].T, -pull)
    assert rest == pytest.approx(0, abs=1e-4)


@pytest.mark.parametrize(
    ("anchors", "legs", "load"),
    [
        ([[0.0, 0.0, 0.0], [float("nan"), 0.0, 0.0]], [1.0, 1.0], [0.0, 0.0, -1.0]),
        ([[0.0, 0.0, 0.0]], [0.0], [0.0, 0.0, -1.0]),
        ([[0.0, 0.0, 0.0]], [1.0], [0.0, 0.0, 0.0]),
        ([[0.0, 0.0, 0.0]], [1.0, 1.0], [0.0, 0.0, -1.0]),
        ([[0.0, 0.0, 0.0]], [1.0], [0.0, 0.0, float("inf")]),
    ],
)
def test_what_cannot_be_is_refused_in_words(anchors: list[list[float]], legs: list[float], load: list[float]) -> None:
    with pytest.raises(ValueError, match=r"must|between"):
        bridle_forces(anchors, legs, load)


def test_legs_that_do_not_reach_each_other_are_told() -> None:
    with pytest.raises(NoRest, match="too short to meet"):
        bridle_forces([[0.0, 0.0, 0.0], [2.0, 0.0, 0.0]], [0.9, 0.9], [0.0, 0.0, -1.0])


def test_the_closed_form_refuses_a_flat_y() -> None:
    assert float(y_share(0.0)) == 0.5
    with pytest.raises(ValueError, match="angle_deg"):
        y_share(180.0)
