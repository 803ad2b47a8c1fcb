"""Falls per second by each way, in one run: .venv/bin/python benchmarks/falls.py

The impact equation and the solid that loses energy work on arrays; beside them SciPy's solver, one fall at a time, as
one would write it without them. Then how far its peak is off where nobody bounds its steps, and how far the 95 % point
moves from one scrambling of the Sobol points to the next, beside as many plain draws. The tables of docs/benchmarks.md.
"""

import math
import time
from collections.abc import Callable

import numpy as np
from scipy.integrate import solve_ivp

from tethera.rope import Solid, Uncertain, force_chances, impact_force_kn, simulate_fall

G = 9.80665
SOLID = Solid.dynamic()


def falls(count: int, seed: int = 1) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Masses [kg], rope in play [m] and free falls [m], drawn at random."""
    rng = np.random.default_rng(seed)
    rope = rng.uniform(0.4, 10.0, count)
    return rng.normal(85.0, 10.0, count).clip(50, 120), rope, rope * rng.uniform(0.05, 1.5, count)


def one_by_one(mass: float, rope: float, fall: float, bounded: bool = True) -> float:
    """Peak force [kN] of the same solid by SciPy."""
    k0, k1, tau = SOLID.k0_kn * 1000, SOLID.k1_kn * 1000, SOLID.tau_s

    def tension(y: np.ndarray) -> float:
        return max(k0 * y[0] / rope + y[2], 0.0)

    def rates(_t: float, y: np.ndarray) -> list[float]:
        return [y[1], G - tension(y) / mass, k1 * y[1] / rope - y[2] / tau]

    def stopped(_t: float, y: np.ndarray) -> float:
        return float(y[1])

    stopped.terminal, stopped.direction = True, -1  # type: ignore[attr-defined]
    swing = math.pi * math.sqrt(mass * rope / k0)
    steps = {"max_step": swing / 200} if bounded else {}
    run = solve_ivp(rates, (0, 4 * swing), [0.0, math.sqrt(2 * G * fall), 0.0], events=stopped, rtol=1e-6, **steps)
    return max(tension(y) for y in run.y.T) / 1000


def per_second(work: Callable[[], object], count: int, least_s: float = 0.5) -> float:
    """Falls a second: the best of some runs, as other work may share the processor."""
    best, begun = math.inf, time.perf_counter()
    while time.perf_counter() - begun < least_s or math.isinf(best):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return count / best


def speeds() -> None:
    """The table of speeds."""
    many, some, few = falls(1_000_000), falls(100_000), falls(200)
    impact = per_second(lambda: impact_force_kn(many[0], many[2] / many[1], 21.2), 1_000_000, 2.0)
    solid = per_second(lambda: simulate_fall(*some, SOLID), 100_000, 8.0)
    single = per_second(lambda: [one_by_one(*each) for each in zip(*few, strict=True)], 200, 8.0)
    print("| way | falls a second | times the last |\n|---|---|---|")
    for name, rate in (
        ("impact equation, NumPy", impact),
        ("solid, NumPy, 60 steps to half a swing", solid),
        ("solid, SciPy one by one, 200 steps to half a swing at least", single),
    ):
        print(f"| {name} | {rate:,.3g} | {rate / single:,.0f} |")


def peaks() -> None:
    """How far each peak is from a fine solution."""
    mass, rope, fall = falls(100, seed=2)
    fine = simulate_fall(mass, rope, fall, SOLID, steps=4000).force_kn
    ours = simulate_fall(mass, rope, fall, SOLID).force_kn
    each = list(zip(mass, rope, fall, strict=True))
    bounded, free = (np.array([one_by_one(*one, is_bounded) for one in each]) for is_bounded in (True, False))
    print("\n| peak force, 100 falls | worst | mean |\n|---|---|---|")
    for name, found in (("solid, NumPy", ours), ("SciPy, steps bounded", bounded), ("SciPy, its own steps", free)):
        off = found / fine - 1
        print(f"| {name} | {100 * off[np.argmax(abs(off))]:+.3f} % | {100 * off.mean():+.3f} % |")


def quantiles() -> None:
    """How steady the 95 % point is."""
    unsure = {"slack": Uncertain(0.8, 0.4), "mass": Uncertain(85.0, 10.0), "stiffness": Uncertain(26.5, 4.3)}

    def force(slack: np.ndarray, mass: np.ndarray, stiffness: np.ndarray) -> np.ndarray:
        return np.asarray(impact_force_kn(mass, slack / (6 + slack), stiffness))

    def plain(seed: int, count: int) -> float:
        rng = np.random.default_rng(seed)
        return float(np.quantile(force(*(e.at(rng.uniform(size=count)) for e in unsure.values())), 0.95))

    print("\n| points | Sobol, scrambled | plain draws | ms |\n|---|---|---|---|")
    for power in (8, 10, 12, 13):
        start = time.perf_counter()
        sobol = [force_chances(force, unsure, seed=seed, power=power).p95_kn for seed in range(40)]
        spent = (time.perf_counter() - start) / 40
        drawn = [plain(seed, 2**power) for seed in range(40)]
        rows = (100 * np.std(each) / np.mean(each) for each in (sobol, drawn))
        print(f"| {2**power:,} | " + " | ".join(f"{each:.2f} %" for each in rows) + f" | {1000 * spent:.1f} |")


if __name__ == "__main__":
    force_chances(lambda x: x + 1.0, {"x": Uncertain(1.0, 0.1)})  # loads SciPy before the clock runs
    speeds()
    peaks()
    quantiles()
