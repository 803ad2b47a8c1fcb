"""Cutting stock against published instances with known optima.

Sources: tiny instances whose optimum lies above the rounded linear-programming bound, or that defeat simple bounds, as
numbers in CaPaD-cutting-and-packing/BranchCutPrice@89847b61 bcp/dat1 (Fieldhouse, Gau and Waescher, Rietz, Ganter);
OR-Library binpack1 (Falkenauer, uniform; MIT, (c) 2010 J E Beasley), of whose best-known counts two were not the
optimum; rafaelmartinelli/BPPLib.jl@2b30a398 (MIT); lists sent in by people, fontanf/packingsolver@f1ec8964 (MIT).
Files are read where they lie beside the repository; the tiny ones are here.
"""

import csv
import sys
from pathlib import Path

import pytest

from tethera.planning.stock import CuttingProblem, cut_stock, plan_faults

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT.parent / "shared" / "benchmarks"
sys.path.insert(0, str(ROOT / "benchmarks"))

from cutting_instances import problems  # noqa: E402

TINY = {
    "Fieldhouse+": (30, "15x3 10x5 6x9", 6),
    "GauWae1": (10000, "5000x1 3750x1 3250x1 3001x1 2000x2", 3),
    "GauWae1 smaller": (60, "30x1 22x1 20x1 19x1 12x2", 3),
    "RietzModell": (45, "27x3 23x3 15x6 11x6 9x10", 9),
    "Rietzx1": (387, "177x3 145x2 133x2 130x1 129x5 127x2 121x2 113x1 105x1 97x1", 8),
    "n1_a": (24, "5x23 3x55", 12),
    "n2": (35, "5x33 2x110", 11),
    "n3": (136, "5x12 9x32 7x28", 4),
    "ganter_1to10": (14, "10x1 9x1 8x1 7x1 6x1 5x1 4x1 3x1 2x1 1x1", 4),
}


def assert_proven(problem: CuttingProblem, optimum: int) -> None:
    plan = cut_stock(problem)
    assert plan_faults(problem, plan) == []
    assert (plan.status, plan.cost, plan.bound) == ("optimal", optimum, optimum)


@pytest.mark.parametrize("name", TINY)
def test_a_tiny_instance_that_defeats_simple_bounds(name: str) -> None:
    stock, pieces, optimum = TINY[name]
    items = [tuple(map(int, piece.split("x"))) for piece in pieces.split()]
    assert_proven(CuttingProblem([(stock, 1, None)], [(length, demand) for length, demand in items]), optimum)


def listed(family: str) -> list[tuple[str, str, int]]:
    """Path, format and optimum of a family; none where the instances are not beside the repository."""
    if not (FOLDER / "optima.csv").exists():
        return []
    with (FOLDER / "optima.csv").open(encoding="utf-8", newline="") as file:
        return [
            (row["path"], row["format"], int(row["optimum"])) for row in csv.DictReader(file) if row["family"] == family
        ]


@pytest.mark.skipif(not FOLDER.exists(), reason="the published instances are not beside this repository")
@pytest.mark.parametrize("family", ["pm", "multi_users"])
def test_a_family_comes_out_at_its_published_optima(family: str) -> None:
    instances = listed(family)
    assert instances
    for path, kind, optimum in instances:
        for _, problem in problems(FOLDER / path, kind):
            assert_proven(problem, optimum)


@pytest.mark.skipif(not FOLDER.exists(), reason="the published instances are not beside this repository")
def test_or_library_also_where_its_best_known_count_was_not_the_optimum() -> None:
    with (FOLDER / "csp_orlib" / "orlib_optima.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["name"]: row for row in csv.DictReader(file)}
    asked = dict(problems(FOLDER / "csp_orlib" / "binpack1.txt", "ORLIB"))
    assert len(asked) == 20
    stale = 0
    for name, problem in asked.items():
        optimum = int(rows[name]["optimum_proved_here"])
        stale += optimum != int(rows[name]["value_in_file"])
        assert_proven(problem, optimum)
    assert stale == 2


def test_each_format_is_read_as_it_is_described(tmp_path: Path) -> None:
    def read(kind: str, text: str) -> list[tuple[str, CuttingProblem]]:
        path = tmp_path / "one.txt"
        path.write_text(text, encoding="utf-8")
        return list(problems(path, kind))

    plain = CuttingProblem([(10, 1, None)], [(6, 1), (4, 2)])
    assert read("BPP", "3\n10\n4\n6\n4\n") == [("one", plain)]
    assert read("CSP", "2\n10\n6 1\n4 2\n") == [("one", plain)]
    assert read("VSCSP", "2\n10 3 7\n8 2 5\n1\n6 4\n") == [
        ("one", CuttingProblem([(10, 7, 3), (8, 5, 2)], [(6, 4)])),
    ]
    two = read("ORLIB", "2\nu1\n10 3 2\n4\n6\n4\nt1\n 10.0 2 1\n 6.5\n 3.5\n")
    assert two == [("u1", plain), ("t1", CuttingProblem([(20, 1, None)], [(13, 1), (7, 1)]))]
    with pytest.raises(ValueError, match="expected one of"):
        read("GAP", "1 2")


def test_a_loss_between_pieces_is_added_to_pieces_and_stocks(tmp_path: Path) -> None:
    (tmp_path / "list_bins.csv").write_text("ID,X,COST,COPIES\n0,20,7,2\n1,30,9,-1\n", encoding="utf-8")
    (tmp_path / "list_items.csv").write_text("ID,X,COPIES,NESTING_LENGTH\n0,8,3,-4\n", encoding="utf-8")
    (name, problem), *_ = problems(tmp_path / "list", "USERCSV")
    assert name == "list"
    assert problem == CuttingProblem([(24, 7, 2), (34, 9, None)], [(12, 3)])
    # 8 + 4 + 8 = 20: two pieces of 8 come out of 20 with one cut of 4 between them.
    assert cut_stock(problem).cost == 14
