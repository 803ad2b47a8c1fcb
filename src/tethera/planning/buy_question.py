"""What is asked: routes, combinations and lengths, how sure, what is on offer, and what the new rope is."""

import itertools
import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from tethera.planning.buy_chance import Habit, Shrinks
from tethera.planning.buy_problem import Reel

if TYPE_CHECKING:
    from tethera.rigging import Route


def rule_figure(name: str) -> float:
    """A rule of tables/buying.toml."""
    from tethera.rope import load_table, read_figure

    return read_figure(load_table("planning", "buying")[name]).value


@dataclass(frozen=True)
class NewRope:
    """The rope that is to be bought: what rules of the routes it keeps, and what a wash leaves of it.

    Parameters
    ----------
    shrinks : share of the length left, as `tethera.rope.Shrinkage`
    """

    shrinks: Shrinks
    diameter_mm: float | None = None
    rope_type: str | None = None
    g_per_m: float | None = None
    name: str = ""


@dataclass(frozen=True)
class Offers:
    """What can be had and how it is cut.

    Parameters
    ----------
    reels : reels on offer, each with length, price and count
    pence_per_m : price of rope cut to length in the shop, or None
    step_cm : pieces are cut in multiples of this
    off_cut_worth : share of the cheapest reel's price per metre that a useful off-cut is worth; None for the usual one
    off_cut_from_cm : length off the reel from which an off-cut is useful; None for what the shortest pitch takes
    """

    reels: tuple[Reel, ...] = ()
    pence_per_m: int | None = None
    step_cm: int = 100
    off_cut_worth: float | None = None
    off_cut_from_cm: int | None = None

    def __post_init__(self) -> None:
        if not self.reels and self.pence_per_m is None:
            raise ValueError("name a reel on offer, as 200m@300, or the price of a metre cut to length")
        if self.pence_per_m is not None and self.pence_per_m <= 0:
            raise ValueError(f"a metre cut to length costs more than nothing, not {self.pence_per_m} pence")
        if not 10 <= self.step_cm <= 1000:
            raise ValueError(f"pieces are cut in steps of 0.1 to 10 m, not {self.step_cm / 100:g} m")
        if self.off_cut_worth is not None and not 0 <= self.off_cut_worth < 1:
            raise ValueError(f"an off-cut is worth 0 to 99 % of what its metres cost, not {self.off_cut_worth:g}")


@dataclass(frozen=True)
class BuyQuestion:
    """What the store must be able to rig, and how sure that has to be.

    Parameters
    ----------
    routes : routes the store does
    at_once : so many of them are out at once, whichever they are
    together : combinations of routes by index, instead of `at_once`
    lengths_cm : lengths the store must own beside all routes, all at once [cm after the wash]
    spare : so many ropes may be in the wash or set aside, whichever they are
    confidence : that the plan as a whole holds once the rope is washed, 0.5 to 0.999
    needs_confidence : that no rope of a combination is short of what the route then takes
    habit : cut long and soak the pieces, or soak the reel and cut what is left
    ceiling_pence : most that may be spent; what is then lost is told
    compare : other confidences whose price is told
    """

    routes: "tuple[Route, ...]" = ()
    at_once: int = 1
    together: tuple[tuple[int, ...], ...] = ()
    lengths_cm: tuple[int, ...] = ()
    spare: int = 0
    confidence: float = 0.95
    needs_confidence: float = 0.95
    habit: Habit = "cut-then-soak"
    ceiling_pence: int | None = None
    compare: tuple[float, ...] = (0.8, 0.9, 0.99)
    longest_shared_cm: int | None = None

    def __post_init__(self) -> None:
        if not self.routes and not self.lengths_cm:
            raise ValueError("name at least one route, or a length that is needed")
        for name, value in (("confidence", self.confidence), ("needs_confidence", self.needs_confidence)):
            if not 0.5 <= value <= 0.999:
                raise ValueError(f"{name} lies between 0.5 and 0.999, not {value:g}")
        if not 1 <= self.at_once <= max(len(self.routes), 1):
            raise ValueError(
                f"1 to {max(len(self.routes), 1)} of {len(self.routes)} routes go at once, not {self.at_once}"
            )
        if not 0 <= self.spare <= 20:
            raise ValueError(f"0 to 20 ropes are kept spare, not {self.spare}")
        if any(not 0 <= route < len(self.routes) for each in self.together for route in each):
            raise ValueError("a combination names a route that is not in the list")
        if any(length < 100 for length in self.lengths_cm):
            raise ValueError("a length that is needed is 1 m or more")
        many = math.comb(len(self.routes), self.at_once) if not self.together else len(self.together)
        if many > rule_figure("most_combinations"):
            raise ValueError(
                f"{self.at_once} of {len(self.routes)} routes at once are {many:,} combinations, too many to judge: "
                "name those that happen, or fewer at once"
            )

    @cached_property
    def combinations(self) -> tuple[tuple[int, ...], ...]:
        """Routes rigged at once; the lengths, if any, are one more route, and a combination of their own."""
        routes = range(len(self.routes))
        of_routes = self.together or tuple(itertools.combinations(routes, self.at_once)) if self.routes else ()
        return (*of_routes, (len(self.routes),)) if self.lengths_cm else of_routes
