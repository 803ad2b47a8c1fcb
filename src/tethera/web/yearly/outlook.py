"""Counts and sums of the page Year: what the store owns, how old it is, what leaves service."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from tethera import store
from tethera.basics import PartialDate
from tethera.store import Recorded, RopeState
from tethera.store.prices import Price, last_prices, replacing_pence

#: What happened this year, as far as a treasurer or a committee asks.
COUNTED: tuple[tuple[str, Promise], ...] = (
    ("bought", _("bought")),
    ("cut", _("cut")),
    ("put-into-service", _("put into service")),
    ("taken-out", _("taken out")),
    ("washed", _("washed")),
    ("measured", _("measured")),
    ("inspected", _("examined")),
    ("set-aside", _("set aside")),
    ("missed", _("missed")),
    ("retired", _("retired")),
)
_LENGTHS_M = (10, 20, 30, 40, 50, 60, 80, 100)


@dataclass(frozen=True)
class Leaving:
    """A calendar year and the ropes whose last day of service lies in it; `cost_pence` as many new metres."""

    year: int
    ropes: tuple[RopeState, ...]
    cost_pence: int | None = None

    @property
    def length_cm(self) -> int:
        """Together."""
        return sum(rope.length_cm or 0 for rope in self.ropes)

    @property
    def pounds(self) -> int | None:
        """Rounded up to the pound."""
        return None if self.cost_pence is None else -(-self.cost_pence // 100)

    def priced(self, prices: dict[float | None, Price]) -> "Leaving":
        """With what as many metres cost."""
        cost = replacing_pence(((rope.length_cm, rope.diameter_mm) for rope in self.ropes), prices)
        return replace(self, cost_pence=cost)


def leaving(ropes: Sequence[RopeState], limit_years: int | None, on: date, years: int) -> list[Leaving]:
    """What leaves service by age this year and in the years after; what should have left before counts in this."""
    return [Leaving(each.year, each.ropes) for each in store.leaving(ropes, limit_years, on, years)]


def bars(years: Iterable[Leaving], on: date) -> list[dict[str, Any]]:
    """The same for the drawing."""
    return [
        {"year": each.year, "length_cm": each.length_cm, "ropes": len(each.ropes) or None, "hand": each.year == on.year}
        for each in years
    ]


def prices(log: Iterable[Recorded]) -> dict[float | None, Price]:
    """The last prices paid."""
    return last_prices(each.event for each in log)


def born(rope: RopeState) -> PartialDate | None:
    """From when its age counts."""
    return PartialDate(rope.year_made) if rope.year_made else rope.bought or rope.first_used


def ages(ropes: Sequence[RopeState], on: date) -> list[tuple[int, list[RopeState]]]:
    """Ropes by whole calendar years of age, the youngest first; those of unknown age are left out."""
    found: dict[int, list[RopeState]] = defaultdict(list)
    for rope in ropes:
        made = born(rope)
        if made is not None:
            found[max(0, on.year - made.year)].append(rope)
    return sorted(found.items())


def lengths(ropes: Sequence[RopeState]) -> list[tuple[str, list[RopeState]]]:
    """Ropes by length, in the steps a rack is hung in."""
    found: dict[int, list[RopeState]] = {step: [] for step in (*_LENGTHS_M, 0)}
    for rope in ropes:
        if rope.length_cm is not None:
            step = next((step for step in _LENGTHS_M if rope.length_cm <= step * 100), 0)
            found[step].append(rope)
    names = [f"{low}–{high}" for low, high in zip((0, *_LENGTHS_M[:-1]), _LENGTHS_M, strict=True)]
    names.append(f"> {_LENGTHS_M[-1]}")
    steps = zip(names, (*_LENGTHS_M, 0), strict=True)
    shown = [(name, sorted(found[step], key=lambda rope: rope.length_cm or 0)) for name, step in steps]
    return [(name, each) for name, each in shown if each]


@dataclass(frozen=True)
class Kind:
    """Ropes of one diameter and type together."""

    example: RopeState
    count: int
    length_cm: int
    ready: int
    mean_age_years: float | None


def kinds(ropes: Sequence[RopeState], on: date) -> list[Kind]:
    """The store by diameter and type."""
    found: dict[tuple[float, str], list[RopeState]] = defaultdict(list)
    for rope in ropes:
        found[(rope.diameter_mm or 0.0, rope.rope_type or "")].append(rope)
    return [
        Kind(
            each[0],
            len(each),
            sum(rope.length_cm or 0 for rope in each),
            sum(rope.usable for rope in each),
            sum(known) / len(known) if (known := [on.year - made.year for r in each if (made := born(r))]) else None,
        )
        for _key, each in sorted(found.items())
    ]
