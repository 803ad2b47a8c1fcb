"""What the mass of a long rope adds, against a rope of many masses.

Source: a string of masses and springs that only pull, stepped here by its own code, of which the package knows nothing,
exactly one piece of travel a step: then it follows the wave equation without spreading. After S. Timoshenko on the
longitudinal blow of a heavy rod, F = F_lumped + 1.1 v sqrt(K w); that factor is from memory, hence not tested to better
than 10 %. 0.065 kg/m, K = 27,529 N, factor 0.3, 85 kg. Half a piece a step, as is usual for such strings, rings at the
anchor and gives 1.6 instead of 1.16: an artefact that must not be built in.
"""

import math

import numpy as np
import pytest

from tethera.rope import impact_force_kn, taut_speed_m_s, wave_increment_kn

G = 9.80665


def string_peak_n(mass: float, rope: float, fall: float, modulus: float, weight: float, count: int) -> float:
    """Most force at the anchor [N] of a string of `count` masses, the last with the falling mass on it."""
    piece = rope / count
    lump = np.full(count, weight * piece)
    lump[-1] = weight * piece / 2 + mass
    stiffness = modulus / piece
    x, v = np.zeros(count), np.zeros(count)
    v[-1] = math.sqrt(2 * G * fall)
    dt, most = piece / math.sqrt(modulus / weight), 0.0
    for _ in range(int(3 * math.sqrt(mass * rope / modulus) / dt)):
        force = np.maximum(stiffness * np.diff(x, prepend=0.0), 0.0)
        most = max(most, force[0])
        v += dt * (G - (force - np.append(force[1:], 0.0)) / lump)
        x += dt * v
    return most


@pytest.mark.parametrize("rope", [20.0, 50.0, 100.0])
def test_the_wave_of_a_long_rope_is_what_the_string_says(rope):
    """1.2 v sqrt(K w) within 12 % of what the string has over the lumped spring."""
    lumped = impact_force_kn(85.0, 0.3, 27.529) * 1000
    over = string_peak_n(85.0, rope, 0.3 * rope, 27_529.0, 0.065, 160) - lumped
    assert wave_increment_kn(taut_speed_m_s(0.3 * rope), 27.529, 0.065) * 1000 == pytest.approx(over, rel=0.12)


def test_on_two_hundred_metres_it_falls_short_by_no_more_than_the_band_has_room_for():
    """1.34 v sqrt(K w): an eighth of the wave, 3 % of the force, where the band is 20 % wide."""
    lumped = impact_force_kn(85.0, 0.3, 27.529) * 1000
    peak = string_peak_n(85.0, 200.0, 60.0, 27_529.0, 0.065, 160)
    said = lumped + wave_increment_kn(taut_speed_m_s(60.0), 27.529, 0.065) * 1000
    assert said < peak < 1.05 * said


def test_on_ten_metres_it_is_under_a_tenth_of_the_force():
    """Which is why the table lets it begin at 20 m."""
    lumped = impact_force_kn(85.0, 0.3, 27.529)
    assert wave_increment_kn(taut_speed_m_s(3.0), 27.529, 0.065) / lumped < 0.1
