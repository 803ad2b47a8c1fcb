"""Bags: the sharing against every way there is, and against cases worked out elsewhere."""

import itertools
import json
import random
from fractions import Fraction
from pathlib import Path

import pytest

from tethera.planning.bags import Caver, Load, Sharing, bags_of, share_out

WORKED_CASES = Path(__file__).parents[3] / "shared" / "benchmarks" / "allocation" / "bags.json"
Value = tuple[Fraction, Fraction]


def value(loads: list[Load], cavers: list[Caver], sharing: Sharing) -> Value:
    """Largest burden and evenness of a sharing, which must be one: in order, whole, within limits."""
    assert [i for _, a, b in sharing.stretches for i in range(a, b)] == list(range(len(loads)))
    assert len({caver for caver, _, _ in sharing.stretches}) == len(sharing.stretches)
    burdens, evenness = [Fraction(0)], Fraction(0)
    for number, first, past in sharing.stretches:
        caver, carried = cavers[number], loads[first:past]
        mass_g = sum(load.mass_g for load in carried)
        assert mass_g <= caver.most_g
        bags = bags_of(loads, first, past, caver)
        assert len(bags) <= caver.bags
        assert all(sum(load.volume_ml for load in loads[a:b]) <= caver.bag_ml for a, b in bags)
        burdens.append(Fraction(mass_g, caver.strength_g))
        evenness += Fraction(mass_g * mass_g, caver.strength_g)
    return max(burdens), evenness


def fits(loads: list[Load], caver: Caver) -> bool:
    """Whether some way of cutting the stretch into bags fits, by trying each."""
    if sum(load.mass_g for load in loads) > caver.most_g:
        return False
    for pieces in range(1, caver.bags + 1):
        for cuts in itertools.combinations_with_replacement(range(len(loads) + 1), pieces - 1):
            edges = [0, *cuts, len(loads)]
            if all(sum(x.volume_ml for x in loads[a:b]) <= caver.bag_ml for a, b in itertools.pairwise(edges)):
                return True
    return False


def every_way(loads: list[Load], cavers: list[Caver]) -> Value | None:
    """Best value over every order of cavers and every place to cut, or None."""
    best: Value | None = None
    for order in itertools.permutations(range(len(cavers))):
        for cuts in itertools.combinations_with_replacement(range(len(loads) + 1), len(cavers) - 1):
            edges = [0, *cuts, len(loads)]
            parts = [loads[a:b] for a, b in itertools.pairwise(edges)]
            if not all(fits(part, cavers[n]) for n, part in zip(order, parts, strict=True)):
                continue
            masses = [sum(load.mass_g for load in part) for part in parts]
            ratios = [Fraction(m, cavers[n].strength_g) for n, m in zip(order, masses, strict=True)]
            even = sum((r * m for r, m in zip(ratios, masses, strict=True)), Fraction(0))
            best = min(best, (max(ratios), even)) if best else (max(ratios), even)
    return best


def random_case(seed: int) -> tuple[list[Load], list[Caver]]:
    """A small store of loads and two to four cavers, some alike, some with two bags."""
    dice = random.Random(seed)
    loads = [Load(dice.randint(5, 50) * 100, dice.randint(1, 10) * 1000) for _ in range(dice.randint(1, 7))]
    kinds = [
        Caver("x", dice.choice([6000, 7000, 8300, 9700]), dice.randint(4, 13) * 1000, dice.randint(8, 25) * 1000, bags)
        for bags in (1, dice.choice([1, 2]))
    ]
    return loads, [dice.choice(kinds) for _ in range(dice.randint(1, 4))]


@pytest.mark.parametrize("block", range(10))
def test_sharing_is_the_best_of_every_way(block: int) -> None:
    """60 cases a block: the same largest burden and evenness as trying everything, or impossible for both."""
    possible = 0
    for seed in range(block * 60, block * 60 + 60):
        loads, cavers = random_case(seed)
        expected, sharing = every_way(loads, cavers), share_out(loads, cavers)
        if expected is None:
            assert sharing.unmet, f"seed {seed}"
            continue
        possible += 1
        assert sharing.unmet is None
        assert value(loads, cavers, sharing) == expected, f"seed {seed}"
    assert 5 < possible < 60


def test_sharing_agrees_with_cases_worked_elsewhere() -> None:
    """Cases with their optimum from another program (exhaustive for the small ones)."""
    if not WORKED_CASES.exists():
        pytest.skip("the worked cases are not beside this repository")
    for case in json.loads(WORKED_CASES.read_text(encoding="utf-8"))["cases"]:
        loads = [Load(g, dl * 100) for g, dl in case["items"]]
        cavers = [Caver("x", w, most, dl * 100) for w, most, dl in case["cavers"]]
        sharing = share_out(loads, cavers)
        if case["opt_max_ratio"] is None:
            assert sharing.unmet
            continue
        burden, even = value(loads, cavers, sharing)
        assert float(burden) == pytest.approx(case["opt_max_ratio"], abs=1e-9)
        assert float(even) == pytest.approx(case["opt_sumsq"], rel=1e-9)


def test_nothing_to_carry_needs_nobody() -> None:
    """An empty list is shared out without complaint."""
    assert share_out([], []) == Sharing()


@pytest.mark.parametrize(
    ("loads", "cavers", "words"),
    [
        ([Load(1000, 1000)], [], "Nobody"),
        ([Load(1000, 9000)], [Caver("A", 1, 9000, 8000)], "largest bag holds 8.0"),
        ([Load(9000, 900)], [Caver("A", 1, 8000, 8000)], "nobody carries more than 8.0 kg"),
        ([Load(5000, 900)] * 2, [Caver("A", 1, 8000, 8000)], "10.0 kg are to be carried"),
        ([Load(50, 5000)] * 2, [Caver("A", 1, 8000, 8000)], "10.0 litres"),
        ([Load(50, 5000)] * 3, [Caver("A", 1, 8000, 8000)] * 2, "one bag more"),
    ],
)
def test_it_says_why_the_tackle_does_not_fit(loads: list[Load], cavers: list[Caver], words: str) -> None:
    """One plain sentence with the numbers."""
    if words == "one bag more":
        cavers = [Caver("A", 1, 8000, 8000)] * 2
    sharing = share_out(loads, cavers)
    assert sharing.unmet is not None
    assert words in sharing.unmet
