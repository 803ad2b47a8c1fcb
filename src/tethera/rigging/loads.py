"""From a route: what each anchor carries, and the worst fall on it, the bad ones first.

Anchor by anchor where the route knows them; else one line for each pitch head with what is known, and what is not.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from tethera.basics import Finding
from tethera.rigging.anchors import CAUTIONS, band_values, most_kn, usual, usual_mass_kg, weight_of_kn
from tethera.rigging.bridle import y_share
from tethera.rigging.holding import Against, Holding, over
from tethera.rigging.load_cases import (
    Case,
    anchor_fails,
    between_fails,
    deviation_fails,
    leg_fails,
    on_deviation,
    on_span,
    slack_m,
)
from tethera.rigging.parts import KNOT_OF_ROLE, anchor_label
from tethera.rigging.route import Anchor, Pitch, Route
from tethera.rigging.y_hang import wide_y
from tethera.rope import Band, figure

#: What is likely, and not only so where every doubt goes the wrong way.
_LIKELY = {"no-backup", "likely-over-what-held", "likely-over-person"}
#: A shorter line between two anchors is no span to fall onto [m].
_LEAST_SPAN_M = 0.5


@dataclass(frozen=True, slots=True)
class AnchorLoads:
    """One anchor of a route, or the head of a pitch whose anchors are not known one by one (number None).

    hanging_kn : on the anchor with one caver hanging still; moving_kn : the most while moving
    legs_kn : on each leg at 60, 90 and 120 degrees, of a Y-hang whose angle the route does not say
    fall : the worst that comes on it, on one bolt where it has several; None where it cannot be worked out
    if_fails : what happens when it fails itself, in words
    unknown : what the route does not say
    """

    pitch: str
    number: int | None
    label: str
    role: str
    kind: str
    bolts: int
    hanging_kn: Band
    moving_kn: float
    legs_kn: tuple[tuple[float, float], ...]
    fall: Case | None
    if_fails: str
    against: tuple[Against, ...]
    findings: tuple[Finding, ...]
    unknown: tuple[str, ...]

    @property
    def worst_kn(self) -> float:
        """The most that may come on one bolt of it [kN]."""
        return max(self.moving_kn, 0.0 if self.fall is None else self.fall.most_kn)

    @property
    def badness(self) -> int:
        """2 where something likely looks bad, 1 where it does so only at the end that hurts, else 0."""
        codes = {each.code for each in self.findings}
        return 2 if codes & _LIKELY else int(bool(codes))

    @property
    def worst_share(self) -> float | None:
        """The most, as a share of the weakest that anything is known of [-]."""
        return max((each.share for each in self.against if each.share is not None), default=None)

    def to_mapping(self) -> dict[str, Any]:
        """Plain values."""
        return {
            "pitch": self.pitch,
            "number": self.number,
            "anchor": self.label,
            "role": self.role,
            "kind": self.kind,
            "bolts": self.bolts,
            "hanging_kn": band_values(self.hanging_kn),
            "moving_kn": round(self.moving_kn, 3),
            "legs": [{"angle_deg": angle, "leg_kn": round(kn, 3)} for angle, kn in self.legs_kn],
            "fall_kn": None if self.fall is None else band_values(self.fall.kn),
            "fall": None if self.fall is None else self.fall.words,
            "if_fails": self.if_fails,
            "worst_kn": round(self.worst_kn, 3),
            "badness": self.badness,
            "against": [each.to_mapping() for each in self.against],
            "looks_bad": [{"message": f.message, "way_out": f.way_out} for f in self.findings],
            "unknown": list(self.unknown),
        }


@dataclass(slots=True)
class _Seen:
    """What is gathered of one anchor while its pitch is walked."""

    anchor: Anchor | None
    number: int | None
    label: str
    hanging: Band
    legs: tuple[tuple[float, float], ...] = ()
    cases: list[Case] = field(default_factory=list)
    if_fails: str = ""
    findings: list[Finding] = field(default_factory=list)
    unknown: list[str] = field(default_factory=list)


def route_loads(
    route: Route,
    *,
    mass_kg: float | None = None,
    holding: Holding | None = None,
    ropes: Mapping[str, Holding] | None = None,
) -> tuple[AnchorLoads, ...]:
    """Every anchor's loads and worst fall, the bad ones first.

    Parameters
    ----------
    mass_kg : one caver with what hangs on the harness, and bags [kg]; None takes 85 kg and a bag of 15 kg
    holding : what is declared of anchors and rope where nothing else is said
    ropes : by name of pitch, what is declared of the rope on it
    """
    mass, usual_one = mass_kg or usual_mass_kg(), holding or Holding()
    weight_of_kn(mass)
    found: list[AnchorLoads] = []
    before: Pitch | None = None
    for pitch in route.pitches:
        held = (ropes or {}).get(pitch.name, usual_one)
        goes_on = before is not None and before.rope_goes_on
        seen = _by_anchors(pitch, mass, held, goes_on=goes_on) if pitch.anchors else [_coarse(pitch, mass, held)]
        found += [_told(pitch, each, held) for each in seen]
        before = pitch
    # Python's sort keeps the order of the route among equals.
    return tuple(sorted(found, key=lambda each: (-each.badness, -each.worst_kn)))


def loads_mapping(loads: Iterable[AnchorLoads], mass_kg: float | None = None) -> dict[str, Any]:
    """The list in plain values, for the sheet's back, the pages and machines."""
    mass = mass_kg or usual_mass_kg()
    told = [each.to_mapping() for each in loads]
    return {
        "mass_kg": mass,
        "weight_kn": round(weight_of_kn(mass), 2),
        "anchors": told,
        "assumptions": list(assumptions(mass)),
        "cautions": list(CAUTIONS),
    }


def assumptions(mass_kg: float) -> tuple[str, ...]:
    """What the list takes for granted, in sentences."""
    return (
        f"One caver with bags, {mass_kg:g} kg. Moving: up to {usual('moving'):g} times that (HSE report 364/2001).",
        f"One thing fails at a time, {usual('below'):g} m of rope below it; no credit for knots, devices or friction.",
        "Rope whose impact force nobody declared counts as stiff as its standard allows; wet and used unless declared.",
    )


def _weight(mass_kg: float) -> Band:
    weight = weight_of_kn(mass_kg)
    return Band(weight, weight, weight)


def _by_anchors(pitch: Pitch, mass_kg: float, holding: Holding, *, goes_on: bool) -> list[_Seen]:
    seen: list[_Seen] = []
    hung: list[tuple[_Seen, Anchor]] = []
    above: _Seen | None = None
    since = 0.0
    for number, anchor in enumerate(pitch.anchors, start=1):
        each = _Seen(anchor, number, anchor_label(anchor, number, pitch), _weight(mass_kg))
        since += anchor.down_m
        if anchor.role == "deviation":
            _deviation(each, above, since, mass_kg, holding)
        else:
            # Deviations on the way were part of this leg.
            leg = replace(anchor, down_m=since)
            _hung(each, leg, above, mass_kg, holding, backed=goes_on)
            above, since = each, 0.0
            hung.append((each, leg))
        seen.append(each)
    _lines(hung, mass_kg, holding)
    return seen


def _deviation(each: _Seen, above: _Seen | None, above_m: float, mass_kg: float, holding: Holding) -> None:
    assert each.anchor is not None
    each.hanging, known = on_deviation(each.anchor, above_m, mass_kg)
    if not known:
        each.unknown.append(
            f"How far it pulls the rope aside: a turn of {usual('turn', 'usual'):g} to "
            f"{usual('turn', 'wide'):g}° is counted."
        )
    case = deviation_fails(each.anchor, each.label, above_m, mass_kg, holding)
    each.if_fails = _told_case(case, above)
    if above is not None:
        above.cases.append(case)


def _hung(each: _Seen, leg: Anchor, above: _Seen | None, mass_kg: float, holding: Holding, *, backed: bool) -> None:
    if leg.role == "y-hang":
        _y(each, leg, mass_kg, holding)
    if above is None:
        if leg.role not in ("backup", "y-hang") and leg.bolts == 1 and not backed:
            told = "Looks bad: it is the first anchor and alone: if it fails, nothing of this pitch holds."
            each.findings.append(Finding("no-backup", each.label, told, "Back it up."))
        return
    if _is_line(each) or _is_line(above):
        _line_to(each, leg, above, mass_kg, holding)
    backs_up = above.anchor is not None and above.anchor.role == "backup"
    if leg.role not in ("rebelay", "y-hang") or (leg.bolts > 1 and not backs_up):
        return
    case = anchor_fails(leg, each.label, mass_kg, holding, hang=_hangs(leg))
    if case is None:
        each.unknown.append("What happens when it fails: the anchor before it is too far away to tell.")
        return
    # A backup is there for all of what hangs below it, not for one bolt of it.
    case = replace(case, words=f"all of {case.words}") if leg.bolts > 1 else case
    each.if_fails = each.if_fails or _told_case(case, above)
    above.cases.append(case)


def _lines(hung: list[tuple[_Seen, Anchor]], mass_kg: float, holding: Holding) -> None:
    """Anchors between two spans of a line, each failing in turn."""
    for (above, _), (each, leg), (below, onward) in zip(hung, hung[1:], hung[2:], strict=False):
        spans = (abs(leg.along_m), abs(onward.along_m))
        if not _is_line(each) or leg.bolts > 1 or min(spans) < _LEAST_SPAN_M:
            continue
        slacks = (slack_m(leg, spans[0], line=True)[0], slack_m(onward, spans[1], line=True)[0])
        if case := between_fails(spans, slacks, each.label, mass_kg, holding):
            each.if_fails = _told_case(case, above, below)
            above.cases.append(case)
            below.cases.append(case)


def _hangs(leg: Anchor) -> bool:
    """Whether a drop ends here, so that the rope above it has a loop and not the slack of a line."""
    return leg.role == "rebelay" or leg.down_m >= figure("rigging", "metres", "least_run").value


def _is_line(seen: _Seen) -> bool:
    return seen.anchor is not None and seen.anchor.role in ("traverse", "hand-line")


def _y(each: _Seen, leg: Anchor, mass_kg: float, holding: Holding) -> None:
    weight, angle = float(each.hanging.high), leg.y_angle_deg
    # y_share goes up to a nearly flat Y; a flatter one is told by its share there, hundreds of loads.
    known = None if angle is None else min(angle, 179.0)
    usual_ones = tuple(usual("y_angles", key) for key in ("narrow", "usual", "wide"))
    angles = usual_ones if known is None else (known,)
    each.legs = tuple((round(angle, 1), weight * float(y_share(angle))) for angle in angles)
    if known is None:
        each.unknown.append(f"The angle of the Y: {angles[0]:g} to {angles[-1]:g}° is shown. {_for_the_angle(leg)}")
    elif angle is not None:
        each.findings += wide_y(angle)
    length = leg.leg_m or figure("rigging", "metres", "y_hang_leg").value
    case = leg_fails(min(max(length, 0.05), 50.0), mass_kg, holding, angles)
    each.if_fails = _told_case(case, None)
    each.cases.append(case)


def _for_the_angle(leg: Anchor) -> str:
    """What is missing, or wrong, so that the angle is not known."""
    if leg.bolts > 2:
        return "It has more than two legs."
    if leg.leg_m is None or leg.apart_m is None:
        return "How far its bolts are apart and how long a leg is tell it."
    return f"Legs of {leg.leg_m:g} m do not meet between bolts {leg.apart_m:g} m apart: measure both again."


def _line_to(each: _Seen, leg: Anchor, above: _Seen, mass_kg: float, holding: Holding) -> None:
    straight = abs(leg.along_m)
    if straight < max(_LEAST_SPAN_M, abs(leg.down_m)):
        return
    span = on_span(straight, slack_m(leg, straight, line=True)[0], mass_kg, holding, f"above {each.label}")
    if span is None:
        return
    for end in (above, each):
        end.hanging = max(end.hanging, span.hanging_kn, key=lambda band: float(band.high))
        end.cases.append(span.fall)


def _told_case(case: Case, *holds: _Seen | None) -> str:
    names = " and ".join(each.label for each in holds if each is not None)
    held = f"; {names} must hold" if names else ""
    return f"{case.words}: likely {float(case.kn.likely):.1f}, up to {case.most_kn:.1f} kN{held}."


def _coarse(pitch: Pitch, mass_kg: float, holding: Holding) -> _Seen:
    """The head of a pitch whose anchors are known by number at most."""
    each = _Seen(None, None, f"head of {pitch.name}", _weight(mass_kg))
    count = pitch.anchor_count
    if pitch.depth_m > 0:
        weight = weight_of_kn(mass_kg)
        angles = [usual("y_angles", key) for key in ("narrow", "usual", "wide")]
        each.legs = tuple((angle, weight * float(y_share(angle))) for angle in angles)
        each.unknown.append("The anchors one by one, and how they are linked: no fall is worked out.")
        if pitch.rebelays:
            each.unknown.append(f"Where its rebelays are ({pitch.rebelays}), and their loops.")
        return each
    if count and count > 1 and pitch.traverse_m:
        spacing = pitch.traverse_m / (count - 1)
        slack = figure("rigging", "metres", "traverse_slack").value * spacing
        span = on_span(spacing, slack, mass_kg, holding, f"of {pitch.name}")
        each.unknown.append(f"Where its {count} anchors are: spans of {spacing:.1f} m, as if even.")
        each.label = f"each anchor of {pitch.name}"
        if span is not None:
            each.hanging = span.hanging_kn
            each.cases.append(span.fall)
        return each
    each.label = f"anchors of {pitch.name}"
    each.unknown.append("How many anchors the traverse has, and where: nothing is worked out but the weight.")
    return each


def _told(pitch: Pitch, seen: _Seen, holding: Holding) -> AnchorLoads:
    anchor = seen.anchor
    moving = most_kn(seen.hanging)
    fall = max(seen.cases, key=lambda case: case.most_kn, default=None)
    worst = max(moving, 0.0 if fall is None else fall.most_kn)
    role = anchor.role if anchor else ""
    knot = (anchor.knot if anchor else None) or KNOT_OF_ROLE.get(role, "figure_eight_on_the_bight")
    held = replace(holding, knot=knot)
    likely = max(float(seen.hanging.likely), 0.0 if fall is None else float(fall.kn.likely))
    against = [held.against_anchor(worst)]
    against.append(held.against_sling(worst) if role == "deviation" else held.against_rope(worst))
    findings = [*seen.findings, *(f for each in against if (f := over(seen.label, likely, worst, each)) is not None)]
    if fall is not None:
        findings += _on_person(seen.label, fall)
    return AnchorLoads(
        pitch.name,
        seen.number,
        seen.label,
        role,
        anchor.kind if anchor else "",
        anchor.bolts if anchor else 1,
        seen.hanging,
        moving,
        seen.legs,
        fall,
        seen.if_fails,
        tuple(against),
        tuple(findings),
        tuple(seen.unknown),
    )


def _on_person(label: str, fall: Case) -> Iterable[Finding]:
    """The ceiling of the standards for a person, passed likely or only at the end that hurts."""
    ceiling = figure("rope", "falls", "ceiling").value
    most, likely, way_out = fall.most_kn, float(fall.kn.likely), "Less slack in what would let go."
    if likely > ceiling:
        told = f"Looks bad: likely {likely:.1f} kN, over the {ceiling:g} kN of the European standards for a person."
        yield Finding("likely-over-person", label, told, way_out)
    elif most > ceiling:
        told = f"Looks bad at the worst: up to {most:.1f} kN (likely {likely:.1f}), over the {ceiling:g} kN"
        yield Finding("over-person", label, f"{told} of the European standards for a person.", way_out)
