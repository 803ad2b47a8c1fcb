"""The calls into SciPy's HiGHS: a linear program with prices, and a small integer program on the columns that matter.

Never a start vector (a solver given one has been seen to prove a wrong optimum), and whatever comes back is rounded and
checked again in integers by the caller. The solver runs in a thread of its own, so that Ctrl-C is answered at once: the
thread is left to its time limit and its answer thrown away.
"""

import math
import queue
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


#: How often the waiting thread looks up [s], and how many looks a solver may overrun its time limit.
_LOOK_S, _GRACE = 0.05, 20
#: How long at most a solve waits for one that was left and goes on by itself [s].
_PATIENCE_S = 10.0


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
    result = _solver.run(
        lambda: linprog(
            cost,
            A_ub=limits[0] if limits[0].shape[0] else None,
            b_ub=limits[1] if limits[0].shape[0] else None,
            A_eq=equalities[0],
            b_eq=equalities[1],
            bounds=(0, None),
            method="highs-ipm",
            options={"time_limit": max(seconds, 0.01)},
        ),
        seconds,
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
    gap: float = 0.0,
) -> tuple[NDArray[np.int64], float, bool]:
    """Solve the integer program on the kept columns, each at most `most`.

    Gives all columns (zero where not kept), the solver's lower bound over the kept columns, and whether it is done:
    its gap is then at most `gap` of the value.
    NoAnswer when there is no solution, or none was found in time.
    """
    result = _solver.run(
        lambda: milp(
            cost[keep],
            integrality=whole[keep].astype(int),
            bounds=Bounds(0, most[keep]),
            constraints=[
                LinearConstraint(equalities[0][:, keep], equalities[1], equalities[1]),
                *([LinearConstraint(limits[0][:, keep], -np.inf, limits[1])] if limits[0].shape[0] else []),
            ],
            options={"time_limit": max(seconds, 0.01), "mip_rel_gap": gap},
        ),
        seconds,
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


class _SolverThread:
    """The one thread in which the solver runs.

    The solver keeps a scheduler for the thread that first called it and can wait for ever when called from thread after
    thread, so it always gets the same one. A solve that was left, by an interrupt or because it overran its time, goes
    on by itself; until it ends there are no further answers, and whoever has time left waits for that a little.
    """

    def __init__(self) -> None:
        self._jobs: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        self._thread: threading.Thread | None = None
        self._left = threading.Event()
        self._left.set()

    def run(self, solve: Callable[[], Any], seconds: float) -> Any:
        """Run a solve and wait for it, in a way that Ctrl-C can break, to a little past its time."""
        if self._thread is None or not self._thread.is_alive():
            # Also after a fork: threads do not come along.
            self._thread = threading.Thread(target=self._work, name="solver", daemon=True)
            self._thread.start()
        if not self._left.wait(min(max(seconds, 0.0), _PATIENCE_S)):
            raise NoAnswer(impossible=False)
        answer: list[Any] = []
        failure: list[BaseException] = []

        def job() -> None:
            try:
                answer.append(solve())
            except BaseException as error:  # handed over to the waiting thread below
                failure.append(error)
            finally:
                self._left.set()

        self._left.clear()
        self._jobs.put(job)
        looks = math.inf if seconds > 1e5 else math.ceil(max(seconds, 0.0) / _LOOK_S) + _GRACE
        while not self._left.wait(_LOOK_S):
            looks -= 1
            if looks < 0:
                raise NoAnswer(impossible=False)
        if failure:
            raise failure[0]
        return answer[0]

    def _work(self) -> None:
        while True:
            self._jobs.get()()


_solver = _SolverThread()
