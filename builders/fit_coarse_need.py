"""Fit rope to depth and anchors on published sheets; writes src/tethera/rigging/tables/coarse.toml.

    python builders/fit_coarse_need.py

Model: rope = constant + per metre x depth + per anchor x anchors, Huber loss (a sheet may be a slip of the pen).
Spread: sd = hypot(sd_m, sd_share x depth), the likeliest for rows kept back one by one, then widened until no more than
one in twenty rows of caves kept back whole are longer than mean + 1.645 sd: what a cave the fit has not seen will show.
Both were tried the other way round (loss scaled by the spread, spread from whole caves only): caves kept back were then
overestimated by 0.9 m on average, and deep pitches got half as much again of spread without fewer being short.
"""

import csv
import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares, minimize

HERE = Path(__file__).resolve().parent.parent
SHEETS = HERE / "authorities" / "rigging_sheets.csv"
TABLE = HERE / "src" / "tethera" / "rigging" / "tables" / "coarse.toml"
#: Residuals beyond this many metres count linearly: about one robust spread of these sheets (3.4 m).
HUBER_M = 3.0
Array = NDArray[np.float64]


def read_sheets(with_anchors: bool) -> tuple[list[str], Array, Array]:
    """Caves, columns of the model and rope [m] of the descents in the table."""
    lines = [line for line in SHEETS.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    rows = [row for row in csv.DictReader(lines) if row["kind"] in ("down", "multi")]
    rows = [row for row in rows if row["anchors"] or not with_anchors]
    columns = [[1.0, float(row["depth_m"])] + ([float(row["anchors"])] if with_anchors else []) for row in rows]
    return [row["cave"] for row in rows], np.array(columns), np.array([float(row["rope_m"]) for row in rows])


def spread(by: tuple[float, float], columns: Array) -> Array:
    """Standard deviation of each row [m]."""
    return np.hypot(by[0], by[1] * columns[:, 1])


def robust(columns: Array, rope: Array) -> Array:
    """Huber fit of the rows."""
    start = np.linalg.lstsq(columns, rope, rcond=None)[0]
    found = least_squares(lambda b: columns @ b - rope, start, loss="huber", f_scale=HUBER_M)
    return np.asarray(found.x)


def kept_back(groups: list[str], columns: Array, rope: Array) -> Array:
    """Published less estimated rope [m], each group by a fit on the others."""
    names = np.array(groups)
    left = np.zeros_like(rope)
    for group in sorted(set(groups)):
        out = names == group
        left[out] = rope[out] - columns[out] @ robust(columns[~out], rope[~out])
    return left


def likeliest_spread(columns: Array, left: Array) -> tuple[float, float]:
    """sd_m and sd_share that make the residuals likeliest under a normal law."""

    def cost(by: Array) -> float:
        sd = spread((by[0], by[1]), columns)
        return float(np.sum(np.log(sd) + 0.5 * (left / sd) ** 2))

    found = minimize(cost, [4.0, 0.1], bounds=[(0.5, 20.0), (0.0, 0.5)], method="L-BFGS-B")
    return float(found.x[0]), float(found.x[1])


def fit(with_anchors: bool) -> tuple[Array, tuple[float, float], Array, Array]:
    """Coefficients, spread, residuals of caves kept back, and columns."""
    caves, columns, rope = read_sheets(with_anchors)
    left = kept_back(caves, columns, rope)
    by = likeliest_spread(columns, kept_back([str(row) for row in range(len(rope))], columns, rope))
    wider = max(1.0, float(np.quantile(left / spread(by, columns), 0.95)) / 1.645)
    return robust(columns, rope), (by[0] * wider, by[1] * wider), left, columns


def section(name: str, with_anchors: bool) -> list[str]:
    """One table of the file, with what the fit was worth beside it."""
    found, by, left, columns = fit(with_anchors)
    short = float(np.mean(left > 1.645 * spread(by, columns)))
    lines = [
        f"[{name}]",
        f"# {len(left)} descents. Caves kept back: median error {np.median(np.abs(left)):.1f} m,",
        f"# mean {left.mean():+.1f} m, rms {math.sqrt(np.mean(left**2)):.1f} m;",
        f"# longer than mean + 1.645 sd: {short:.0%}.",
        f"constant_m = {found[0]:.2f}",
        f"per_metre = {found[1]:.3f}",
    ]
    if with_anchors:
        lines.append(f"per_anchor_m = {found[2]:.2f}")
    lines += [f"sd_m = {by[0]:.1f}", f"sd_share = {by[1]:.3f}"]
    return [*lines, 'source = "fitted to published rigging sheets, authorities/rigging_sheets.csv"', ""]


def main() -> None:
    """Write the table."""
    lines = [
        "# Written by builders/fit_coarse_need.py from authorities/rigging_sheets.csv: do not edit.",
        "# Lengths are what sheets tell people to bring, about four in five rounded to 5 m.",
        "# Metres; sd = hypot(sd_m, sd_share x depth).",
        "",
        *section("depth_and_anchors", True),
        *section("depth_only", False),
        "[guide_rope]",
        "# How far a guide's own length may be from what another sheet of the same pitch would say.",
        'unit = "m"',
        "value = 0.5",
        'source = "judgement: with the rounding to 5 m a guide length suffices about 19 times in 20"',
        "",
    ]
    TABLE.write_text("\n".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
