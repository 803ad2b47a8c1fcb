"""What the page Year counts and draws, from what the store says of its ropes."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from tethera.store import Leaving, Price, RopeState, replacing_pence

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


@dataclass(frozen=True)
class Costed:
    """What leaves service in a year, and the price of as many new metres [£], rounded up; None without a price."""

    year: int
    ropes: tuple[RopeState, ...]
    length_cm: int
    pounds: int | None


def costed(years: Iterable[Leaving], prices: dict[float | None, Price]) -> list[Costed]:
    """What leaves service year by year, with what replacing it costs."""
    found = []
    for each in years:
        pence = replacing_pence(((rope.length_cm, rope.diameter_mm) for rope in each.ropes), prices)
        found.append(Costed(each.year, each.ropes, each.length_cm, None if pence is None else -(-pence // 100)))
    return found


def bars(years: Iterable[Leaving], on: date) -> list[dict[str, Any]]:
    """The same for the drawing."""
    return [
        {"year": each.year, "length_cm": each.length_cm, "ropes": len(each.ropes) or None, "hand": each.year == on.year}
        for each in years
    ]
