"""Heat-shrink tube over a mark: what fits, what is cut, what is said."""

import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.rope import Tube, figure, load_table, over_tape_mm, tube_batch_m, tube_cautions, tube_cut_mm, tubes

OVER_THE_TAPE = st.floats(5.0, 16.0)
MANUAL = Path(__file__).parents[2] / "docs" / "marks.md"


@given(OVER_THE_TAPE)
def test_a_tube_that_is_named_slides_on_and_shrinks_tight(over_mm: float) -> None:
    for tube in tubes(over_mm):
        assert tube.expanded_mm >= over_mm + 1.0 - 1e-6
        assert tube.recovered_mm < over_mm
        low, high = tube.fits_mm
        assert low < over_mm <= high + 1e-6


@given(OVER_THE_TAPE)
def test_for_every_rope_of_the_range_a_plain_tube_fits_and_stands_first(over_mm: float) -> None:
    found = tubes(over_mm)
    assert found
    assert not found[0].lined
    assert round(found[0].expanded_mm) == min(round(tube.expanded_mm) for tube in found)


@given(OVER_THE_TAPE, st.floats(0.0, 3.0))
def test_a_thicker_rope_never_gets_a_narrower_tube(over_mm: float, more_mm: float) -> None:
    thicker = min(over_mm + more_mm, 16.0)
    assert round(tubes(thicker)[0].expanded_mm) >= round(tubes(over_mm)[0].expanded_mm)


@given(OVER_THE_TAPE)
def test_on_the_rope_the_wall_is_thinner_than_published_and_no_plastic_is_lost(over_mm: float) -> None:
    for tube in tubes(over_mm):
        if tube.wall_mm is None:
            assert tube.outside_mm is None
            continue
        wall, outside = tube.wall_on_rope_mm, tube.outside_mm
        assert wall is not None
        assert outside is not None
        assert 0 < wall < tube.wall_mm
        ring = math.pi / 4 * (outside**2 - over_mm**2)
        free = math.pi / 4 * ((tube.recovered_mm + 2 * tube.wall_mm) ** 2 - tube.recovered_mm**2)
        assert ring == pytest.approx(free)


def test_a_tube_that_hardly_shrinks_onto_the_rope_says_so() -> None:
    """19.1 mm tube shrinks to 9.5 mm: on 10.4 mm it is loose enough to turn, on 10.5 mm it holds."""
    loose, holding = (next(tube for tube in tubes(over) if tube.size == "19.1 mm") for over in (10.4, 10.5))
    assert loose.weak_hold
    assert "Weak hold" in loose.warnings[0]
    assert not holding.weak_hold
    assert holding.warnings == ()


def test_a_lined_tube_warns_of_its_adhesive() -> None:
    lined = [tube for tube in tubes(10.0) if tube.lined]
    assert [tube.size for tube in lined] == ["1/2 in", "3/4 in"]
    assert all("adhesive stays on the rope" in " ".join(tube.warnings) for tube in lined)
    assert all(tube.words.endswith("its wall is not published") for tube in lined)


@pytest.mark.parametrize("over_mm", [4.9, 16.1, -1.0, 0.0, math.inf, math.nan])
def test_outside_the_range_it_says_the_range_and_what_to_do(over_mm: float) -> None:
    with pytest.raises(ValueError, match=r"5 to 16 mm over the tape.*try a sample"):
        tubes(over_mm)


@given(st.floats(1.0, 1000.0))
def test_the_shrunk_tube_covers_the_strip_and_its_edges_and_wastes_less_than_two_millimetres(strip_mm: float) -> None:
    cut = tube_cut_mm(strip_mm)
    shrunk = cut * (1 - 0.15)
    assert shrunk >= strip_mm + 2 * 5.0 - 1e-3
    assert shrunk < strip_mm + 2 * 5.0 + 1.0


def test_a_strip_of_seventy_five_millimetres_takes_a_tube_of_ten_centimetres() -> None:
    """75 mm and twice 5 mm beyond its edges are 85 mm, which is 100 mm less 15 %."""
    assert tube_cut_mm(75.0) == 100


@pytest.mark.parametrize("strip_mm", [0.0, -5.0, 1000.5, math.nan])
def test_a_strip_that_is_none_has_no_tube(strip_mm: float) -> None:
    with pytest.raises(ValueError, match="up to 1000 mm"):
        tube_cut_mm(strip_mm)


@given(st.lists(st.integers(1, 400), max_size=60))
def test_a_batch_is_enough_for_both_ends_of_every_rope_and_less_than_a_tenth_too_much(cuts_mm: list[int]) -> None:
    tenths = round(10 * tube_batch_m(cuts_mm))
    assert tube_batch_m(cuts_mm) == pytest.approx(tenths / 10)
    assert 0 <= 100 * tenths - 2 * sum(cuts_mm) < 100


def test_tape_makes_a_rope_thicker_on_both_sides() -> None:
    assert over_tape_mm(10.0, 0.0) == 10.0
    assert over_tape_mm(10.0, 0.2) == pytest.approx(10.4)
    assert 10.2 <= over_tape_mm(10.0) <= 10.4
    with pytest.raises(ValueError, match="up to 1 mm"):
        over_tape_mm(10.0, 3.0)
    with pytest.raises(ValueError, match="5 to 16 mm"):
        over_tape_mm(20.0)


def test_the_cautions_give_the_figures_of_the_table_and_never_promise() -> None:
    said = " ".join(tube_cautions())
    for name in ("shrinks_from", "nylon_in_use", "nylon_melts"):
        assert f"{figure('rope', 'tubes', name).value:g} °C" in said
    for must in ("Never use a flame", "keep the gun moving", "scrap of old rope", "damaged place", "leaflets"):
        assert must in said
    assert "safe" not in said.lower()


def test_every_figure_and_table_says_where_it_was_read() -> None:
    table = load_table("rope", "tubes")
    for name, entry in table.items():
        for one in entry if name == "families" else [entry]:
            assert len(one["source"]) > 20
            assert one["unit"]
    assert all(family["from"].year > 2000 for family in table["families"])


def test_a_tube_without_a_rope_of_its_own_is_plain_values() -> None:
    tube = Tube("12.7 mm", "2:1", 12.7, 6.4, 0.62, 9.0, "s")
    assert tube.spare_mm == pytest.approx(3.7)
    assert tube.squeeze_mm == pytest.approx(2.6)
    assert tube.fits_mm == pytest.approx((6.4, 11.7))


def test_the_manual_tells_the_tube_of_each_diameter() -> None:
    rows = re.findall(r"^\| ([\d.]+) to ([\d.]+) mm \| ([\d.]+ mm) ", MANUAL.read_text(encoding="utf-8"), re.MULTILINE)
    assert len(rows) == 4
    said = [(tenths, size) for low, high, size in rows for tenths in range(_tenths(low), _tenths(high) + 1)]
    assert [tenths for tenths, _ in said] == list(range(50, 161))
    assert [(tenths, tubes(tenths / 10)[0].size) for tenths, _ in said] == said


def test_the_manual_gives_every_caution() -> None:
    manual = " ".join(MANUAL.read_text(encoding="utf-8").split())
    assert [caution for caution in tube_cautions()[1:] if caution not in manual] == []


def _tenths(text: str) -> int:
    return round(10 * float(text))
