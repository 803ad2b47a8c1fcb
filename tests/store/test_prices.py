"""What replacing rope costs, from what was paid."""

from tethera.basics import PartialDate
from tethera.store import last_prices, replacing_pence
from tethera.store.events import Bought


def bought(year: int, diameter_mm: float | None, metres: int, pounds: int | None) -> Bought:
    return Bought(
        rope="TV1",
        happened=PartialDate(year),
        length_cm=metres * 100,
        diameter_mm=diameter_mm,
        price_pence=None if pounds is None else pounds * 100,
    )


def test_the_last_price_of_each_diameter_counts_whatever_the_order_written() -> None:
    prices = last_prices([bought(2025, 9.0, 200, 300), bought(2023, 9.0, 200, 200), bought(2024, 10.0, 100, 210)])
    assert prices[9.0].pence_per_m == 150
    assert prices[10.0].pence_per_m == 210
    assert prices[None] == prices[9.0]


def test_a_diameter_never_bought_counts_at_the_last_price_of_all() -> None:
    prices = last_prices([bought(2025, 9.0, 200, 300)])
    assert replacing_pence([(3000, 9.0), (1000, 11.0), (None, 9.0)], prices) == 30 * 150 + 10 * 150


def test_without_a_price_nothing_is_guessed() -> None:
    assert last_prices([bought(2025, 9.0, 200, None)]) == {}
    assert replacing_pence([(3000, 9.0)], {}) is None
