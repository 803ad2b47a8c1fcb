"""What to buy, at the terminal: the answer first, each rope with its reason and its own confidence under it."""

import argparse
import dataclasses
import json
import os
import re
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING, Any

from tethera.basics import read_date, read_length, show_metres
from tethera.cli import places, terminal
from tethera.cli.errors import WrongInput
from tethera.cli.main import CANNOT, DONE
from tethera.cli.routes import CAUTION, knots_of, load_known, store_if_any
from tethera.planning import (
    BuyPlan,
    BuyQuestion,
    BuyYear,
    NewRope,
    Offers,
    Reel,
    shares_of_years,
    what_to_buy,
    years_ahead,
)
from tethera.rope import prior_for
from tethera.store import KindOfRope, RopeState

if TYPE_CHECKING:
    from tethera.rope import Shrinkage

_MANY = re.compile(r"(?:(?P<count>\d{1,3})\s*[x×]\s*)?(?P<length>.+)")
SHRINKS = "What a wash leaves is foretold, not known: measure each rope before it is marked."


def run(words: argparse.Namespace) -> int:
    """Which lengths to buy, or what the next years cost."""
    question, offers = _question(words), _offers(words)
    store, knots = store_if_any(words.store), knots_of(words.store)
    today = places.today()
    ropes: tuple[RopeState, ...] = () if store is None else tuple(store.register.ropes(today))
    limit = None if store is None else store.register.store_rules().age_limit_years
    new = NewRope(shrinkage_of(words, store), words.diameter, words.type)
    ends = time.monotonic() + words.limit
    shared: dict[str, Any] = {
        "age_limit_years": limit, "knots": knots, "seconds": lambda: ends - time.monotonic(), "progress": _progress,
    }  # fmt: skip
    until = day_of(words.until, today)
    try:
        with _nothing_from_the_solver():
            if words.years is not None:
                years = years_ahead(question, offers, new, ropes, first_year=today.year, years=words.years, **shared)
            else:
                plan = what_to_buy(question, offers, new, ropes, until=until, **shared)
    finally:
        terminal.progress_done()
    if words.years is not None:
        return _tell_years(words, years)
    if words.json:
        print(json.dumps(as_mapping(plan), indent=2, ensure_ascii=False, default=str))
    else:
        terminal.say(in_words(plan))
    return DONE if plan.found else CANNOT


@contextmanager
def _nothing_from_the_solver() -> Iterator[None]:
    """The solver now and then prints a line of its own past Python: it must not stand in the answer."""
    sys.stdout.flush()
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def _question(words: argparse.Namespace) -> BuyQuestion:
    if words.confidence > 99.9 or words.confidence < 50:
        raise WrongInput(f"--confidence: write 50 to 99.9 percent, not {words.confidence:g}.")
    if not words.limit > 0:
        raise WrongInput(f"--limit: write seconds above 0, not {words.limit:g}.")
    store, knots = store_if_any(words.store), knots_of(words.store)
    return BuyQuestion(
        tuple(load_known(route, store, knots).route for route in words.routes),
        at_once=words.at_once,
        together=tuple(_together(each) for each in words.together),
        lengths_cm=lengths_of(words.lengths.split(",") if words.lengths else [], "--lengths"),
        spare=words.spare,
        confidence=words.confidence / 100,
        habit=words.habit,
        ceiling_pence=None if words.ceiling is None else pence(words.ceiling, "--ceiling"),
    )


def _together(text: str) -> tuple[int, ...]:
    parts = text.split("+")
    if not all(part.strip().isdecimal() and int(part) > 0 for part in parts):
        raise WrongInput(f"--together: “{text}” names no routes. Write their places on the line, as 1+3.")
    return tuple(int(part) - 1 for part in parts)


def _offers(words: argparse.Namespace) -> Offers:
    reels = tuple(_reel(each) for each in words.reel)
    per_metre = None if words.per_metre is None else pence(words.per_metre, "--per-metre")
    return Offers(reels, per_metre, step_cm(words))


def step_cm(words: argparse.Namespace) -> int:
    """The steps in which pieces are cut."""
    return 100 if words.step is None else lengths_of([words.step], "--step")[0]


def _reel(text: str) -> Reel:
    length, _, price = text.rpartition("@")
    match = _MANY.fullmatch(length.strip())
    if match is None:
        raise WrongInput(f"--reel: “{text}” is no reel with its price. Write 200m@310, or 2x100yd@140 for two of them.")
    (length_cm,) = lengths_of([match["length"]], "--reel")
    count = None if match["count"] is None else int(match["count"])
    return Reel(length_cm, pence(price, "--reel"), count, match["length"].strip())


def lengths_of(texts: list[str], where: str) -> tuple[int, ...]:
    """Lengths as typed, 2x45m for two of them [cm, a need rounded up]."""
    found: list[int] = []
    for text in texts:
        match = _MANY.fullmatch(text.strip())
        reading = read_length(match["length"] if match else text, where=where, need=where != "--reel")
        if match is None or reading.length_cm is None:
            raise WrongInput(str(reading.findings[0]) if reading.findings else f"{where}: “{text}” is no length.")
        found += [reading.length_cm] * int(match["count"] or 1)
    return tuple(found)


def pence(text: str, where: str) -> int:
    """Pounds as typed, in pence."""
    if not re.fullmatch(r"£?\s*\d{1,6}(?:[.,]\d{1,2})?", text.strip()):
        raise WrongInput(f"{where}: “{text}” cannot be read as pounds. Write 310, or 1.85.")
    return round(float(text.strip().removeprefix("£").replace(",", ".")) * 100)


def day_of(text: str | None, today: date) -> date:
    """A day as typed, else today."""
    if text is None:
        return today
    reading = read_date(text, where="--until")
    if reading.date is None:
        raise WrongInput(str(reading.findings[0]))
    return reading.date.latest


def shrinkage_of(words: argparse.Namespace, store: places.OpenStore | None) -> "Shrinkage":
    """What a wash leaves of the new rope: as the store has measured its kind, else as its fibre does."""
    if store is None:
        return prior_for(words.material)
    kind = KindOfRope((words.material or "").casefold(), words.diameter or 0.0, (words.type or "").casefold())
    return store.register.shrinkages().prediction(kind)


def _progress(stage: str, best: float | None, bound: float | None) -> None:
    so_far = "" if best is None else f", £{best:.0f} so far"
    terminal.progress(f"{stage}{so_far}   (Ctrl-C: take the best so far)")


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
    parts += _why(plan)
    parts += [_others(plan), _counted(plan), *(terminal.paragraph(note) for note in plan.notes)]
    parts.append(terminal.paragraph(f"{SHRINKS} {CAUTION}"))
    return "\n\n".join(part for part in parts if part)


def _headline(plan: BuyPlan) -> str:
    if plan.price_pence:
        ropes = len(plan.pieces)
        many = f"{ropes} new {'rope' if ropes == 1 else 'ropes'} for {pounds(plan.price_pence)}"
        return f"{many}, {plan.combinations} {'combination' if plan.combinations == 1 else 'combinations'} of routes"
    return "Nothing to buy" if plan.found else "No list makes all of it go"


def _pieces_table(pieces: Any) -> str:
    rows = [
        (
            terminal.capsule(each.cut_cm), terminal.capsule(each.counted_cm), terminal.capsule(each.needed_cm or None),
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


def _tell_years(words: argparse.Namespace, told: tuple[BuyYear, ...]) -> int:
    done = DONE if all(year.plan.found for year in told) else CANNOT
    total, shares = sum(year.plan.price_pence for year in told), shares_of_years(told)
    if words.json:
        answer = {"price_pence": total, "years": [_year_mapping(year) for year in told]}
        answer |= {"by_route": [dataclasses.asdict(each) for each in shares]}
        print(json.dumps(answer, indent=2, ensure_ascii=False, default=str))
        return done
    terminal.say(terminal.bold(f"{pounds(total)} from {told[0].year} to {told[-1].year}") + "\n")
    rows = [
        (
            str(year.year), terminal.capsule(year.leaving_cm), str(len(year.leaving)),
            pounds(year.plan.price_pence), pounds(year.like_for_like_pence),
            ", ".join(show_metres(piece.cut_cm) for piece in year.plan.pieces) or "nothing",
        )
        for year in told
    ]  # fmt: skip
    head = ("Year", "Leave", "Ropes", "Costs", "Rope for rope", "To cut [m]")
    terminal.say(terminal.table(head, rows, ("right", "right", "right", "right", "right", "left")))
    if total:
        bears = [(each.route, pounds(each.share_pence)) for each in shares if each.share_pence]
        terminal.say("\n" + terminal.table(("Route", "Bears"), bears, ("left", "right")))
    for sentence in dict.fromkeys(unmet for year in told for unmet in year.plan.unmet):
        terminal.say("\n" + terminal.paragraph(sentence))
    terminal.say("\n" + terminal.paragraph(f"{SHRINKS} Prices are today's. {CAUTION}"))
    return done


def _year_mapping(year: BuyYear) -> dict[str, Any]:
    return {
        "year": year.year,
        "leaving": [dataclasses.asdict(each) for each in year.leaving],
        "leaving_cm": year.leaving_cm,
        "like_for_like_pence": year.like_for_like_pence,
        "plan": as_mapping(year.plan),
    }
