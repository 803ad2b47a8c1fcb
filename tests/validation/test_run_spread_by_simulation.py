"""The spread of a run, against 40,000 draws that know nothing of its algebra.

Source: the account of the run itself. Each pitch draws one depth error for all its metres; every knot, loop and tail
draws its own. Tolerance 2 %: the spread of 40,000 draws is known to 0.4 %.
"""

import numpy as np
import pytest

from tethera.rigging import KnotLengths, read_route, rope_lines
from tethera.rigging.metres import depth_share
from tethera.rigging.parts import steps_of

TEXT = """name = "R"
depth_known_by = "guide"
[[pitch]]
name = "A"
depth = "30 m"
to_next = "10 m"
[[pitch.anchor]]
role = "y-hang"
[[pitch.anchor]]
role = "rebelay"
down = "12 m"
[[pitch]]
name = "B"
depth = "45 m"
[[pitch.anchor]]
role = "backup"
[[pitch.anchor]]
role = "rebelay"
down = "20 m"
"""


def test_a_rope_over_two_pitches_has_the_spread_that_draws_show():
    route = read_route(TEXT).route
    (line,) = rope_lines(route, longest_m=500.0)
    whole = next(run for run in line.runs if (run.begin, run.end) == (0, len(line.places) - 1))
    draw = np.random.default_rng(3)
    total = np.zeros(40_000)
    steps = [(pitch, step) for pitch in route.pitches for step in steps_of(pitch, KnotLengths.default())]
    errors = {pitch.name: draw.normal(0.0, depth_share(pitch), total.size) for pitch in route.pitches}
    for number, (pitch, step) in enumerate(steps):
        last = number + 1 == len(steps)
        parts = [*(step.starting if number == 0 else ()), *step.parts, *(step.ending if last else step.passing)]
        for part in parts:
            total += part.metres + part.grows_m * errors[pitch.name] + draw.normal(0.0, 1.0, total.size) * part.sd_m
    assert total.mean() == pytest.approx(whole.mean_m, abs=0.05)
    assert total.std() == pytest.approx(whole.sd_m, rel=0.02)
