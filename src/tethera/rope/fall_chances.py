"""How likely which force is, when slack, mass and stiffness are only roughly known, and which of them matters most."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from tethera.rope.fall_scenarios import force_level
from tethera.rope.quantities import Numbers, within

#: Points of the Sobol sequence, 2 to this power: their 95 % point moves by 0.2 % from one scrambling to the next.
_POWER = 12


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A quantity known by its mean and standard deviation, in the unit of the mean: never negative, nor over `most`.

    Follows a gamma distribution, which is near the normal one where the deviation is small and never below zero.
    """

    mean: float
    sd: float
    most: float = 1e6

    def __post_init__(self) -> None:
        within("mean", self.mean, 0.0, 1e6, "")
        within("sd", self.sd, 0.0, 10 * self.mean, "")

    def at(self, chance: Numbers) -> Numbers:
        """The value that is not passed with this chance."""
        from scipy.special import gammaincinv  # slow to import

        if self.sd == 0:
            return np.full(np.shape(chance), min(self.mean, self.most))
        shape = (self.mean / self.sd) ** 2
        return np.minimum(gammaincinv(shape, chance) * self.mean / shape, self.most)


@dataclass(frozen=True, slots=True)
class Chances:
    """Quantiles of the force [kN], its spread, the chance of passing a level, and what matters.

    ranking : name and rank correlation with the force, -1 to 1, the weightiest first; 0 for what is exactly known
    """

    points: int
    p05_kn: float
    p50_kn: float
    p95_kn: float
    sd_share: float
    chance_from_4_kn: float
    chance_from_6_kn: float
    ranking: tuple[tuple[str, float], ...]


def force_chances(
    force_kn: Callable[..., Numbers], unsure: dict[str, Uncertain], *, seed: int = 0, power: int = _POWER
) -> Chances:
    """Quantiles of a force over uncertain quantities.

    Points of a scrambled Sobol sequence, 4,096 unless told; the same seed gives the same answer. Report the 95 % point
    to two figures, no more: the model's own spread is not in it.

    Parameters
    ----------
    force_kn : takes an array for each name of `unsure`, gives the forces [kN]
    unsure : quantities by name, independent of each other
    power : 2 to this many points, 4 to 16

    >>> from tethera.rope.falls import impact_force_kn
    >>> known = {"slack_m": Uncertain(0.8, 0.4), "mass_kg": Uncertain(85.0, 10.0)}
    >>> chances = force_chances(lambda slack_m, mass_kg: impact_force_kn(mass_kg, slack_m / 6, 27.5), known)
    >>> chances.ranking[0][0]
    'slack_m'
    """
    from scipy.stats import qmc  # slow to import

    within("power", power, 4, 16, "")
    if not unsure:
        raise ValueError("unsure must name at least one uncertain quantity")
    points = qmc.Sobol(len(unsure), scramble=True, rng=seed).random_base2(power)
    # The ends themselves would be infinite.
    points = np.clip(points, 1e-9, 1 - 1e-9)
    drawn = {name: each.at(points[:, i]) for i, (name, each) in enumerate(unsure.items())}
    forces = np.asarray(force_kn(**drawn), dtype=float)
    level = force_level(forces)
    p05, p50, p95 = (float(each) for each in np.quantile(forces, [0.05, 0.5, 0.95]))
    ranked = [(name, rank_correlation(values, forces)) for name, values in drawn.items()]
    ranked.sort(key=lambda each: -abs(each[1]))
    return Chances(
        2**power,
        p05,
        p50,
        p95,
        float(forces.std() / forces.mean()),
        float(np.mean(level >= 1)),
        float(np.mean(level >= 2)),
        tuple(ranked),
    )


def rank_correlation(one: Any, other: Any) -> float:
    """Spearman's rank correlation of two samples of one length; 0 where one of them never changes.

    >>> rank_correlation([1.0, 2.0, 3.0], [10.0, 20.0, 90.0]), rank_correlation([1.0, 1.0], [1.0, 2.0])
    (1.0, 0.0)
    """
    if np.ptp(one) == 0 or np.ptp(other) == 0:
        return 0.0
    ranks = np.array([np.argsort(np.argsort(each)) for each in (one, other)], dtype=np.float64)
    centred = ranks - ranks.mean(axis=1, keepdims=True)
    return round(float(centred[0] @ centred[1] / np.sqrt(np.prod((centred**2).sum(axis=1)))), 12)
