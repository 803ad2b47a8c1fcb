"""Margins: how much longer than its mean need a rope must be, when depths, knots and ropes are known with a spread.

A rope of length L measured with spread s reaches a run of mean need n and spread d with probability p when
L - n >= z(p) * sqrt(d^2 + s^2). Ropes that are longer and no worse known always reach what shorter ones reach, so ropes
fall into *chains* along which "reaches" can only turn from no to yes; a chain is one accuracy of the planning problem,
and the plan stays exact.
"""

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from tethera.basics import need_cm

_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class KnownLength:
    """A rope's length and the spread with which it is known [cm]."""

    length_cm: int
    sd_cm: float


def need_at_cm(mean_m: float, sd_m: float, rope_sd_cm: float, z: float) -> int:
    """Whole cm a rope known with spread `rope_sd_cm` must have, z spreads above the mean need; rounded up.

    >>> need_at_cm(40.0, 0.0, 0.0, 1.645), need_at_cm(40.0, 1.0, 0.0, 2.0), need_at_cm(40.0, 0.3, 40.0, 2.0)
    (4000, 4200, 4100)
    """
    return need_cm(mean_m + z * math.hypot(sd_m, rope_sd_cm / 100))


def chance_short(length_cm: int, rope_sd_cm: float, mean_m: float, sd_m: float) -> float:
    """Probability that the rope is shorter than the run needs.

    >>> round(chance_short(4200, 0.0, 40.0, 1.0), 4), chance_short(4000, 0.0, 40.0, 0.0)
    (0.0228, 0.0)
    """
    spread_m = math.hypot(sd_m, rope_sd_cm / 100)
    spare_m = length_cm / 100 - mean_m
    if spread_m == 0:
        return 0.0 if spare_m >= -1e-9 else 1.0
    return _NORMAL.cdf(-spare_m / spread_m)


def z_of(confidence: float, ropes: int = 1) -> float:
    """Spreads above the mean for this confidence in each of `ropes` ropes, so that all together have at least it.

    >>> round(z_of(0.95), 3), round(z_of(0.95, 20), 3)
    (1.645, 2.807)
    """
    if not 0.5 <= confidence < 1:
        raise ValueError(f"a confidence is at least 0.5 and below 1, not {confidence}")
    return _NORMAL.inv_cdf(1 - (1 - confidence) / max(ropes, 1))


def chains(ropes: Sequence[KnownLength], z: float) -> list[list[int]]:
    """Indices of ropes in chains, shortest first, each rope reaching at least what the one before it reaches.

    A longer rope that is known worse still reaches more when it is longer by z times the difference of spreads.
    """
    found: list[list[int]] = []
    for index in sorted(range(len(ropes)), key=lambda i: (ropes[i].length_cm, -ropes[i].sd_cm)):
        rope = ropes[index]
        for chain in found:
            last = ropes[chain[-1]]
            # Of one length but known differently, two ropes would share a level that does not tell them apart.
            alike = rope.sd_cm == last.sd_cm or rope.length_cm > last.length_cm
            if alike and rope.length_cm - last.length_cm >= z * (rope.sd_cm - last.sd_cm):
                chain.append(index)
                break
        else:
            found.append([index])
    return found


def chain_need_cm(chain: Sequence[KnownLength], mean_m: float, sd_m: float, z: float) -> int:
    """The length that tells the ropes of a chain that reach from those that do not; beyond all when none does."""
    reaches = [rope.length_cm >= need_at_cm(mean_m, sd_m, rope.sd_cm, z) for rope in chain]
    first = bisect_left(reaches, True)
    if first == len(chain):
        return max(need_at_cm(mean_m, sd_m, chain[-1].sd_cm, z), chain[-1].length_cm + 1)
    need = need_at_cm(mean_m, sd_m, chain[first].sd_cm, z)
    return need if first == 0 else max(need, chain[first - 1].length_cm + 1)
