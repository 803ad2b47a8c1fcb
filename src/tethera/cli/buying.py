"""What to buy, at the terminal, and what the next years cost."""

import argparse
import dataclasses
import json
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from tethera.basics import show_metres
from tethera.cli import buying_asked, places, terminal
from tethera.cli.buying_words import SHRINKS, as_mapping, in_words, pounds
from tethera.cli.main import CANNOT, DONE
from tethera.cli.routes import CAUTION, knots_of, store_if_any
from tethera.planning import BuyYear, NewRope, shares_of_years, what_to_buy, years_ahead
from tethera.store import RopeState


def run(words: argparse.Namespace) -> int:
    """Which lengths to buy, or what the next years cost."""
    question, offers = buying_asked.question(words), buying_asked.offers(words)
    store, knots = store_if_any(words.store), knots_of(words.store)
    today = places.today()
    ropes: tuple[RopeState, ...] = () if store is None else tuple(store.register.ropes(today))
    limit = None if store is None else store.register.store_rules().age_limit_years
    new = NewRope(buying_asked.shrinkage_of(words, store), words.diameter, words.type)
    ends = time.monotonic() + words.limit
    shared: dict[str, Any] = {
        "age_limit_years": limit, "knots": knots, "seconds": lambda: ends - time.monotonic(), "progress": _progress,
    }  # fmt: skip
    until = buying_asked.day_of(words.until, today)
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


def _progress(stage: str, best: float | None, bound: float | None) -> None:
    so_far = "" if best is None else f", £{best:.0f} so far"
    terminal.progress(f"{stage}{so_far}   (Ctrl-C: take the best so far)")


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
