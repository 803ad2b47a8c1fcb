"""Peak force of a fall held by rope: the impact equation, its inverse, and what goes beyond it.

One spring, one falling mass, a rigid anchor. Left out: friction over edges and through devices, the body's own give,
cutting. Every argument may be a number or an array; all broadcast against each other.
"""

import numpy as np

from tethera.rope.quantities import Numbers, within
from tethera.rope.stretch import StretchLaw
from tethera.rope.tables import figure

#: Steps of halving: the bracket of 1e3 kN shrinks below a millinewton.
_HALVINGS = 60


def weight_kn(mass_kg: Numbers) -> Numbers:
    """Weight of a mass of 1 to 1,000 kg [kN].

    >>> round(float(weight_kn(80.0)), 5)
    0.78453
    """
    return within("mass_kg", mass_kg, 1.0, 1000.0, "kg") * figure("rope", "stretch", "g").value / 1000


def impact_force_kn(mass_kg: Numbers, fall_factor: Numbers, modulus_kn: Numbers) -> Numbers:
    """Most force in a rope that holds a fall: F = W + sqrt(W^2 + 2 W K f) [kN].

    From the energy of a falling weight in a linear spring, nothing lost. Twice the weight at f = 0: a load let go on a
    rope that is just taut. Set with the modulus of a drop test it agrees within 7 % with models that lose energy; set
    with the static elongation of dynamic rope it is 27 % low (docs/falls.md).

    Parameters
    ----------
    mass_kg : falling mass [kg], 1 to 1,000
    fall_factor : free fall until the rope is taut, by the length of rope in play [-], 0 to 2
    modulus_kn : force per unit strain in a fall, K [kN], 0.5 to 5,000

    >>> round(float(impact_force_kn(100.0, 1.0, 28.019)), 4)
    8.4584
    >>> impact_force_kn([60.0, 80.0, 100.0], 0.3, 28.019).round(2).tolist()
    [3.79, 4.5, 5.16]

    References: [1] K. Cline, postings to rec.climbing, 18 April 1995, which quote J. Cinnamon, Climbing Rock and Ice,
    p.157-159.
    """
    weight = weight_kn(mass_kg)
    factor = within("fall_factor", fall_factor, 0.0, 2.0, "")
    modulus = within("modulus_kn", modulus_kn, 0.5, 5000.0, "kN")
    return weight + np.sqrt(weight**2 + 2 * weight * modulus * factor)


def modulus_from_test_kn(force_kn: Numbers, mass_kg: Numbers, fall_factor: Numbers) -> Numbers:
    """The modulus of a rope from the peak force of a drop test: K = F (F - 2 W) / (2 W f) [kN].

    Parameters
    ----------
    force_kn : peak force [kN], more than twice the weight, 50 at most
    mass_kg : dropped mass [kg], 1 to 1,000
    fall_factor : of the test [-], 0.01 to 2

    >>> round(float(modulus_from_test_kn(6.0, 100.0, 0.3)), 3)
    41.183
    """
    weight = weight_kn(mass_kg)
    force = within("force_kn", force_kn, 0.1, 50.0, "kN")
    factor = within("fall_factor", fall_factor, 0.01, 2.0, "")
    if np.any(force <= 2 * weight):
        raise ValueError(
            f"force_kn must be more than twice the weight, {np.max(2 * weight):.3g} kN: "
            "a rope stops even a load let go on it with that"
        )
    return force * (force - 2 * weight) / (2 * weight * factor)


def impact_force_of_law_kn(mass_kg: Numbers, fall_factor: Numbers, law: StretchLaw) -> Numbers:
    """Most force in a rope that follows eps = c T^n: W (f + eps(T)) = int T' d eps, by halving the bracket [kN].

    n = 1 is the impact equation. Ranges as there.

    >>> round(float(impact_force_of_law_kn(100.0, 1.0, StretchLaw.linear(28_019.0))), 4)
    8.4584
    """
    weight = weight_kn(mass_kg) * 1000
    factor = within("fall_factor", fall_factor, 0.0, 2.0, "")
    weight, factor = np.broadcast_arrays(weight, factor)
    low, high = weight.astype(float), np.full(weight.shape, 1e6)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        strain = law.c * middle**law.n
        # int_0^T T' d eps = c n / (n + 1) T^(n + 1)
        enough = strain * middle * law.n / (law.n + 1) >= weight * (factor + strain)
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return (high / 1000)[()]


def arrest_distance_m(free_fall_m: Numbers, rope_m: Numbers, force_kn: Numbers, modulus_kn: Numbers) -> Numbers:
    """How far a fall goes before it stops: free fall and the rope's stretch under the peak force, h + L F / K [m].

    Parameters
    ----------
    free_fall_m : until the rope is taut [m], 0 to 1,000
    rope_m : rope in play [m], 0.01 to 2,000
    force_kn, modulus_kn : peak force [kN], 0 to 200, and modulus [kN], 0.5 to 5,000

    >>> float(arrest_distance_m(1.0, 10.0, 4.0, 40.0))
    2.0
    """
    free = within("free_fall_m", free_fall_m, 0.0, 1000.0, "m")
    rope = within("rope_m", rope_m, 0.01, 2000.0, "m")
    force = within("force_kn", force_kn, 0.0, 200.0, "kN")
    return free + rope * force / within("modulus_kn", modulus_kn, 0.5, 5000.0, "kN")


def wave_increment_kn(speed_m_s: Numbers, modulus_kn: Numbers, mass_kg_per_m: Numbers) -> Numbers:
    """Force that the mass of a long rope adds to the impact equation: about 1.2 v sqrt(K w) [kN].

    The blow runs up the rope as a wave; formulas of energy never show it. Matters from some 20 m (tables/falls.toml).

    Parameters
    ----------
    speed_m_s : speed when the rope becomes taut [m/s], 0 to 150
    modulus_kn : [kN], 0.5 to 5,000
    mass_kg_per_m : mass of the rope [kg/m], 0.001 to 1

    >>> round(float(wave_increment_kn(5.0, 27.5, 0.065)), 2)
    0.25
    """
    speed = within("speed_m_s", speed_m_s, 0.0, 150.0, "m/s")
    modulus = within("modulus_kn", modulus_kn, 0.5, 5000.0, "kN")
    mass = within("mass_kg_per_m", mass_kg_per_m, 0.001, 1.0, "kg/m")
    # K in newtons under the root, the force back in kilonewtons.
    return figure("rope", "falls", "wave", "coefficient").value * speed * np.sqrt(modulus * 1000 * mass) / 1000


def taut_speed_m_s(free_fall_m: Numbers) -> Numbers:
    """Speed after a free fall of 0 to 1,000 m [m/s].

    >>> round(float(taut_speed_m_s(1.0)), 3)
    4.429
    """
    free = within("free_fall_m", free_fall_m, 0.0, 1000.0, "m")
    return np.sqrt(2 * figure("rope", "stretch", "g").value * free)
