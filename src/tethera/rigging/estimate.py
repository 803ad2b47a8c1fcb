"""Rope for a pitch known only by its depth and the number of its anchors, from published rigging sheets.

The answer is the length a sheet would tell people to bring, which is what the fitted lengths are (most of them rounded
to 5 m), with its spread over caves that the fit had not seen. Coefficients: tables/coarse.toml, written by
builders/fit_coarse_need.py from authorities/rigging_sheets.csv.
"""

import math
from dataclasses import dataclass

from tethera.basics import Finding, need_cm
from tethera.rigging.route import Measure, Pitch
from tethera.rigging.route_text import plain_number
from tethera.rigging.words import down_words, metres_words
from tethera.rope import figure, load_table


@dataclass(frozen=True, slots=True)
class Estimate:
    """Rope for one pitch: mean and spread [m], and the terms whose sum is the mean."""

    mean_m: float
    sd_m: float
    terms: tuple[tuple[str, float], ...]
    source: str


def _rigging(name: str) -> float:
    return figure("rigging", "metres", name).value


def depth_spread_m(pitch: Pitch) -> float:
    """Standard deviation of a pitch's depth [m], by how it was got; a range adds half its width over sqrt 3."""
    if pitch.depth_spread_m is not None:
        base = pitch.depth_spread_m
    elif pitch.depth_m == 0:
        base = 0.0
    else:
        table = load_table("rigging", "depth")
        ways = [table[pitch.depth_known_by]] + ([table["about"]] if pitch.depth.about else [])
        base = max(math.hypot(way["share"] * pitch.depth_m, way["metres"]) for way in ways)
    return math.hypot(base, pitch.depth.half_range_m / math.sqrt(3), _guides_apart_m(pitch) / math.sqrt(3))


def _guides_apart_m(pitch: Pitch) -> float:
    """Half of how far apart the depths of other guides lie, the route's own among them [m]."""
    told = [each.depth for each in pitch.editions if each.depth is not None]
    lows, highs = [each.low_m for each in told], [each.high_m for each in told]
    return (max([pitch.depth_m, *highs]) - min([pitch.depth_m, *lows])) / 2


def published_length(depth_m: float, anchors: int | None) -> Estimate:
    """Length a published sheet gives for a drop of this depth and number of anchors.

    Holds for 3 to 70 m and up to 16 anchors; beyond, the spread grows with the depth and nothing is refused.

    Parameters
    ----------
    depth_m : height of the drop [m]
    anchors : attachment points, deviations included; None where unknown
    """
    table = load_table("rigging", "coarse")["depth_and_anchors" if anchors is not None else "depth_only"]
    terms = [("published sheets: to begin with", float(table["constant_m"]))]
    terms.append((f"published sheets: {depth_m:g} m of depth", table["per_metre"] * depth_m))
    if anchors is not None:
        terms.append((f"published sheets: {anchors} anchors", table["per_anchor_m"] * anchors))
    sd = math.hypot(table["sd_m"], table["sd_share"] * depth_m)
    return Estimate(sum(term[1] for term in terms), sd, tuple(terms), str(table["source"]))


def estimate_coarse(pitch: Pitch) -> Estimate:
    """Rope for a coarsely known pitch on a rope of its own.

    Published sheets, a term for a long traverse, then the guide's own length weighed in by its spread. A guide's rope
    shorter than the drop is not believed, and the answer is never below the drop with its tails.
    """
    base = published_length(pitch.depth_m, pitch.anchor_count)
    terms = list(base.terms)
    sd = base.sd_m
    if traverse := _traverse_term(pitch):
        terms.append(("traverse line, beyond what its anchors bring", traverse))
        sd = math.hypot(sd, _rigging("traverse_spread") * traverse)
    slope = load_table("rigging", "coarse")["depth_and_anchors"]["per_metre"]
    if pitch.depth.about or pitch.depth.half_range_m or pitch.depth_spread_m is not None:
        sd = math.hypot(sd, slope * depth_spread_m(pitch))
    else:
        # The ordinary doubt about a guide's depth is already in the spread of the sheets; guides that differ add to it.
        sd = math.hypot(sd, slope * _guides_apart_m(pitch) / math.sqrt(3))
    mean = sum(term[1] for term in terms)
    if pitch.guide_rope_m is not None and pitch.guide_rope_m >= least_rope_m(pitch):
        more, sd = _with_guide(pitch, mean, sd)
        terms += more
        mean = sum(term[1] for term in terms)
    elif pitch.guide_rope_m is not None:
        short_of = "not weighed in: less than the drop with its tails takes"
        terms.append((f"guide's {plain_number(pitch.guide_rope_m)} m {short_of}", 0.0))
    if pitch.rope_above_floor_m:
        terms.append(("rope ends above the floor", -pitch.rope_above_floor_m))
        mean -= pitch.rope_above_floor_m
    if (short := least_rope_m(pitch) - mean) > 0:
        terms.append(("never less than the drop with its tails", short))
        mean += short
    return Estimate(mean, sd, tuple(terms), base.source)


def least_rope_m(pitch: Pitch) -> float:
    """The drop and its traverse with a tail at either end and a stopper: nothing shorter can be the right rope [m]."""
    ends = sum(figure("rigging", "metres", key).value for key in ("tail_at_start", "tail_at_foot"))
    straight = pitch.depth_m - pitch.rope_above_floor_m + pitch.traverse_m
    return max(straight, 0.0) + ends + figure("rigging", "knots", "stopper_figure_eight").value


def _traverse_term(pitch: Pitch) -> float:
    """Metres a stated traverse takes beyond what its anchors bring to the published length.

    The sheets' metres an anchor hold one knot and the ledge between two anchors. Of a traverse's metres as many are
    already counted as its anchors bring: those beyond two at the head, at most one every 2.5 m (tables/metres.toml).
    """
    if pitch.traverse_m <= 0:
        return 0.0
    table = load_table("rigging", "coarse")["depth_and_anchors"]
    beyond = max((pitch.anchor_count or 0) - _rigging("anchors_at_head"), 0.0)
    anchors = min(beyond, math.ceil(pitch.traverse_m / _rigging("traverse_anchor_spacing")))
    knot = figure("rigging", "knots", "butterfly").value
    straight = pitch.traverse_m * (1 + figure("rigging", "metres", "traverse_slack").value)
    return float(max(straight - anchors * max(table["per_anchor_m"] - knot, 0.0), 0.0))


def _with_guide(pitch: Pitch, mean_m: float, sd_m: float) -> tuple[list[tuple[str, float]], float]:
    """Terms that bring in the guide's own length, and the spread of both together [m].

    Published lengths are rounded up, so the pitch itself takes half a step less on average; the guide's length is
    taken as having sufficed about 19 times in 20. The shorter it is than what others would say, and the less it would
    leave at the foot, the less it weighs. A guide's longer rope loses no weight: it is known to have sufficed.

    A deeper pitch must never need less. So the weights use the spread of the sheets at the depth the guide's rope is
    usual for, not at the pitch's own; the doubts only grow with the depth, and only ever draw the mean up.
    """
    guide = pitch.guide_rope
    assert guide is not None
    rounding = _rigging("rope_rounding")
    step = rounding if math.isclose(guide.high_m % rounding, 0.0, abs_tol=1e-6) else 1.0
    usual_sd = _spread_where_usual(pitch, guide.high_m)
    short = _short_by(pitch, guide.high_m, mean_m - _rigging("guide_far_spreads") * usual_sd)
    itself = _guide_variance(guide, step)
    more = mean_m - rounding / 2 - (guide.high_m - step / 2)  # what the sheets ask beyond the guide's rope
    share = _share(itself + short if more > 0 else itself, usual_sd)  # weight of the sheets
    terms = [
        ("published lengths are rounded up: less half a step", -rounding / 2),
        (f"guide's {guide.high_m:g} m weighed in", (share - 1) * more),
    ]
    left = _share(itself + short, usual_sd)
    variance = left * usual_sd**2 + left**2 * max(sd_m**2 - usual_sd**2, 0.0)
    return terms, math.sqrt(variance)


def _share(guide_variance: float, sd_m: float) -> float:
    return guide_variance / (sd_m**2 + guide_variance)


def _guide_variance(guide: Measure, step_m: float) -> float:
    """How little a guide's length says, whatever the pitch: rounding, a choice, a word of doubt [m²]."""
    spreads = [
        figure("rigging", "coarse", "guide_rope").value,
        step_m / math.sqrt(12),
        guide.half_range_m / math.sqrt(3),
    ]
    if guide.about:
        spreads.append(_rigging("guide_about_spread") * guide.high_m)
    return sum(spread**2 for spread in spreads)


def _short_by(pitch: Pitch, guide_m: float, likely_m: float) -> float:
    """How much a guide's rope is to be doubted as too short [m²]: beside other sheets, and for what it leaves.

    What is missing to leave enough at the foot counts up to half a step of rounding, as it may be no more than that.
    """
    enough = _rigging("little_left_slope") * pitch.depth_m + _rigging("little_left_metres")
    little = min(max(enough - guide_m, 0.0), _rigging("rope_rounding") / 2)
    return little**2 + max(likely_m - guide_m, 0.0) ** 2


def _spread_where_usual(pitch: Pitch, guide_m: float) -> float:
    """Spread of published lengths at the depth for which sheets usually give this rope [m]."""
    usual = load_table("rigging", "coarse")["depth_only"]
    traverse = _traverse_term(pitch)
    depth = max((guide_m - traverse - usual["constant_m"]) / usual["per_metre"], 0.0)
    spread = published_length(depth, pitch.anchor_count).sd_m
    return math.hypot(spread, _rigging("traverse_spread") * traverse)


def little_left(where: str, depth_m: float, rope_m: float) -> Finding | None:
    """A doubt where a rope leaves little at the foot: shorter than 1.1 depth + 2 m, on drops of 10 m and more.

    On shorter pitches the rule would cry wolf: sheets often give 5 m of rope for a step of 3 m.

    >>> little_left("P30", 30.0, 34.0).code, little_left("P30", 30.0, 36.0), little_left("R4", 4.0, 5.0)
    ('little-left', None, None)
    """
    slope, more, least = (
        figure("rigging", "metres", f"little_left_{key}").value for key in ("slope", "metres", "from")
    )
    least_m = slope * depth_m + more
    if depth_m < least or rope_m >= least_m:
        return None
    return Finding(
        "little-left",
        where,
        f"{plain_number(rope_m)} m of rope leaves little at the foot of a drop of {down_words(depth_m)}: "
        f"{slope:g} times the depth and {metres_words(more)} more are {plain_number(need_cm(least_m) / 100)} m.",
        "Take a longer rope, or check the depth.",
    )
