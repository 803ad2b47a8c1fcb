"""The calls into SciPy's HiGHS: a linear program with prices, and a small integer program on the columns that matter.

Never a start vector (a solver given one has been seen to prove a wrong optimum), and whatever comes back is rounded and
checked again in integers by the caller. The solver runs in a thread, so that Ctrl-C is answered at once: the thread is
left to its time limit and its answer thrown away.
"""

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

Floats = NDArray[np.float64]
Rows = tuple[sparse.csr_array, Floats]


@dataclass(frozen=True, slots=True)
class Relaxed:
    """Optimum of the linear program: its value, reduced cost of each column, prices of equality and limit rows."""

    value: float
    reduced: Floats
    equality_prices: Floats
    limit_prices: Floats


class NoAnswer(Exception):
    """The solver gave no usable answer; `impossible` says that it found no solution to exist."""

    def __init__(self, *, impossible: bool) -> None:
        super().__init__("impossible" if impossible else "out of time")
        self.impossible = impossible


def relax(cost: Floats, equalities: Rows, limits: Rows, *, seconds: float) -> Relaxed:
    """Solve the linear program over columns >= 0; NoAnswer when there is none or time is up."""
    if len(cost) == 0:
        # No rope fits any run, and every line wants one.
        raise NoAnswer(impossible=True)
    result = _watched(
        lambda: linprog(
            cost,
            A_ub=limits[0] if limits[0].shape[0] else None,
            b_ub=limits[1] if limits[0].shape[0] else None,
            A_eq=equalities[0],
            b_eq=equalities[1],
            bounds=(0, None),
            method="highs-ipm",
            options={"time_limit": max(seconds, 0.01)},
        )
    )
    if result.status != 0:
        raise NoAnswer(impossible=result.status == 2)
    of_equalities = np.asarray(result.eqlin.marginals)
    of_limits = np.asarray(result.ineqlin.marginals) if limits[0].shape[0] else np.zeros(0)
    reduced = cost - equalities[0].T @ of_equalities - limits[0].T @ of_limits
    return Relaxed(float(result.fun), reduced, of_equalities, of_limits)


def integers(
    cost: Floats,
    equalities: Rows,
    limits: Rows,
    keep: NDArray[np.int64],
    whole: NDArray[np.bool_],
    most: Floats,
    *,
    seconds: float,
    size: float,
) -> tuple[NDArray[np.int64], float, bool]:
    """Solve the integer program on the kept columns, each at most `most`.

    Costs are whole numbers, so a gap below 1 in a value of about `size` proves an answer best.
    Gives all columns (zero where not kept), the solver's lower bound over the kept columns, and whether it is proven.
    NoAnswer when there is no solution, or none was found in time.
    """
    result = _watched(
        lambda: milp(
            cost[keep],
            integrality=whole[keep].astype(int),
            bounds=Bounds(0, most[keep]),
            constraints=[
                LinearConstraint(equalities[0][:, keep], equalities[1], equalities[1]),
                *([LinearConstraint(limits[0][:, keep], -np.inf, limits[1])] if limits[0].shape[0] else []),
            ],
            options={"time_limit": max(seconds, 0.01), "mip_rel_gap": 0.9 / max(1.0, abs(size))},
        )
    )
    if result.x is None:
        raise NoAnswer(impossible=result.status == 2)
    values = np.zeros(len(cost), dtype=np.int64)
    values[keep] = np.rint(result.x).astype(np.int64)
    bound = result.mip_dual_bound if result.mip_dual_bound is not None else -np.inf
    return values, float(bound), result.status == 0


def stacked(parts: Sequence[Rows]) -> Rows:
    """Rows of several matrices, one under the other."""
    return sparse.vstack([rows for rows, _ in parts], format="csr"), np.concatenate([right for _, right in parts])


def row(values: Floats, at_most: float) -> Rows:
    """One limit row."""
    return sparse.csr_array(values.reshape(1, -1)), np.array([at_most], float)


def _watched(solve: Callable[[], Any]) -> Any:
    """Run in a thread and wait, so that an interrupt is not held up by the solver."""
    answer: list[Any] = []
    failure: list[BaseException] = []

    def work() -> None:
        try:
            answer.append(solve())
        except BaseException as error:  # handed over to the waiting thread below
            failure.append(error)

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    while thread.is_alive():
        thread.join(0.05)
    if failure:
        raise failure[0]
    return answer[0]
