"""Falls and drops whose force was measured and published.

Sources, each named at its test:
[1] K. Cline, Analysis of a test fall (cs.cmu.edu/~cline), with data of W. Murray, 1989: 10 ft of old climbing rope,
    factor 1, 1,450 lbf. The mass is not printed: 80 kg is an assumption.
[2] hownot2.info, cow tails: drop of 136 kg on cow's tails, 6 kN with fresh knots and over 10 kN with the same knots
    cinched, dynamic rope; semi-static tails above 10 kN with fresh knots. Factor 1 is an assumption.
[3] EFS / SFETH cow's-tail tests 2006, conclusion in English (karstworlds.com, 12 February 2011): sewn tape tails could
    exceed 15 kN at factor 1, knotted dynamic ones stay within an acceptable 6 kN. 80 kg is an assumption.
[4] Health and Safety Executive, CRR 364/2001, p. 28: rope-access work, 0.35 to 1.60 kN, at most 150 % of the gross
    weight, 200 % in the extreme.
[5] Ecole nationale de ski et d'alpinisme, 2021, abstract (fr.readkong.com 4859448): sudden stop on abseil about 3 times
    the weight on dynamic rope, 5 times on static.
[6] C. Weber, Analysis of Impact Force Equations, ITRS 2002, abstract: the spring equation is up to 30 % low for heavy
    masses at high factors. Not reproduced by any model here, and not claimed: the band makes room for it.
[7] peakinstruction.com, Testing the strength of heavy duty caving belts: prints 1.18 kN for 120 kg falling 1 m and
    stopped in 0.1 m. The work of the fall gives 11.8 kN: a printed slip of ten, which must not come out.
"""

import pytest

from tethera.rope import (
    Solid,
    fall_modulus,
    force_band_kn,
    impact_force_kn,
    lanyard_fall,
    simulate_fall,
    tape_modulus,
    weight_kn,
)

KN_PER_LBF = 0.0044482216152605


def test_ten_feet_at_factor_one_gave_1450_pounds():
    """[1] Solid of the mean dynamic rope 6.45 kN, 1 %; impact equation 2.5 % high; 70 to 90 kg: -6 to +5 %."""
    measured = 1450 * KN_PER_LBF
    assert simulate_fall(80.0, 3.048, 3.048, Solid.dynamic()).force_kn == pytest.approx(measured, rel=0.01)
    assert impact_force_kn(80.0, 1.0, 21.2) / measured - 1 == pytest.approx(0.025, abs=0.005)
    around = simulate_fall([70.0, 90.0], 3.048, 3.048, Solid.dynamic()).force_kn / measured - 1
    assert around == pytest.approx([-0.06, 0.05], abs=0.012)


def test_cinched_knots_on_a_cows_tail_gave_over_ten_kilonewtons():
    """[2] 136 kg: impact equation 9.0, solid 9.5 (0.6 m) and 9.9 (0.3 m); the band reaches past 10."""
    assert impact_force_kn(136.0, 1.0, 21.2) == pytest.approx(9.0, abs=0.05)
    runs = simulate_fall(136.0, [0.6, 0.3], [0.6, 0.3], Solid.dynamic()).force_kn
    assert runs == pytest.approx([9.5, 9.9], abs=0.06)
    assert lanyard_fall(0.6, 0.0, 136.0, fall_modulus("dynamic")).force_kn.high > 10


def test_fresh_knots_gave_six_and_no_limit_takes_credit_for_them():
    """[2] The slip of the table was set to this drop (5.9 to 6.0 kN); limit checks leave it out."""
    slip = 2 * 0.09
    assert simulate_fall(136.0, 0.6, 0.6, Solid.dynamic(), slip_m=slip).force_kn == pytest.approx(6.0, abs=0.1)
    assert lanyard_fall(0.6, 0.0, 136.0, fall_modulus("dynamic")).force_kn.likely == pytest.approx(9.0, abs=0.05)


def test_the_slip_of_one_rope_does_not_carry_over_to_another():
    """[2] Semi-static tails, fresh knots, above 10 kN: 10.0 by the equation, 10.7 by the solid, 6 to 7 with slip."""
    assert impact_force_kn(136.0, 1.0, 28.019) == pytest.approx(10.0, abs=0.1)
    solid = Solid.low_stretch(28.019)
    assert simulate_fall(136.0, 0.6, 0.6, solid).force_kn == pytest.approx(10.7, abs=0.1)
    with_slip = simulate_fall(136.0, 0.6, 0.6, solid, slip_m=2 * 0.09).force_kn
    assert with_slip < 7.2
    assert with_slip / 10.0 - 1 < -0.28


def test_tape_with_the_modulus_of_rope_would_be_half_of_what_was_measured():
    """[3] 7.5 kN with a rope's modulus against 15 kN; at least 128 kN is needed. Tape is a material of its own."""
    assert impact_force_kn(80.0, 1.0, 28.019) == pytest.approx(7.5, abs=0.05)
    assert impact_force_kn(80.0, 1.0, 128.0) == pytest.approx(15.0, abs=0.1)
    assert lanyard_fall(0.5, 0.0, 80.0, tape_modulus()).force_kn.high > 15


def test_a_knotted_dynamic_tail_is_between_five_and_seven():
    """[3] 4.6 fresh, 5.3 half, 7.3 cinched on 0.5 m; the published "within 6 kN" lies among them. To 0.1 kN."""
    slips = [0.18, 0.09, 0.0]
    forces = simulate_fall(80.0, 0.5, 0.5, Solid.dynamic(), slip_m=slips).force_kn
    assert forces == pytest.approx([4.6, 5.3, 7.4], abs=0.1)
    assert impact_force_kn(80.0, 1.0, 21.2) == pytest.approx(6.6, abs=0.05)


def test_rope_work_without_a_fall_stays_under_twice_the_weight():
    """[4] 150 % of the gross weight at most, extreme 200 %: the bound of a rope that is just taut, 2 W."""
    assert impact_force_kn(80.0, 0.0, [10.0, 28.0, 100.0]) == pytest.approx([2 * weight_kn(80.0)] * 3)
    # The dearest of the measured forces is no more than a caver let go on a taut rope.
    assert impact_force_kn(82.0, 0.0, 28.0) > 1.60


def test_a_sudden_stop_on_abseil_is_a_short_fall():
    """[5] 3 W is what factor 0.055 makes on dynamic rope, 5 W what 0.21 makes on static; to a tenth of W."""
    weight = weight_kn(80.0)
    assert impact_force_kn(80.0, 0.055, 21.2) / weight == pytest.approx(3.0, abs=0.2)
    assert impact_force_kn(80.0, 0.21, 28.019) / weight == pytest.approx(5.0, abs=0.2)


def test_a_person_is_gentler_than_steel_by_no_more_than_the_body_gives():
    """Steel up to 70 % more than a person (a maker's tests); the body alone gives 5 to 26 %, the rest is a device."""
    lengths = [0.5, 1.0, 2.0]
    steel = simulate_fall(80.0, lengths, lengths, Solid.dynamic()).force_kn
    person = simulate_fall(80.0, lengths, lengths, Solid.dynamic(), body_kn_per_m=100.0).force_kn
    assert all(1.05 <= ratio <= 1.26 for ratio in steel / person)


def test_a_heavy_mass_in_a_hard_fall_has_room_for_thirty_per_cent():
    """[6] Over 100 kg and factor 1 the high end is 30 % wider; no model here explains it."""
    known = fall_modulus("A", impact_force_kn=5.2)
    hard, just = force_band_kn(160.0, 1.5, known), force_band_kn(100.0, 1.5, known)
    assert hard.high / hard.likely == pytest.approx(1.3 * just.high / just.likely, rel=1e-6)


def test_a_printed_belt_drop_is_wrong_by_ten():
    """[7] m g h / s = 11.8 kN; a formula that gave the printed 1.18 would be broken, for 120 kg weigh as much."""
    assert weight_kn(120.0) * 1.0 / 0.1 == pytest.approx(11.8, abs=0.05)
    assert impact_force_kn(120.0, 0.0, 28.0) > 1.18
