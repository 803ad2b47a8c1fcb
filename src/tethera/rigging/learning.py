"""What trips teach about the rope a pitch takes.

A pitch takes m + D metres: m is what geometry, or the guide and published sheets, say; D is unknown, zero on average,
with the spread of m. A rope on a run took y metres; y less the mean of the run is the sum of f D over its pitches (f:
the share of the pitch it covered), and noise: how well the rope's length and what was left over are known, how
differently two parties rig, and what the run has of its own beside its pitches (a passage; a part of a pitch may be
out otherwise than the whole). All is normal and linear, so every source weighs by one over its square spread, and the
order of trips does not matter. Where sources contradict each other, the spread is widened by the Birge ratio.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from tethera.basics import Finding
from tethera.rigging.estimate import least_rope_m
from tethera.rigging.knots import KnotLengths
from tethera.rigging.metres import RopeNeed, rope_needs
from tethera.rigging.observed import Placed, Places, Seen
from tethera.rigging.route import Learnt, Pitch, Route
from tethera.rope import figure

#: More odd ropes than this are not told apart: then it is the route that is odd.
_MOST_ODD = 12


@dataclass(frozen=True, slots=True)
class Weighed:
    """One source of a pitch's need: what it says [m], its spread [m] and its share of the answer [-].

    A rope that rigged other pitches too says what is left for this one when the others take what they now are said to.
    """

    what: str
    says_m: float
    sd_m: float
    share: float


@dataclass(frozen=True, slots=True)
class PitchLearnt:
    """What a pitch takes on a rope of its own before and after the trips told of it [m], and what each source weighs.

    `weighed` begins with what the route says. `scatter` is the Birge ratio, at least 1: by so much the spread was
    widened because the sources contradict each other. `at_odds` when a source lies beyond what chance explains.
    """

    pitch: str
    before_m: float
    before_sd_m: float
    after_m: float
    after_sd_m: float
    weighed: tuple[Weighed, ...]
    at_odds: bool = False
    findings: tuple[Finding, ...] = ()
    trips: int = 0
    scatter: float = 1.0


def learn(route: Route, seen: Sequence[Seen], knots: KnotLengths | None = None) -> tuple[PitchLearnt, ...]:
    """What the ropes told of each pitch, in the order of the route.

    What tells nothing (another pitch, an unknown place, a second line, a pull-through) is told back as a finding of the
    first pitch and otherwise left out. Whatever the route had learnt before is forgotten.
    """
    lengths = knots or KnotLengths.default()
    plain = replace(route, pitches=tuple(replace(pitch, learnt=None) for pitch in route.pitches))
    needs = rope_needs(plain, lengths)
    placed: list[Placed] = []
    left_out: list[Finding] = []
    if seen:
        places = Places.of(plain, lengths)
        for each in seen:
            found = places.placed(each)
            if isinstance(found, Finding):
                left_out.append(found)
            else:
                placed.append(found)
    belief, odd = _Belief(needs, placed), _odd_ones(needs, placed)
    learnt = [_pitch_learnt(number, pitch, belief, odd) for number, pitch in enumerate(plain.pitches)]
    if learnt and left_out:
        learnt[0] = replace(learnt[0], findings=(*learnt[0].findings, *left_out))
    return tuple(learnt)


def with_learnt(route: Route, learnt: Sequence[PitchLearnt]) -> Route:
    """The route whose needs, runs and plans know what the trips taught."""
    known = {each.pitch: each for each in learnt}
    return replace(route, pitches=tuple(_taught(pitch, known.get(pitch.name)) for pitch in route.pitches))


def _taught(pitch: Pitch, known: PitchLearnt | None) -> Pitch:
    if known is None or not known.trips:
        return replace(pitch, learnt=None)
    share = known.after_sd_m / known.before_sd_m
    return replace(pitch, learnt=Learnt(known.after_m - known.before_m, share, known.trips))


@dataclass(slots=True)
class _Told:
    """One observation as a row: residual against the mean of its run, the shares of its pitches, and its noise."""

    number: int
    placed: Placed
    residual_m: float
    terms: Mapping[int, float]
    noise_m2: float


@dataclass(slots=True)
class _Belief:
    """Means and covariances of what is unknown: the D of each pitch."""

    needs: Sequence[RopeNeed]
    placed: Sequence[Placed]
    told: list[_Told] = field(init=False, default_factory=list)
    mean: list[float] = field(init=False)
    cov: list[list[float]] = field(init=False)

    def __post_init__(self) -> None:
        size = len(self.needs)
        self.mean = [0.0] * size
        self.cov = [[self.needs[i].sd_m ** 2 if i == j else 0.0 for j in range(size)] for i in range(size)]
        for number, each in enumerate(self.placed):
            of_pitches = sum((f * self.needs[i].sd_m) ** 2 for i, f in each.shares.items())
            rigged = sum(rigged_sd_m(f * self.needs[i].mean_m) ** 2 for i, f in each.shares.items())
            noise = each.seen.sd_m**2 + rigged + max(each.run.sd_m**2 - of_pitches, 0.0)
            self.told.append(_Told(number, each, each.seen.taken_m - each.run.mean_m, each.shares, noise))
            self._update(self.told[-1])

    def _update(self, told: _Told) -> None:
        """Take in one observation."""
        size = len(self.mean)
        along = [sum(f * self.cov[i][j] for j, f in told.terms.items()) for i in range(size)]
        touched = [i for i in range(size) if along[i]]
        total = told.noise_m2 + sum(f * along[i] for i, f in told.terms.items())
        missed = told.residual_m - self.said(told)
        for i in touched:
            self.mean[i] += along[i] / total * missed
            for j in touched:
                self.cov[i][j] -= along[i] * along[j] / total

    def said(self, told: _Told) -> float:
        """What is now believed of an observation's residual [m]."""
        return sum(f * self.mean[i] for i, f in told.terms.items())

    def without(self, told: _Told) -> tuple[float, float]:
        """How far an observation lies from what all others say [m], and in how many spreads of that [-]."""
        known = sum(f * g * self.cov[i][j] for i, f in told.terms.items() for j, g in told.terms.items())
        own = max(1 - known / told.noise_m2, 1e-9)
        off = (told.residual_m - self.said(told)) / own
        return off, abs(off) / math.sqrt(told.noise_m2 / own)


def rigged_sd_m(metres: float) -> float:
    """How differently two parties rig what takes so many metres [m]."""
    share, least = (figure("rigging", "learning", f"rigged_{key}").value for key in ("share", "metres"))
    return math.hypot(share * metres, least)


def _odd_ones(needs: Sequence[RopeNeed], placed: Sequence[Placed]) -> dict[int, float]:
    """The ropes that chance does not explain, the oddest first, each with what it should have taken by the others [m].

    An odd rope makes the others look odd too, so each is looked at without those found before it.
    """
    most = figure("rigging", "learning", "at_odds").value
    left, odd = list(range(len(placed))), dict[int, float]()
    while left and len(odd) < _MOST_ODD:
        belief = _Belief(needs, [placed[number] for number in left])
        off, spreads, worst = max(((*belief.without(told), told.number) for told in belief.told), key=lambda x: x[1])
        if spreads <= most:
            break
        number = left.pop(worst)
        odd[number] = placed[number].seen.taken_m - off
    return odd


def _pitch_learnt(number: int, pitch: Pitch, belief: _Belief, odd: Mapping[int, float]) -> PitchLearnt:
    need = belief.needs[number]
    told = [each for each in belief.told if each.terms.get(number)]
    prior = Weighed(_prior_words(pitch), need.mean_m, need.sd_m, 1.0)
    if not told:
        return PitchLearnt(need.pitch, need.mean_m, need.sd_m, need.mean_m, need.sd_m, (prior,))
    more = belief.mean[number]
    says = [_says(number, each, belief) for each in told]
    trust = [1 / need.sd_m**2, *(1 / sd**2 for _, sd in says)]
    among, scatter = _birge(more, need.sd_m, says)
    findings = _at_odds(need, told, says, odd)
    at_odds = bool(findings)
    after_sd = math.hypot(scatter * math.sqrt(max(belief.cov[number][number], 0.0)), rigged_sd_m(need.mean_m))
    if among <= 1 and not at_odds:
        after_sd = min(after_sd, need.sd_m)
    least = min(least_rope_m(pitch), need.mean_m)
    if need.mean_m + more < least:
        findings.append(_held(need.pitch, need.mean_m + more, least))
    weighed = [replace(prior, share=trust[0] / sum(trust))]
    for each, (off, sd), weight in zip(told, says, trust[1:], strict=True):
        weighed.append(Weighed(_told_words(number, each, belief), need.mean_m + off, sd, weight / sum(trust)))
    return PitchLearnt(
        need.pitch,
        need.mean_m,
        need.sd_m,
        max(need.mean_m + more, least),
        after_sd,
        tuple(weighed),
        at_odds,
        tuple(findings),
        len({each.placed.seen.when for each in told}),
        scatter,
    )


def _says(number: int, told: _Told, belief: _Belief) -> tuple[float, float]:
    """What an observation says of one pitch, beyond its mean, the others taking what is now believed; its spread [m].

    At the joint mean each unknown is the mean of what the sources say of it so, weighed by one over square spread.
    """
    share = told.terms[number]
    others = belief.said(told) - share * belief.mean[number]
    return (told.residual_m - others) / share, math.sqrt(told.noise_m2) / share


def _birge(more_m: float, prior_sd_m: float, says: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The Birge ratio of the observations among themselves, and the larger of 1, that, and the one with the prior.

    sqrt(chi² / degrees of freedom): 1 where sources differ as much as their spreads say.
    """
    weights = [1 / sd**2 for _, sd in says]
    middle = sum(off * weight for (off, _), weight in zip(says, weights, strict=True)) / sum(weights)
    scattered = sum((off - middle) ** 2 * weight for (off, _), weight in zip(says, weights, strict=True))
    among = math.sqrt(scattered / (len(says) - 1)) if len(says) > 1 else 0.0
    chi2 = sum(((off - more_m) / sd) ** 2 for off, sd in says) + (more_m / prior_sd_m) ** 2
    return among, max(1.0, among, math.sqrt(chi2 / len(says)))


def _at_odds(
    need: RopeNeed, told: Sequence[_Told], says: Sequence[tuple[float, float]], odd: Mapping[int, float]
) -> list[Finding]:
    """The ropes that are odd; where all of them are, it is the route that is doubted."""
    ropes = [
        Finding(
            "rope-at-odds",
            need.pitch,
            f"{seen.rope} ({seen.when}) took {seen.taken_m:.1f} m of rope on {' and '.join(seen.pitches)}; "
            f"by everything else it should have taken about {odd[each.number]:.1f} m.",
            f"Check the length of {seen.rope} and what was written: it may have been another pitch.",
        )
        for each in told
        if each.number in odd
        for seen in (each.placed.seen,)
    ]
    trips = _trips_at_odds(need, says)
    return trips if trips and len(ropes) in (0, len(told)) else ropes + trips


def _trips_at_odds(need: RopeNeed, says: Sequence[tuple[float, float]]) -> list[Finding]:
    """Several trips that agree, but not with what the route says."""
    weights = [1 / sd**2 for _, sd in says]
    middle = sum(off * weight for (off, _), weight in zip(says, weights, strict=True)) / sum(weights)
    most = figure("rigging", "learning", "at_odds").value
    if len(says) < 2 or abs(middle) <= most * math.hypot(need.sd_m, 1 / math.sqrt(sum(weights))):
        return []
    return [
        Finding(
            "trips-at-odds",
            need.pitch,
            f"The ropes took about {need.mean_m + middle:.1f} m; by the route it should be {need.mean_m:.1f} m.",
            "Look through the depth and the anchors of this pitch in the route.",
        )
    ]


def _held(pitch: str, said_m: float, least_m: float) -> Finding:
    return Finding(
        "less-than-the-drop",
        pitch,
        f"The ropes say {said_m:.1f} m, but the drop with its tails takes {least_m:.1f} m, which is kept.",
        "Check the depth of this pitch, and what was written of the ropes.",
    )


def _prior_words(pitch: Pitch) -> str:
    if pitch.by_anchors or pitch.pull_through:
        return "geometry"
    believed = pitch.guide_rope_m is not None and pitch.guide_rope_m >= least_rope_m(pitch)
    return "guide and published sheets" if believed else "published sheets"


def _told_words(number: int, told: _Told, belief: _Belief) -> str:
    """The rope and the day; what else it rigged, or that it hung on a part only."""
    seen, shares = told.placed.seen, told.placed.shares
    words = f"{seen.rope}, {seen.when}"
    if others := [belief.needs[i].pitch for i in shares if i != number]:
        words += f", shared with {' and '.join(others)}"
    if shares[number] < 1:
        words += ", a part of this pitch"
    return words
