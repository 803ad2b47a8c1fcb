"""Cutting stock: the cheapest stocks that give all pieces, with a proof."""

from tethera.planning.stock.problem import CuttingProblem, Item, Pattern, Stock, StockPlan, plan_faults

__all__ = ["CuttingProblem", "Item", "Pattern", "Stock", "StockPlan", "cut_stock", "plan_faults"]


def __getattr__(name: str) -> object:
    # numpy and scipy are loaded by the first question, not by the first word.
    if name == "cut_stock":
        from tethera.planning.stock.solve import cut_stock

        return cut_stock
    raise AttributeError(name)
