"""What is typed after `tethera buy` and `tethera cut`, made into lengths, pence, reels and a question."""

import argparse
import re
from datetime import date
from typing import TYPE_CHECKING

from tethera.basics import read_date, read_length
from tethera.cli import places
from tethera.cli.errors import WrongInput
from tethera.cli.routes import knots_of, load_known, store_if_any
from tethera.planning import BuyQuestion, Offers, Reel
from tethera.rope import prior_for
from tethera.store import KindOfRope

if TYPE_CHECKING:
    from tethera.rope import Shrinkage

_MANY = re.compile(r"(?:(?P<count>\d{1,3})\s*[x×]\s*)?(?P<length>.+)")


def question(words: argparse.Namespace) -> BuyQuestion:
    """What is asked for; WrongInput where it cannot be meant."""
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


def offers(words: argparse.Namespace) -> Offers:
    """Reels on offer and the price of a metre."""
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
