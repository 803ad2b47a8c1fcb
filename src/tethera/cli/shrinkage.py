"""Shrinkage at the terminal: what each kind of rope loses in its first washes."""

import argparse
import json
from typing import Any

from tethera.basics import measured_cm
from tethera.cli import places, terminal
from tethera.cli.errors import WrongInput
from tethera.cli.main import DONE
from tethera.cli.rope_asked import metres, reasons
from tethera.rope import SHRINKAGE_CAUTIONS, Shrinkage, length_left_m, share_left_in_use, shrinkage_rests_on
from tethera.store import KindOfRope, KindTold, Known

_REEL_M = 100.0


def tell(words: argparse.Namespace) -> int:
    """What each kind of the store's ropes loses in its first washes."""
    reel = metres(words.reel, "--reel", _REEL_M)
    if not 0.1 <= reel <= 2000:
        raise WrongInput(f"--reel: a length of 0.1 to 2,000 m, not {reel:g} m.")
    known = places.open_store(words.store).register.shrinkages()
    kinds = kinds_asked(words, known)
    if words.json:
        answer = {
            "kinds": [_kind_mapping(each, reel) for each in kinds],
            "left_out": [{"rope": rope, "why": why} for rope, why in known.left_out],
            "in_use": [
                {"rope": e.rope, "first_cm": e.first_cm, "last_cm": e.last_cm, "used_days": e.days}
                for e in known.in_use
            ],
            "cautions": SHRINKAGE_CAUTIONS,
        }
        print(json.dumps(answer, indent=2, ensure_ascii=False))
        return DONE
    shown = terminal.capsule(measured_cm(reel))
    terminal.say(terminal.bold("Lost in the first washes, by kind") + " (9 ropes in 10 within the band)\n")
    rows = [(*_loss(each.prediction), *_gives(each, reel), str(each.prediction.ropes), each.name) for each in kinds]
    head = ("Likely", "Band", f"{shown} gives", "at least", "Ropes", "Kind")
    terminal.say(terminal.table(head, rows, ("right", "right", "right", "right", "right", "left")))
    for each in kinds:
        _say_measured(each)
    _say_rest(known)
    if len(kinds) == 1:
        told = kinds[0]
        terminal.say("\n" + reasons(shrinkage_rests_on(told.kind.material, told.prediction, kinds=told.kinds), ()))
    terminal.say("\n" + "\n".join(terminal.paragraph(each) for each in SHRINKAGE_CAUTIONS))
    return DONE


def kinds_asked(words: argparse.Namespace, known: Known) -> tuple[KindTold, ...]:
    """The kinds whose names have all the words, or the kind of one rope."""
    if words.rope:
        register = places.open_store(words.store).register
        return (known.told(KindOfRope.of(register.rope(words.rope, places.today()))),)
    told = known.all_told()
    wanted = (words.kind or "").casefold().replace(" ", "")
    found = tuple(each for each in told if wanted in each.name.casefold().replace(" ", ""))
    if not found:
        names = "; ".join(each.name for each in told) or "none yet"
        raise WrongInput(f"--kind: no rope of the store is “{words.kind or ''}”. It has: {names}.")
    return found


def _loss(told: Shrinkage) -> tuple[str, str]:
    high, low = (100 * (1 - float(each)) for each in told.quantile([0.05, 0.95]))
    return f"{100 * (1 - told.typical):.1f} %", f"{low:.1f} to {high:.1f} %"


def _gives(told: KindTold, reel_m: float) -> tuple[str, str]:
    band = length_left_m(reel_m, told.prediction)
    return terminal.capsule(measured_cm(float(band.likely))), terminal.capsule(measured_cm(float(band.low)))


def _say_measured(told: KindTold) -> None:
    if not told.measured:
        return
    terminal.say("\n" + terminal.bold(told.name))
    before = "Before its own ropes were measured:"
    likely, band = _loss(told.prior)
    terminal.say(f"{before} {likely} likely, {band}.")
    rows = [
        (
            each.rope,
            terminal.capsule(each.before_cm),
            terminal.capsule(each.after_cm),
            f"{100 * (1 - each.share_left):.1f} %",
            {"bought": "label", "cut": "as cut", "measured": "counted"}[each.before_by],
        )
        for each in told.measured
    ]
    head = ("Rope", "Before", "After", "Lost", "Before by")
    terminal.say(terminal.table(head, rows, ("left", "right", "right", "right", "left")))


def _say_rest(known: Known) -> None:
    for rope, why in known.left_out:
        terminal.say(f"\n? {rope} is not counted: {why}.")
    if known.in_use:
        lost = sorted(1 - each.last_cm / each.first_cm for each in known.in_use)
        days = sorted(each.days for each in known.in_use)
        count, middle = len(lost), len(lost) // 2
        ropes = "1 rope" if count == 1 else f"{count} ropes"
        reckoned = 100 * (1 - float(share_left_in_use(0.5, days[middle])))
        terminal.say(
            f"\nIn use {ropes} lost {100 * lost[middle]:.1f} % more in {days[middle]} days of use, the middle of each;"
        )
        terminal.say(f"buy-length --uses reckons with {reckoned:.1f} % for so many.")


def _kind_mapping(told: KindTold, reel_m: float) -> dict[str, Any]:
    band = length_left_m(reel_m, told.prediction)
    return {
        "kind": told.name,
        "measured_ropes": told.prediction.ropes,
        **_percents("prior", told.prior),
        **_percents("prediction", told.prediction),
        "reel_cm": measured_cm(reel_m),
        "left_least_cm": measured_cm(float(band.low)),
        "left_likely_cm": measured_cm(float(band.likely)),
        "left_most_cm": measured_cm(float(band.high)),
        "measured": [
            {
                "rope": each.rope,
                "before_cm": each.before_cm,
                "before_by": each.before_by,
                "after_cm": each.after_cm,
                "loses_percent": round(100 * (1 - each.share_left), 2),
            }
            for each in told.measured
        ],
        "assumptions": shrinkage_rests_on(told.kind.material, told.prediction, kinds=told.kinds),
    }


def _percents(name: str, told: Shrinkage) -> dict[str, float]:
    most, likely, least = (100 * (1 - float(each)) for each in told.quantile([0.05, 0.5, 0.95]))
    return {
        f"{name}_least_percent": round(least, 2),
        f"{name}_likely_percent": round(likely, 2),
        f"{name}_most_percent": round(most, 2),
    }
