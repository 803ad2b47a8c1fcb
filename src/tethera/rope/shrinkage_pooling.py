"""What several measured kinds of rope tell of each other: partial pooling.

A kind's mean is normal about the mean of all kinds of one fibre, its ropes normal about that; both spreads and the mean
of all come from the store's own measurements, held near the published range by a penalty. A kind with many ropes stands
by itself; one with a single rope leans on its neighbours. With too few kinds the spread between them cannot be told
from the spread of ropes, and each kind is then sharpened by its own ropes only.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tethera.rope.quantities import Numbers, within
from tethera.rope.shrinkage import Shrinkage
from tethera.rope.tables import figure

#: Steps along each of the two spreads, and how far from the middle they reach [standard deviations].
_STEPS, _REACH = 61, 5.0


@dataclass(frozen=True, slots=True)
class MeasuredShare:
    """One measured rope: share left [-], and how exactly that is known, as standard deviation of its logarithm [-]."""

    share_left: float
    sd: float = 0.0


@dataclass(frozen=True, slots=True)
class Predictions:
    """What to expect of each measured kind, and of a kind that was not measured.

    Parameters
    ----------
    kinds : by the name of the kind
    other : of a rope of any other kind of the same fibre
    between, individual : standard deviation between kinds, and between ropes of one kind, as the store's measurements
        have them [logarithm]; None where they are too few to tell
    """

    kinds: Mapping[str, Shrinkage]
    other: Shrinkage
    between: float | None = None
    individual: float | None = None

    @property
    def pooled(self) -> bool:
        """Whether the kinds tell of each other."""
        return self.between is not None


def predictions(prior: Shrinkage, measured: Mapping[str, Sequence[MeasuredShare]]) -> Predictions:
    """What to expect of kinds of one fibre, from its range and from every rope that was measured.

    >>> from tethera.rope import prior_for
    >>> some = {"A": [MeasuredShare(0.93), MeasuredShare(0.95)], "B": [MeasuredShare(0.88), MeasuredShare(0.90)]}
    >>> few = predictions(prior_for("nylon"), some)
    >>> few.pooled, few.other.typical == prior_for("nylon").typical
    (False, True)
    >>> many = predictions(prior_for("nylon"), some | {"C": [MeasuredShare(0.91)] * 3, "D": [MeasuredShare(0.85)]})
    >>> many.pooled, {kind: round(1 - each.typical, 3) for kind, each in many.kinds.items()}
    (True, {'A': 0.066, 'B': 0.109, 'C': 0.091, 'D': 0.139})
    """
    shown = {kind: ropes for kind, ropes in measured.items() if ropes}
    enough = sum(len(ropes) >= 2 for ropes in shown.values()) >= figure("rope", "shrinkage", "pool_kinds").value
    if enough:
        return _pooled(prior, shown)
    alone = {
        kind: prior.after([each.share_left for each in ropes], [each.sd for each in ropes])
        for kind, ropes in shown.items()
    }
    return Predictions(alone, prior)


@dataclass(frozen=True, slots=True)
class _Kinds:
    """Sums over the ropes of each kind, an array by kind: weights, mean, squares about it, number of ropes."""

    weight: Numbers
    mean: Numbers
    squares: Numbers
    ropes: Numbers


def _sums(prior: Shrinkage, measured: Mapping[str, Sequence[MeasuredShare]]) -> _Kinds:
    rows = []
    for ropes in measured.values():
        y = np.log(within("share_left", [each.share_left for each in ropes], 0.2, 2.0, ""))
        sds = within("sd", [each.sd for each in ropes], 0.0, 1.0, "")
        weights = prior.individual**2 / (prior.individual**2 + sds**2)
        mean = (weights * y).sum() / weights.sum()
        rows.append((weights.sum(), mean, (weights * (y - mean) ** 2).sum(), len(y)))
    return _Kinds(*np.array(rows, dtype=np.float64).T)


@dataclass(frozen=True, slots=True)
class _Grid:
    """The two spreads on a grid, how likely each pair is, and the mean of all kinds with its variance at each."""

    between: Numbers
    individual: Numbers
    likely: Numbers
    mean: Numbers
    variance: Numbers


def _on_grid(prior: Shrinkage, kinds: _Kinds, log_between: Numbers, log_individual: Numbers) -> _Grid:
    """The posterior of both spreads at every pair; the mean of all kinds is integrated out in closed form."""
    between, individual = np.exp(log_between)[:, None, None], np.exp(log_individual)[None, :, None]
    of_mean = individual**2 + kinds.weight * between**2
    told = kinds.weight / of_mean
    precision = 1 / prior.common**2 + told.sum(axis=-1)
    mean = (prior.centre / prior.common**2 + (told * kinds.mean).sum(axis=-1)) / precision
    misfit = (told * (kinds.mean - mean[..., None]) ** 2 + kinds.squares / individual**2).sum(axis=-1)
    misfit = misfit + (mean - prior.centre) ** 2 / prior.common**2
    sizes = ((kinds.ropes - 1) * np.log(individual**2) + np.log(of_mean)).sum(axis=-1) + np.log(precision)
    width = figure("rope", "shrinkage", "pool_spread").value
    penalty = (log_between - math.log(prior.common))[:, None] ** 2 / width**2
    penalty = penalty + (log_individual - math.log(prior.individual))[None, :] ** 2 / width**2
    log_likely = -0.5 * (sizes + misfit + penalty)
    likely = np.exp(log_likely - log_likely.max())
    return _Grid(between[..., 0], individual[..., 0], likely / likely.sum(), mean, 1 / precision)


def _around(log_values: Numbers, likely: Numbers) -> Numbers:
    """A finer run of values about where the likelihood lies."""
    middle = float((log_values * likely).sum())
    sd = max(math.sqrt(float((likely * (log_values - middle) ** 2).sum())), 0.01)
    return middle + sd * np.linspace(-_REACH, _REACH, _STEPS)


def _pooled(prior: Shrinkage, measured: Mapping[str, Sequence[MeasuredShare]]) -> Predictions:
    kinds = _sums(prior, measured)
    wide = figure("rope", "shrinkage", "pool_spread").value * np.linspace(-_REACH, _REACH, _STEPS)
    log_between, log_individual = math.log(prior.common) + wide, math.log(prior.individual) + wide
    for _ in range(2):
        grid = _on_grid(prior, kinds, log_between, log_individual)
        log_between, log_individual = (
            _around(log_between, grid.likely.sum(axis=1)),
            _around(log_individual, grid.likely.sum(axis=0)),
        )
    grid = _on_grid(prior, kinds, log_between, log_individual)
    found = {
        kind: _of_kind(prior, grid, float(kinds.weight[at]), float(kinds.mean[at]), len(measured[kind]))
        for at, kind in enumerate(measured)
    }
    other = _of_kind(prior, grid, 0.0, 0.0, 0)
    between = math.sqrt(float((grid.likely * grid.between**2).sum()))
    individual = math.sqrt(float((grid.likely * grid.individual**2).sum()))
    return Predictions(found, other, between, individual)


def _of_kind(prior: Shrinkage, grid: _Grid, weight: float, mean: float, ropes: int) -> Shrinkage:
    """One kind from the grid: a Student-t with the mean and variance, and the doubt of that variance, of the mixture.

    Where a variance is inverse-gamma with shape f/2, (its sd / its mean)^2 = 2 / (f - 4): f follows from the grid's.
    """
    own = weight * grid.between**2 / (grid.individual**2 + weight * grid.between**2)
    centres = own * mean + (1 - own) * grid.mean
    common = grid.between**2 * (1 - own) + (1 - own) ** 2 * grid.variance
    centre = float((grid.likely * centres).sum())
    common_variance = float((grid.likely * (common + (centres - centre) ** 2)).sum())
    individual_variance = float((grid.likely * grid.individual**2).sum())
    total = common + grid.individual**2
    middle = float((grid.likely * total).sum())
    doubt = float((grid.likely * (total - middle) ** 2).sum()) / middle**2
    freedom = 4 + 2 / max(doubt, 1e-6)
    narrower = (freedom - 2) / freedom
    return replace(
        prior,
        centre=centre,
        common=math.sqrt(common_variance * narrower),
        individual=math.sqrt(individual_variance * narrower),
        freedom=freedom,
        ropes=ropes,
    )
