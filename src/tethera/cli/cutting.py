"""How to cut a reel, at the terminal: cuts in order, what to letter on each, what is left."""

import argparse
import dataclasses
import json

from tethera.cli import places, terminal
from tethera.cli.buying_asked import lengths_of, shrinkage_of, step_cm
from tethera.cli.buying_words import SHRINKS, percent
from tethera.cli.errors import WrongInput
from tethera.cli.main import CANNOT, DONE
from tethera.cli.routes import CAUTION, store_if_any
from tethera.planning import CutDone, CutPlan, CutQuestion, ReelAtHand, how_to_cut
from tethera.rope import Shrinkage
from tethera.store import KindOfRope


def run(words: argparse.Namespace) -> int:
    """Cuts in order from the reel."""
    reels, shrinks = _reels(words)
    if not 50 <= words.confidence <= 99.9:
        raise WrongInput(f"--confidence: write 50 to 99.9 percent, not {words.confidence:g}.")
    question = CutQuestion(
        reels,
        lengths_of(words.wanted, "LENGTH"),
        words.habit,
        words.confidence / 100,
        step_cm(words),
        done=_done(words, reels[0].name),
    )
    plan = how_to_cut(question, shrinks)
    if words.json:
        told = dataclasses.asdict(plan) | {"becomes_cm": {reel.name: plan.pieces_cm(reel.name) for reel in reels}}
        print(json.dumps(told, indent=2, ensure_ascii=False))
    else:
        terminal.say(_in_words(plan, words.rope))
    return DONE if plan.found else CANNOT


def _reels(words: argparse.Namespace) -> tuple[tuple[ReelAtHand, ...], Shrinkage]:
    """Reels as typed, or a rope of the store with what is known of its kind."""
    damaged = lengths_of(words.damaged, "--damaged")
    if bool(words.reel) == bool(words.rope):
        raise WrongInput("Say what is to be cut: --reel 200m, or --rope NUMBER for a rope of the store.")
    if damaged and len(words.reel) > 1:
        raise WrongInput("--damaged: give one reel at a time, so that it is plain which is damaged.")
    if words.cut and len(words.reel) > 1:
        raise WrongInput("--cut: give one reel at a time, so that it is plain which was cut.")
    if words.rope:
        register = places.open_store(words.store).register
        rope = register.rope(words.rope, places.today())
        if rope.length_cm is None:
            raise WrongInput(f"{rope.id}: its length is not known. Measure it first.")
        soaked = words.soaked or (rope.washed and rope.known_by == "measured")
        shrinks = register.shrinkages().prediction(KindOfRope.of(rope))
        return (ReelAtHand(rope.id, rope.length_cm, damaged, soaked),), shrinks
    lengths = lengths_of(words.reel, "--reel")
    names = ["reel"] if len(lengths) == 1 else [f"reel {n + 1}" for n in range(len(lengths))]
    reels = tuple(ReelAtHand(name, cm, damaged, words.soaked) for name, cm in zip(names, lengths, strict=True))
    return reels, shrinkage_of(words, store_if_any(words.store))


def _done(words: argparse.Namespace, reel: str) -> tuple[CutDone, ...]:
    """Pieces cut already, in order from the outer end: 25m=22.6m, or 25m where it is not measured yet."""
    done: list[CutDone] = []
    for text in words.cut:
        cut, _, left = text.partition("=")
        (cut_cm,) = lengths_of([cut], "--cut")
        left_cm = lengths_of([left], "--cut")[0] if left else None
        until = (done[-1].until_cm if done else 0) + cut_cm
        done.append(CutDone(reel, until, cut_cm, left_cm))
    return tuple(done)


def _in_words(plan: CutPlan, rope: str | None) -> str:
    parts = [terminal.bold(_headline(plan))]
    if plan.met_cm:
        parts.append(f"Cut already: {' '.join(terminal.capsule(cm) for cm in plan.met_cm)}")
    if plan.holds is not None:
        parts.append(
            terminal.paragraph(
                f"All of them came out long enough in {percent(plan.holds)} of {plan.draws:,} draws of what a wash "
                f"leaves (asked for: {100 * plan.confidence:g} %)."
            )
        )
    if plan.steps:
        parts.append(_table(plan))
    rests = [
        f"– {each.reel}, {_at(each.from_cm)} to {_at(each.until_cm)}: "
        + (f"off-cut {terminal.capsule(each.length_cm)}, keep it" if each.kept else f"waste, {each.why}")
        for each in plan.rests
    ]
    parts.append("\n".join(rests))
    if plan.saves_cm:
        parts.append(
            terminal.paragraph(
                f"Wash and measure the first piece before you cut the others, and ask again with --cut: if it comes "
                f"out as half of such pieces do, the others take {terminal.capsule(plan.saves_cm)} less of the reel."
            )
        )
    parts += [terminal.paragraph(note) for note in plan.notes]
    if rope and plan.found:
        into = ",".join(f"{cm / 100:g}m" for cm in plan.pieces_cm(rope))
        parts.append(f"When it is cut:  tethera record cut {rope} into={into}")
    parts.append(terminal.paragraph(f"{SHRINKS} {CAUTION}"))
    return "\n\n".join(part for part in parts if part)


def _headline(plan: CutPlan) -> str:
    if plan.missing_cm:
        lengths = " ".join(terminal.capsule(cm) for cm in plan.missing_cm)
        return f"Not all of it comes out of this: {lengths} missing"
    if not plan.steps:
        return "All of it is cut"
    cuts = len(plan.steps)
    return f"{cuts} {'cut' if cuts == 1 else 'cuts'}, {terminal.capsule(plan.waste_cm)} of waste"


def _at(place_cm: int) -> str:
    return f"{place_cm / 100:.2f} m"


def _table(plan: CutPlan) -> str:
    rows = [
        (
            str(number), each.reel, _at(each.from_cm), _at(each.until_cm), terminal.capsule(each.cut_cm),
            terminal.capsule(each.typical_cm), terminal.capsule(each.wanted_cm), percent(each.confidence),
        )
        for number, each in enumerate(plan.steps, 1)
    ]  # fmt: skip
    head = ("Cut", "Of", "From", "To", "Length", "Likely left", "Wanted", "Sure")
    return terminal.table(head, rows, ("right", "left", "right", "right", "right", "right", "right", "right"))
