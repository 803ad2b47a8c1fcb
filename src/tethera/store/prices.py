"""What a metre of new rope cost when the store last bought some: enough to say what replacing costs."""

from collections.abc import Iterable
from dataclasses import dataclass

from tethera.basics import PartialDate
from tethera.store.events import Bought, Event


@dataclass(frozen=True, slots=True)
class Price:
    """The last price paid [pence a metre], when, and for what diameter [mm] (None: for any)."""

    pence_per_m: float
    paid: PartialDate
    diameter_mm: float | None


def last_prices(events: Iterable[Event]) -> dict[float | None, Price]:
    """By diameter the last price paid, and under None the last of all; nothing where no price was written.

    >>> day = PartialDate(2025, 3)
    >>> bought = Bought(rope="TV1", happened=day, length_cm=10_000, diameter_mm=9.0, price_pence=12_000)
    >>> last_prices([bought])[9.0].pence_per_m
    120.0
    """
    prices: dict[float | None, Price] = {}
    for event in events:
        if not isinstance(event, Bought) or not event.price_pence:
            continue
        price = Price(event.price_pence * 100 / event.length_cm, event.happened, event.diameter_mm)
        for key in (event.diameter_mm, None):
            if key not in prices or event.happened.latest >= prices[key].paid.latest:
                prices[key] = price
    return prices


def replacing_pence(ropes: Iterable[tuple[int | None, float | None]], prices: dict[float | None, Price]) -> int | None:
    """What as many metres of new rope cost [pence], from lengths [cm] and diameters; None without any price.

    A diameter never bought counts at the last price of all. What new rope loses in its first washes is not in it.
    """
    if not prices:
        return None
    total = 0.0
    for length_cm, diameter_mm in ropes:
        price = prices.get(diameter_mm) or prices[None]
        total += (length_cm or 0) / 100 * price.pence_per_m
    return round(total)
