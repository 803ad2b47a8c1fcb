"""What the limits of EN 1891 leave a rope.

Source of the limits: the page of technical specifications of a maker's catalogue, "Professional 2018", p. 5
(produkte24.com), which restates EN 1891: peak force under 6 kN at fall factor 0.3, dropped mass 100 kg for type A and
80 kg for type B; elongation between 50 and 150 kg at most 5 %. The same in hoehenpass.de, Lexikon Absturzsicherung,
entry Halbstatikseil. The standard's own text was not read. What follows from the limits is worked out by hand.
"""

import pytest

from tethera.rope import (
    StretchLaw,
    drop_test,
    fall_modulus,
    figure,
    impact_force_kn,
    modulus_bound_kn,
    modulus_floor_kn,
    modulus_from_test_kn,
)

G = 9.80665


def test_the_limits_are_those_of_the_catalogue():
    """Constants, exact."""
    assert drop_test("A") == (100.0, 0.3)
    assert drop_test("B") == (80.0, 0.3)
    assert figure("rope", "falls", "en1891", "peak").value == 6.0
    assert figure("rope", "stretch", "elongation_limit").value == 0.05


@pytest.mark.parametrize(("mass", "modulus_n"), [(100.0, 41_183), (80.0, 56_479)])
def test_the_modulus_of_a_rope_that_just_passes(mass, modulus_n):
    """F (F - 2 W) / (2 W f) with 6 kN and 0.3; relative 1e-4."""
    assert modulus_from_test_kn(6.0, mass, 0.3) * 1000 == pytest.approx(modulus_n, rel=1e-4)


def test_the_window_of_type_a():
    """19.61 kN from the elongation (100 g / 5 %) to 41.18 kN from the peak force; 0.02 kN."""
    assert modulus_floor_kn("A") == pytest.approx(19.61, abs=0.02)
    assert modulus_bound_kn("A") == pytest.approx(41.18, abs=0.02)


def test_at_factor_one_such_a_rope_could_reach_ten_kilonewtons():
    """10.0 kN for 100 kg on type A, 10.2 kN for 80 kg on type B."""
    assert impact_force_kn(100.0, 1.0, modulus_bound_kn("A")) == pytest.approx(10.0, abs=0.05)
    assert impact_force_kn(80.0, 1.0, modulus_bound_kn("B")) == pytest.approx(10.2, abs=0.05)


@pytest.mark.parametrize(("elongation", "force"), [(0.05, 4.5), (0.035, 5.1), (0.03, 5.4), (0.0238, 6.0)])
def test_elongation_and_peak_force_are_consistent(elongation, force):
    """A linear rope of 5 % meets 6 kN with ease, one under 2.38 % cannot; straight law, printed to one decimal."""
    straight = 1 / StretchLaw.from_en1891(elongation).c / 1000
    assert impact_force_kn(100.0, 0.3, straight) == pytest.approx(force, abs=0.05)
    assert fall_modulus("A", elongation).kn.likely == pytest.approx(100 * G / 1000 / elongation)


def test_the_pre_load_of_50_kg_makes_the_straight_law_a_little_softer_than_100_g_by_e():
    """K = (150 g - 50 g (1 + E)) / E: 1.8 % less at 3.5 %. The stiffer is kept for forces."""
    straight = 1 / StretchLaw.from_en1891(0.035).c / 1000
    assert fall_modulus("A", 0.035).kn.likely / straight == pytest.approx(1.018, abs=0.001)


def test_a_static_modulus_of_steel_wire_stiffness_would_break_the_standard():
    """71 to 89 kN, quoted for rescue rope (K. Cline, rec.climbing), gives 7.5 to 8.3 kN: over 6, so no EN 1891 rope."""
    assert impact_force_kn(100.0, 0.3, [71.0, 89.0]) == pytest.approx([7.5, 8.3], abs=0.05)
