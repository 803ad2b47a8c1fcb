"""What to buy, as it is told: reels and their cuts, each rope with its reason and its own confidence, the bound."""

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from tethera.planning.buy_chance import Habit


@dataclass(frozen=True, slots=True)
class NewPiece:
    """A rope to be had.

    Parameters
    ----------
    cut_cm : length off the reel; after soaking the whole reel, of the soaked reel
    counted_cm : what the plan counts on once it is washed
    typical_cm : what half of such ropes have left
    needed_cm : what the combinations need of it; 0 where it is beyond every need
    confidence : how sure it has `needed_cm` once washed, counted in draws
    why : the combination and pitch that need it
    without : what no longer goes if it is left out
    combinations, routes : how many combinations need a rope of this length, and the routes in them
    """

    cut_cm: int
    counted_cm: int
    typical_cm: int
    needed_cm: int
    confidence: float
    why: str = ""
    without: str = ""
    combinations: int = 0
    routes: tuple[str, ...] = ()
    price_pence: int = 0


@dataclass(frozen=True, slots=True)
class NewReel:
    """A reel to be bought: its pieces in the order they are cut, and what is left.

    `room_cm` is what is counted on to be there when it is cut (less than `length_cm` where it is soaked first).
    """

    name: str
    length_cm: int
    room_cm: int
    price_pence: int
    pieces: tuple[NewPiece, ...]
    off_cut_cm: int
    off_cut_pence: int
    off_cut_use: str = ""


@dataclass(frozen=True, slots=True)
class OtherConfidence:
    """What it costs to be so sure of the plan as a whole."""

    confidence: float
    price_pence: int | None
    net_pence: int | None
    bound_pence: int | None


@dataclass(frozen=True, slots=True)
class OtherShrinkage:
    """New rope has so much less left than predicted (a share of its length): what the list then costs when it is made
    for that, and how often the list as it stands would hold.
    """

    less_left: float
    price_pence: int | None
    net_pence: int | None
    holds_as_listed: float


@dataclass(frozen=True, slots=True)
class AtMost:
    """What a ceiling buys: routes given up, proven fewest where `at_least` equals their number, and what is spent."""

    ceiling_pence: int
    lost: tuple[str, ...]
    at_least: int
    price_pence: int
    lengths_cm: tuple[int, ...] = ()
    found: bool = True


@dataclass(frozen=True, slots=True)
class RouteCost:
    """A route's share of the price: each rope's price goes to the routes that need it, in equal parts.

    `saves_pence` is what giving the route up would save (None: not worked out).
    """

    route: str
    share_pence: int
    saves_pence: int | None = None


@dataclass(frozen=True)
class BuyPlan:
    """Which lengths to add, how to cut them, and how good and how sure the list is.

    status : "optimal" (proven least at this margin per rope), "feasible" (the best found), "impossible" (no list makes
    every combination go, see `unmet`; what is listed serves the rest), "unknown" (nothing found in time)

    `net_pence`, the figure made least, is the price less what useful off-cuts are worth. `holds` is how often the plan
    held in `draws` fresh draws of what a wash leaves; `per_rope` the confidence at which each rope was counted.
    """

    status: Literal["optimal", "feasible", "impossible", "unknown"]
    habit: Habit = "cut-then-soak"
    reels: tuple[NewReel, ...] = ()
    shop: tuple[NewPiece, ...] = ()
    price_pence: int = 0
    off_cut_pence: int = 0
    bound_pence: int = 0
    bound: str = ""
    confidence: float = 0.95
    holds: float | None = None
    draws: int = 0
    per_rope: float = 0.0
    combinations: int = 0
    counted: tuple[tuple[str, int, date | None], ...] = ()
    not_counted: tuple[tuple[str, str], ...] = ()
    unmet: tuple[str, ...] = ()
    other_confidences: tuple[OtherConfidence, ...] = ()
    other_shrinkages: tuple[OtherShrinkage, ...] = ()
    at_most: AtMost | None = None
    by_route: tuple[RouteCost, ...] = ()
    notes: tuple[str, ...] = field(default=())

    @property
    def found(self) -> bool:
        """Whether there is a list to carry out that serves everything asked for."""
        return self.status in ("optimal", "feasible")

    @property
    def net_pence(self) -> int:
        """Price less what useful off-cuts are worth."""
        return self.price_pence - self.off_cut_pence

    @property
    def gap(self) -> float:
        """How far the net price may be above the least there is at this margin, as a share."""
        return 0.0 if self.net_pence <= 0 else max(0.0, (self.net_pence - self.bound_pence) / self.net_pence)

    @property
    def pieces(self) -> tuple[NewPiece, ...]:
        """Every new rope."""
        return (*(piece for reel in self.reels for piece in reel.pieces), *self.shop)
