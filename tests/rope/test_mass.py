"""Mass of a metre of rope."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tethera.rope import typical_mass_g_per_m


def test_ten_millimetres_weigh_what_was_read() -> None:
    # caveexploration.org, Minimizing rope on Y belays: about 0.67 g/cm.
    assert typical_mass_g_per_m(10.0) == 67.0


@given(st.floats(3, 20), st.floats(3, 20))
def test_thicker_rope_never_weighs_less(one: float, other: float) -> None:
    thin, thick = sorted((one, other))
    assert typical_mass_g_per_m(thin) <= typical_mass_g_per_m(thick) + 1e-9


def test_what_is_no_rope_is_refused_with_the_range() -> None:
    with pytest.raises(ValueError, match="3 to 20 mm"):
        typical_mass_g_per_m(100.0)
