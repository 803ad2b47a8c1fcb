"""How far a hanging rope stretches, and how much rope reaches a depth when nobody hangs on it.

Static, along the rope, dry. Left out: creep, twist, wet stiffness, friction over an edge.
Natural length is the length of the washed, dry rope lying slack.
"""

import math
from dataclasses import dataclass

from tethera.rope.specification import RopeSpecification, between
from tethera.rope.tables import figure


def _g() -> float:
    return figure("rope", "stretch", "g").value


@dataclass(frozen=True, slots=True)
class StretchLaw:
    """Strain under tension: eps = c T^n, T in newtons. n = 1 is the straight line eps = T / K with c = 1 / K.

    The E of EN 1891 fixes one number only; the exponent is a choice. Use the end that is careful for the question:
    n = 1 where little stretch is the careful end (does the foot reach), n = 0.7 where much is (loops, clearance).
    """

    c: float
    n: float = 1.0

    def __post_init__(self) -> None:
        between("c", self.c, 1e-12, 1.0, "1/N^n")
        between("n", self.n, 0.3, 1.0, "(exponent)")

    @classmethod
    def linear(cls, stiffness_n: float) -> "StretchLaw":
        """Straight line with stiffness K [N]: eps = T / K."""
        return cls(1.0 / between("stiffness_n", stiffness_n, 1e3, 1e7, "N"))

    @classmethod
    def from_en1891(cls, elongation: float, n: float = 1.0) -> "StretchLaw":
        """Law through E = (eps150 - eps50) / (1 + eps50), E being marked while 50 kg hang on the rope.

        With T50, T150 the two loads: c = E / (T150^n - (1 + E) T50^n).

        >>> round(1 / StretchLaw.from_en1891(0.035).c)
        27529
        """
        between("elongation", elongation, 0.001, 0.2, "share")
        between("n", n, 0.3, 1.0, "(exponent)")
        low, high = (figure("rope", "stretch", key).value * _g() for key in ("load_low", "load_high"))
        return cls(elongation / (high**n - (1 + elongation) * low**n), n)

    @classmethod
    def from_en892(cls, static: float, dynamic: float, force_kn: float) -> "StretchLaw":
        """Law of a dynamic rope through (80 kg, static elongation) and (impact force, dynamic elongation).

        An elastic curve: right for stretch, but it stores only some 64 % of the energy of the standard's fall, the
        rest is lost in the rope. A peak force from it is a third too high.

        >>> round(StretchLaw.from_en892(0.0785, 0.331, 8.46).n, 2)
        0.61
        """
        between("static", static, 0.01, 0.2, "share")
        between("dynamic", dynamic, 0.1, 0.6, "share")
        between("force_kn", force_kn, 3.0, 20.0, "kN")
        hung = figure("rope", "falls", "en892", "mass").value * _g()
        n = math.log(dynamic / static) / math.log(force_kn * 1000 / hung)
        return cls(static / hung**n, n)

    @classmethod
    def of(cls, rope: RopeSpecification, n: float = 1.0) -> "StretchLaw":
        """Law of a rope from its declared elongation."""
        return cls.from_en1891(rope.elongation, n)

    def strain(self, tension_n: float) -> float:
        """Share by which the rope is longer under a tension, 0 to 30 kN [-]."""
        return float(self.c * between("tension_n", tension_n, 0.0, 30e3, "N") ** self.n)


def hanging_stretch_m(length_m: float, mass_kg_per_m: float, load_kg: float, law: StretchLaw) -> float:
    """Metres a hanging rope gains from a load at its foot and its own weight.

    dL = c / (w g (n + 1)) [((M + w L) g)^(n+1) - (M g)^(n+1)]; for n = 1 this is g L (M + w L / 2) / K.

    Parameters
    ----------
    length_m : natural length [m], 0 to 2,000
    mass_kg_per_m : dry mass w [kg/m]
    load_kg : mass M at the foot [kg], 0 to 500

    >>> round(hanging_stretch_m(100.0, 0.065, 85.0, StretchLaw.linear(28_019.0)), 3)
    3.089
    """
    between("length_m", length_m, 0.0, 2000.0, "m")
    w = between("mass_kg_per_m", mass_kg_per_m, 0.001, 1.0, "kg/m")
    between("load_kg", load_kg, 0.0, 500.0, "kg")
    if law.n == 1.0:
        return law.c * _g() * length_m * (load_kg + w * length_m / 2)
    power = law.n + 1
    top, foot = (load_kg + w * length_m) * _g(), load_kg * _g()
    return float(law.c / (w * _g() * power) * (top**power - foot**power))


def min_natural_length_m(depth_m: float, mass_kg_per_m: float, law: StretchLaw) -> float:
    """Least natural length whose UNLOADED foot reaches a depth, the rope stretched by its own weight only.

    n = 1: L = (K / (g w)) (sqrt(1 + 2 g w D / K) - 1). Otherwise L + c (w g)^n L^(n+1) / (n+1) = D, by Newton's
    method from L = D, which falls without overshooting because the left side is convex.

    >>> round(min_natural_length_m(100.0, 0.065, StretchLaw.linear(28_019.0)), 4)
    99.8865
    """
    between("depth_m", depth_m, 0.0, 2000.0, "m")
    weight = between("mass_kg_per_m", mass_kg_per_m, 0.001, 1.0, "kg/m") * _g()
    if law.n == 1.0:
        u = law.c * weight
        # The same closed form, written so that nothing cancels for short ropes.
        return 2 * depth_m / (math.sqrt(1 + 2 * u * depth_m) + 1)
    a = law.c * weight**law.n
    length = depth_m
    for _ in range(60):
        step = (length + a * length ** (law.n + 1) / (law.n + 1) - depth_m) / (1 + a * length**law.n)
        length -= step
        if abs(step) < 1e-12 * max(depth_m, 1.0):
            break
    return float(length)


def rebelay_slack_m(
    hang_m: float, mass_kg_per_m: float, load_kg: float, slack_after_m: float, law: StretchLaw
) -> float:
    """Slack to leave in a rebelay loop while hanging on the rope above, so that enough is left once it contracts.

    s_rig = s_pass + H eps / (1 + eps), eps the mean strain under the rigger and the rope's own weight.
    The natural length between the anchors is H + s_pass whatever eps: stretch moves slack, it does not make rope.

    Parameters
    ----------
    hang_m : free hang above the rebelay, H [m], 0 to 500
    mass_kg_per_m : dry mass [kg/m]
    load_kg : mass of the rigger with bags [kg]
    slack_after_m : slack wanted once the rope above is unloaded, s_pass [m], 0 to 20

    >>> round(rebelay_slack_m(50.0, 0.065, 85.0, 0.8, StretchLaw.from_en1891(0.035)), 2)
    2.3
    """
    between("hang_m", hang_m, 0.0, 500.0, "m")
    between("slack_after_m", slack_after_m, 0.0, 20.0, "m")
    if hang_m == 0:
        return slack_after_m
    eps = hanging_stretch_m(hang_m, mass_kg_per_m, load_kg, law) / hang_m
    return slack_after_m + hang_m * eps / (1 + eps)
