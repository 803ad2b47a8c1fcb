"""No tied knot takes less rope than the tightest possible one.

Source: KnotInfo ropelengths (PyPI package database-knotinfo 2026.11.2, column ropelength), in radii of the rope, halved
to diameters: 3_1 32.7436, 4_1 42.0887, 5_1 47.2016, 5_2 49.4701. Trefoil also in E. Denne, Y. Diao, J. Sullivan,
Geometry & Topology 10 (2006) 1-26: 16.372 diameters is the tightest found, 15.66 proven.
"""

import pytest

from tethera.rigging import KnotLengths
from tethera.rope import load_table

RADII = {"3_1": 32.7436, "4_1": 42.0887, "5_1": 47.2016, "5_2": 49.4701}
DIAMETER_M = 0.010


@pytest.mark.parametrize("name", sorted(KnotLengths.default().lengths))
def test_every_knot_takes_more_than_its_ideal_ropelength(name):
    """At 10 mm, counted once for each strand that follows the knot."""
    entry = load_table("rigging", "knots")[name]
    ideal_m = RADII[entry["crossing"]] / 2 * DIAMETER_M * entry["strands"]
    assert KnotLengths.default().of(name).value > ideal_m


def test_the_tightest_trefoil_and_figure_eight():
    """The numbers people quote: 16.372 and 21.044 diameters."""
    assert RADII["3_1"] / 2 == pytest.approx(16.372, abs=5e-4)
    assert RADII["4_1"] / 2 == pytest.approx(21.044, abs=5e-4)
