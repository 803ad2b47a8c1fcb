"""How long to buy rope so that enough is left, what a reel will give, and what measuring one rope first would tell."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from tethera.rope.quantities import Band, Numbers, within
from tethera.rope.shrinkage import Shrinkage
from tethera.rope.tables import figure

#: Points of the quadratures over the spread, over what ropes have in common and over the loss in use. Against 400,000
#: draws the shares differ by less than 0.0005 (tests/rope/test_shrinkage.py).
_SPREAD, _COMMON, _USE = 128, 48, 12

_Chance: TypeAlias = Callable[[float], float]


def share_left_in_use(confidence: Numbers, uses: float = math.inf) -> Numbers:
    """Share that a washed and measured rope has left at least after so many uses, with this confidence.

    The whole loss of a life is A ~ Beta(alpha, beta), each rope for itself; after n uses 1 - exp(-n / scale) of it has
    come. Both are judgements from two accounts, tables/shrinkage.toml; no store is known to have measured it.

    Parameters
    ----------
    confidence : 0.5 to 0.999
    uses : times it is used, from 0; infinite is for life

    >>> round(100 / float(share_left_in_use(0.95)), 1)
    111.4
    """
    from scipy.special import betaincinv  # slow to import

    found = within("confidence", confidence, 0.5, 0.999, "")
    return 1 - _come(uses) * betaincinv(*_use(), found)


def share_left_together(predictive: Shrinkage, confidence: float, ropes: int = 1, uses: float = 0.0) -> float:
    """Share that each of several ropes of one kind has left at least, all of them together with this confidence.

    Parameters
    ----------
    predictive : of one more rope
    confidence : 0.5 to 0.999
    ropes : how many are bought, 1 to 1,000; ropes of one kind shrink alike, which is reckoned with
    uses : times they are used after their first washes, from 0; infinite is for life

    >>> new = Shrinkage(-0.107, 0.03, 0.02, 6.0)
    >>> [round(share_left_together(new, 0.95, ropes), 3) for ropes in (1, 3, 10)]
    [0.838, 0.822, 0.808]
    """
    level = float(within("confidence", confidence, 0.5, 0.999, ""))
    if not 1 <= ropes <= 1000:
        raise ValueError(f"1 to 1,000 ropes are bought together, not {ropes}")
    come = _come(uses)
    if ropes == 1 and come == 0:
        return float(predictive.share_left(level))
    from scipy.optimize import brentq  # slow to import
    from scipy.special import betaincinv, stdtrit

    # No single rope may do worse than all together, and all together no worse than chances that simply add up.
    each = (1 - level) / (2 * ropes)
    least = predictive.centre + predictive.scale * float(stdtrit(predictive.freedom, each))
    least += math.log1p(-come * float(betaincinv(*_use(), 1 - each)))
    most = math.log(float(predictive.share_left(level)))
    chance = _chance_all(predictive, ropes, come)
    # The quadrature may be off by its last digits at the very ends.
    if chance(most) >= level:
        return math.exp(most)
    if chance(least) <= level:
        return math.exp(least)
    return math.exp(brentq(lambda log_share: chance(log_share) - level, least, most, xtol=1e-9))


def length_to_buy_m(
    left_m: Numbers, confidence: float, predictive: Shrinkage, *, ropes: int = 1, uses: float = 0.0
) -> Numbers:
    """Length each rope must have as bought, so that so much is left of every one of them, with this confidence [m].

    Not rounded; a need is rounded up where it is shown (`basics.need_cm`).

    Parameters
    ----------
    left_m : length wanted after the first washes, and after `uses` uses [m], 0.1 to 2,000
    confidence : 0.5 to 0.999
    predictive, ropes, uses : as in `share_left_together`

    >>> from tethera.rope import prior_from_range
    >>> nylon = prior_from_range(0.05, 0.15, 0.8)
    >>> round(float(length_to_buy_m(100.0, 0.95, nylon)), 1)
    120.0
    >>> length_to_buy_m([40.0, 100.0], 0.95, nylon, uses=math.inf).round(1).tolist()
    [51.5, 128.6]
    """
    return within("left_m", left_m, 0.1, 2000.0, "m") / share_left_together(predictive, confidence, ropes, uses)


def length_left_m(bought_m: Numbers, predictive: Shrinkage, cover: float = 0.9) -> Band:
    """What a rope of this length will have left after its first washes: the band that holds it with `cover` [m].

    Parameters
    ----------
    bought_m : length as bought or cut [m], 0.1 to 2,000
    predictive : of one more rope
    cover : chance that the band holds it, half the rest below it and half above, 0.1 to 0.998

    >>> from tethera.rope import prior_from_range
    >>> band = length_left_m(50.0, prior_from_range(0.05, 0.15, 0.8), cover=0.8)
    >>> [round(float(each), 1) for each in (band.low, band.likely, band.high)]
    [42.5, 44.9, 47.5]
    """
    length = within("bought_m", bought_m, 0.1, 2000.0, "m")
    tail = (1 - float(within("cover", cover, 0.1, 0.998, ""))) / 2
    return Band(*(length * share for share in predictive.quantile([tail, 0.5, 1 - tail])))


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What measuring one rope of a kind, before buying or cutting the rest, would change.

    Parameters
    ----------
    now_m : length to buy as things stand [m]
    losses : what that one rope may lose, at its 10 %, 50 % and 90 % [share of its length]
    then_m : length to buy if it does [m]
    middle_m : length to buy that is as likely to be undercut as not, before it is measured [m]
    chance_less : how likely less must be bought afterwards [-]
    """

    now_m: float
    losses: tuple[float, float, float]
    then_m: tuple[float, float, float]
    middle_m: float
    chance_less: float


def foresee(left_m: float, confidence: float, predictive: Shrinkage) -> Foreseen:
    """What one more measured rope would tell, before it is measured: by the prediction itself, at 199 even steps.

    Parameters
    ----------
    left_m : length wanted after the first washes [m], 0.1 to 2,000
    confidence : 0.5 to 0.999

    >>> from tethera.rope import prior_from_range
    >>> told = foresee(100.0, 0.95, prior_from_range(0.05, 0.15, 0.8))
    >>> [round(each, 1) for each in (told.now_m, *told.then_m)], told.chance_less > 0.5
    ([120.0, 113.7, 117.0, 122.5], True)
    """
    within("left_m", left_m, 0.1, 2000.0, "m")
    steps = (np.arange(199) + 0.5) / 199

    def then(share_left: float) -> float:
        return left_m / share_left_together(predictive.after([share_left]), confidence)

    now = left_m / share_left_together(predictive, confidence)
    shares = np.clip(predictive.quantile(steps), 0.2, 2.0)
    lengths = np.array([then(float(share)) for share in shares])
    ends = np.clip(predictive.quantile([0.9, 0.5, 0.1]), 0.2, 2.0)
    least, half, most = (float(1 - share) for share in ends)
    return Foreseen(
        now,
        (least, half, most),
        (then(1 - least), then(1 - half), then(1 - most)),
        float(np.median(lengths)),
        float((lengths < now).mean()),
    )


def _use() -> tuple[float, float]:
    return figure("rope", "shrinkage", "use_alpha").value, figure("rope", "shrinkage", "use_beta").value


def _come(uses: float) -> float:
    """How much of the loss in use has come after so many uses, 0 to 1."""
    if math.isnan(uses) or uses < 0:
        raise ValueError(f"uses must be 0 or more, not {uses}")
    return -math.expm1(-uses / figure("rope", "shrinkage", "use_scale").value)


def _legendre(points: int) -> tuple[Numbers, Numbers]:
    """Points and weights of Gauss and Legendre on 0 to 1."""
    x, weights = np.polynomial.legendre.leggauss(points)
    return (x + 1) / 2, weights / 2


def _chance_all(predictive: Shrinkage, ropes: int, come: float) -> _Chance:
    """The chance that each of the ropes has more left than exp(log_share), as a function of log_share."""
    from scipy.special import chdtri, ndtr, roots_jacobi  # slow to import

    at, spread_weights = _legendre(_SPREAD)
    spread = np.sqrt(predictive.freedom / chdtri(predictive.freedom, 1 - at))[:, None, None]
    z, common_weights = np.polynomial.hermite_e.hermegauss(_COMMON)
    common_weights = common_weights / math.sqrt(2 * math.pi)
    in_use, use_weights = np.zeros(1), np.ones(1)
    if come > 0:
        # Gauss and Jacobi: the weight is the Beta density itself, so its long tail costs no points.
        alpha, beta = _use()
        at, use_weights = roots_jacobi(_USE, beta - 1, alpha - 1)
        in_use, use_weights = np.log1p(-come * (at + 1) / 2), use_weights / use_weights.sum()
    kind = predictive.centre + spread * predictive.common * z[None, :, None] + in_use[None, None, :]

    def chance(log_share: float) -> float:
        each = ndtr((kind - log_share) / (spread * predictive.individual)) @ use_weights
        return float(spread_weights @ (each**ropes) @ common_weights)

    return chance
