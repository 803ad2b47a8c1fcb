"""How long to buy rope, at the terminal: the answer first, what else to know under it."""

import argparse
import json
import math
from dataclasses import dataclass
from typing import Any

from tethera.basics import measured_cm, need_cm, read_length
from tethera.cli import places, terminal
from tethera.cli.errors import WrongInput
from tethera.cli.main import DONE
from tethera.cli.rope_asked import reasons
from tethera.cli.shrinkage import kinds_asked
from tethera.rope import (
    SHRINKAGE_CAUTIONS,
    Band,
    Foreseen,
    Shrinkage,
    foresee,
    length_left_m,
    length_to_buy_m,
    share_left_in_use,
    shrinkage_rests_on,
)
from tethera.store import KindOfRope, KindTold, Known

_NO_STORE = Known({}, {}, (), ())
_OTHER_CONFIDENCES = (80.0, 90.0, 95.0, 99.0)


@dataclass(frozen=True)
class _Answer:
    """What to buy for so much to be left [cm], what is then left after the first washes [m], and what else there is."""

    told: KindTold
    left_cm: int
    uses: float
    buy_cm: int
    band: Band
    others: dict[float, int]
    foreseen: Foreseen
    rests_on: tuple[str, ...]


def run(words: argparse.Namespace) -> int:
    """How long to buy rope so that enough is left."""
    left, uses = _asked(words)
    if words.washed:
        return _washed(words, left, uses or math.inf)
    found = _answer(words, left, uses)
    if words.json:
        print(json.dumps(_as_mapping(words, found), indent=2, ensure_ascii=False))
    else:
        _say(words, found)
    return DONE


def _asked(words: argparse.Namespace) -> tuple[float, float]:
    """The length wanted [m] and the uses after which it is wanted, once all that was typed can be meant."""
    reading = read_length(words.left, where="LENGTH", need=True)
    if reading.length_cm is None:
        raise WrongInput(str(reading.findings[0]))
    left = reading.length_cm / 100
    if not 0.1 <= left <= 2000:
        raise WrongInput(f"LENGTH: 0.1 to 2,000 m are to be left, not {left:g} m.")
    if not 50 <= words.confidence <= 99.9:
        raise WrongInput(f"--confidence: 50 to 99.9 %, not {words.confidence:g} %.")
    if not 1 <= words.ropes <= 1000:
        raise WrongInput(f"--ropes: 1 to 1,000 ropes, not {words.ropes}.")
    if words.uses is not None and not 0 <= words.uses <= 100_000:
        raise WrongInput(f"--uses: 0 to 100,000, not {words.uses:g}.")
    if words.uses is not None and words.for_life:
        raise WrongInput("--uses: a number of uses or --for-life, not both.")
    return left, math.inf if words.for_life else words.uses or 0.0


def _answer(words: argparse.Namespace, left: float, uses: float) -> _Answer:
    told, sure = _one_kind(words), words.confidence / 100

    def to_buy_cm(level: float) -> int:
        return need_cm(float(length_to_buy_m(left, level, told.prediction, ropes=words.ropes, uses=uses)))

    buy_cm = to_buy_cm(sure)
    return _Answer(
        told,
        need_cm(left),
        uses,
        buy_cm,
        length_left_m(buy_cm / 100, told.prediction),
        {each: to_buy_cm(each / 100) for each in _OTHER_CONFIDENCES},
        foresee(left, sure, told.prediction),
        shrinkage_rests_on(told.kind.material, told.prediction, kinds=told.kinds, ropes=words.ropes, uses=uses),
    )


def _as_mapping(words: argparse.Namespace, found: _Answer) -> dict[str, Any]:
    foreseen = found.foreseen
    return {
        "kind": found.told.name,
        "measured_ropes": found.told.prediction.ropes,
        "left_cm": found.left_cm,
        "confidence_percent": words.confidence,
        "ropes": words.ropes,
        "uses": None if math.isinf(found.uses) else found.uses,
        "buy_cm": found.buy_cm,
        "left_least_cm": measured_cm(float(found.band.low)),
        "left_likely_cm": measured_cm(float(found.band.likely)),
        "left_most_cm": measured_cm(float(found.band.high)),
        "other_confidences": [{"confidence_percent": each, "buy_cm": cm} for each, cm in found.others.items()],
        "if_one_is_measured": [
            {"loses_percent": round(100 * loss, 1), "buy_cm": need_cm(then)}
            for loss, then in zip(foreseen.losses, foreseen.then_m, strict=True)
        ],
        "chance_less": round(foreseen.chance_less, 3),
        "assumptions": found.rests_on,
        "cautions": SHRINKAGE_CAUTIONS,
    }


def _say(words: argparse.Namespace, found: _Answer) -> None:
    each = "" if words.ropes == 1 else f" each, {words.ropes} ropes,"
    answer = f"Buy {terminal.capsule(found.buy_cm)}{each} so that {terminal.capsule(found.left_cm)} are left"
    terminal.say(terminal.bold(f"{answer} {_when(found.uses)}"))
    name = found.told.name
    terminal.say(f"with {words.confidence:g} % confidence. {name[0].upper()}{name[1:]}.")
    if not found.uses:
        band = found.band
        low, likely, high = (terminal.capsule(measured_cm(float(e))) for e in (band.low, band.likely, band.high))
        terminal.say(f"Likely {likely} are left, 9 ropes in 10 {low} to {high}.")
    rows = [(f"{each:g} %", terminal.capsule(cm)) for each, cm in found.others.items()]
    terminal.say("\n" + terminal.table(("How sure", "Buy"), rows, ("right", "right")))
    if not found.uses and words.ropes == 1:
        terminal.say("\nMeasure one rope of it before and after its first washes, and then buy")
        for loss, then in zip(found.foreseen.losses, found.foreseen.then_m, strict=True):
            terminal.say(f"  {terminal.capsule(need_cm(then)):>10} if it loses {100 * loss:.0f} %")
        terminal.say(f"  That is less than now in {100 * found.foreseen.chance_less:.0f} cases of 100.")
    terminal.say("\n" + reasons(found.rests_on, SHRINKAGE_CAUTIONS))


def _when(uses: float) -> str:
    return "for life" if math.isinf(uses) else f"after {uses:g} uses" if uses else "after the first washes"


def _washed(words: argparse.Namespace, left: float, uses: float) -> int:
    """A rope that was washed and counted loses only in use."""
    share = float(share_left_in_use(words.confidence / 100, uses))
    has_cm = need_cm(left / share)
    rests = shrinkage_rests_on(None, Shrinkage(0.0, 0.0, 0.01, 1.0), uses=uses)[-1:]
    if words.json:
        answer = {
            "left_cm": need_cm(left),
            "confidence_percent": words.confidence,
            "uses": None if math.isinf(uses) else uses,
            "measured_cm": has_cm,
            "assumptions": rests,
            "cautions": SHRINKAGE_CAUTIONS,
        }
        print(json.dumps(answer, indent=2, ensure_ascii=False))
        return DONE
    capsule = terminal.capsule(has_cm)
    terminal.say(terminal.bold(f"Washed and counted, it must have {capsule} so that {terminal.capsule(need_cm(left))}"))
    sure = f"with {words.confidence:g} % confidence"
    terminal.say(f"are left {_when(uses)}, {sure}: mark {math.floor(100 * share)} % of what was counted.")
    terminal.say("\n" + reasons(rests, SHRINKAGE_CAUTIONS))
    return DONE


def _one_kind(words: argparse.Namespace) -> KindTold:
    if (words.kind or words.rope) and words.material:
        raise WrongInput("--material: a kind or a rope of the store has its own. Leave one out.")
    if words.kind or words.rope:
        known = places.open_store(words.store).register.shrinkages()
        found = kinds_asked(words, known)
        if len(found) > 1:
            names = "; ".join(each.name for each in found)
            raise WrongInput(f"--kind: “{words.kind}” could be several. Write more of one of: {names}.")
        return found[0]
    known = _NO_STORE
    if words.store or places.has_store(words.store):
        known = places.open_store(words.store).register.shrinkages()
    material = words.material or "nylon"
    told = known.predictions(material)
    name = f"a rope of {material} of which this store has measured none"
    kind = KindOfRope(material=material)
    return KindTold(kind, name, (), told.other, told.other, len(told.kinds) if told.pooled else 0)
