"""How to cut it: cut long and soak, or soak the whole reel, measure, and cut; planned anew after each measured piece.

    plan = cut(CutQuestion((ReelAtHand("reel", 20_000),), (4000, 4000, 5500)), shrinkage)
    plan = cut(replace(question, done=(CutDone("reel", 4600, 4600, left_cm=4110),)), shrinkage)

One confidence per piece is searched so that all of them come out long enough with the confidence asked for; a measured
piece sharpens what is expected of the others, so less need be cut for them.
"""

import itertools
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, Protocol

import numpy as np

from tethera.basics import label_m, measured_cm, show_metres
from tethera.planning.buy_chance import CHOOSING, REPORTING, TOP, Shrinks, rung
from tethera.planning.buy_question import rule_figure
from tethera.planning.cut_plan import CutDone, CutPlan, CutQuestion, CutStep, ReelAtHand, Rest, cut_faults
from tethera.planning.cut_stretches import Laid, lay_out
from tethera.planning.margins import z_of
from tethera.planning.plan import Budget, no_limit

_RUNGS = 32
Status = Literal["optimal", "feasible", "impossible"]


class LearningShrinks(Shrinks, Protocol):
    """What a wash leaves, which measured ropes sharpen (as `rope.Shrinkage`)."""

    def after(self, shares_left: Sequence[float]) -> "LearningShrinks":
        """The same, once these were measured."""

    def chance_below(self, share_left: Any) -> Any:
        """How likely one more rope has less left than this share."""


@dataclass(frozen=True)
class _Stretch:
    """A sound part of a reel that is still on it."""

    reel: ReelAtHand
    from_cm: int
    until_cm: int


def cut(question: CutQuestion, shrinks: LearningShrinks, *, seconds: Budget = no_limit) -> CutPlan:
    """Cuts in order with marks, off-cuts, waste and how sure they are; `missing_cm` where the reels are short."""
    shares = [done.left_cm / done.cut_cm for done in question.done if done.left_cm is not None]
    known = shrinks.after(shares) if shares else shrinks
    wanted, met = _still_wanted(question)
    if not wanted:
        return _nothing_more(question, met)
    chosen = _searched(question, wanted, known, seconds)
    plan = _told(chosen, known, met)
    if _shrinks_later(question) and len(plan.steps) > 1:
        plan = replace(plan, saves_cm=_saved_by_measuring(question, wanted, known, plan))
    wrong = cut_faults(chosen.question, plan)
    if wrong:
        raise RuntimeError(f"a plan to cut failed its check: {'; '.join(wrong)}")
    return plan


def _still_wanted(question: CutQuestion) -> tuple[list[int], list[int]]:
    """Lengths not yet cut, and those that are met: a measured piece meets the longest wanted length it has.

    A piece that is cut but not measured yet stands for the longest wanted length that is no longer than itself.
    """
    wanted, met = sorted(question.wanted_cm, reverse=True), []
    for done in sorted(question.done, key=lambda each: -(each.left_cm or each.cut_cm)):
        has = done.cut_cm if done.left_cm is None else done.left_cm
        reached = next((length for length in wanted if length <= has), None)
        if reached is not None:
            wanted.remove(reached)
            met.append(reached)
    return wanted, met


def _shrinks_later(question: CutQuestion) -> bool:
    """Whether pieces are cut before they lose length."""
    return question.habit == "cut-then-soak" and not question.reels[0].soaked


def _once_soaked(question: CutQuestion, share: float) -> CutQuestion:
    """The question as it stands when reels that are soaked whole have this share left, damaged places moved along."""
    if question.habit != "soak-then-cut" or question.reels[0].soaked:
        return question
    reels = tuple(
        replace(
            reel,
            length_cm=measured_cm(reel.length_cm / 100 * share),
            damaged_cm=tuple(measured_cm(place / 100 * share) for place in reel.damaged_cm),
        )
        for reel in question.reels
    )
    return replace(question, reels=reels)


def _stretches(question: CutQuestion) -> list[_Stretch]:
    """What is still to be cut, past the last cut and between damaged places."""
    from tethera.store import sound_stretches

    found = []
    for reel in question.reels:
        start = max([0, *(done.until_cm for done in question.done if done.reel == reel.name)])
        for begin, end in sound_stretches(reel.length_cm, reel.damaged_cm):
            begin = max(begin, start)
            if end > begin:
                found.append(_Stretch(reel, begin, end))
    return found


@dataclass(frozen=True)
class _Chosen:
    """The cuts at one confidence per piece, and how sure they are together; `question` with its reels as soaked."""

    question: CutQuestion
    number: int
    share: float
    stretches: tuple[_Stretch, ...]
    laid: Laid
    wanted_of: dict[int, list[int]]
    holds: float | None


def _at(question: CutQuestion, wanted: Sequence[int], known: LearningShrinks, number: int, seconds: Budget) -> _Chosen:
    share = float(known.share_left(rung(number)))
    question = _once_soaked(question, share)
    stretches = _stretches(question)
    dry = share if _shrinks_later(question) else 1.0
    lengths = {need: _off_the_reel(need, question.step_cm, dry) for need in set(wanted)}
    pieces = [lengths[need] for need in wanted]
    keep_from = question.off_cut_from_cm or min(lengths.values())
    laid = lay_out([each.until_cm - each.from_cm for each in stretches], pieces, keep_from, seconds)
    wanted_of: dict[int, list[int]] = {}
    for need, length in zip(wanted, pieces, strict=True):
        wanted_of.setdefault(length, []).append(need)
    for needs in wanted_of.values():
        needs.sort(reverse=True)
    chosen = _Chosen(question, number, share, tuple(stretches), laid, wanted_of, None)
    return replace(chosen, holds=_holds(chosen, known, CHOOSING))


def _off_the_reel(need_cm: int, step_cm: int, share: float) -> int:
    """What to cut so that at this share the need is left, in whole steps, rounded up."""
    length = math.ceil(need_cm / share / step_cm - 1e-9) * step_cm
    while measured_cm(length / 100 * share) < need_cm:
        length += step_cm
    return length


def _holds(chosen: _Chosen, known: Shrinks, seed: int) -> float | None:
    """How often every piece that is cut has its length, in draws; None where nothing more can shrink."""
    draws = round(rule_figure("draws"))
    if chosen.question.reels[0].soaked:
        return None
    if chosen.question.habit == "soak-then-cut":
        used = [
            ((each.until_cm - each.from_cm) / chosen.share, sum(cuts))
            for each, cuts in zip(chosen.stretches, chosen.laid.cuts, strict=True)
            if cuts
        ]
        # Each stretch is taken for a rope of its own: of one reel they are more alike, and the plan then surer.
        needs = np.array([cuts for _, cuts in used], float)
        lengths = np.array([length for length, _ in used], float)
    else:
        loose = [length for cuts in chosen.laid.cuts for length in cuts]
        need_of = {length: list(needs) for length, needs in chosen.wanted_of.items()}
        needs = np.array([need_of[length].pop(0) for length in loose], float)
        lengths = np.array(loose, float)
    if not len(lengths):
        return None
    shares = np.asarray(known.draws(draws, len(lengths), seed))
    return float((np.floor(lengths * shares + 1e-9) >= needs).all(axis=1).mean())


def _searched(question: CutQuestion, wanted: Sequence[int], known: LearningShrinks, seconds: Budget) -> _Chosen:
    """The lowest rung whose cuts hold together; where those do not fit on the reels, the surest that do."""
    error = (question.confidence * (1 - question.confidence) / rule_figure("draws")) ** 0.5
    low, high, tried = -1, _RUNGS, {}
    while high - low > 1:
        middle = (low + high) // 2
        tried[middle] = found = _at(question, wanted, known, middle, seconds)
        if found.laid.missing:
            # More would not fit either: sure enough or not, less has to do.
            high = middle
        elif found.holds is None or found.holds >= min(question.confidence + 2 * error, 1.0):
            high = middle
        else:
            low = middle
    best = tried.get(high) or _at(question, wanted, known, high, seconds)
    if best.laid.missing and low >= 0 and not tried[low].laid.missing:
        return _lengthened(tried[low], known)
    if best.laid.missing:
        # Not even half of the confidence fits: what fits is told at the confidence asked for.
        return _at(question, wanted, known, math.ceil(z_of(question.confidence) * _RUNGS / TOP), seconds)
    return best


def _lengthened(chosen: _Chosen, known: LearningShrinks) -> _Chosen:
    """The same cuts, the least sure of each stretch longer while there is rope beside it that no wanted length fits.

    Until each piece is as sure as makes all of them together as sure as was asked for.
    """
    question = chosen.question
    if not _shrinks_later(question):
        return chosen
    count = sum(len(each) for each in chosen.laid.cuts)
    enough = float(known.share_left(min(1 - (1 - question.confidence) / max(count, 1), rung(_RUNGS))))
    need_of = {length: list(needs) for length, needs in chosen.wanted_of.items()}
    cuts: list[tuple[int, ...]] = []
    wanted_of: dict[int, list[int]] = {}
    for stretch, lengths in zip(chosen.stretches, chosen.laid.cuts, strict=True):
        pieces = [[length, need_of[length].pop(0)] for length in lengths]
        room = stretch.until_cm - stretch.from_cm - sum(lengths)
        while pieces and room >= question.step_cm:
            least = max(pieces, key=lambda piece: piece[1] / piece[0])
            if least[1] / least[0] <= enough:
                break
            least[0] += question.step_cm
            room -= question.step_cm
        for length, need in pieces:
            wanted_of.setdefault(length, []).append(need)
        cuts.append(tuple(length for length, _need in pieces))
    for needs in wanted_of.values():
        needs.sort(reverse=True)
    longer = replace(chosen, laid=replace(chosen.laid, cuts=tuple(cuts)), wanted_of=wanted_of)
    return replace(longer, holds=_holds(longer, known, CHOOSING))


def _told(chosen: _Chosen, known: LearningShrinks, met: Sequence[int]) -> CutPlan:
    question = chosen.question
    need_of = {length: list(needs) for length, needs in chosen.wanted_of.items()}
    missing = tuple(need_of[length].pop() for length in chosen.laid.missing)
    steps: list[CutStep] = []
    keep_from = question.off_cut_from_cm or min(chosen.wanted_of)
    for stretch, cuts in zip(chosen.stretches, chosen.laid.cuts, strict=True):
        at = stretch.from_cm
        for length in _in_order(question, stretch, cuts, first=not any(s.reel == stretch.reel.name for s in steps)):
            need = need_of[length].pop(0)
            alone = not any(step.reel == stretch.reel.name for step in steps)
            steps.append(_step(question, stretch, at, length, need, known, chosen.share, first=alone))
            at += length
    rests = _rests(question, steps, keep_from)
    holds = _holds(chosen, known, REPORTING)
    notes = _notes(question, chosen, holds)
    status: Status = "impossible" if missing else "optimal" if chosen.laid.proven else "feasible"
    return CutPlan(
        status, question.habit, tuple(steps), tuple(rests), missing,
        sum(each.length_cm for each in rests if not each.kept), question.confidence, holds,
        round(rule_figure("draws")) if holds is not None else 0, rung(chosen.number), 0, tuple(met), notes,
    )  # fmt: skip


def _in_order(question: CutQuestion, stretch: _Stretch, cuts: Sequence[int], *, first: bool) -> list[int]:
    """Longest first, so that a reel that is shorter than its label takes from the off-cut and not from a rope.

    Of a reel whose pieces are soaked later, the shortest comes before all: it is washed and measured first, and if it
    tells of more loss than expected, the least is lost.
    """
    order = sorted(cuts, reverse=True)
    learns = _shrinks_later(question) and not any(done.reel == stretch.reel.name for done in question.done)
    return [order[-1], *order[:-1]] if learns and first and len(order) > 1 else order


def _step(
    question: CutQuestion,
    stretch: _Stretch,
    at: int,
    length: int,
    need: int,
    known: LearningShrinks,
    share: float,
    *,
    first: bool,
) -> CutStep:
    dry = stretch.reel.soaked or question.habit == "soak-then-cut"
    counted = length if dry else measured_cm(length / 100 * share)
    typical = length if dry else measured_cm(length / 100 * float(known.share_left(0.5)))
    sure = 1.0 if dry else 1.0 - float(known.chance_below(min(max(need / length, 0.01), 2.0)))
    words = "soaked" if dry else "not washed"
    mark = f"{show_metres(length)} m, {words}"
    return CutStep(
        stretch.reel.name, at, at + length, need, counted, typical, sure, mark, label_m(max(need, 100)), first
    )


def _rests(question: CutQuestion, steps: Sequence[CutStep], keep_from: int) -> list[Rest]:
    """What is left between cuts and damaged places, reel by reel to its end."""
    from tethera.store import sound_stretches

    found = []
    for reel in question.reels:
        at = max([0, *(done.until_cm for done in question.done if done.reel == reel.name)])
        sound = sound_stretches(reel.length_cm, reel.damaged_cm)
        taken = sorted((each.from_cm, each.until_cm) for each in steps if each.reel == reel.name)
        edges = sorted({at, reel.length_cm, *(cm for pair in (*sound, *taken) for cm in pair if cm > at)})
        for begin, end in itertools.pairwise(edges):
            if (begin, end) in taken or any(a <= begin and end <= b for a, b in taken):
                continue
            whole = any(a <= begin and end <= b for a, b in sound)
            kept = whole and end - begin >= keep_from
            why = "" if kept else "too short for what is wanted" if whole else "damaged"
            found.append(Rest(reel.name, begin, end, kept, why))
    return found


def _notes(question: CutQuestion, chosen: _Chosen, holds: float | None) -> tuple[str, ...]:
    notes = []
    if holds is not None and holds < question.confidence:
        notes.append(
            f"These reels give the lengths with {100 * holds:.0f} % confidence, not with "
            f"{100 * question.confidence:g} %: cut for more, and not all of them fit."
        )
    if question.habit == "soak-then-cut" and not all(reel.soaked for reel in question.reels):
        notes.append(
            f"Soak, dry and measure the whole reel first; {100 * chosen.share:.1f} % of it is counted on. Then ask "
            "again with the measured length."
        )
    return tuple(notes)


def _saved_by_measuring(question: CutQuestion, wanted: Sequence[int], known: LearningShrinks, plan: CutPlan) -> int:
    """What is cut less for the other pieces when the first is measured and has what half of them have."""
    first, others = plan.steps[0], plan.steps[1:]
    after = known.after([float(known.share_left(0.5))])
    share = float(after.share_left(plan.per_rope))
    rest = list((Counter(wanted) - Counter([first.wanted_cm])).elements())
    return max(0, sum(s.cut_cm for s in others) - sum(_off_the_reel(need, question.step_cm, share) for need in rest))


def _nothing_more(question: CutQuestion, met: Sequence[int]) -> CutPlan:
    """Every wanted length is cut; what is left of the reels is off-cut."""
    keep_from = question.off_cut_from_cm or min(question.wanted_cm)
    rests = tuple(_rests(question, [], keep_from))
    waste = sum(each.length_cm for each in rests if not each.kept)
    return CutPlan("optimal", question.habit, (), rests, (), waste, question.confidence, met_cm=tuple(met))


__all__ = ["CutDone", "CutPlan", "CutQuestion", "CutStep", "LearningShrinks", "ReelAtHand", "Rest", "cut"]
