"""Which pitches of the routes one rope would rig, alone."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tethera.planning.margins import need_at_cm, z_of

if TYPE_CHECKING:
    from tethera.rigging import Pitch, RopeNeed
    from tethera.store import RopeState

#: How sure a rope must be to reach before it is said to.
CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Reach:
    """A pitch, the rope it takes when this rope's own doubt is added [cm], and why this rope does not do, or None."""

    pitch: str
    depth_m: float
    need_cm: int
    why_not: str | None


def pitches_reached(
    rope: "RopeState", pitches: "Sequence[Pitch]", needs: "Sequence[RopeNeed]", confidence: float = CONFIDENCE
) -> tuple[Reach, ...]:
    """Each pitch that takes a rope, in the order of the route, and whether this rope alone rigs it.

    A pitch whose rope was left in place is left out. The rope's state is not asked: it may be in preparation today.

    Parameters
    ----------
    needs : what each of the pitches takes on a rope of its own
    confidence : that it reaches, 0.5 to below 1
    """
    z = z_of(confidence)
    return tuple(
        Reach(pitch.name, pitch.depth_m, need, _why_not(rope, pitch, need))
        for pitch, each in zip(pitches, needs, strict=True)
        if not pitch.left_in_place
        for need in (need_at_cm(each.mean_m, each.sd_m, rope.length_sd_cm, z),)
    )


def _why_not(rope: "RopeState", pitch: "Pitch", need_cm: int) -> str | None:
    thinnest = max(
        (each for each in (pitch.min_diameter_mm, *(a.min_diameter_mm for a in pitch.anchors)) if each), default=0.0
    )
    if rope.length_cm is None:
        return "its length is not known"
    if rope.length_cm < need_cm:
        return f"{(need_cm - rope.length_cm + 99) // 100} m short"
    if pitch.type_a_only and rope.rope_type != "A":
        return "only type A may hang here"
    if thinnest and (rope.diameter_mm or 0.0) < thinnest:
        return f"thinner than {thinnest:g} mm" if rope.diameter_mm else "its diameter is not known"
    if pitch.max_g_per_m is not None and (rope.mass_g_per_m is None or rope.mass_g_per_m > pitch.max_g_per_m):
        return f"heavier than {pitch.max_g_per_m:g} g/m" if rope.mass_g_per_m else "its mass is not known"
    return None
