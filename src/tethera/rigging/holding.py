"""What holds a load: the anchor as declared, the rope with its knot, a sling; and a load told against each."""

from dataclasses import dataclass
from typing import Any

from tethera.basics import Finding
from tethera.rope import FallModulus, Held, RopeType, cord_held, fall_modulus, rope_held


@dataclass(frozen=True, slots=True)
class Against:
    """A load beside what something held: None where no figure is known.

    held_kn, share : what it held at the end that hurts, and the most that comes on it as a share of that
    likely_kn : what it held, likely
    """

    what: str
    held_kn: float | None
    share: float | None
    words: tuple[str, ...]
    likely_kn: float | None = None

    def to_mapping(self) -> dict[str, Any]:
        """Plain values."""
        held, share = self.held_kn, self.share
        return {
            "what": self.what,
            "held_kn": None if held is None else round(held, 2),
            "share": None if share is None else round(share, 3),
            "reasons": list(self.words),
        }


@dataclass(frozen=True, slots=True)
class Holding:
    """What is declared of what holds; nothing of it is guessed.

    Parameters
    ----------
    rating_kn : of each anchor, as its maker or whoever tested it declares it [kN], 0.1 to 100; None is not declared
    rope_type, elongation, impact_force_kn : of the rope, as in `rope.fall_modulus`; without a type it counts as the
        stiffest the standard allows in a fall, and nothing is known of its strength
    used_years : how long the rope has been in use; None is not known
    cord_mm : diameter of the accessory cord of a sling [mm], 4 to 8; None where there is none or it is not known
    """

    rating_kn: float | None = None
    rope_type: RopeType | None = None
    knot: str | None = "figure_eight_on_the_bight"
    wet: bool = True
    used_years: float | None = None
    elongation: float | None = None
    impact_force_kn: float | None = None
    cord_mm: float | None = None

    def __post_init__(self) -> None:
        if self.rating_kn is not None and not 0.1 <= self.rating_kn <= 100:
            raise ValueError(f"rating_kn must lie between 0.1 and 100 kN, not {self.rating_kn:g}")

    @property
    def used(self) -> bool:
        """Whether the rope may have been used before."""
        return self.used_years != 0.0

    def modulus(self) -> FallModulus:
        """How stiff the rope is in a fall; type B where none is declared, which may be the stiffer of the two."""
        force = self.impact_force_kn if self.rope_type else None
        return fall_modulus(self.rope_type or "B", self.elongation, force, wet=self.wet)

    def rope(self) -> Held:
        """What the knotted rope held in published tests."""
        return rope_held(self.rope_type, self.knot, wet=self.wet, used_years=self.used_years)

    def against_anchor(self, load_kn: float) -> Against:
        """A load beside the declared rating."""
        if self.rating_kn is None:
            return Against("anchor", None, None, ("What the anchor holds: none known, nobody declared a rating.",))
        words = f"{self.rating_kn:g} kN as declared; rock, age and how it was placed are not in it."
        return Against("anchor", self.rating_kn, load_kn / self.rating_kn, (words,), self.rating_kn)

    def against_rope(self, load_kn: float) -> Against:
        """A load beside what the rope with its knot held in published tests."""
        held = self.rope()
        told = (*held.reasons, *held.unknown)
        return Against("rope with its knot", held.low_kn, held.share(load_kn), told, held.likely_kn)

    def against_sling(self, load_kn: float) -> Against:
        """A load beside what a knotted cord sling held: two strands of it, counted as one with its knot."""
        if self.cord_mm is None:
            return Against("sling", None, None, ("What the sling held: none known, its cord is not declared.",))
        held = cord_held(self.cord_mm, wet=self.wet)
        told = (*held.reasons, "One strand counted, with its knot.")
        return Against("sling", held.low_kn, held.share(load_kn), told, held.likely_kn)


def over(where: str, likely_kn: float, most_kn: float, against: Against) -> Finding | None:
    """What looks bad of a load beside what held: more than it, likely or only where every doubt goes the wrong way.

    >>> print(over("leg 1", 5.0, 9.0, Against("anchor", 8.0, 9 / 8, (), 8.0)))
    leg 1: Looks bad at the worst: up to 9.0 kN (likely 5.0), more than the 8.0 kN of the anchor. Get less load onto it.
    """
    if against.held_kn is None or most_kn <= against.held_kn:
        return None
    way_out = "Get less load onto it."
    if against.likely_kn is not None and likely_kn > against.likely_kn:
        told = f"Looks bad: likely {likely_kn:.1f} kN, more than the {against.likely_kn:.1f} kN of the {against.what}."
        return Finding("likely-over-what-held", where, told, way_out)
    told = f"Looks bad at the worst: up to {most_kn:.1f} kN (likely {likely_kn:.1f}), more than the "
    return Finding("over-what-held", where, f"{told}{against.held_kn:.1f} kN of the {against.what}.", way_out)
