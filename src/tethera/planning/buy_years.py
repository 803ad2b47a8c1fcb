"""What the next years cost: ropes that no longer serve a whole year, the list that replaces them, year after year."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from tethera.planning.buy import buy
from tethera.planning.buy_plan import BuyPlan, RouteCost
from tethera.planning.buy_question import BuyQuestion, NewRope, Offers
from tethera.planning.buy_reasons import by_route
from tethera.planning.buy_routes import Owned
from tethera.planning.plan import Budget, Progress, no_limit, silent

if TYPE_CHECKING:
    from tethera.rigging import KnotLengths
    from tethera.store import RopeState


@dataclass(frozen=True, slots=True)
class BuyLeaving:
    """A rope that leaves service by age: its length [cm] and its last day."""

    rope: str
    length_cm: int
    last_day: date


@dataclass(frozen=True)
class BuyYear:
    """A calendar year: ropes that cannot be counted on to its end and could the year before, and what must be bought.

    `like_for_like_pence` is what as many new metres cost at the cheapest price per metre, loss in the wash included:
    what replacing rope for rope would come to, needed or not.
    """

    year: int
    leaving: tuple[BuyLeaving, ...]
    plan: BuyPlan
    like_for_like_pence: int

    @property
    def leaving_cm(self) -> int:
        """Metres that leave, together [cm]."""
        return sum(each.length_cm for each in self.leaving)


def years_ahead(
    question: BuyQuestion,
    offers: Offers,
    new: NewRope,
    ropes: "Sequence[RopeState]" = (),
    *,
    first_year: int,
    years: int = 3,
    age_limit_years: int | None = None,
    knots: "KnotLengths | None" = None,
    seconds: Budget = no_limit,
    progress: Progress = silent,
) -> tuple[BuyYear, ...]:
    """So many calendar years, 1 to 10, each served to its last day; what is bought in one is there in the next.

    Each year is made cheapest by itself, with what was bought before: looking ahead over all years at once could be
    cheaper. A ceiling holds for each year.
    """
    if not 1 <= years <= 10:
        raise ValueError(f"1 to 10 years are told, not {years}")
    found: list[BuyYear] = []
    bought: list[Owned] = []
    gone = _leaving(ropes, age_limit_years)
    names = (*(route.name for route in question.routes), *(("lengths you asked for",) if question.lengths_cm else ()))
    for number in range(years):
        year, left, share = first_year + number, seconds(), (years - number - 1) / (years - number)
        plan = buy(
            replace(question, compare=()), offers, new, ropes,
            until=date(year, 12, 31), age_limit_years=age_limit_years, knots=knots, also_owned=tuple(bought),
            explain=False, seconds=lambda left=left, share=share: seconds() - left * share,  # type: ignore[misc]
            progress=progress,
        )  # fmt: skip
        plan = replace(plan, by_route=by_route(names, plan.pieces))
        # A rope whose last day is the last of December serves that year; one that leaves before it does not.
        since = date.min if number == 0 else date(year - 1, 12, 31)
        lost = tuple(each for each in gone if since <= each.last_day < date(year, 12, 31))
        bought += [Owned(f"bought {year}", piece.counted_cm, piece.counted_cm) for piece in plan.pieces]
        found.append(BuyYear(year, lost, plan, _like_for_like(lost, offers, new)))
    return tuple(found)


def shares_of_years(years: Iterable[BuyYear]) -> tuple[RouteCost, ...]:
    """What each route bears of all years together, dearest first."""
    shares: dict[str, int] = defaultdict(int)
    for year in years:
        for each in year.plan.by_route:
            shares[each.route] += each.share_pence
    return tuple(RouteCost(name, shares[name]) for name in sorted(shares, key=lambda name: -shares[name]))


def _leaving(ropes: "Sequence[RopeState]", age_limit_years: int | None) -> list[BuyLeaving]:
    from tethera.store import leaves_on

    last_days = [(rope, leaves_on(rope, age_limit_years)) for rope in ropes]
    return [BuyLeaving(rope.id, rope.length_cm or 0, last) for rope, last in last_days if last is not None]


def _like_for_like(lost: Sequence[BuyLeaving], offers: Offers, new: NewRope) -> int:
    per_m = [reel.price_pence / reel.length_cm * 100 for reel in offers.reels]
    per_m += [float(offers.pence_per_m)] if offers.pence_per_m is not None else []
    metres = sum(each.length_cm for each in lost) / 100 / float(new.shrinks.share_left(0.5))
    return round(metres * min(per_m))
