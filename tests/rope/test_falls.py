"""Forces of falls: identities, what must always hold, and what is refused."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tethera.rope import (
    Band,
    RopeSpecification,
    StretchLaw,
    arrest_distance_m,
    backup_takes_over,
    fall_modulus,
    fall_modulus_of,
    force_band_kn,
    force_level,
    impact_force_kn,
    impact_force_of_law_kn,
    lanyard_fall,
    looks_bad,
    modulus_from_test_kn,
    rebelay_failure,
    second_anchor,
    tape_modulus,
    taut_speed_m_s,
    traverse_fall,
    traverse_forces,
    wave_increment_kn,
    weight_kn,
)

MASS, FACTOR, MODULUS = st.floats(30.0, 300.0), st.floats(0.0, 2.0), st.floats(5.0, 300.0)
TYPES = st.sampled_from(["A", "B", "dynamic"])


@given(MASS, MODULUS)
def test_a_load_let_go_on_a_taut_rope_pulls_with_twice_its_weight(mass, modulus):
    """f = 0, whatever the rope."""
    assert impact_force_kn(mass, 0.0, modulus) == pytest.approx(2 * weight_kn(mass), rel=1e-12)


@given(MASS, FACTOR, MODULUS)
def test_the_energy_of_the_fall_is_what_the_spring_holds(mass, factor, modulus):
    """W (f + F / K) = F^2 / 2 K for a metre of rope: the equation the formula solves."""
    force = impact_force_kn(mass, factor, modulus)
    assert weight_kn(mass) * (factor + force / modulus) == pytest.approx(force**2 / (2 * modulus), rel=1e-9)


@given(MASS, st.floats(0.05, 2.0), MODULUS)
def test_a_drop_test_gives_the_modulus_back(mass, factor, modulus):
    """The inverse undoes it."""
    force = impact_force_kn(mass, factor, modulus)
    if force <= 50:
        assert modulus_from_test_kn(force, mass, factor) == pytest.approx(modulus, rel=1e-6)


@given(MASS, FACTOR, MODULUS)
def test_a_straight_law_is_the_impact_equation(mass, factor, modulus):
    """n = 1."""
    law = StretchLaw.linear(modulus * 1000)
    assert impact_force_of_law_kn(mass, factor, law) == pytest.approx(impact_force_kn(mass, factor, modulus), rel=1e-9)


@given(MASS, FACTOR, st.sampled_from([0.6, 0.7, 0.9]))
def test_a_curved_law_holds_the_energy_too(mass, factor, n):
    """Area under the curve by the trapezium rule."""
    law = StretchLaw.from_en1891(0.04, n)
    force = float(impact_force_of_law_kn(mass, factor, law)) * 1000
    strains = np.linspace(0.0, law.strain(force) if force <= 30e3 else law.c * force**n, 20001)
    tensions = (strains / law.c) ** (1 / n)
    held = np.trapezoid(tensions, strains)
    assert held == pytest.approx(float(weight_kn(mass)) * 1000 * (factor + strains[-1]), rel=1e-5)


@given(MASS, FACTOR, MODULUS, st.floats(0.1, 10.0))
def test_forces_scale_as_forces(mass, factor, modulus, times):
    """Mass and modulus in other units of force: everything in the ratio, nothing else."""
    if 1 <= mass * times <= 1000 and 0.5 <= modulus * times <= 5000:
        scaled = impact_force_kn(mass * times, factor, modulus * times)
        assert scaled == pytest.approx(times * impact_force_kn(mass, factor, modulus), rel=1e-9)


@given(MASS, FACTOR, TYPES, st.booleans(), st.booleans())
def test_the_band_holds_its_likely_force_and_never_less_than_the_weight(mass, factor, rope_type, wet, used):
    """Low, likely, high in order; wet and used never less at the high end."""
    band = force_band_kn(mass, factor, fall_modulus(rope_type, wet=wet), used=used)
    assert weight_kn(mass) <= band.low <= band.likely <= band.high
    new = force_band_kn(mass, factor, fall_modulus(rope_type))
    assert band.high >= new.high


def test_a_heavy_mass_in_a_hard_fall_adds_a_third_at_the_high_end_only():
    """Over 100 kg and over factor 1; not at them."""
    modulus = fall_modulus("A", impact_force_kn=5.0)
    light, heavy = force_band_kn([100.0, 100.1], 1.5, modulus), force_band_kn([100.1, 100.1], [1.0, 1.01], modulus)
    assert light.high[1] / light.high[0] == pytest.approx(1.3, abs=0.002)
    assert light.low[1] == pytest.approx(light.low[0], rel=0.002)
    assert heavy.high[1] / heavy.high[0] == pytest.approx(1.3 * 1.005, abs=0.003)


def test_the_best_that_is_known_is_what_counts():
    """Drop test before elongation before the standard; dynamic rope never by its elongation."""
    assert fall_modulus("A", 0.035, 5.2).known_by == "impact force"
    assert fall_modulus("A", 0.035).known_by == "elongation"
    assert fall_modulus("B").known_by == "standard"
    assert fall_modulus("dynamic", 0.08).known_by == "standard"
    assert fall_modulus_of(RopeSpecification(0.065, 0.035)).known_by == "elongation"
    declared = RopeSpecification(0.065, 0.035, 10.0, "A", 5.2)
    assert fall_modulus_of(declared) == fall_modulus("A", 0.035, 5.2)
    with pytest.raises(ValueError, match="impact_force_kn needs the rope_type"):
        RopeSpecification(0.065, 0.035, impact_force_kn=5.2)
    with pytest.raises(ValueError, match="rope_type must be A, B or dynamic"):
        RopeSpecification(0.065, 0.035, rope_type="C")  # type: ignore[arg-type]


KNOWN = fall_modulus("A", impact_force_kn=5.1205)  # K = 27.5 kN


@pytest.mark.parametrize(("below", "forces"), [(1.5, (3.7, 5.2, 5.7)), (5.0, (2.7, 3.7, 4.2)), (20.0, (2.0, 2.5, 2.8))])
def test_a_backup_that_takes_over_by_hand(below, forces):
    """h = link, L = below + link, K = 27.5 kN, 85 kg, worked by hand from the impact equation to 0.1 kN."""
    assert KNOWN.kn.likely == pytest.approx(27.5, abs=0.01)
    fall = backup_takes_over(below, np.array([0.3, 1.0, 1.5]), 85.0, KNOWN)
    assert fall.force_kn.likely == pytest.approx(forces, abs=0.055)


@pytest.mark.parametrize(("hang", "slack", "force"), [(5, 1.5, 4.1), (20, 1.5, 2.8), (50, 1.5, 2.25), (5, 3, 4.9)])
def test_a_rebelay_that_fails_by_hand(hang, slack, force):
    """h = s, L = H + s + 0.5 m; a short hang with a fat loop is the bad case."""
    fall = rebelay_failure(hang, slack, 85.0, KNOWN, below_m=0.5)
    assert fall.force_kn.likely == pytest.approx(force, abs=0.05)


@pytest.mark.parametrize(
    ("modulus", "level", "above"),
    [(fall_modulus("dynamic"), 6.8, 9.3), (KNOWN, 7.7, 10.5), (tape_modulus(), 15.5, 21.5)],
)
def test_a_cows_tail_by_hand(modulus, level, above):
    """0.5 m, level with the anchor and 0.5 m above it."""
    fall = lanyard_fall(0.5, np.array([0.0, 0.5]), 85.0, modulus)
    assert fall.force_kn.likely == pytest.approx([level, above], abs=0.06)
    assert fall.factor == pytest.approx([1.0, 2.0])


def test_a_backup_above_the_main_anchor_takes_the_drop_away():
    """Link of 1 m, backup 1 m above: nothing to fall, twice the weight."""
    fall = backup_takes_over(10.0, 1.0, 85.0, KNOWN, backup_above_m=1.0)
    assert fall.free_fall_m == 0
    assert fall.force_kn.likely == pytest.approx(2 * weight_kn(85.0))
    with pytest.raises(ValueError, match="link_m cannot be shorter"):
        backup_takes_over(10.0, 0.5, 85.0, KNOWN, backup_above_m=1.0)


def test_over_twenty_metres_the_mass_of_the_rope_adds_to_the_high_end_only():
    """1.2 v sqrt(K w), from the length of the table on."""
    short, long = (rebelay_failure(h, 1.5, 85.0, KNOWN, mass_kg_per_m=0.065) for h in (18.0, 18.001))
    assert long.force_kn.high - short.force_kn.high == pytest.approx(
        wave_increment_kn(taut_speed_m_s(1.5), KNOWN.kn.high, 0.065), abs=0.002
    )
    assert long.force_kn.likely == pytest.approx(short.force_kn.likely, abs=1e-3)


def test_a_second_anchor_gets_the_speed_that_the_first_left():
    """A first anchor that holds nothing changes nothing; one that holds longer leaves less for the next."""
    first = rebelay_failure(5.0, 1.5, 85.0, KNOWN)
    none = second_anchor(first, 0.0, 1.0, 12.0, 85.0, KNOWN)
    assert none.free_fall_m == pytest.approx(1.5 + 1.0)
    some = second_anchor(first, [1.0, 2.0, 3.5], 1.0, 12.0, 85.0, KNOWN)
    assert np.all(np.diff(some.free_fall_m) < 0) or some.free_fall_m[0] > none.free_fall_m
    assert np.all(some.force_kn.high >= none.force_kn.high)
    with pytest.raises(ValueError, match="above it the first holds"):
        second_anchor(first, 20.0, 1.0, 12.0, 85.0, KNOWN)


@given(st.floats(0.5, 10.0), st.floats(0.0, 0.3), MASS, st.floats(0.0, 1.0))
@settings(max_examples=50)
def test_a_traverse_keeps_its_energy_and_its_triangle(span, slack, mass, fall):
    """What the weight gave is what line and tail hold; F = 2 T sin of the angle at the middle."""
    line, tail, modulus, tail_modulus = span * (1 + slack), 0.5, 28.0, 21.2
    found = traverse_forces(span, line, modulus, mass, fall, tail, tail_modulus)
    half = math.hypot(span / 2, found.sag_m)
    assert found.caver_kn == pytest.approx(2 * found.anchor_kn * found.sag_m / half, rel=1e-6)
    taut = math.sqrt(max(line**2 - span**2, 0.0)) / 2
    gave = weight_kn(mass) * (fall + found.sag_m - taut + found.caver_kn * tail / tail_modulus)
    held = line * found.anchor_kn**2 / (2 * modulus) + found.caver_kn**2 * tail / (2 * tail_modulus)
    assert held == pytest.approx(gave, rel=1e-6)


def test_a_traverse_is_gentler_than_a_fixed_anchor_and_a_tight_one_harder_than_a_loose_one():
    """Span 3 m, tail 0.5 m level with it."""
    tail = fall_modulus("dynamic")
    loose, tight = (traverse_fall(3.0, slack, 85.0, KNOWN, tail) for slack in (0.15, 0.0))
    assert loose.force_kn.likely < lanyard_fall(0.5, 0.0, 85.0, tail).force_kn.likely
    assert tight.anchor_kn.likely > loose.anchor_kn.likely
    for fall in (loose, tight):
        for band in (fall.force_kn, fall.anchor_kn, fall.stop_m):
            assert band.low <= band.likely <= band.high


@given(st.floats(0.3, 50.0), st.floats(0.0, 5.0), TYPES, MASS)
def test_more_slack_never_means_less_force_or_a_shorter_stop(below, link, rope_type, mass):
    """The end of slack that hurts is much of it."""
    link = min(link, below)
    fall = backup_takes_over(below, np.array([link, link * 1.5, link * 2]), mass, fall_modulus(rope_type))
    for band in (fall.force_kn, fall.stop_m):
        assert np.all(np.diff(band.high) >= -1e-6)
        assert np.all((band.low <= band.likely + 1e-9) & (band.likely <= band.high + 1e-9))


def test_what_looks_bad_is_said_from_the_high_end():
    """4 kN is our own proposal, 6 kN the ceiling of the standards; nothing is said below."""
    assert force_level([0.0, 3.99, 4.0, 5.99, 6.0, 90.0]).tolist() == [0, 0, 1, 1, 2, 2]
    assert looks_bad(Band(1.0, 2.0, 3.9)) == ""
    assert "own proposal" in looks_bad(Band(1.0, 2.0, 4.0))
    assert "can pass 6 kN" in looks_bad(Band(1.0, 2.0, 6.0))
    assert "even the least passes 6 kN" in looks_bad(Band(6.0, 7.0, 8.0))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, -1.0, 1e12])
def test_outside_its_range_every_function_names_the_range(bad):
    """Never NaN, and never a silent answer."""
    calls = {
        "mass_kg": lambda: impact_force_kn([80.0, bad], 0.3, 28.0),
        "fall_factor": lambda: impact_force_kn(80.0, bad, 28.0),
        "modulus_kn": lambda: impact_force_kn(80.0, 0.3, bad),
        "force_kn": lambda: modulus_from_test_kn(bad, 80.0, 0.3),
        "free_fall_m": lambda: arrest_distance_m(bad, 10.0, 4.0, 28.0),
        "rope_m": lambda: arrest_distance_m(1.0, bad, 4.0, 28.0),
        "speed_m_s": lambda: wave_increment_kn(bad, 28.0, 0.065),
        "mass_kg_per_m": lambda: wave_increment_kn(5.0, 28.0, bad),
        "below_m": lambda: backup_takes_over(bad, 1.0, 85.0, KNOWN),
        "link_m": lambda: backup_takes_over(1.0, bad, 85.0, KNOWN),
        "hang_m": lambda: rebelay_failure(bad, 1.0, 85.0, KNOWN),
        "slack_m": lambda: rebelay_failure(5.0, bad, 85.0, KNOWN),
        "length_m": lambda: lanyard_fall(bad, 0.0, 85.0, KNOWN),
        "span_m": lambda: traverse_forces(bad, 3.0, 28.0, 85.0, 0.5, 0.5, 21.0),
        "impact_force_kn": lambda: fall_modulus("A", impact_force_kn=bad),
        "elongation": lambda: fall_modulus("A", bad),
    }
    for name, call in calls.items():
        with pytest.raises(ValueError, match=f"^{name} must lie between .* and .*"):
            call()


def test_a_drop_test_below_twice_the_weight_is_no_test():
    """No rope stops a load with less."""
    with pytest.raises(ValueError, match="more than twice the weight"):
        modulus_from_test_kn(1.9, 100.0, 0.3)
    with pytest.raises(ValueError, match="between minus and plus the length"):
        lanyard_fall(0.5, 0.6, 85.0, KNOWN)
