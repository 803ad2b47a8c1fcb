"""The impact equation against a printed table.

Source: J. Cinnamon, Climbing Rock and Ice, pp. 157-159, as quoted by K. Cline in rec.climbing, 18 April 1995 (kept as
tech/fallfactor.md in github.com/tymadsen/fishproducts): a climber of 180 lbf; fall factors 0, 0.4, 0.8, 1, 1.4, 1.6 and
2 give 360, 1137, 1521, 1676, 1947, 2067 and 2288 lbf. The modulus is not printed: one value, 6,127 lbf, must give all.
Tolerance 0.2 %: the table is rounded to whole pounds and the modulus to four figures.

Of the same author's post "Re: setting up a top rope" (tech/rope.md), two figures must NOT come out: "about 1500 lbf"
with a static rope of 18,000 lbf and "about 2000 lbf" with 6 ft of slack; his own formula gives 1,332 and 2,266.
"""

import pytest

from tethera.rope import impact_force_kn

KN_PER_LBF = 0.0044482216152605
KG_PER_LB = 0.45359237
TABLE = {0.0: 360, 0.4: 1137, 0.8: 1521, 1.0: 1676, 1.4: 1947, 1.6: 2067, 2.0: 2288}


@pytest.mark.parametrize(("factor", "printed"), TABLE.items())
def test_every_row_of_the_table_comes_out_of_one_modulus(factor, printed):
    """180 lbf, M = 6,127 lbf per unit strain."""
    force = impact_force_kn(180 * KG_PER_LB, factor, 6127 * KN_PER_LBF) / KN_PER_LBF
    assert force == pytest.approx(printed, rel=0.002)


def test_all_rows_at_once_as_an_array():
    """The same table in one call."""
    forces = impact_force_kn(180 * KG_PER_LB, list(TABLE), 6127 * KN_PER_LBF) / KN_PER_LBF
    assert forces == pytest.approx(list(TABLE.values()), rel=0.002)


def test_a_load_of_nought_slack_is_twice_the_weight_exactly():
    """The first row is no measurement: 2 W."""
    assert impact_force_kn(180 * KG_PER_LB, 0.0, 50.0) == pytest.approx(360 * KN_PER_LBF, rel=1e-12)


@pytest.mark.parametrize(("slack_ft", "printed", "own_formula"), [(1.5, 1500, 1332), (6.0, 2000, 2266)])
def test_two_figures_of_a_post_are_not_what_its_formula_gives(slack_ft, printed, own_formula):
    """200 lbf on 30 ft of static rope, the anchor with 1.6 times the climber's force: rounded until off by a tenth."""
    at_anchor = 1.6 * impact_force_kn(200 * KG_PER_LB, slack_ft / 30, 18_000 * KN_PER_LBF) / KN_PER_LBF
    # His reckoning counts the rope up to the anchor and back; whichever way, the printed figures are not reached.
    assert abs(at_anchor / printed - 1) > 0.05
    assert own_formula != printed


@pytest.mark.parametrize(
    ("factor", "force"),
    [(0, 1.569), (0.05, 2.462), (0.1, 3.023), (0.2, 3.852), (0.3, 4.500), (0.5, 5.538), (1, 7.461), (2, 10.194)],
)
def test_closed_values_for_80_kg_and_28_019_n(factor, force):
    """Worked by hand to 1 N: W + sqrt(W^2 + 2 W K f)."""
    assert impact_force_kn(80.0, factor, 28.019) == pytest.approx(force, abs=0.001)


def test_closed_values_for_100_kg_and_28_019_n():
    """5,157.8 N at factor 0.3 and 8,458.4 N at factor 1; to 0.1 N."""
    assert impact_force_kn(100.0, [0.3, 1.0], 28.019) == pytest.approx([5.1578, 8.4584], abs=1e-4)
