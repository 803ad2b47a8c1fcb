"""Several years of buying as the treasurer reads them: what goes, what is bought, what it costs, route by route."""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from tethera import labels


def price_of(answer: Mapping[str, Any]) -> int:
    """What a list costs [pence], all its years together."""
    years = answer.get("years")
    return sum(each["plan"]["price_pence"] for each in years) if years else int(answer.get("price_pence", 0))


def years_of(answer: Mapping[str, Any]) -> dict[str, Any] | None:
    """The years of an answer with their totals, charts and shares by route; None where it is about one season."""
    if "years" not in answer:
        return None
    rows, total = [], 0
    shares: dict[str, list[int]] = defaultdict(list)
    for each in answer["years"]:
        plan = each["plan"]
        total += plan["price_pence"]
        pieces = [piece for reel in plan["reels"] for piece in reel["pieces"]] + plan["shop"]
        rows.append({**each, "pieces": sorted(pieces, key=lambda p: -p["cut_cm"]), "total_pence": total})
        for cost in plan["by_route"]:
            shares[cost["route"]] += [0] * (len(rows) - 1 - len(shares[cost["route"]])) + [cost["share_pence"]]
    by_route = [(name, costs + [0] * (len(rows) - len(costs)), sum(costs)) for name, costs in shares.items()]
    bars = [{"year": each["year"], "pence": each["plan"]["price_pence"]} for each in rows]
    return {
        "rows": rows,
        "total_pence": total,
        "by_route": sorted(by_route, key=lambda each: -each[2]),
        "drawing": labels.costs_svg(bars),
        "narrow": labels.costs_svg(bars, wide=340, name="costs-narrow"),
    }
