"""What share of its length new rope has left after its first washes: a range from a source, sharpened by measuring.

Of y = log(length after / length before), ropes of one kind are normal about a mean that belongs to the kind; mean and
spread are known by a normal-inverse-gamma law, which a measured rope sharpens in closed form. One more rope of the kind
is then Student-t, and several together a multivariate t: what they have in common (the kind) and what each has for
itself. Left out: halves of one rope that shrink by different shares, and rope that is stretched while it dries.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tethera.rope.quantities import Numbers, within
from tethera.rope.tables import figure, load_table

Fibre = Literal["nylon", "polyester", "not known"]


@dataclass(frozen=True, slots=True)
class Shrinkage:
    """What one more rope of a kind has left of its length, as a share of what it had: Student-t on its logarithm.

    Parameters
    ----------
    centre : logarithm of the share left that half of the ropes keep [-]
    common : scale of what all ropes of the kind share: how well the kind is known [-], 0 to 1
    individual : scale of what each rope has for itself [-], more than 0, at most 1
    freedom : degrees of freedom, how well the spread is known [-], more than 0
    ropes : how many measured ropes of its own kind it rests on
    source : where the range behind it comes from

    Shares may come out above 1: reels are sometimes longer than their label.
    """

    centre: float
    common: float
    individual: float
    freedom: float
    ropes: int = 0
    source: str = ""

    def __post_init__(self) -> None:
        within("centre", self.centre, -2.0, 1.0, "(logarithm)")
        within("common", self.common, 0.0, 1.0, "(logarithm)")
        within("individual", self.individual, 1e-6, 1.0, "(logarithm)")
        within("freedom", self.freedom, 0.5, 1e9, "")

    @property
    def scale(self) -> float:
        """Scale of one more rope [-]."""
        return math.hypot(self.common, self.individual)

    @property
    def typical(self) -> float:
        """Share left that half of the ropes keep. (A mean has no finite value on tails like these.)"""
        return math.exp(self.centre)

    def quantile(self, level: Numbers) -> Numbers:
        """Share left that one more rope stays below with this probability, 0.0001 to 0.9999.

        >>> new = prior_from_range(0.05, 0.15, 0.8)
        >>> new.quantile([0.05, 0.1, 0.5, 0.9]).round(4).tolist()
        [0.8336, 0.85, 0.8986, 0.95]
        """
        from scipy.special import stdtrit  # slow to import

        found = within("level", level, 1e-4, 1 - 1e-4, "")
        return np.exp(self.centre + self.scale * stdtrit(self.freedom, found))

    def share_left(self, confidence: Numbers) -> Numbers:
        """Share that one more rope has left at least, with this confidence, 0.0001 to 0.9999."""
        return self.quantile(1.0 - within("confidence", confidence, 1e-4, 1 - 1e-4, ""))

    def chance_below(self, share_left: Numbers) -> Numbers:
        """How likely one more rope has less left than this share, which is 0.01 to 2.

        >>> round(float(prior_from_range(0.05, 0.15, 0.8).chance_below(0.85)), 6)
        0.1
        """
        from scipy.special import stdtr  # slow to import

        shares = within("share_left", share_left, 0.01, 2.0, "")
        return stdtr(self.freedom, (np.log(shares) - self.centre) / self.scale)

    def density(self, share_left: Numbers) -> Numbers:
        """Probability density at a share left, 0.01 to 2 [1 / share]."""
        shares = within("share_left", share_left, 0.01, 2.0, "")
        half = self.freedom / 2
        if half > 1e6:  # The two gammas cancel to the normal's constant, and would lose every digit on the way.
            log_top = -0.5 * math.log(2 * math.pi)
        else:
            log_top = math.lgamma(half + 0.5) - math.lgamma(half) - 0.5 * math.log(self.freedom * math.pi)
        z = (np.log(shares) - self.centre) / self.scale
        return np.exp(log_top - (half + 0.5) * np.log1p(z * z / self.freedom)) / (self.scale * shares)

    def draws(self, n: int, ropes: int = 1, seed: int = 0) -> Numbers:
        """Shares left of several ropes of this kind together, drawn n times: an array of shape (n, ropes).

        Ropes of one draw share the kind's mean and spread, so they come out long or short together. The same seed
        gives the same draws.

        >>> prior_from_range(0.05, 0.15, 0.8).draws(2, ropes=3, seed=1).shape
        (2, 3)
        """
        if not (1 <= n <= 10_000_000 and 1 <= ropes <= 10_000):
            raise ValueError(f"draws takes 1 to 10,000,000 draws of 1 to 10,000 ropes, not {n} of {ropes}")
        random = np.random.default_rng(seed)
        width = np.sqrt(self.freedom / random.chisquare(self.freedom, size=(n, 1)))
        kind = self.common * random.standard_normal((n, 1))
        own = self.individual * random.standard_normal((n, ropes))
        return np.exp(self.centre + width * (kind + own))

    def after(self, shares_left: Sequence[float], sds: Sequence[float] | None = None) -> "Shrinkage":
        """The same kind, sharpened by measured ropes of it.

        Parameters
        ----------
        shares_left : length after by length before of each rope [-], 0.2 to 2
        sds : how exactly each share was measured, as standard deviation of its logarithm [-]; 0 where not given. An
            inexact one counts for so much less, judged by the spread between ropes as it was believed before.

        >>> once = prior_from_range(0.05, 0.15, 0.8).after([0.84])
        >>> once.ropes, round(once.typical, 3), round(float(once.quantile(0.05)), 3)
        (1, 0.859, 0.807)
        """
        ratios = np.asarray(shares_left, dtype=np.float64).reshape(-1)
        spreads = np.zeros_like(ratios) if sds is None else np.asarray(sds, dtype=np.float64).reshape(-1)
        if not len(ratios):
            return self
        if len(ratios) != len(spreads):
            raise ValueError(f"each share left needs its own spread: {len(ratios)} shares, {len(spreads)} spreads")
        y = np.log(within("shares_left", ratios, 0.2, 2.0, ""))
        weights = self.individual**2 / (self.individual**2 + within("sds", spreads, 0.0, 1.0, "") ** 2)
        # A kind known for certain stays where it is; a finite number keeps the algebra in one piece.
        k = min((self.individual / self.common) ** 2 if self.common else math.inf, 1e12)
        total = float(weights.sum())
        mean = float((weights * y).sum()) / total
        squares = float((weights * (y - mean) ** 2).sum()) + k * total * (mean - self.centre) ** 2 / (k + total)
        freedom = self.freedom + len(y)
        individual = math.sqrt((self.freedom * self.individual**2 + squares) / freedom)
        centre = (k * self.centre + total * mean) / (k + total)
        common = individual / math.sqrt(k + total)
        return replace(
            self, centre=centre, common=common, individual=individual, freedom=freedom, ropes=self.ropes + len(y)
        )


def prior_from_range(low: float, high: float, cover: float, source: str = "") -> Shrinkage:
    """What to expect of one rope of a kind nobody here has measured, from a range of losses.

    Parameters
    ----------
    low, high : shares of the length lost [-], 0 to 0.5, low below high
    cover : share of such ropes that lie within the range [-], 0.1 to 0.99

    >>> round(100 / float(prior_from_range(0.05, 0.15, 0.8).quantile(0.05)), 1)
    120.0
    """
    from scipy.special import stdtrit  # slow to import

    within("low", low, 0.0, 0.5, "")
    within("high", high, 0.0, 0.5, "")
    within("cover", cover, 0.1, 0.99, "")
    if low >= high:
        raise ValueError(f"a range of losses runs from the least to the most, not from {low:g} to {high:g}")
    freedom = figure("rope", "shrinkage", "freedom").value
    between = figure("rope", "shrinkage", "kinds_to_ropes").value
    least, most = math.log1p(-high), math.log1p(-low)
    scale = (most - least) / 2 / float(stdtrit(freedom, (1 + cover) / 2))
    individual = scale / math.sqrt(1 + between)
    return Shrinkage((least + most) / 2, individual * math.sqrt(between), individual, freedom, source=source)


def fibre_of(material: str | None) -> Fibre:
    """The fibre that a declared material names; rope that has nylon in it counts as nylon, which shrinks more.

    >>> fibre_of("Polyamide 6"), fibre_of("polyester / PA"), fibre_of("PES"), fibre_of(None)
    ('nylon', 'nylon', 'polyester', 'not known')
    """
    words = set(re.findall(r"[a-z]+6*", (material or "").casefold()))
    table = load_table("rope", "shrinkage")["fibre"]
    named: tuple[Fibre, ...] = ("nylon", "polyester")
    return next((fibre for fibre in named if words & set(table[fibre])), "not known")


def prior_for(material: str | None) -> Shrinkage:
    """What to expect of a rope of this material before any of its kind was measured; nylon where it is not known.

    >>> [round(1 - prior_for(each).typical, 3) for each in ("nylon", "polyester", None)]
    [0.101, 0.03, 0.101]
    """
    fibre = fibre_of(material)
    named = "nylon" if fibre == "not known" else fibre
    low, high = (figure("rope", "shrinkage", "range", named, end) for end in ("low", "high"))
    cover = figure("rope", "shrinkage", "range_cover").value
    return prior_from_range(low.value, high.value, cover, f"{low.source}. {high.source}.")
