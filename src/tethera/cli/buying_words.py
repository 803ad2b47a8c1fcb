"""A list to buy in words and as JSON: the answer first, each rope with its reason and its own confidence under it."""

import dataclasses
from typing import Any

from tethera.basics import show_metres
from tethera.cli import terminal
from tethera.cli.routes import CAUTION
from tethera.planning import BuyPlan

SHRINKS = "What a wash leaves is foretold, not known: measure each rope before it is marked."


def pounds(amount: int | None) -> str:
    """Pounds, with pence where there are any.

    >>> pounds(31000), pounds(31050), pounds(None)
    ('£310', '£310.50', '?')
    """
    if amount is None:
        return "?"
    return f"£{amount // 100}" if amount % 100 == 0 else f"£{amount / 100:.2f}"


def percent(share: float) -> str:
    """A probability in percent, rounded down so that nothing is called surer than it is.

    >>> percent(0.9876), percent(1.0)
    ('98.7 %', 'over 99.9 %')
    """
    return "over 99.9 %" if share > 0.999 else f"{int(share * 1000) / 10:g} %"


def in_words(plan: BuyPlan) -> str:
    """The answer first, the reasons under it."""
    parts = [terminal.bold(_headline(plan))]
    parts += [terminal.paragraph(each) for each in plan.unmet]
    if plan.price_pence:
        parts.append(terminal.paragraph(plan.bound))
        if plan.holds is not None:
            sure = f"The list as a whole held in {percent(plan.holds)} of {plan.draws:,} draws of what a wash leaves"
            parts.append(terminal.paragraph(f"{sure} (asked for: {100 * plan.confidence:g} %)."))
    elif plan.found:
        parts.append(plan.bound)
    for number, reel in enumerate(plan.reels, 1):
        soaked = f", {terminal.capsule(reel.room_cm)} counted on once soaked" if reel.room_cm < reel.length_cm else ""
        parts.append(terminal.bold(f"Reel {number}: {reel.name} for {pounds(reel.price_pence)}{soaked}"))
        parts.append(_pieces_table(reel.pieces))
        kept = f"off-cut {terminal.capsule(reel.off_cut_cm)}"
        parts.append(terminal.paragraph(f"{kept}: {reel.off_cut_use or 'too short for any of these pitches'}."))
    if plan.shop:
        parts += [terminal.bold("Cut to length in the shop"), _pieces_table(plan.shop)]
    if plan.reels:
        parts.append(_to_record(plan))
    parts += _why(plan)
    parts += [_others(plan), _counted(plan), *(terminal.paragraph(note) for note in plan.notes)]
    parts.append(terminal.paragraph(f"{SHRINKS} {CAUTION}"))
    return "\n\n".join(part for part in parts if part)


def _to_record(plan: BuyPlan) -> str:
    """What to type when the reels have come and are cut: the cut gives each piece its number."""
    soaked = ["tethera record washed NUMBER", "tethera record measured NUMBER length=…"]
    lines = []
    for reel in plan.reels:
        kept = [reel.off_cut_cm] if reel.off_cut_pence else []
        into = ",".join(f"{show_metres(cm)}m" for cm in (*(piece.cut_cm for piece in reel.pieces), *kept))
        lines += [
            f"tethera record bought length={show_metres(reel.length_cm)}m price=£{reel.price_pence / 100:g}",
            *(soaked if plan.habit == "soak-then-cut" else []),
            f"tethera record cut NUMBER into={into}",
        ]
    return "\n".join(
        ["When they have come and are cut, with the number each reel is given:", *(f"    {x}" for x in lines)]
    )


def _headline(plan: BuyPlan) -> str:
    if plan.price_pence:
        ropes = len(plan.pieces)
        many = f"{ropes} new {'rope' if ropes == 1 else 'ropes'} for {pounds(plan.price_pence)}"
        return f"{many}, {plan.combinations} {'combination' if plan.combinations == 1 else 'combinations'} of routes"
    return "Nothing to buy" if plan.found else "No list makes all of it go"


def _pieces_table(pieces: Any) -> str:
    rows = [
        (
            terminal.capsule(each.cut_cm), terminal.capsule(each.counted_cm),
            terminal.capsule(each.needed_cm) if each.needed_cm else "–",
            percent(each.confidence), pounds(each.price_pence),
        )
        for each in pieces
    ]  # fmt: skip
    return terminal.table(("Cut", "Counted on", "Needed", "Sure", "Price"), rows, ("right",) * 5)


def _why(plan: BuyPlan) -> list[str]:
    seen: dict[str, None] = {}
    for piece in plan.pieces:
        seen[f"{terminal.capsule(piece.cut_cm)} {piece.why} {piece.without}".strip()] = None
    lines = [terminal.paragraph(words, indent="– ", hanging="  ") for words in seen]
    return ["\n".join([terminal.bold("Why"), *lines])] if lines else []


def _others(plan: BuyPlan) -> str:
    if not plan.price_pence:
        return ""
    lines = [f"{100 * each.confidence:g} % sure: {pounds(each.price_pence)}" for each in plan.other_confidences]
    for other in plan.other_shrinkages:
        more = f"{abs(100 * other.less_left):g} points {'more' if other.less_left > 0 else 'less'} lost"
        still = percent(other.holds_as_listed)
        lines.append(f"{more} than foretold: {pounds(other.price_pence)}; this list would hold in {still}")
    if plan.at_most is not None:
        lines.append(_at_most(plan))
    for cost in plan.by_route:
        saves = "" if cost.saves_pence is None else f"; without it the list costs {pounds(cost.saves_pence)} less"
        lines.append(f"{cost.route} bears {pounds(cost.share_pence)}{saves}")
    shown = "\n".join(terminal.paragraph(line + ".", indent="– ", hanging="  ") for line in lines)
    return f"{terminal.bold('What if')}\n{shown}" if lines else ""


def _at_most(plan: BuyPlan) -> str:
    most = plan.at_most
    assert most is not None
    limit = pounds(most.ceiling_pence)
    if not most.found:
        return f"At most {limit}: no list was found in the time allowed, at least {most.at_least} routes are lost"
    if not most.lost:
        return f"At most {limit}: enough, nothing is lost"
    proof = "the fewest there can be" if most.at_least == len(most.lost) else f"at least {most.at_least} must go"
    return (
        f"At most {limit}: {', '.join(most.lost)} can no longer be rigged ({proof}); {pounds(most.price_pence)} spent"
    )


def _counted(plan: BuyPlan) -> str:
    told = f"Counted: {len(plan.counted)} ropes of the store." if plan.counted else ""
    if plan.not_counted:
        told += " Not counted: " + "; ".join(f"{rope} ({why})" for rope, why in plan.not_counted) + "."
    return terminal.paragraph(told.strip()) if told else ""


def as_mapping(plan: BuyPlan) -> dict[str, Any]:
    """The plan for machines."""
    told = dataclasses.asdict(plan)
    counted = [{"rope": rope, "counted_cm": cm, "leaves": leaves} for rope, cm, leaves in plan.counted]
    without = [{"rope": rope, "why": why} for rope, why in plan.not_counted]
    return told | {"net_pence": plan.net_pence, "gap": plan.gap, "counted": counted, "not_counted": without}
