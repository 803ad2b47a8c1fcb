"""Readers of cutting-stock instance files: each gives named cutting problems.

BPP    number of items, capacity, then a size each
CSP    number of item types, capacity, then "size demand" each
ORLIB  number of problems; each: name, "capacity items best-known", a size each (sizes may have a decimal)
VSCSP  number of stocks, "length count cost" each; number of item types, "size demand" each
USERCSV a pair NAME_bins.csv (X, COST, COPIES) and NAME_items.csv (X, COPIES, NESTING_LENGTH); a nesting length of -4
       means that 4 are lost between two pieces and not after the last: pieces and stocks are taken 4 longer
"""

import csv
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

from tethera.planning.stock import CuttingProblem

CUTTING = ("BPP", "CSP", "ORLIB", "VSCSP", "USERCSV")


def problems(path: Path, kind: str) -> Iterator[tuple[str, CuttingProblem]]:
    """The problems of a file (or pair of files) with their names; ValueError when it is not of the kind."""
    if kind == "USERCSV":
        yield path.name, _users(path)
        return
    words = iter(path.read_text(encoding="utf-8").split())
    if kind == "ORLIB":
        yield from _orlib(words)
    elif kind == "BPP":
        items, capacity = int(next(words)), int(next(words))
        yield path.stem, _one_stock(capacity, Counter(int(next(words)) for _ in range(items)))
    elif kind == "CSP":
        types, capacity = int(next(words)), int(next(words))
        yield path.stem, CuttingProblem([(capacity, 1, None)], [_pair(words) for _ in range(types)])
    elif kind == "VSCSP":
        stocks = [(*_pair(words), int(next(words))) for _ in range(int(next(words)))]
        items = [_pair(words) for _ in range(int(next(words)))]
        yield path.stem, CuttingProblem([(length, cost, count) for length, count, cost in stocks], items)
    else:
        raise ValueError(f"{kind}: expected one of {', '.join(CUTTING)}")


def _pair(words: Iterator[str]) -> tuple[int, int]:
    return int(next(words)), int(next(words))


def _one_stock(capacity: int, sizes: Counter[int]) -> CuttingProblem:
    return CuttingProblem([(capacity, 1, None)], sorted(sizes.items(), reverse=True))


def _orlib(words: Iterator[str]) -> Iterator[tuple[str, CuttingProblem]]:
    for _ in range(int(next(words))):
        name = next(words)
        capacity, items, _best = Fraction(next(words)), int(next(words)), next(words)
        sizes = [Fraction(next(words)) for _ in range(items)]
        # The triplets have sizes with one decimal: all in the smallest unit met.
        unit = max(number.denominator for number in (capacity, *sizes))
        yield name, _one_stock(int(capacity * unit), Counter(int(size * unit) for size in sizes))


def _users(path: Path) -> CuttingProblem:
    def table(end: str) -> list[dict[str, str]]:
        with path.with_name(f"{path.name}_{end}.csv").open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    pieces, bins = table("items"), table("bins")
    kerfs = {-int(row.get("NESTING_LENGTH") or 0) for row in pieces}
    if len(kerfs) > 1:
        raise ValueError(f"{path.name}: one loss between pieces expected, not {sorted(kerfs)}")
    kerf = kerfs.pop() if kerfs else 0
    stocks = [(int(row["X"]) + kerf, int(row.get("COST") or row["X"]), _copies(row)) for row in bins]
    return CuttingProblem(stocks, [(int(row["X"]) + kerf, _copies(row) or 1) for row in pieces])


def _copies(row: dict[str, str]) -> int | None:
    """Copies of a row; one where nothing is said, without end where it is negative."""
    copies = int(row.get("COPIES") or 1)
    return None if copies < 0 else copies
