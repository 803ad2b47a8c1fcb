"""Which length counts while a measurement is in doubt, and what settles it."""

from datetime import UTC, date, datetime

import pytest

from tethera.basics import PartialDate
from tethera.store import (
    Bought,
    Corrected,
    Cut,
    Dried,
    Event,
    Inspected,
    Measured,
    MemoryLog,
    Piece,
    PutIntoService,
    Refused,
    Register,
    RopeState,
    Washed,
    Weighed,
)

DAY = PartialDate(2026, 5, 1)
ON = date(2026, 11, 25)
WRITTEN = datetime(2026, 11, 25, 9, tzinfo=UTC)
BEGUN = (
    Bought(rope="UG1", happened=DAY, length_cm=2500),
    Washed(rope="UG1", happened=DAY),
    Dried(rope="UG1", happened=DAY),
)


def measured(*counts_cm: int, length_cm: int | None = None, month: int = 6, rope: str = "UG1") -> Measured:
    told = min(counts_cm) if length_cm is None else length_cm
    return Measured(rope=rope, happened=PartialDate(2026, month), length_cm=told, counts_cm=counts_cm)


def register(*events: Event) -> Register:
    made = Register(MemoryLog())
    for each in events:
        made.record(each, recorded=WRITTEN)
    return made


def after(*events: Event) -> RopeState:
    return register(*BEGUN, *events).rope("UG1", ON)


def codes(state: RopeState) -> set[str]:
    return {each.code for each in state.findings} - {"type-unknown", "shrinkage-astray"}


KNOWN = measured(2299, 2301)
LONGER = measured(2790, 2795, month=7)


def test_a_rope_that_became_longer_counts_as_long_as_it_was_until_it_says_so_again() -> None:
    doubted = after(KNOWN, LONGER)
    assert (doubted.length_cm, doubted.known_by, doubted.doubted_cm) == (2299, "measured", 2790)
    assert codes(doubted) == {"longer-than-before"}
    assert doubted.length_in_doubt == (
        "It has become longer: measured 27.9 m, 22.99 m before. Until it is counted again, 22.99 m counts."
    )
    settled = after(KNOWN, LONGER, measured(2788, 2792, month=8))
    assert (settled.length_cm, settled.doubted_cm, settled.length_in_doubt, codes(settled)) == (2788, None, "", set())


def test_one_that_says_what_was_known_before_settles_it_too() -> None:
    settled = after(KNOWN, LONGER, measured(2295, 2296, month=8))
    assert (settled.length_cm, settled.doubted_cm, codes(settled)) == (2295, None, set())


def test_another_length_again_settles_nothing() -> None:
    doubted = after(KNOWN, LONGER, measured(2550, 2551, month=8))
    assert (doubted.length_cm, doubted.doubted_cm, codes(doubted)) == (2299, 2550, {"longer-than-before"})


def test_a_correction_settles_it() -> None:
    made = register(*BEGUN, KNOWN, LONGER)
    right = Corrected(happened=DAY, event=4, reason="a slip", replacement=measured(2290, 2295, month=7))
    made.record(right, recorded=WRITTEN)
    state = made.rope("UG1", ON)
    assert (state.length_cm, state.doubted_cm, codes(state)) == (2290, None, set())


@pytest.mark.parametrize(
    ("told", "code"),
    [
        (measured(2150, 2300, length_cm=2300), "counts-disagree"),
        (measured(2150, 2155, length_cm=2300), "length-not-counted"),
    ],
)
def test_while_its_counts_speak_against_a_length_the_lowest_counts(told: Measured, code: str) -> None:
    doubted = after(told)
    assert (doubted.length_cm, doubted.known_by, doubted.doubted_cm) == (2150, "measured", 2300)
    assert codes(doubted) == {code}
    assert after(told, measured(2300, 2301, month=8), measured(2299, 2302, month=9)).length_cm == 2299


def test_a_piece_that_was_never_counted_is_not_counted_by_a_length_in_doubt() -> None:
    """35 m by the cut and 310 m by the count may well be 31.0 m: neither goes on a mark."""
    cut = Cut(rope="UG1", happened=PartialDate(2026, 6), into=(Piece(rope="UG2", length_cm=2000),))
    made = register(*BEGUN, cut, measured(31_000, 31_001, month=7, rope="UG2"))
    piece = made.rope("UG2", ON)
    assert (piece.length_cm, piece.known_by, piece.doubted_cm) == (2000, "cut", 31_000)
    assert "measure" in piece.waits
    with pytest.raises(Refused, match="its length is in doubt: it has become longer: measured 310 m, 20 m before"):
        made.record(PutIntoService(rope="UG2", happened=PartialDate(2026, 8)), recorded=WRITTEN)


def test_no_weight_of_a_metre_is_learnt_from_a_length_in_doubt() -> None:
    weighed = Weighed(rope="UG1", happened=PartialDate(2026, 9), mass_g=1500)
    assert after(KNOWN, weighed).mass_g_per_m == 65.2
    assert after(KNOWN, LONGER, weighed).mass_g_per_m is None


@pytest.mark.parametrize("counts", [(), (2299,)])
def test_one_count_alone_is_mildly_doubted_until_a_second_agrees(counts: tuple[int, ...]) -> None:
    once = measured(*counts, length_cm=2299)
    assert (after(once).length_cm, codes(after(once))) == (2299, {"counted-once"})
    assert codes(after(once, measured(2301, month=7))) == set()
    assert codes(after(once, measured(2330, month=7))) == {"counted-once"}


def test_a_wash_hotter_than_is_usual_is_doubted_until_the_rope_is_found_fit() -> None:
    hot = Washed(rope="UG1", happened=PartialDate(2026, 6), temperature_c=60)
    state = after(KNOWN, hot)
    assert "washed-hot" in codes(state)
    (told,) = (each.message for each in state.findings if each.code == "washed-hot")
    assert told == "Washed at 60 °C, Jun 2026: 30 °C is the most that is usual."
    assert "washed-hot" not in codes(after(KNOWN, Washed(rope="UG1", happened=PartialDate(2026, 6), temperature_c=30)))
    fit = Inspected(rope="UG1", happened=PartialDate(2026, 8), findings="nothing found", outcome="fit", person="p1")
    assert "washed-hot" not in codes(after(KNOWN, hot, fit))


def said(findings: str, month: int, outcome: str = "fit") -> Inspected:
    happened = PartialDate(2026, month)
    return Inspected(rope="UG1", happened=happened, findings=findings, outcome=outcome, person="p1")  # type: ignore[arg-type]


CORE = said("Core shows at 12.4 m.", 7)


def test_fit_beside_a_fault_stays_in_doubt_until_it_is_found_fit_without() -> None:
    state = after(KNOWN, CORE)
    (told,) = (each for each in state.findings if each.code == "fit-with-faults")
    assert told.message == "“Fit to go back” stands beside what was found, Jul 2026: Core shows at 12.4 m."
    assert state.fit_beside_by == "p1"
    assert "fit-with-faults" in codes(after(KNOWN, CORE, said("core shows", 8)))
    assert "fit-with-faults" in codes(after(KNOWN, CORE, said("", 8, "undecided")))
    assert "fit-with-faults" not in codes(after(KNOWN, CORE, said("No core shows anywhere: it was mud.", 8)))
    assert "fit-with-faults" not in codes(after(KNOWN, said("Core shows", 7, "not fit")))


def test_a_cut_takes_that_doubt_away_only_where_a_stretch_is_left_out() -> None:
    def pieces(*lengths_cm: int) -> list[bool]:
        into = tuple(Piece(rope=f"UG{n}", length_cm=cm) for n, cm in enumerate(lengths_cm, 2))
        made = register(*BEGUN, KNOWN, CORE, Cut(rope="UG1", happened=PartialDate(2026, 8), into=into))
        return ["fit-with-faults" in codes(made.rope(each.rope, ON)) for each in into]

    assert pieces(1210, 1025) == [False, False]
    assert pieces(1210, 1089) == [True, True]
