"""Rope each knot takes: defaults from memory, replaced by what the store measured on its own ropes."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from tethera.rope import Figure, load_table, read_figure

#: A knot the store measured keeps this spread: how differently two people dress it [m].
MEASURED_SOURCE = "measured by the store"
#: Knots a route may name; their lengths are in tables/knots.toml.
KNOTS = (
    "figure_eight_on_the_bight",
    "figure_nine_on_the_bight",
    "butterfly",
    "bowline",
    "stopper_figure_eight",
    "linked_figure_eights",
)


class UnreadableKnots(ValueError):
    """The store's own knot lengths could not be used; says which and what was expected."""


@dataclass(frozen=True, slots=True)
class KnotLengths:
    """Metres of rope each knot takes beyond the straight line, tail at its anchor not included.

    >>> KnotLengths.default().with_measured({"butterfly": 0.44}).of("butterfly").value
    0.44
    """

    lengths: Mapping[str, Figure] = field(default_factory=dict)

    @classmethod
    def default(cls) -> "KnotLengths":
        """The lengths shipped, all from memory."""
        return _defaults()

    @classmethod
    def from_toml(cls, text: str) -> "KnotLengths":
        """The defaults with the store's own, from lines such as `butterfly = 0.44` (metres).

        >>> KnotLengths.from_toml("bowline = 0.7").of("bowline").source
        'measured by the store'
        """
        try:
            return cls.default().with_measured(tomllib.loads(text))
        except RecursionError:
            raise UnreadableKnots("knot lengths: brackets are nested too deeply.") from None
        except UnreadableKnots:
            raise
        except (ValueError, OverflowError) as error:
            raise UnreadableKnots(f"knot lengths: {error}. Write lines such as butterfly = 0.44 (metres).") from None

    def with_measured(self, measured_m: Mapping[str, float]) -> "KnotLengths":
        """These lengths with the store's measured ones in place [m]."""
        lengths = dict(self.lengths)
        for name, metres in measured_m.items():
            if name not in lengths:
                raise UnreadableKnots(f"there is no knot “{name}” here; known are {', '.join(sorted(lengths))}.")
            if isinstance(metres, bool) or not isinstance(metres, int | float) or not _finite(metres):
                raise UnreadableKnots(f"{name}: expected metres of rope as a number such as 0.44, not {_said(metres)}.")
            if not 0.05 <= metres <= 5.0:
                raise UnreadableKnots(f"{name}: expected 0.05 to 5 m of rope, not {_said(metres)}; measure in metres.")
            # Measuring takes away the doubt about the knot, not about who dresses it: half the spread stays.
            lengths[name] = Figure(float(metres), "m", MEASURED_SOURCE, lengths[name].sd / 2)
        return KnotLengths(lengths)

    def of(self, name: str) -> Figure:
        """Length of one knot; ValueError names those known."""
        if name not in self.lengths:
            raise ValueError(f"there is no knot “{name}” here; known are {', '.join(sorted(self.lengths))}")
        return self.lengths[name]


def _finite(number: float) -> bool:
    """Whether it can be a length at all: a whole number may have more digits than a float takes."""
    return -1e9 < number < 1e9


def _said(value: object) -> str:
    try:
        return repr(value)[:40]
    except ValueError:
        return "a very long number"


@lru_cache(maxsize=1)
def _defaults() -> KnotLengths:
    return KnotLengths({name: read_figure(entry) for name, entry in load_table("rigging", "knots").items()})
