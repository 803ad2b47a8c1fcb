"""What rope held: only what was read, and none known otherwise."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.rigging import KNOTS
from tethera.rope.strength import cord_held, rope_held
from tethera.rope.tables import load_table


@pytest.mark.parametrize(("rope_type", "bare", "tied"), [("A", 22.0, 15.0), ("B", 18.0, 12.0)])
def test_new_dry_rope_held_what_the_standard_asks(rope_type: str, bare: float, tied: float) -> None:
    """EN 1891 limits as a maker's catalogue restates them: 22 and 18 kN, 15 and 12 kN with terminations."""
    assert rope_held(rope_type, None, wet=False, used_years=0.0).low_kn == bare  # type: ignore[arg-type]
    assert rope_held(rope_type, wet=False, used_years=0.0).low_kn == tied  # type: ignore[arg-type]


def test_wet_rope_used_for_a_year_keeps_the_hurting_end_of_each() -> None:
    held = rope_held("A", used_years=1.0)
    assert held.low_kn == pytest.approx(15 * 0.70 * 0.80)
    assert held.likely_kn == pytest.approx(15 * 0.85)


def test_a_knot_listed_weaker_counts_and_one_listed_stronger_does_not() -> None:
    assert rope_held("A", "bowline", wet=False, used_years=0.0).low_kn == pytest.approx(13.2)
    assert rope_held("A", "butterfly", wet=False, used_years=0.0).low_kn == 15.0


def test_nothing_is_known_of_dynamic_rope_and_of_an_undeclared_type() -> None:
    for rope_type in ("dynamic", None):
        held = rope_held(rope_type)  # type: ignore[arg-type]
        assert (held.low_kn, held.share(5.0)) == (None, None)
        assert "none known" in held.unknown[0]


def test_older_rope_says_that_no_figure_is_known() -> None:
    assert "none known" in rope_held("A", used_years=12.0).unknown[0]
    assert rope_held("A", used_years=1.0).unknown == ()


@given(st.sampled_from(["A", "B"]), st.sampled_from([*KNOTS, None]), st.booleans(), st.none() | st.floats(0, 60))
def test_the_hurting_end_is_never_above_the_likely_one(
    rope_type: str, knot: str | None, wet: bool, years: float | None
) -> None:
    held = rope_held(rope_type, knot, wet=wet, used_years=years)  # type: ignore[arg-type]
    assert held.low_kn is not None
    assert held.likely_kn is not None
    assert 0 < held.low_kn <= held.likely_kn <= 22


@pytest.mark.parametrize(("mm", "kn"), [(4, 3.2), (5, 5.0), (6, 7.2), (7, 9.8), (8, 12.8)])
def test_cord_of_its_standard_less_half_for_its_knot(mm: float, kn: float) -> None:
    """EN 564: 3.2, 5.0, 7.2, 9.8 and 12.8 kN (singingrock.cz, EN 564 table)."""
    assert cord_held(mm, wet=False).low_kn == pytest.approx(kn / 2)


def test_cord_outside_its_standard_is_refused() -> None:
    with pytest.raises(ValueError, match="diameter_mm"):
        cord_held(3.0)


def test_every_figure_has_a_unit_and_a_source() -> None:
    def leaves(entry: object) -> list[dict[str, object]]:
        if not isinstance(entry, dict):
            return []
        return [entry] if "value" in entry else [leaf for part in entry.values() for leaf in leaves(part)]

    found = leaves(dict(load_table("rope", "strength")))
    assert len(found) >= 12
    assert all(leaf["unit"] and len(str(leaf["source"])) > 10 for leaf in found)
