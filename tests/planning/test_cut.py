"""How reels at hand are cut: to the centimetre, around damage, planned anew once a piece has shown its loss."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tethera.planning.cut import cut
from tethera.planning.cut_plan import CutDone, CutQuestion, ReelAtHand, cut_faults
from tethera.planning.cut_stretches import lay_out
from tethera.planning.plan import no_limit
from tethera.rope import Shrinkage, prior_for
from tethera.store import Cutting

NYLON = prior_for("nylon")
ONE = CutQuestion((ReelAtHand("reel", 20_000),), (4000, 4000, 5500, 2000))


def laid_by_trying(rooms: tuple[int, ...], pieces: tuple[int, ...], keep_from: int) -> tuple[int, int]:
    """Least missing, then least of waste and 50 cm for each stretch begun, over every way to place each piece."""
    best = None
    for places in itertools.product(range(len(rooms) + 1), repeat=len(pieces)):
        rest, missing = list(rooms), 0
        for piece, place in zip(pieces, places, strict=True):
            if place == len(rooms):
                missing += piece
            else:
                rest[place] -= piece
        if min(rest) < 0:
            continue
        waste = sum(each for each in rest if each < keep_from) + 50 * len(set(places) - {len(rooms)})
        best = min(best or (missing, waste), (missing, waste))
    assert best is not None
    return best


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(3, 30), min_size=1, max_size=3).map(lambda rooms: tuple(100 * r for r in rooms)),
    st.lists(st.integers(2, 12), min_size=1, max_size=5).map(lambda pieces: tuple(100 * p for p in pieces)),
)
def test_pieces_are_laid_as_well_as_trying_everything_finds(rooms: tuple[int, ...], pieces: tuple[int, ...]) -> None:
    """Fewest centimetres missing, then least waste."""
    keep_from = min(pieces)
    laid = lay_out(rooms, pieces, keep_from, no_limit)
    assert laid.proven
    rest = [room - sum(cuts) for room, cuts in zip(rooms, laid.cuts, strict=True)]
    waste = sum(each for each in rest if each < keep_from) + 50 * sum(map(bool, laid.cuts))
    assert (sum(laid.missing), waste) == laid_by_trying(rooms, pieces, keep_from)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(1000, 20_000), min_size=1, max_size=2),
    st.lists(st.integers(400, 6000), min_size=1, max_size=6),
    st.lists(st.integers(0, 1000), max_size=2),
    st.sampled_from(["cut-then-soak", "soak-then-cut"]),
)
def test_cuts_off_cuts_and_waste_add_up_to_the_reel_to_the_centimetre(
    lengths: list[int], wanted: list[int], damaged: list[int], habit: str
) -> None:
    """Of every reel, whatever is damaged; and nothing is cut through a damaged place."""
    reels = tuple(ReelAtHand(f"reel {n}", cm, tuple(damaged)) for n, cm in enumerate(lengths))
    plan = cut(CutQuestion(reels, tuple(wanted), habit=habit), NYLON)  # type: ignore[arg-type]
    for reel in reels:
        pieces = sum(step.cut_cm for step in plan.steps if step.reel == reel.name)
        rests = sum(rest.length_cm for rest in plan.rests if rest.reel == reel.name)
        if habit == "cut-then-soak":
            assert pieces + rests == reel.length_cm
        assert all(
            not step.from_cm < place < step.until_cm
            for step in plan.steps
            if step.reel == reel.name and habit == "cut-then-soak"
            for place in damaged
        )
    assert sorted([*(step.wanted_cm for step in plan.steps), *plan.missing_cm]) == sorted(wanted)


def test_the_promised_confidence_holds_in_draws_made_elsewhere() -> None:
    """Student-t draws from numpy's own generator, made here from the law and not by the class that planned."""
    plan = cut(ONE, NYLON)
    random = np.random.default_rng(20261125)
    many = 40_000
    # A multivariate t: one chi-square for all ropes of a draw, what they share and what each has for itself.
    spread = np.sqrt(NYLON.freedom / random.gamma(NYLON.freedom / 2, 2.0, size=many))
    shared = random.normal(0.0, NYLON.common, size=many)
    fine = np.ones(many, dtype=bool)
    for step in plan.steps:
        own = random.normal(0.0, NYLON.individual, size=many)
        fine &= step.cut_cm * np.exp(NYLON.centre + spread * (shared + own)) >= step.wanted_cm
    assert fine.mean() >= 0.95
    assert plan.holds == pytest.approx(fine.mean(), abs=0.006)
    assert all(step.confidence > 0.95 for step in plan.steps)


def test_once_the_first_piece_is_measured_less_is_cut_for_the_others() -> None:
    plan = cut(ONE, NYLON)
    first = plan.steps[0]
    assert (first.wanted_cm, first.first_of_reel) == (2000, True)
    usual = cut(replace(ONE, done=(CutDone("reel", first.until_cm, first.cut_cm, first.typical_cm),)), NYLON)
    assert usual.met_cm == (2000,)
    assert sum(s.cut_cm for s in usual.steps) == sum(s.cut_cm for s in plan.steps[1:]) - plan.saves_cm
    assert plan.saves_cm > 0
    little_lost = cut(replace(ONE, done=(CutDone("reel", first.until_cm, first.cut_cm, 2450),)), NYLON)
    assert sum(s.cut_cm for s in little_lost.steps) < sum(s.cut_cm for s in usual.steps)


def test_a_measured_piece_that_came_out_short_does_not_count_and_its_length_is_wanted_still() -> None:
    plan = cut(replace(ONE, done=(CutDone("reel", 2500, 2500, 1900),)), NYLON)
    assert plan.met_cm == ()
    assert sorted([*(step.wanted_cm for step in plan.steps), *plan.missing_cm]) == [2000, 4000, 4000, 5500]
    assert min(step.from_cm for step in plan.steps) >= 2500


def test_reels_that_are_too_short_say_what_is_missing_or_how_sure_what_fits_is() -> None:
    short = cut(CutQuestion((ReelAtHand("reel", 10_000),), (4000, 4500)), NYLON)
    assert short.found
    assert short.holds is not None
    assert 0.5 < short.holds < 0.95
    assert "confidence" in short.notes[0]
    none = cut(CutQuestion((ReelAtHand("reel", 10_000),), (6000, 6000)), NYLON)
    assert (none.status, none.missing_cm) == ("impossible", (6000,))


def test_a_soaked_and_measured_reel_is_cut_to_what_is_wanted() -> None:
    plan = cut(replace(ONE, reels=(ReelAtHand("reel", 17_712, soaked=True),)), NYLON)
    assert [step.cut_cm for step in plan.steps] == [5500, 4000, 4000, 2000]
    assert (plan.holds, plan.rests[-1].length_cm) == (None, 17_712 - 15_500)


def test_soaking_first_takes_no_more_of_the_reel_than_cutting_first() -> None:
    """What is common practice's reason for it: it wastes less."""
    soaked = cut(replace(ONE, habit="soak-then-cut"), NYLON)
    assert soaked.found
    assert sum(s.cut_cm for s in soaked.steps) < float(NYLON.share_left(0.5)) * sum(
        s.cut_cm for s in cut(ONE, NYLON).steps
    )


def test_what_a_reel_becomes_can_be_recorded_as_new_ropes() -> None:
    """The pieces and the off-cut that is kept, as the store's own act of buying and cutting takes them."""
    plan = cut(replace(ONE, wanted_cm=(4000, 4000, 2000)), NYLON)
    pieces = plan.pieces_cm("reel")
    cutting = Cutting((20_000,), pieces, keep_off_cut=False)
    assert cutting.left_cm == plan.waste_cm
    assert sum(pieces) + plan.waste_cm == 20_000
    assert len(pieces) == 4


def test_the_second_judge_finds_a_cut_through_a_damaged_place() -> None:
    plan = cut(ONE, NYLON)
    damaged = replace(ONE, reels=(ReelAtHand("reel", 20_000, (3000,)),))
    assert any("damaged place" in wrong for wrong in cut_faults(damaged, plan))
    assert any("waste said" in wrong for wrong in cut_faults(ONE, replace(plan, waste_cm=1)))
    assert any("wanted" in wrong for wrong in cut_faults(ONE, replace(plan, steps=plan.steps[1:])))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"wanted_cm": ()}, "lengths that are wanted"),
        ({"confidence": 1.0}, "confidence"),
        ({"done": (CutDone("other", 100, 100),)}, "no such reel"),
        ({"done": (CutDone("reel", 30_000, 100),)}, "within its 200 m"),
        ({"reels": (ReelAtHand("a", 5000), ReelAtHand("b", 5000, soaked=True))}, "two goes"),
        ({"habit": "soak-then-cut", "done": (CutDone("reel", 100, 100),)}, "measured length"),
    ],
)
def test_a_question_that_makes_no_sense_is_refused_in_words(change: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        replace(ONE, **change)  # type: ignore[arg-type]


def test_more_confidence_never_cuts_less() -> None:
    law = Shrinkage(-0.1, 0.02, 0.02, 8.0)
    cuts = [sum(s.cut_cm for s in cut(replace(ONE, confidence=c), law).steps) for c in (0.6, 0.8, 0.9, 0.95, 0.99)]
    assert cuts == sorted(cuts)


def test_rope_that_no_wanted_length_fits_makes_the_pieces_beside_it_surer() -> None:
    """Damage splits the reel so that the confidence asked for does not fit; what lies beside the pieces is no waste."""
    question = CutQuestion((ReelAtHand("reel", 20_000, (9_000,)),), (4_000, 4_000, 5_500, 2_200))
    plan = cut(question, prior_for("nylon"))
    assert plan.found
    assert plan.holds is not None
    assert 0.7 < plan.holds < 0.95
    assert cut_faults(question, plan) == []
    enough = 1 - 0.05 / 4
    for reel_end in (8_970, 20_000):
        inside = [step for step in plan.steps if reel_end - 11_000 < step.from_cm < reel_end]
        spare = reel_end - max(step.until_cm for step in inside)
        assert spare < question.step_cm or all(step.confidence >= enough - 0.01 for step in inside)
