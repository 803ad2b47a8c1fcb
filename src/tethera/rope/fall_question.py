"""One fall asked about whole: its band, how it grows with slack, and how likely which force is."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from tethera.rope.fall_chances import Chances, Uncertain, force_chances
from tethera.rope.fall_scenarios import Fall, backup_takes_over, lanyard_fall, rebelay_failure
from tethera.rope.fall_stiffness import FallModulus
from tethera.rope.fall_traverse import traverse_fall
from tethera.rope.quantities import Band, Numbers, within
from tethera.rope.specification import between
from tethera.rope.tables import figure

SlackKnownBy = Literal["measured", "guessed"]
#: Half the width of a nine-in-ten band, in standard deviations.
_NINE_IN_TEN = 1.645


@dataclass(frozen=True, slots=True)
class FallQuestion:
    """A fall with its one length that is seldom known: `slack_m`, free fall for a cow's tail.

    run : takes that length, a mass and a modulus, gives the fall
    """

    slack_m: Uncertain
    mass_kg: Uncertain
    modulus: FallModulus
    run: Callable[[Numbers, Numbers, FallModulus], Fall]

    def answer(self) -> Fall:
        """The fall as asked."""
        return self.run(self.slack_m.mean, self.mass_kg.mean, self.modulus)

    def against_slack(self, count: int = 41) -> tuple[Numbers, Band]:
        """Slack from nought to twice what was asked, at least 1 m where it may be, and the force's band at each."""
        slack = np.linspace(0.0, min(max(2 * self.slack_m.mean, 1.0), self.slack_m.most), count)
        return slack, self.run(slack, self.mass_kg.mean, self.modulus).force_kn

    def chances(self, seed: int = 0) -> Chances:
        """Quantiles over slack, mass and the rope's stiffness, 4,096 points."""
        kn = self.modulus.kn
        # The force goes as the root of the modulus, so its spread counts double there.
        share = np.hypot(2 * self.modulus.spread, (kn.high - kn.low) / 2 / kn.likely) / _NINE_IN_TEN
        unsure = {
            "slack": self.slack_m,
            "mass": self.mass_kg,
            "stiffness": Uncertain(float(kn.likely), float(kn.likely * share), 4000.0),
        }

        def force(slack: Numbers, mass: Numbers, stiffness: Numbers) -> Numbers:
            drawn = replace(self.modulus, kn=Band(*[np.maximum(stiffness, 0.5)] * 3), soft=None)
            return self.run(slack, np.maximum(mass, 1.0), drawn).force_kn.likely

        return force_chances(force, unsure, seed=seed)


def mass_of(mass_kg: float) -> Uncertain:
    """The mass of a person with what hangs on the harness, and how well it is known; 30 to 300 kg."""
    between("mass_kg", mass_kg, 30.0, 300.0, "kg")
    return Uncertain(mass_kg, figure("rope", "falls", "person", "mass").sd, 1000.0)


def slack_of(slack_m: float, known_by: SlackKnownBy, most: float) -> Uncertain:
    """Slack and how well it is known: to 5 cm where measured, to half of it where guessed (judgement)."""
    within("slack_m", slack_m, 0.0, most, "m")
    sd = figure("rope", "falls", "slack", known_by).value
    return Uncertain(slack_m, min(sd, slack_m) if known_by == "measured" else sd * slack_m, most)


def ask_backup(
    below_m: float,
    link_m: float,
    mass_kg: float,
    modulus: FallModulus,
    *,
    backup_above_m: float = 0.0,
    known_by: SlackKnownBy = "guessed",
    used: bool = False,
) -> FallQuestion:
    """The main anchor fails: what `backup_takes_over` says, with the link as slack."""
    # Asked once with the numbers as they are, so that what cannot be is told in their own words.
    backup_takes_over(below_m, link_m, mass_kg, modulus, backup_above_m=backup_above_m)
    slack = slack_of(link_m, known_by, 20.0)

    def run(link: Numbers, mass: Numbers, stiff: FallModulus) -> Fall:
        long = np.maximum(link, abs(backup_above_m))
        return backup_takes_over(below_m, long, mass, stiff, backup_above_m=backup_above_m, used=used)

    return FallQuestion(slack, mass_of(mass_kg), modulus, run)


def ask_rebelay(
    hang_m: float,
    slack_m: float,
    mass_kg: float,
    modulus: FallModulus,
    *,
    below_m: float = 0.5,
    known_by: SlackKnownBy = "guessed",
    used: bool = False,
) -> FallQuestion:
    """A rebelay fails: what `rebelay_failure` says."""
    rebelay_failure(hang_m, slack_m, mass_kg, modulus, below_m=below_m)
    slack = slack_of(slack_m, known_by, 50.0)

    def run(loop: Numbers, mass: Numbers, stiff: FallModulus) -> Fall:
        return rebelay_failure(hang_m, loop, mass, stiff, below_m=below_m, used=used)

    return FallQuestion(slack, mass_of(mass_kg), modulus, run)


def ask_lanyard(
    length_m: float,
    above_m: float,
    mass_kg: float,
    modulus: FallModulus,
    *,
    known_by: SlackKnownBy = "guessed",
    used: bool = False,
) -> FallQuestion:
    """A fall on a cow's tail: what `lanyard_fall` says, with the free fall as slack."""
    lanyard_fall(length_m, above_m, mass_kg, modulus)
    slack = slack_of(max(length_m + above_m, 0.0), known_by, 2 * length_m)

    def run(free_fall: Numbers, mass: Numbers, stiff: FallModulus) -> Fall:
        return lanyard_fall(length_m, np.clip(free_fall - length_m, -length_m, length_m), mass, stiff, used=used)

    return FallQuestion(slack, mass_of(mass_kg), modulus, run)


def ask_traverse(
    span_m: float,
    slack_m: float,
    mass_kg: float,
    line: FallModulus,
    tail: FallModulus,
    *,
    tail_m: float = 0.5,
    above_m: float = 0.0,
    known_by: SlackKnownBy = "guessed",
    used: bool = False,
) -> FallQuestion:
    """A fall onto a traverse line: what `traverse_fall` says, with the line's slack."""
    traverse_fall(span_m, slack_m, mass_kg, line, tail, tail_m=tail_m, above_m=above_m)
    slack = slack_of(slack_m, known_by, span_m / 2)

    def run(loose: Numbers, mass: Numbers, stiff: FallModulus) -> Fall:
        return traverse_fall(span_m, loose, mass, stiff, tail, tail_m=tail_m, above_m=above_m, used=used)

    return FallQuestion(slack, mass_of(mass_kg), line, run)
