"""How often the metres that shrinkage asks for are enough, by simulation: .venv/bin/python benchmarks/shrinkage.py

Kinds and ropes are drawn afresh each time; what is asked is whether one more rope of the kind, bought as the prediction
says for 95 %, has at least the length wanted after its first washes. The tables of docs/shrinkage.md are its output.
"""

import argparse
import math
import time

import numpy as np

from tethera.rope import MeasuredShare, Shrinkage, predictions, prior_for, prior_from_range

LEVEL = 0.95
MEASURED = (0, 1, 2, 3, 5, 10)
#: Between ropes of one kind: as the range has it, and narrower.
SPREADS = (0.027, 0.016)


Truth = Shrinkage | tuple[float, float]


def own_ropes(prior: Shrinkage, truth: Truth, runs: int, seed: int) -> list[tuple[float, float]]:
    """Share of runs in which the next rope is long enough, and the mean surplus, by number of ropes measured first.

    `truth` is the law kinds come from, or one kind's true loss with the standard deviation between its ropes.
    """
    rows = []
    for n in MEASURED:
        if isinstance(truth, Shrinkage):
            shares = truth.draws(runs, n + 1, seed)
        else:
            random = np.random.default_rng(seed)
            loss, sd = truth
            shares = (1 - loss) * np.exp(sd * random.standard_normal((runs, n + 1)))
        asked = np.array([1 / float(prior.after(row[:n]).share_left(LEVEL)) for row in shares])
        left = asked * shares[:, n]
        rows.append((float((left >= 1).mean()), float(np.mean(left - 1))))
    return rows


def pooled(prior: Shrinkage, runs: int, seed: int) -> dict[int, tuple[float, int]]:
    """Share of runs in which the next rope is long enough, by ropes measured of its own kind, among others."""
    random = np.random.default_rng(seed)
    enough: dict[int, list[bool]] = {0: [], 1: [], 2: [], 4: []}
    for _ in range(runs):
        width = math.sqrt(prior.freedom / random.chisquare(prior.freedom))
        between, individual = prior.common * width, prior.individual * width
        middle = prior.centre + between * random.standard_normal() / 2
        means = middle + between * random.standard_normal(9)
        sizes = (2, 2, 3, 4, 6, 0, 1, 2, 4)
        ropes = [mean + individual * random.standard_normal(size) for mean, size in zip(means, sizes, strict=True)]
        told = predictions(
            prior,
            {f"K{at}": [MeasuredShare(float(np.exp(y))) for y in each] for at, each in enumerate(ropes)},
        )
        for at in (5, 6, 7, 8):
            of_kind = told.kinds.get(f"K{at}", told.other)
            truth = math.exp(means[at] + individual * random.standard_normal())
            enough[sizes[at]].append(truth >= float(of_kind.share_left(LEVEL)))
    return {size: (float(np.mean(found)), len(found)) for size, found in enough.items()}


def main() -> None:
    """Print the tables."""
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("--runs", type=int, default=6000)
    told.add_argument("--seed", type=int, default=20)
    asked = told.parse_args()
    nylon, narrow = prior_for("nylon"), prior_from_range(0.05, 0.12, 0.9)
    cases: list[tuple[str, Shrinkage, Truth]] = [
        ("nylon kinds as the range says", nylon, nylon),
        ("polyester kinds as its range says", prior_for("polyester"), prior_for("polyester")),
    ]
    for sd in SPREADS:
        cases += [(f"a kind that loses {loss:.1%}, sd {sd:.1%}", nylon, (loss, sd)) for loss in (0.09, 0.125, 0.16)]
        cases.append((f"12.5%, sd {sd:.1%}, had the range been 5 to 12 % at 90 %", narrow, (0.125, sd)))
    print(f"| long enough, of {asked.runs} runs (95 % asked) | " + " | ".join(f"n = {n}" for n in MEASURED) + " |")
    for name, prior, truth in cases:
        rows = own_ropes(prior, truth, asked.runs, asked.seed)
        print(f"| {name} | " + " | ".join(f"{100 * share:.1f} %" for share, _ in rows) + " |")
        if truth is nylon:
            print("| surplus then | " + " | ".join(f"{100 * more:.1f} %" for _, more in rows) + " |")
    started = time.perf_counter()
    runs = max(200, asked.runs // 3)
    for size, (share, count) in pooled(nylon, runs, asked.seed).items():
        print(f"| pooled, {size} of its own | {100 * share:.1f} % | of {count} |")
    print(f"a pooled fit of eight kinds takes {1000 * (time.perf_counter() - started) / runs:.1f} ms")


if __name__ == "__main__":
    main()
