"""Rope a pitch takes on a rope of its own, item by item."""

import math
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise

from tethera.basics import Finding, need_cm
from tethera.rigging.estimate import depth_spread_m, least_rope_m, little_left, published_length
from tethera.rigging.knots import KnotLengths
from tethera.rigging.parts import Part, steps_of
from tethera.rigging.route import Pitch, Route
from tethera.rope import figure


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the account: what takes rope, metres, one standard deviation, where the figure is from."""

    what: str
    metres: float
    sd_m: float
    source: str


@dataclass(frozen=True, slots=True)
class Account:
    """The items and how they come to what is taken, all in whole centimetres [m]: they add up as they are shown.

    Parameters
    ----------
    items : each item with its metres; rounded as the running sum is, so that they add up to `expected_m`
    expected_m : sum of the items
    margin_m : what is taken beyond it for what is not known: `z` spreads of `sd_m`, rounded up
    takes_m : both together
    """

    items: tuple[tuple[Item, float], ...]
    expected_m: float
    margin_m: float
    takes_m: float
    z: float
    sd_m: float


@dataclass(frozen=True, slots=True)
class RopeNeed:
    """Rope one pitch takes: mean and spread [m], the items whose sum is the mean, and doubts.

    `least_m` is what the drop with its tails takes however it is rigged: no such pitch ever took less.
    """

    pitch: str
    mean_m: float
    sd_m: float
    items: tuple[Item, ...]
    findings: tuple[Finding, ...] = ()
    least_m: float = 0.0

    def at(self, z: float) -> int:
        """Whole centimetres, rounded up, that suffice at z standard deviations above the mean.

        >>> RopeNeed("First", 27.801, 1.2, ()).at(1.645)
        2978
        """
        return need_cm(max(self.mean_m + z * self.sd_m, 0.0))

    def band(self, z: float) -> tuple[float, float]:
        """What such pitches take within z standard deviations either side [m], never less than the least.

        >>> RopeNeed("P", 8.0, 3.0, (), least_m=6.6).band(1.0)
        (6.6, 11.0)
        """
        return max(self.mean_m - z * self.sd_m, self.least_m), self.mean_m + z * self.sd_m

    def account(self, z: float) -> Account:
        """The items and the margin at z standard deviations, to be shown one under another."""
        sums = [0, *(round(100 * total) for total in accumulate(item.metres for item in self.items))]
        steps = ((after - before) / 100 for before, after in pairwise(sums))
        items = tuple(zip(self.items, steps, strict=True))
        takes = self.at(z)
        return Account(items, sums[-1] / 100, (takes - sums[-1]) / 100, takes / 100, z, self.sd_m)


def depth_share(pitch: Pitch) -> float:
    """Spread of the depth as a share of it; every metre of the pitch carries the same error [-].

    Trips that told what the pitch takes told of its depth too.
    """
    left = 1.0 if pitch.learnt is None or pitch.pull_through else pitch.learnt.spread_share
    return left * depth_spread_m(pitch) / pitch.depth_m if pitch.depth_m > 0 else 0.0


def item_of(part: Part, share: float) -> Item:
    """A part as a line of the account."""
    return Item(part.what, part.metres, math.hypot(part.sd_m, share * part.grows_m), part.source)


def parts_alone(pitch: Pitch, knots: KnotLengths) -> tuple[Part, ...]:
    """All parts of a pitch rigged on one rope of its own."""
    steps = steps_of(pitch, knots)
    parts = list(steps[0].starting)
    for step in steps[:-1]:
        parts += [*step.parts, *(step.passing or ())]
    return (*parts, *steps[-1].parts, *steps[-1].ending)


def rope_need(pitch: Pitch, knots: KnotLengths) -> RopeNeed:
    """Rope for one pitch on a rope of its own."""
    parts = parts_alone(pitch, knots)
    share = depth_share(pitch)
    mean = math.fsum(part.metres for part in parts)
    grows = sum(part.grows_m for part in parts)
    sd = math.sqrt(sum(part.sd_m**2 for part in parts) + (share * grows) ** 2)
    items = tuple(item_of(part, share) for part in parts)
    return RopeNeed(pitch.name, mean, sd, items, _findings(pitch, mean, sd), _least_m(pitch, mean))


def _least_m(pitch: Pitch, mean_m: float) -> float:
    """The drop with its tails and stopper, twice the drop where it is pulled through; no more than is expected."""
    twice = max(pitch.depth_m - pitch.rope_above_floor_m, 0.0) if pitch.pull_through else 0.0
    # Where anchors are listed, they say how far along; the traverse is not counted beside them.
    least = least_rope_m(replace(pitch, traverse_m=0.0) if pitch.anchors else pitch)
    return max(min(least + twice, mean_m), 0.0)


def rope_needs(route: Route, knots: KnotLengths | None = None) -> tuple[RopeNeed, ...]:
    """Rope for each pitch of a route on a rope of its own, in the order of the route."""
    lengths = knots or KnotLengths.default()
    return tuple(rope_need(pitch, lengths) for pitch in route.pitches)


def _findings(pitch: Pitch, mean_m: float, sd_m: float) -> tuple[Finding, ...]:
    found: list[Finding] = []
    guide = pitch.guide_rope_m
    if pitch.left_in_place:
        found.append(Finding("left-in-place", pitch.name, "A rope is left here.", "Check it before trusting it."))
    if guide is None or pitch.pull_through:
        return tuple(found)
    if guide < pitch.depth_m:
        return tuple(found)  # said when the route was read
    if doubt := little_left(pitch.name, pitch.depth_m, guide):
        found.append(doubt)
    if pitch.by_anchors and guide < mean_m - figure("rigging", "metres", "guide_short_spreads").value * sd_m:
        found.append(
            Finding(
                "guide-short-of-anchors",
                pitch.name,
                f"The guide says {guide:g} m, the anchors add up to about {mean_m:.1f} m.",
                "Look through the items, or trust neither and take the longer.",
            )
        )
    if not pitch.by_anchors and guide >= least_rope_m(pitch):
        alone = published_length(pitch.depth_m, pitch.anchor_count)
        if abs(guide - alone.mean_m) > figure("rigging", "metres", "unlike_others_spreads").value * alone.sd_m:
            found.append(
                Finding(
                    "guide-unlike-others",
                    pitch.name,
                    f"The guide says {guide:g} m; other sheets give about {alone.mean_m:.0f} m for such a pitch.",
                    "Check depth, anchors and rope against the guide.",
                )
            )
    return tuple(found)
