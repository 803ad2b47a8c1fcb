"""Clear heat-shrink tube over the mark on a rope's end: which size slides on and shrinks tight, how much to cut.

Figures and published sizes are in tables/tubes.toml. All of it goes by the diameter measured over the tape: an old
washed rope is thicker than its maker declared.
"""

import functools
import math
from collections.abc import Iterable
from dataclasses import dataclass

from tethera.rope.tables import figure, load_table

#: Below this a difference of two published diameters is rounding of the machine, not a size.
_NOTHING = 1e-9


@dataclass(frozen=True, slots=True)
class Tube:
    """A published size of tube, over one rope. Inside diameters; `over_mm` is the rope over its tape [mm].

    `wall_mm` is the wall after shrinking freely, None where the publication does not give it.

    >>> Tube("12.7 mm", "2:1", 12.7, 6.4, 0.62, 10.5, "s").words
    '12.7 mm (2:1): 2.2 mm to spare when pushed on; about 11.3 mm thick once shrunk, wall 0.4 mm'
    """

    size: str
    kind: str
    expanded_mm: float
    recovered_mm: float
    wall_mm: float | None
    over_mm: float
    source: str
    lined: bool = False

    @property
    def spare_mm(self) -> float:
        """How much wider it is than what it is pushed over [mm]."""
        return self.expanded_mm - self.over_mm

    @property
    def squeeze_mm(self) -> float:
        """How much narrower it would shrink if no rope were in it [mm]: more holds better."""
        return self.over_mm - self.recovered_mm

    @property
    def weak_hold(self) -> bool:
        """Whether it only just shrinks onto the rope."""
        return self.squeeze_mm < _value("weak_hold") - _NOTHING

    @property
    def fits_mm(self) -> tuple[float, float]:
        """Diameters over the tape that it fits: more than the first, no more than the second [mm]."""
        return self.recovered_mm, self.expanded_mm - _value("clearance")

    @property
    def wall_on_rope_mm(self) -> float | None:
        """Its wall on the rope [mm]: stretched by the rope it stays thinner than published.

        The same plastic as in the freely shrunk tube goes round the rope, and as long: w (d + w) is kept. Left out: a
        tube that cannot shrink across shrinks a little less along.
        """
        if self.wall_mm is None:
            return None
        kept = self.wall_mm * (self.recovered_mm + self.wall_mm)
        return (math.sqrt(self.over_mm**2 + 4 * kept) - self.over_mm) / 2

    @property
    def outside_mm(self) -> float | None:
        """Thickness of the rope's end with the tube shrunk on [mm]."""
        wall = self.wall_on_rope_mm
        return None if wall is None else self.over_mm + 2 * wall

    @property
    def words(self) -> str:
        """The size, how it goes on and what it becomes, in one line."""
        went_on = f"{self.size} ({self.kind}): {self.spare_mm:.1f} mm to spare when pushed on"
        if self.outside_mm is None:
            return f"{went_on}; its wall is not published"
        return f"{went_on}; about {self.outside_mm:.1f} mm thick once shrunk, wall {self.wall_on_rope_mm:.1f} mm"

    @property
    def warnings(self) -> tuple[str, ...]:
        """What to know before choosing it."""
        said = []
        if self.weak_hold:
            said.append(
                f"Weak hold: by itself it shrinks to {self.recovered_mm:g} mm, only {self.squeeze_mm:.1f} mm less than "
                "this rope. Try a piece. If it turns or slides by hand, take a narrower one that still goes on, or one "
                "of the 3:1 kind."
            )
        if self.lined:
            said.append("Its adhesive stays on the rope: ask both makers whether it may lie against nylon.")
        return tuple(said)


def tubes(diameter_mm: float) -> tuple[Tube, ...]:
    """Every published size that slides over the tape and shrinks tight, best first.

    It slides on when wider by the clearance of the table, and shrinks tight when it would become narrower than the
    rope. Best is the narrowest that slides on; of one size the plain tube comes before the one lined with adhesive.

    Parameters
    ----------
    diameter_mm : diameter measured over the tape [mm], 5 to 16

    >>> [tube.size for tube in tubes(10.5)]
    ['12.7 mm', '1/2 in', '1/2 in', '19.1 mm', '3/4 in', '3/4 in']
    """
    over = _over_the_tape(diameter_mm)
    fitting = [tube for tube in _published(over) if _slides_on(tube) and tube.squeeze_mm > _NOTHING]
    # Two tables print the same size to within 0.05 mm: to the millimetre they are one, and keep their order.
    return tuple(sorted(fitting, key=lambda tube: (round(tube.expanded_mm), tube.lined)))


def over_tape_mm(rope_diameter_mm: float, tape_mm: float | None = None) -> float:
    """Diameter over a strip wound once round a rope [mm], where nobody has measured it.

    Tape lies on both sides. Left out: the few millimetres where the strip overlaps, for which a tube has its clearance.

    Parameters
    ----------
    rope_diameter_mm : diameter of the rope as it is now [mm]; a washed rope is thicker than declared
    tape_mm : thickness of the tape [mm]; None takes the usual one of the table

    >>> round(over_tape_mm(10.0), 2), round(over_tape_mm(10.0, 0.2), 2)
    (10.3, 10.4)
    """
    tape = _value("tape") if tape_mm is None else tape_mm
    if not 0 <= tape <= 1:
        raise ValueError(f"a tape is up to 1 mm thick, not {tape:g} mm")
    return _over_the_tape(rope_diameter_mm + 2 * tape)


def tube_cut_mm(strip_mm: float) -> int:
    """How long to cut a tube for one end [mm], so that once shrunk it still covers the strip and both its edges.

    (strip + overhang at each end) / (1 - share lost lengthwise), up to the whole millimetre.

    Parameters
    ----------
    strip_mm : length of the strip along the rope [mm], more than 0, up to 1,000

    >>> tube_cut_mm(60.0), tube_cut_mm(75.0)
    (83, 100)
    """
    if not 0 < strip_mm <= 1000:
        raise ValueError(f"a strip is up to 1000 mm long, not {strip_mm:g} mm")
    return math.ceil((strip_mm + 2 * _value("overhang")) / (1 - _value("lengthwise")) - 1e-6)


def tube_batch_m(cuts_mm: Iterable[int]) -> float:
    """Metres of tube that a batch takes, up to the next tenth [m]: each rope has two ends, and two tubes.

    Parameters
    ----------
    cuts_mm : for each rope, how long the tube for one of its ends is cut [mm]

    >>> tube_batch_m([100, 83]), tube_batch_m([])
    (0.4, 0.0)
    """
    return math.ceil(2 * sum(cuts_mm) / 100) / 10


@functools.cache
def tube_cautions() -> tuple[str, ...]:
    """What to say wherever a tube is shrunk onto a rope."""
    in_use, melts, shrinks = (f"{_value(name):g} °C" for name in ("nylon_in_use", "nylon_melts", "shrinks_from"))
    return (
        f"Heat harms nylon. In use it should not pass {in_use} and it melts from {melts}; a tube begins to shrink at "
        f"about {shrinks}, and a hot-air gun blows hotter than all of these.",
        "Use the lowest heat that shrinks the tube, keep the gun moving, and stop as soon as the tube is tight. Never "
        "use a flame.",
        "Try tube and heat on a scrap of old rope first, then slit the tube and look at the rope beneath.",
        "Look at the rope before the tube goes on, for it hides what is beneath. Never cover a damaged place.",
        "The leaflets of the makers of rope and tube come first.",
    )


def _published(over_mm: float) -> Iterable[Tube]:
    for family in load_table("rope", "tubes")["families"]:
        for row in family["sizes"]:
            yield Tube(
                row["size"],
                family["kind"],
                row["expanded_mm"],
                row["recovered_mm"],
                row.get("wall_mm"),
                over_mm,
                family["source"],
                family["lined"],
            )


def _slides_on(tube: Tube) -> bool:
    return tube.spare_mm >= _value("clearance") - _NOTHING


def _over_the_tape(diameter_mm: float) -> float:
    least, most = _value("thinnest"), _value("thickest")
    if not least <= diameter_mm <= most:
        raise ValueError(
            f"a tube can be chosen for {least:g} to {most:g} mm over the tape, not {diameter_mm:g} mm. Measure again "
            "over the tape; if it is right, try a sample of tube on a scrap of the rope."
        )
    return diameter_mm


def _value(name: str) -> float:
    return figure("rope", "tubes", name).value
