"""Margins: thresholds per chain of ropes agree with asking each rope by itself."""

import random
from statistics import NormalDist

from hypothesis import given
from hypothesis import strategies as st

from tethera.planning.margins import KnownLength, chain_need_cm, chains, chance_short, need_at_cm, z_of

ROPES = st.lists(
    st.builds(KnownLength, st.integers(500, 20000), st.sampled_from([0.0, 25.0, 45.0, 120.0, 300.0])),
    min_size=1,
    max_size=30,
)
Z = st.floats(0, 3.5)


@given(ROPES, Z, st.floats(5, 190), st.floats(0, 6))
def test_a_chains_threshold_decides_as_each_rope_would(
    ropes: list[KnownLength], z: float, mean_m: float, sd_m: float
) -> None:
    """Whatever the lengths and spreads, the one number per chain gives the same yes and no."""
    parts = chains(ropes, z)
    assert sorted(i for part in parts for i in part) == list(range(len(ropes)))
    for part in parts:
        chain = [ropes[i] for i in part]
        need = chain_need_cm(chain, mean_m, sd_m, z)
        for rope in chain:
            alone = rope.length_cm >= need_at_cm(mean_m, sd_m, rope.sd_cm, z)
            assert (rope.length_cm >= need) == alone


@given(st.lists(st.integers(500, 20000), min_size=1, max_size=40), st.floats(0, 3.5))
def test_ropes_measured_the_same_way_are_one_chain(lengths_cm: list[int], z: float) -> None:
    """0.2 m and half a per cent: longer ropes always reach more."""
    assert len(chains([KnownLength(n, 20 + 0.005 * n) for n in lengths_cm], z)) == 1


def test_a_rope_at_its_threshold_is_short_as_often_as_said() -> None:
    """20,000 draws of depth and rope length, independent of the formula: at most 5 % and a point are short."""
    dice = random.Random(5)
    mean_m, sd_m, rope_sd_cm = 62.0, 2.6, 48.0
    length_cm = need_at_cm(mean_m, sd_m, rope_sd_cm, z_of(0.95))
    short = sum(dice.gauss(length_cm / 100, rope_sd_cm / 100) < dice.gauss(mean_m, sd_m) for _ in range(20_000))
    assert 0.04 < short / 20_000 < 0.06
    assert abs(chance_short(length_cm, rope_sd_cm, mean_m, sd_m) - 0.05) < 0.001


def test_confidence_is_turned_into_spreads_as_tables_have_it() -> None:
    """One-sided normal quantiles of every statistics table: 1.2816, 1.6449, 2.3263."""
    assert [round(z_of(p), 4) for p in (0.90, 0.95, 0.99)] == [1.2816, 1.6449, 2.3263]
    assert abs(NormalDist().cdf(z_of(0.95, 10)) - 0.995) < 1e-9
