"""What a store's own ropes tell of shrinkage: short logs, and the pairs, predictions and doubts they give."""

from datetime import UTC, date, datetime

import pytest

from tethera.basics import Finding, PartialDate
from tethera.rope import prior_for
from tethera.store import (
    Bought,
    Corrected,
    Cut,
    Dried,
    Event,
    Known,
    Marked,
    Measured,
    MemoryLog,
    Piece,
    PutIntoService,
    RecordedAsFound,
    Register,
    Used,
    Washed,
)

NOW = datetime(2026, 9, 1, tzinfo=UTC)
ON = date(2026, 9, 1)


def on(day: int) -> PartialDate:
    return PartialDate(2026, 3, day)


def bought(rope: str, metres: float, product: str = "Nine") -> Bought:
    cm = round(metres * 100)
    return Bought(rope=rope, happened=on(1), length_cm=cm, diameter_mm=9.0, material="polyamide", product=product)


def prepared(rope: str, metres: float, day: int = 2) -> list[Event]:
    """Washed, dried and counted."""
    return [
        Washed(rope=rope, happened=on(day)),
        Dried(rope=rope, happened=on(day + 1)),
        Measured(rope=rope, happened=on(day + 2), length_cm=round(metres * 100)),
    ]


def register(*events: Event) -> Register:
    found = Register(MemoryLog())
    found.record_all(events, recorded=NOW)
    return found


def pairs(*events: Event) -> dict[str, tuple[int, str, int]]:
    known = register(*events).shrinkages()
    return {
        each.rope: (each.before_cm, each.before_by, each.after_cm)
        for ropes in known.measured.values()
        for each in ropes
    }


def why_not(*events: Event) -> dict[str, str]:
    return dict(register(*events).shrinkages().left_out)


def test_a_rope_washed_and_counted_tells_what_it_lost_of_its_label() -> None:
    assert pairs(bought("UG1", 50), *prepared("UG1", 45.6)) == {"UG1": (5000, "bought", 4560)}


def test_counted_before_the_wash_that_count_is_its_length_before() -> None:
    counted = Measured(rope="UG1", happened=on(1), length_cm=5120)
    assert pairs(bought("UG1", 50), counted, *prepared("UG1", 45.6)) == {"UG1": (5120, "measured", 4560)}


def test_counted_again_before_its_first_use_the_last_count_holds() -> None:
    again = Measured(rope="UG1", happened=on(9), length_cm=4540)
    assert pairs(bought("UG1", 50), *prepared("UG1", 45.6), again) == {"UG1": (5000, "bought", 4540)}


def test_a_count_after_use_is_a_loss_in_use_and_not_of_the_first_wash() -> None:
    served = (
        *(bought("UG1", 50), *prepared("UG1", 45.6), Marked(rope="UG1", happened=on(5), length_m=45)),
        PutIntoService(rope="UG1", happened=on(6)),
        *(Used(rope="UG1", happened=on(10), days=3), Measured(rope="UG1", happened=on(20), length_cm=4500)),
    )
    known = register(*served).shrinkages()
    assert [each.after_cm for ropes in known.measured.values() for each in ropes] == [4560]
    assert [(each.first_cm, each.last_cm, each.days) for each in known.in_use] == [(4560, 4500, 3)]


def test_used_before_it_was_counted_nobody_knows_what_the_wash_took() -> None:
    events = (
        *(bought("UG1", 50), Washed(rope="UG1", happened=on(2)), Dried(rope="UG1", happened=on(3))),
        *(Used(rope="UG1", happened=on(5), days=2), Measured(rope="UG1", happened=on(8), length_cm=4500)),
    )
    assert pairs(*events) == {}
    assert why_not(*events) == {"UG1": "it was used before it was counted after a wash"}


def test_counted_while_wet_it_waits_for_a_count_when_dry() -> None:
    wet = (bought("UG1", 50), Washed(rope="UG1", happened=on(2)), Measured(rope="UG1", happened=on(2), length_cm=4700))
    assert pairs(*wet) == {}
    assert why_not(*wet) == {"UG1": "it was counted before it was dry"}
    dry = (Dried(rope="UG1", happened=on(4)), Measured(rope="UG1", happened=on(5), length_cm=4560))
    assert pairs(*wet, *dry) == {"UG1": (5000, "bought", 4560)}
    assert why_not(*wet, *dry) == {}


def test_cut_before_the_wash_each_piece_tells_by_its_own_length() -> None:
    into = (Piece(rope="UG2", length_cm=3000), Piece(rope="UG3", length_cm=2000))
    cut = Cut(rope="UG1", happened=on(1), into=into)
    assert pairs(bought("UG1", 50), cut, *prepared("UG2", 27.3), *prepared("UG3", 18.1)) == {
        "UG2": (3000, "cut", 2730),
        "UG3": (2000, "cut", 1810),
    }


def test_washed_whole_and_then_cut_only_the_reel_tells() -> None:
    into = (Piece(rope="UG2", length_cm=2500), Piece(rope="UG3", length_cm=2000))
    cut = Cut(rope="UG1", happened=on(6), into=into)
    again = Measured(rope="UG2", happened=on(9), length_cm=2490)
    assert pairs(bought("UG1", 50), *prepared("UG1", 45.6), cut, again) == {"UG1": (5000, "bought", 4560)}


def test_what_is_left_of_a_reel_by_its_label_is_known_worse_than_a_piece_that_was_counted_off() -> None:
    into = (Piece(rope="UG2", length_cm=9000), Piece(rope="UG3", length_cm=1000))
    cut = Cut(rope="UG1", happened=on(1), into=into)
    known = register(bought("UG1", 100), cut, *prepared("UG2", 82), *prepared("UG3", 9.5)).shrinkages()
    counted_off, rest = next(iter(known.measured.values()))
    # 30 cm of a reel's label on 10 m of rope: tables/before_after.toml.
    assert rest.sd > 0.03 > counted_off.sd


def test_two_counts_that_agree_are_known_better_than_one() -> None:
    twice = Measured(rope="UG2", happened=on(4), length_cm=1000, counts_cm=(1000, 1004))
    events = (bought("UG1", 11), *prepared("UG1", 10), bought("UG2", 11), *prepared("UG2", 10)[:2], twice)
    one, two = next(iter(register(*events).shrinkages().measured.values()))
    assert two.sd < one.sd


def test_a_rope_of_an_older_record_tells_nothing_of_its_first_wash() -> None:
    found = RecordedAsFound(rope="UG1", happened=on(1), length_cm=5000, condition="in preparation")
    assert pairs(found, *prepared("UG1", 45.6)) == {}


def test_a_corrected_count_tells_what_was_right() -> None:
    events = [bought("UG1", 50), *prepared("UG1", 35.6)]
    right = Measured(rope="UG1", happened=on(4), length_cm=4560)
    correction = Corrected(happened=on(5), event=3, reason="misread", replacement=right)
    assert pairs(*events, correction) == {"UG1": (5000, "bought", 4560)}
    struck = Corrected(happened=on(5), event=3, reason="another rope", replacement=None)
    assert pairs(*events, struck) == {}


def test_what_is_told_follows_the_record_as_it_grows() -> None:
    store = register(bought("UG1", 50), *prepared("UG1", 45.6), bought("UG2", 50))
    assert sum(map(len, store.shrinkages().measured.values())) == 1
    same = store.shrinkages()
    store.record(Washed(rope="UG2", happened=on(2)), recorded=NOW)
    assert store.shrinkages() is same  # a wash alone tells nothing yet
    store.record_all(
        [Dried(rope="UG2", happened=on(3)), Measured(rope="UG2", happened=on(4), length_cm=4600)], recorded=NOW
    )
    assert [each.rope for ropes in store.shrinkages().measured.values() for each in ropes] == ["UG1", "UG2"]


def known_kind(shares: list[float], product: str = "Nine", first: int = 1) -> list[Event]:
    return [
        event
        for at, share in enumerate(shares, start=first)
        for event in (bought(f"UG{at}", 50, product), *prepared(f"UG{at}", 50 * share))
    ]


def test_a_kind_is_foretold_by_its_own_ropes_and_an_unmeasured_one_by_the_range() -> None:
    known: Known = register(*known_kind([0.95, 0.94, 0.95]), bought("UG9", 50, "Other")).shrinkages()
    nine, other = (next(k for k in known.named if k.product == name) for name in ("nine", "other"))
    assert known.prediction(nine).ropes == 3
    assert known.prediction(nine).typical == pytest.approx(0.943, abs=0.005)
    assert known.prediction(other) == prior_for("nylon")
    assert not known.predictions("nylon").pooled


def test_three_kinds_of_two_ropes_tell_of_a_fourth() -> None:
    events = [
        *known_kind([0.95, 0.94], "A", 1),
        *known_kind([0.93, 0.95], "B", 11),
        *known_kind([0.94, 0.96], "C", 21),
        bought("UG99", 50, "D"),
    ]
    known = register(*events).shrinkages()
    fourth = next(k for k in known.named if k.product == "d")
    assert known.predictions("nylon").pooled
    assert known.prediction(fourth).typical > prior_for("nylon").typical + 0.02
    assert known.prediction(fourth).ropes == 0


def astray(found: tuple[Finding, ...]) -> list[Finding]:
    return [each for each in found if each.code == "shrinkage-astray"]


def test_a_rope_that_shrank_unlike_its_kind_is_doubted_when_it_is_counted_and_afterwards() -> None:
    store = register(*known_kind([0.95, 0.94, 0.95, 0.945, 0.95, 0.94]), bought("UG7", 50), *prepared("UG7", 42)[:2])
    (told,) = astray(store.record(prepared("UG7", 42.5)[2], recorded=NOW))
    assert told.where == "rope UG7"
    assert (
        told.message
        == "Its first washes took 15 % of its length (50 m to 42.5 m); by 6 others of its kind 6 % is likely."
    )
    assert astray(store.rope("UG7", ON).findings) == [told]
    assert [each.id for each in store.ropes(ON, by_shrinkage=True) if astray(each.findings)] == ["UG7"]
    # The same rope is no surprise where nothing of its kind was measured.
    alone = register(bought("UG7", 50), *prepared("UG7", 42.5))
    assert astray(alone.rope("UG7", ON).findings) == []


def test_a_doubt_by_shrinkage_changes_nothing_about_what_may_be_done_with_the_rope() -> None:
    store = register(*known_kind([0.95, 0.94, 0.95, 0.945, 0.95, 0.94]), bought("UG7", 50), *prepared("UG7", 42.5))
    doubted, plain = store.rope("UG7", ON), store.caught_up().rope("UG7")
    assert (doubted.state, doubted.waits, doubted.why_not) == (plain.state, plain.waits, plain.why_not)


def test_counted_again_as_foretold_the_doubt_is_gone() -> None:
    store = register(*known_kind([0.95, 0.94, 0.95, 0.945, 0.95, 0.94]), bought("UG7", 50), *prepared("UG7", 42.5))
    store.record(Measured(rope="UG7", happened=on(8), length_cm=4730), recorded=NOW)
    assert astray(store.rope("UG7", ON).findings) == []


def test_a_length_doubted_already_is_not_doubted_twice() -> None:
    codes = [each.code for each in register(bought("UG1", 50), *prepared("UG1", 30)).rope("UG1", ON).findings]
    assert "much-shorter" in codes
    assert "shrinkage-astray" not in codes
