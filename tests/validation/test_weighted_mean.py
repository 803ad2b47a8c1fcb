"""What trips teach, against weighted means worked out by others.

Source: J. R. Taylor, An Introduction to Error Analysis, chapter 7, the resistance measured by three students: 11 ± 1,
12 ± 1 and 10 ± 3 ohms give 11.4 ± 0.7 ohms (from memory; the numbers are worked out again here). R. T. Birge, The
calculation of errors by the method of least squares, Physical Review 40 (1932), 207: the ratio sqrt(chi² / degrees of
freedom) by which a spread is widened where measurements scatter more than they should (from memory). Ropes over several
pitches: numpy's least squares, the reckoned need as one row a pitch.
"""

import math
import random

import numpy as np
import pytest

from tethera.rigging import Pitch, Route, Seen, learn, rope_needs
from tethera.rigging.knots import KnotLengths
from tethera.rigging.learning import rigged_sd_m
from tethera.rigging.observed import Placed, Places
from tethera.rigging.route import Anchor, exactly

STUDENTS = ((11.0, 1.0), (12.0, 1.0), (10.0, 3.0))
PITCHES = (
    Pitch("One", exactly(22.0), anchor_count=4, to_next_m=6.0, rope_goes_on=True),
    Pitch("Two", exactly(35.0), anchors=(Anchor("y-hang"), Anchor("rebelay", down_m=14.0)), to_next_m=4.0,
          rope_goes_on=True),
    Pitch("Three", exactly(12.0), guide_rope=exactly(20.0), to_next_m=3.0, rope_goes_on=True),
    Pitch("Four", exactly(50.0), anchor_count=6),
)  # fmt: skip
ROUTE = Route("Lantern Pot", PITCHES)


def weighted(values):
    """Weighted mean, its spread, and the Birge ratio."""
    numbers, spreads = np.array(values).T
    weights = spreads**-2
    mean = float(np.average(numbers, weights=weights))
    ratio = math.sqrt(float(np.sum(weights * (numbers - mean) ** 2)) / (len(values) - 1))
    return mean, float(weights.sum()) ** -0.5, ratio


def test_three_students_measure_a_resistance():
    """The need is the first student, two ropes are the others; one ohm stands for one spread of the need."""
    mean, spread, ratio = weighted(STUDENTS)
    assert (round(mean, 2), round(spread, 2)) == (11.42, 0.69)
    route = Route("R", PITCHES[:1])
    (need,) = rope_needs(route)
    rigged = rigged_sd_m(need.mean_m)
    ropes = []
    for number, (ohms, sd) in enumerate(STUDENTS[1:]):
        known = math.sqrt((sd * need.sd_m) ** 2 - rigged**2)
        ropes.append(Seen(f"TV{number}", str(number), ("One",), need.mean_m + (ohms - 11.0) * need.sd_m, known))
    (found,) = learn(route, ropes)
    assert 11.0 + (found.after_m - need.mean_m) / need.sd_m == pytest.approx(mean)
    assert ratio < 1
    assert found.scatter == 1
    assert found.after_sd_m == pytest.approx(math.hypot(spread * need.sd_m, rigged))
    assert [source.share for source in found.weighed] == pytest.approx([9 / 19, 9 / 19, 1 / 19])


def test_a_spread_is_widened_by_the_birge_ratio():
    route = Route("R", PITCHES[:1])
    (need,) = rope_needs(route)
    rigged = rigged_sd_m(need.mean_m)
    told = [(need.mean_m + off, 1.0) for off in (-4.0, 0.0, 2.0, 6.0)]
    ropes = [Seen(f"TV{n}", str(n), ("One",), says, math.sqrt(1 - rigged**2)) for n, (says, _) in enumerate(told)]
    (found,) = learn(route, ropes)
    among = weighted(told)[2]
    assert among > 3
    assert found.scatter == pytest.approx(max(among, weighted([(need.mean_m, need.sd_m), *told])[2]))
    left = weighted([(need.mean_m, need.sd_m), *told])[1]
    assert found.after_sd_m == pytest.approx(math.hypot(found.scatter * left, rigged))


@pytest.mark.parametrize("seed", range(12))
def test_ropes_over_several_pitches_agree_with_least_squares(seed):
    """Rows over their spreads: one for each pitch as reckoned, one for each rope; covariance from the normal matrix."""
    dice = random.Random(seed)
    needs = rope_needs(ROUTE)
    places = Places.of(ROUTE, KnotLengths.default())
    rows = [[float(i == j) / needs[i].sd_m for j in range(4)] for i in range(4)]
    right = [0.0] * 4
    ropes = []
    for number in range(dice.randint(1, 7)):
        first = dice.randrange(4)
        names = tuple(pitch.name for pitch in PITCHES[first : dice.randint(first, 3) + 1])
        begins = "rebelay 2 of Two" if names[0] == "Two" and dice.random() < 0.5 else ""
        rope = Seen(f"TV{number}", str(number), names, 0.0, dice.uniform(0.2, 1.5), begins)
        placed = places.placed(rope)
        assert isinstance(placed, Placed)
        off = dice.gauss(0.0, 1.5)
        ropes.append(Seen(rope.rope, rope.when, names, placed.run.mean_m + off, rope.sd_m, begins))
        own = placed.run.sd_m**2 - sum((f * needs[i].sd_m) ** 2 for i, f in placed.shares.items())
        rigged = [math.hypot(0.02 * f * needs[i].mean_m, 0.3) for i, f in placed.shares.items()]
        noise = math.sqrt(rope.sd_m**2 + sum(sd**2 for sd in rigged) + max(own, 0.0))
        rows.append([placed.shares.get(i, 0.0) / noise for i in range(4)])
        right.append(off / noise)
    best = np.linalg.lstsq(np.array(rows), np.array(right), rcond=None)[0]
    cov = np.linalg.inv(np.array(rows).T @ np.array(rows))
    for number, found in enumerate(learn(ROUTE, ropes)):
        assert found.after_m - found.before_m == pytest.approx(best[number], abs=1e-9)
        if found.trips:
            widened = math.hypot(found.scatter * math.sqrt(cov[number, number]), rigged_sd_m(found.before_m))
            assert found.after_sd_m in (pytest.approx(widened), pytest.approx(found.before_sd_m))
