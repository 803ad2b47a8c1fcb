"""Rope a pitch takes on a rope of its own, item by item."""

import math
from dataclasses import dataclass

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
class RopeNeed:
    """Rope one pitch takes: mean and spread [m], the items whose sum is the mean, and doubts."""

    pitch: str
    mean_m: float
    sd_m: float
    items: tuple[Item, ...]
    findings: tuple[Finding, ...] = ()

    def at(self, z: float) -> int:
        """Whole centimetres, rounded up, that suffice at z standard deviations above the mean.

        >>> RopeNeed("First", 27.801, 1.2, ()).at(1.645)
        2978
        """
        return need_cm(max(self.mean_m + z * self.sd_m, 0.0))


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
    return RopeNeed(pitch.name, mean, sd, items, _findings(pitch, mean, sd))


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
