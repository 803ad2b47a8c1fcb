"""What an anchor is asked to hold, told whole: loads, what a failure brings, what holds, what looks bad.

Every answer takes the end of each uncertainty that hurts: legs and slings tied by eye, half the slack of a traverse, a
load that moves, wet and used rope, the stiffest the rope may be. Nothing here says that a rig will hold.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Literal

from tethera.basics import Finding
from tethera.rigging.equilibrium import Floats
from tethera.rigging.holding import Against, Holding, over
from tethera.rope import Band, Numbers, figure

CAUTIONS = (
    "An estimate: it can say that something looks bad, never that it will hold. Trained people decide.",
    "Rock, placement and corrosion are not in any of it: an anchor is judged on the spot.",
    "Forces can be off by a third. Rub points and edges are not in it.",
)


@dataclass(frozen=True, slots=True)
class Load:
    """What comes on one thing of a rig [kN].

    hanging_kn : a caver hanging still; moving_kn : the most while climbing or abseiling jerkily
    fall_kn : the worst that a failure brings, with `fall_words`; None where nothing is worked out
    worst_kn : the most of all of these, at the end that hurts; `against` tells it beside what held
    """

    name: str
    hanging_kn: Band
    moving_kn: float
    fall_kn: Band | None
    fall_words: str
    against: tuple[Against, ...]

    @property
    def worst_kn(self) -> float:
        """The most that may come on it [kN]."""
        return max(self.moving_kn, 0.0 if self.fall_kn is None else float(self.fall_kn.high))

    def findings(self) -> Iterable[Finding]:
        """What looks bad of it."""
        likely = max(float(self.hanging_kn.likely), 0.0 if self.fall_kn is None else float(self.fall_kn.likely))
        told = (over(self.name, likely, self.worst_kn, each) for each in self.against)
        return (each for each in told if each is not None)

    def to_mapping(self) -> dict[str, Any]:
        """Plain values."""
        return {
            "name": self.name,
            "hanging_kn": band_values(self.hanging_kn),
            "moving_kn": round(self.moving_kn, 3),
            "fall_kn": None if self.fall_kn is None else band_values(self.fall_kn),
            "fall": self.fall_words,
            "worst_kn": round(self.worst_kn, 3),
            "against": [each.to_mapping() for each in self.against],
        }


def band_values(band: Band) -> dict[str, float]:
    """A band as plain values."""
    return {key: round(float(getattr(band, key)), 3) for key in ("low", "likely", "high")}


@dataclass(frozen=True, slots=True)
class AnchorAnswer:
    """What an anchor is asked to hold: loads, facts in plain values, what looks bad, what is assumed, cautions.

    drawn : what a drawing needs, plain values in metres, z up
    """

    kind: Literal["y", "deviation", "traverse"]
    loads: tuple[Load, ...]
    facts: dict[str, Any]
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]
    drawn: dict[str, Any] = field(default_factory=dict)
    cautions: tuple[str, ...] = CAUTIONS

    def to_mapping(self) -> dict[str, Any]:
        """Plain values, for machines and drawings."""
        found = [{"code": f.code, "where": f.where, "message": f.message, "way_out": f.way_out} for f in self.findings]
        return {
            "kind": self.kind,
            **self.facts,
            "loads": [load.to_mapping() for load in self.loads],
            "findings": found,
            "assumptions": list(self.assumptions),
            "cautions": list(self.cautions),
            "drawn": self.drawn,
        }


def weight_of_kn(mass_kg: float) -> float:
    """Weight of 20 to 500 kg [kN]; ValueError beyond."""
    if not 20 <= mass_kg <= 500:
        raise ValueError(f"mass_kg must lie between 20 and 500 kg, not {mass_kg:g}")
    return mass_kg * figure("rope", "stretch", "g").value / 1000


def usual_mass_kg() -> float:
    """A caver with what hangs on the harness, and one full bag [kg]."""
    return figure("rope", "falls", "person", "mass").value + usual("bag")


def usual(*path: str) -> float:
    """A figure of tables/loads.toml."""
    return figure("rigging", "loads", *path).value


def most_kn(band: Band) -> float:
    """A load at rest at its high end, moving at the extreme [kN]."""
    return usual("moving") * float(band.high)


def load_on(name: str, hanging: Band, fall: Band | None, words: str, holding: Holding, *, sling: bool = False) -> Load:
    """What comes on one thing, beside what holds it."""
    worst = max(most_kn(hanging), 0.0 if fall is None else float(fall.high))
    held = holding.against_sling(worst) if sling else holding.against_rope(worst)
    return Load(name, hanging, most_kn(hanging), fall, words, (holding.against_anchor(worst), held))


def assumed_of(holding: Holding, *more: str) -> tuple[str, ...]:
    """What an answer assumes, in sentences."""
    moving = usual("moving")
    jerk = f"Moving: up to {moving:g} times the load at rest (HSE report 364/2001)."
    used = "Used rope: a fifth more in a fall, a judgement." if holding.used else "Rope as new."
    return (*more, jerk, *holding.modulus().assumptions, used)


def places(points: Floats) -> list[list[float]]:
    """Points as plain values [m]."""
    return [[round(float(value), 3) for value in point] for point in points]


def share_words(share: Numbers) -> str:
    """A share as people say it.

    >>> share_words(0.31), share_words(0.004)
    ('31 %', 'under 1 %')
    """
    return "under 1 %" if share < 0.01 else f"{100 * float(share):.0f} %"
