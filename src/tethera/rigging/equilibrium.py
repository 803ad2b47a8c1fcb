"""Where hanging things come to rest: the lowest energy of many like problems at once, by damped Newton steps.

The energies here (legs and slings that only pull, a rope of given length over krabs) are convex: what is found is the
only rest there is. Batches run along the first axis of every array.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
#: Energy (b,), gradient (b, m) and second derivatives (b, m, m) at states (b, m), for stiffness times this factor.
Energy = Callable[[Floats, float], tuple[Floats, Floats, Floats]]

#: A sling that just touches makes a flat valley: many small steps, and few ever needed elsewhere.
_STEPS, _HALVINGS = 3000, 40
#: Forces that balance to this share of the load are taken as balanced.
_BALANCED = 1e-8
#: Stiffness that holds a state where it is, by the force out of balance [1/m].
_KEPT_PER_M = 0.01
#: Legs as stiff as steel make narrow valleys: softer ones first lead near the place.
_SOFTER = (1e-8, 1e-7, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 1e-1, 1.0)


class NoRest(ValueError):
    """No place was found where the forces balance: what holds cannot hold the load in this shape."""


def settle(energy: Energy, start: Floats, load: Floats, *, softer: bool = True) -> Floats:
    """States of least energy, shape as `start` (b, m).

    Parameters
    ----------
    load : force by which "balanced" is measured, (b,) [kN], more than 0
    softer : begin with a hundred-millionth of the stiffness and raise it tenfold at a time

    Raises NoRest where the forces do not come to balance.
    """
    state, rest = start.astype(float), np.inf
    for stiffness in _SOFTER if softer else (1.0,):
        state, rest = _descend(energy, state, load, stiffness)
    if not np.all(np.isfinite(state)) or rest > 1e-6:
        raise NoRest("no place was found where the forces balance: check the lengths and where the anchors are")
    return state


def _descend(energy: Energy, state: Floats, load: Floats, stiffness: float) -> tuple[Floats, float]:
    """Newton steps until balanced; the state and what is out of balance, as a share of the load."""
    value, gradient, curve = energy(state, stiffness)
    size = state.shape[1]
    for _ in range(_STEPS):
        out = np.linalg.norm(gradient, axis=1) / load
        if np.all(out < _BALANCED):
            break
        # A krab that no sling pulls may lie anywhere along its rope: some stiffness keeps it where it is, and goes as
        # the balance comes, so that the last steps are whole ones.
        trace = np.trace(curve, axis1=1, axis2=2) / size + load
        kept = 1e-12 * trace + _KEPT_PER_M * out * load
        step = -np.linalg.solve(curve + kept[:, None, None] * np.eye(size), gradient[:, :, None])[:, :, 0]
        longest = np.abs(step).max(axis=1, keepdims=True)
        step *= np.minimum(1.0, 5.0 / np.maximum(longest, 1e-300))
        state, value, gradient, curve = _along(energy, stiffness, state, step, (value, gradient, curve))
    return state, float((np.linalg.norm(gradient, axis=1) / load).max())


def _along(
    energy: Energy, stiffness: float, state: Floats, step: Floats, here: tuple[Floats, Floats, Floats]
) -> tuple[Floats, Floats, Floats, Floats]:
    """A step made so short that the energy falls, or, where rounding hides that, the imbalance does."""
    value, gradient, curve = here
    slope = (gradient * step).sum(axis=1)
    imbalance = np.linalg.norm(gradient, axis=1)
    share = np.ones(len(state))
    for _ in range(_HALVINGS):
        tried = state + share[:, None] * step
        new_value, new_gradient, new_curve = energy(tried, stiffness)
        better = new_value <= value + 1e-4 * share * slope
        better |= np.linalg.norm(new_gradient, axis=1) < imbalance * (1 - 1e-3 * share)
        better |= imbalance == 0
        if better.all():
            return tried, new_value, new_gradient, new_curve
        share = np.where(better, share, share / 2)
    keep = better
    return (
        np.where(keep[:, None], tried, state),
        np.where(keep, new_value, value),
        np.where(keep[:, None], new_gradient, gradient),
        np.where(keep[:, None, None], new_curve, curve),
    )
