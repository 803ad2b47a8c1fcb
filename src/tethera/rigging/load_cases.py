"""The cases behind the loads of a route: who hangs where, and what falls on what when something gives way.

Lengths in metres, forces in kilonewtons. Each case is a `Case`: a band and the words that say how it came about.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tethera.rigging.anchors import usual
from tethera.rigging.deviations import deviation_failure, deviation_pull
from tethera.rigging.holding import Holding
from tethera.rigging.leg_failure import leg_failures
from tethera.rigging.route import Anchor
from tethera.rigging.traverse import running_load
from tethera.rope import Band, backup_takes_over, fall_modulus, figure, rebelay_failure, traverse_fall, traverse_forces

#: Longest line between two anchors for which a fall is worked out [m].
LONGEST_LINK_M = 20.0
#: Below this height a rebelay is another anchor beside the one above [m].
_LEAST_HANG_M = 0.5


@dataclass(frozen=True, slots=True)
class Case:
    """A force that comes about: the band [kN], in words what happens, and the free fall behind it [m]."""

    kn: Band
    words: str
    free_fall_m: float = 0.0

    @property
    def most_kn(self) -> float:
        """The end that hurts."""
        return float(self.kn.high)


def numbers(band: Band) -> Band:
    """A band of plain numbers, of an array its worst element."""
    return Band(*(float(np.max(end)) for end in (band.low, band.likely, band.high)))


def slack_m(anchor: Anchor, straight_m: float, *, line: bool) -> tuple[float, float]:
    """Slack of the rope to this anchor, likely and most [m]: of a line along, or the loop of a hang."""
    if anchor.loop_m is not None:
        return anchor.loop_m, anchor.loop_m + 2 * figure("rigging", "metres", "rebelay_loop").sd
    held = figure("rigging", "metres", "traverse_slack" if line else "rebelay_loop")
    times = straight_m if line else 1.0
    return held.value * times, (held.value + 2 * held.sd) * times


def anchor_fails(anchor: Anchor, label: str, mass_kg: float, holding: Holding, *, hang: bool) -> Case | None:
    """This anchor fails under a caver just below it, and the one before it holds: a fall, then a swing.

    The rope between the two has a length; the caver falls straight down until rope and anchor are in line, and swings
    the rest. One above the other it is the plain fall of the link less the height. None where they are too far apart,
    or the fall is beyond what is worked out.
    """
    along, down, below = abs(anchor.along_m), anchor.down_m, usual("below")
    straight = math.hypot(along, down)
    likely, most = (straight + slack + below for slack in slack_m(anchor, straight, line=not hang))
    if straight > LONGEST_LINK_M and not hang:
        return None
    frees = [max(math.sqrt(max(rope**2 - along**2, 0.0)) - down - below, 0.0) for rope in (likely, most)]
    bands = [
        _caught(down, rope, free, (mass_kg, below), holding, hang)
        for rope, free in zip((likely, most), frees, strict=True)
    ]
    if bands[0] is None or bands[1] is None:
        return None
    band = Band(bands[0].low, bands[0].likely, max(bands[0].high, bands[1].high))
    aside = f" and a swing of {along:.1f} m" if along >= 0.3 else ""
    words = f"{label} fails: a fall of {frees[0]:.1f} to {frees[1]:.1f} m on {likely:.0f} m of rope{aside}"
    return Case(band, words, frees[1])


def _caught(
    down_m: float, rope_m: float, free_m: float, who: tuple[float, float], holding: Holding, hang: bool
) -> Band | None:
    mass_kg, below = who
    weight = mass_kg * figure("rope", "stretch", "g").value / 1000
    # What of the drop is not fallen is swung through: at its lowest point v^2 / r on top.
    swing = 2 * weight * max(rope_m - down_m - below - free_m, 0.0) / rope_m
    modulus, used = holding.modulus(), holding.used
    if free_m / rope_m > 2:
        return None
    if hang and down_m >= _LEAST_HANG_M:
        rest = max(rope_m - down_m - free_m, 0.0)
        fall = rebelay_failure(min(down_m, 500.0), min(free_m, 50.0), mass_kg, modulus, below_m=rest, used=used)
    else:
        link = max(rope_m - below, 0.0)
        height = link - free_m
        if link > LONGEST_LINK_M or abs(height) > 10:
            return None
        fall = backup_takes_over(below, link, mass_kg, modulus, backup_above_m=height, used=used)
    band = numbers(fall.force_kn)
    return Band(band.low, band.likely + swing, band.high + swing)


@lru_cache(maxsize=256)
def leg_fails(leg_m: float, mass_kg: float, holding: Holding, angles_deg: tuple[float, ...]) -> Case:
    """One leg of a Y-hang fails, at the angle of these that hurts most; on the bolt that is left."""
    cases = []
    for angle in angles_deg:
        half = leg_m * math.sin(math.radians(angle) / 2)
        anchors = [[-half, 0.0, 0.0], [half, 0.0, 0.0]]
        found = leg_failures(
            anchors, [leg_m, leg_m], mass_kg, holding.modulus(), below_m=usual("below"), used=holding.used
        )[0]
        words = f"one leg of the Y fails: a fall of {found.free_fall_m:.2f} m, {found.drop_m:.2f} m down in all"
        cases.append(Case(numbers(found.peak_kn), words, found.free_fall_m))
    return max(cases, key=lambda case: case.most_kn)


@dataclass(frozen=True, slots=True)
class SpanCase:
    """A traverse line between two anchors: each end with somebody hanging on it, and with somebody falling onto it."""

    hanging_kn: Band
    fall: Case


def on_span(span_m: float, slack: float, mass_kg: float, holding: Holding, where: str) -> SpanCase | None:
    """Somebody on a line of this span and likely slack [m]; None beyond what is worked out."""
    if not 0.3 <= span_m <= 50:
        return None
    slack = min(slack, span_m / 2)
    weight = mass_kg * figure("rope", "stretch", "g").value / 1000
    kn = holding.modulus().kn
    ends = (
        running_load(span_m, span_m + slack * kept, weight, stiffness).left_kn
        for kept, stiffness in ((1.0, kn.low), (1.0, kn.likely), (0.5, kn.high))
    )
    tail = usual("tail")
    fall = traverse_fall(
        span_m,
        slack,
        mass_kg,
        holding.modulus(),
        fall_modulus("dynamic", wet=holding.wet),
        tail_m=tail,
        used=holding.used,
    )
    words = f"a fall of {tail:g} m onto the line {where}, {span_m:.1f} m across"
    return SpanCase(numbers(Band.of(*ends)), Case(numbers(fall.anchor_kn), words, tail))


def between_fails(
    spans_m: tuple[float, float], slacks_m: tuple[float, float], label: str, mass_kg: float, holding: Holding
) -> Case | None:
    """The anchor between two spans of a line fails under a caver hanging on it: one long span is left, and its slack.

    He falls until the long span is just taut; little slack and much are both tried, the harder counts.
    """
    span, slack = sum(spans_m), min(sum(slacks_m), sum(spans_m) / 2)
    if not 0.3 <= span <= 50:
        return None
    modulus, tail, used = holding.modulus(), fall_modulus("dynamic", wet=holding.wet), holding.used
    over = 1 + modulus.spread + (figure("rope", "falls", "spread", "used").value if used else 0.0)
    lines = [span + slack * kept for kept in (0.5, 1.0)]
    falls = [min(math.sqrt(line**2 - span**2) / 2, 5.0) for line in lines]
    found = [
        [
            float(traverse_forces(span, line, float(kn), mass_kg, fall, usual("tail"), float(soft)).anchor_kn)
            for kn, soft in (
                (modulus.kn.low, tail.kn.low),
                (modulus.kn.likely, tail.kn.likely),
                (modulus.kn.high, tail.kn.high),
            )
        ]
        for line, fall in zip(lines, falls, strict=True)
    ]
    band = Band(
        min(each[0] for each in found) * (1 - modulus.spread), found[1][1], max(each[2] for each in found) * over
    )
    words = f"{label} fails: a fall of {falls[0]:.1f} to {falls[1]:.1f} m onto the span of {span:.1f} m that is left"
    return Case(band, words, falls[1])


def deviation_turn_deg(anchor: Anchor, above_m: float) -> tuple[float, float, bool]:
    """How far a deviation turns the rope, likely and most [degrees], and whether the route says so."""
    if anchor.along_m == 0 or above_m <= 0:
        return usual("turn", "usual"), usual("turn", "wide"), False
    spread = figure("rigging", "metres", "deviation_detour_spread").value
    aside = abs(anchor.along_m)
    likely, most = (math.degrees(math.atan2(aside * times, above_m)) for times in (1.0, 1 + spread))
    return likely, most, True


def on_deviation(anchor: Anchor, above_m: float, mass_kg: float) -> tuple[Band, bool]:
    """Pull of a deviation with a caver hanging free below it [kN], and whether the route says how far it pulls."""
    weight = mass_kg * figure("rope", "stretch", "g").value / 1000
    likely, most, known = deviation_turn_deg(anchor, above_m)
    pulls = [weight * float(deviation_pull(turn)) for turn in (likely, most)]
    return Band(min(pulls), pulls[0], max(pulls)), known


def deviation_fails(anchor: Anchor, label: str, above_m: float, mass_kg: float, holding: Holding) -> Case:
    """A deviation fails under a caver just below it: what comes on the anchor above."""
    _, most, _ = deviation_turn_deg(anchor, above_m)
    above = max(above_m, 0.5)
    aside = above * math.tan(math.radians(most))
    found = deviation_failure(
        [0.0, 0.0, 0.0],
        [aside, 0.0, -above],
        mass_kg,
        holding.modulus(),
        below_m=usual("below"),
        used=holding.used,
    )
    words = f"{label} fails: a swing of up to {found.swing_m:.1f} m"
    return Case(numbers(found.peak_kn), words, found.free_fall_m)
