"""What a pitch takes, part by part, cut into steps between the places where ropes may change.

Lengths are natural lengths of washed rope lying slack. No stretch is credited: the foot must be reached by an
unloaded rope, and its own weight gives at most about 0.1 % (rope.min_natural_length_m). A rebelay loop is counted as
the slack left after the rope above has contracted; rope.rebelay_slack_m tells the rigger what to leave while hanging.
Left out: a Y-hang's leg brings its knot lower, which saves at most 0.7 of the leg.

What trips taught about a pitch comes last: so many metres more or less, shared over its steps by the metres they take,
and every spread of its own made smaller in one proportion. Nothing is learnt of second lines and of pull-through
pitches: what lies at the foot of a doubled rope tells of neither strand.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from tethera.rigging.estimate import estimate_coarse
from tethera.rigging.knots import KnotLengths
from tethera.rigging.route import CHANGE_ROLES, Anchor, Learnt, Pitch
from tethera.rope import Figure, figure

GEOMETRY = "geometry, as the route says"
GIVEN = "as the route says"
LEFT_OVER = "what was left over on those trips"
KNOT_OF_ROLE = {
    "backup": "figure_eight_on_the_bight",
    "traverse": "butterfly",
    "y-hang": "figure_eight_on_the_bight",
    "rebelay": "figure_eight_on_the_bight",
    "hand-line": "butterfly",
}


@dataclass(frozen=True, slots=True)
class Part:
    """One cause of rope: metres, independent spread, and the metres of it that grow with the pitch's depth error."""

    what: str
    metres: float
    sd_m: float
    source: str
    grows_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight drop inside a step: its metres and the metres of the step above it."""

    label: str
    metres: float
    above_m: float


@dataclass(frozen=True, slots=True)
class Step:
    """Rope from one place to the next inside a pitch.

    `starting` is added where a rope begins at the step's upper end, `ending` where it ends at its lower end,
    `passing` where it runs on beyond; None means that it cannot run on. `anchor` numbers the anchor at its lower end.
    """

    label: str
    depth_m: float
    parts: tuple[Part, ...]
    starting: tuple[Part, ...]
    ending: tuple[Part, ...]
    passing: tuple[Part, ...] | None
    legs: tuple[Leg, ...] = ()
    min_diameter_mm: float | None = None
    anchor: int | None = None


def _rigging(name: str) -> Figure:
    return figure("rigging", "metres", name)


def _default(what: str, name: str) -> Part:
    held = _rigging(name)
    return Part(what, held.value, held.sd, held.source)


def knot_part(name: str, where: str, knots: KnotLengths) -> Part:
    """Rope in one knot."""
    held = knots.of(name)
    return Part(f"{name.replace('_', ' ')} at {where}", held.value, held.sd, held.source)


def steps_of(pitch: Pitch, knots: KnotLengths, *, second_line: bool = False) -> tuple[Step, ...]:
    """The pitch cut at its places, the last step ending at its foot; of its rope or of its second line."""
    if pitch.pull_through:
        return (_pulled(pitch, 1 if second_line and is_pull_cord(pitch) else 2),)
    steps = _by_anchors(pitch, knots) if pitch.by_anchors else (_coarse(pitch, knots),)
    return steps if pitch.learnt is None else _as_learnt(steps, pitch.learnt)


def step_shares(steps: Sequence[Step]) -> tuple[float, ...]:
    """The share each step has in what its pitch takes on one rope, knots and tails included; together 1 [-]."""
    if len(steps) == 1:
        return (1.0,)
    through = [[*step.parts, *(step.passing or ())] for step in steps[:-1]]
    through += [[*steps[-1].parts, *steps[-1].ending]]
    through[0] += steps[0].starting
    metres = [sum(part.metres for part in parts) for parts in through]
    return tuple(each / sum(metres) for each in metres)


def _as_learnt(steps: Sequence[Step], learnt: Learnt) -> tuple[Step, ...]:
    """The steps with what trips taught; the passage beyond the foot is not the pitch's own and stays as it was.

    The metres are put in below the legs: where a knot may hang in mid-drop they count with the rope below it.
    """
    trips = "1 trip" if learnt.trips == 1 else f"{learnt.trips} trips"
    taught = []
    for number, (step, share) in enumerate(zip(steps, step_shares(steps), strict=True), start=1):
        more = Part(f"as rigged on {trips}", learnt.more_m * share, 0.0, LEFT_OVER)
        passing = step.passing if number == len(steps) or step.passing is None else _surer(step.passing, learnt)
        taught.append(
            replace(
                step,
                parts=(*_surer(step.parts, learnt), more),
                starting=_surer(step.starting, learnt),
                ending=_surer(step.ending, learnt),
                passing=passing,
            )
        )
    return tuple(taught)


def _surer(parts: Sequence[Part], learnt: Learnt) -> tuple[Part, ...]:
    return tuple(replace(part, sd_m=part.sd_m * learnt.spread_share) for part in parts)


def _foot(pitch: Pitch, knots: KnotLengths) -> tuple[tuple[Part, ...], tuple[Part, ...] | None]:
    """What ending at the foot takes, and what running on takes."""
    end = (_default("tail at the foot", "tail_at_foot"), knot_part("stopper_figure_eight", "the foot", knots))
    if not pitch.rope_goes_on:
        return end, None
    link, slack = pitch.to_next_m or 0.0, _rigging("traverse_slack")
    return end, (Part("passage to the next pitch", link * (1 + slack.value), link * slack.sd, slack.source),)


def is_pull_cord(pitch: Pitch) -> bool:
    """Whether the second line only pulls the rope down, so that it hangs once and not doubled: its words say cord."""
    return pitch.pull_through and "cord" in (pitch.second_line or "").casefold()


def _pulled(pitch: Pitch, strands: int) -> Step:
    """A rope doubled from its hang and pulled down, or the cord that pulls one, which hangs once (strands = 1).

    The way to the hang is taken by every strand, as the line along it is pulled down too. Nothing is counted for knots
    and legs of a Y-hang: what is pulled runs through a ring or maillon, and the anchors are joined with slings. Rope
    above the floor, if a route wishes that, is not saved: both ends must be reached.
    """
    extra, word = _rigging("pull_through_extra"), "doubled rope" if strands == 2 else "pull cord"
    drop = strands * pitch.depth_m
    parts = [*_approach(pitch, strands, word), Part(f"{word} over the drop", drop, 0.0, GEOMETRY, grows_m=drop)]
    ends = "both ends on the floor, one to pull" if strands == 2 else "its end on the floor, to pull"
    parts.append(Part(ends, extra.value, extra.sd, extra.source))
    # One rope may be pulled and go on, whatever the passage.
    return Step(f"foot of {pitch.name}", pitch.depth_m, tuple(parts), (), (), (), (), pitch.min_diameter_mm)


def _approach(pitch: Pitch, strands: int, word: str) -> Iterator[Part]:
    """The way from the head to the hang: traverse, metres along its anchors, and up over what lies in between."""
    slack = _rigging("traverse_slack")
    hung = [(number, anchor) for number, anchor in enumerate(pitch.anchors, start=1) if anchor.role != "deviation"]
    ways = [("along the traverse", pitch.traverse_m)]
    ways += [(f"along to {anchor.role} {number}", abs(anchor.along_m)) for number, anchor in hung]
    for where, metres in ways:
        if metres > 0:
            taken = strands * metres
            source = f"{GEOMETRY}; slack {slack.source}"
            yield Part(f"{word} {where}", taken * (1 + slack.value), taken * slack.sd, source)
    for number, anchor in enumerate(pitch.anchors, start=1):
        if anchor.down_m < 0:
            # What goes up comes down again, beyond the depth.
            yield Part(
                f"{word} up to {anchor.role} {number} and down again", -2 * strands * anchor.down_m, 0.0, GEOMETRY
            )
        if anchor.role == "deviation":
            aside = _detour(pitch, number, sum(a.down_m for a in pitch.anchors[:number]))
            yield Part(f"{word}, {aside.what}", strands * aside.metres, strands * aside.sd_m, aside.source)


def _coarse(pitch: Pitch, knots: KnotLengths) -> Step:
    starting = (_default("tail at the start", "tail_at_start"),)
    ending, passing = _foot(pitch, knots)
    guess = estimate_coarse(pitch)
    inside = sum(part.metres for part in (*starting, *ending))
    spare = sum(part.sd_m**2 for part in (*starting, *ending))
    spread = math.sqrt(max(guess.sd_m**2 - spare, 0.0))
    first, *others = guess.terms
    parts = [Part(first[0], first[1], spread, guess.source)]
    parts += [Part(what, metres, 0.0, guess.source) for what, metres in others]
    parts.append(Part("tails and stopper, already in that", -inside, 0.0, "so that nothing is counted twice"))
    legs = _longest_drop(pitch, sum(part.metres for part in parts))
    foot = f"foot of {pitch.name}"
    return Step(foot, pitch.depth_m, tuple(parts), starting, ending, passing, legs, pitch.min_diameter_mm)


def _longest_drop(pitch: Pitch, inside_m: float) -> tuple[Leg, ...]:
    """The longest drop of a coarse pitch: all that is known of where a knot could hang free."""
    pieces = list(pitch.depth.pieces) or [pitch.depth_m]
    longest = max(pieces)
    drop = longest - (pitch.rope_above_floor_m if longest == pieces[-1] else 0.0)
    if drop < _rigging("least_leg_for_a_join").value:
        return ()
    above = max(inside_m - sum(pieces[pieces.index(longest) :]), 0.0)
    return (Leg(f"drop of {pitch.name}", min(drop, inside_m - above), above),)


def anchor_label(anchor: Anchor, number: int, pitch: Pitch) -> str:
    """How a person points at an anchor: "rebelay 3 of Second"."""
    return f"{anchor.role if anchor.role != 'y-hang' else 'Y-hang'} {number} of {pitch.name}"


def _by_anchors(pitch: Pitch, knots: KnotLengths) -> tuple[Step, ...]:
    steps: list[Step] = []
    parts: list[Part] = []
    legs: list[Leg] = []
    starting: tuple[Part, ...] = (_default("tail at the start", "tail_at_start"),)
    down = along = 0.0
    thickest = pitch.min_diameter_mm
    for number, anchor in enumerate(pitch.anchors, start=1):
        here = f"{anchor.role} {number}"
        down += anchor.down_m
        along += 0.0 if anchor.role == "deviation" else anchor.along_m
        thickest = max((d for d in (thickest, anchor.min_diameter_mm) if d is not None), default=None)
        _add_leg(parts, legs, _leg_to(anchor, here), f"leg above {here}", anchor.down_m)
        if anchor.role == "deviation":
            parts.append(_detour(pitch, number, down))
            continue
        loop = _loop(anchor, here)
        passing = (*_ties(anchor, here, knots), *loop)
        far_enough = sum(part.metres for part in parts) >= _rigging("least_run").value
        if anchor.role in CHANGE_ROLES and far_enough:
            ends = (
                *loop,
                knot_part("figure_eight_on_the_bight", here, knots),
                _default(f"tail at {here}", "tail_at_end"),
            )
            label = anchor_label(anchor, number, pitch)
            steps.append(Step(label, down, tuple(parts), starting, ends, passing, tuple(legs), thickest, number))
            starting = (*_ties(anchor, here, knots), _default(f"tail at {here}", "tail_at_start"))
            parts, legs, thickest = (
                [],
                [],
                max((d for d in (pitch.min_diameter_mm, anchor.min_diameter_mm) if d is not None), default=None),
            )
        else:
            parts.extend(passing)
    rest = max(pitch.depth_m - pitch.rope_above_floor_m - down, 0.0)
    last = Part("leg to the foot", rest, 0.0, GEOMETRY, grows_m=rest)
    _add_leg(parts, legs, last, f"last leg of {pitch.name}", rest)
    ending, onward = _foot(pitch, knots)
    foot = f"foot of {pitch.name}"
    steps.append(Step(foot, pitch.depth_m, tuple(parts), starting, ending, onward, tuple(legs), thickest))
    return tuple(steps)


def _add_leg(parts: list[Part], legs: list[Leg], leg: Part, label: str, drop_m: float) -> None:
    if drop_m >= _rigging("least_leg_for_a_join").value:
        legs.append(Leg(label, leg.metres, sum(part.metres for part in parts)))
    if leg.metres > 0:
        parts.append(leg)


def _leg_to(anchor: Anchor, here: str) -> Part:
    """Rope from the anchor before, with slack for what of it lies along a ledge.

    A traverse or hand-line is slack over its whole length. To any other anchor only the metres along get slack: taut
    straight down, slack on the level, and no angle at which a leg that goes deeper would suddenly take less.
    """
    if anchor.role == "deviation":
        return Part(f"leg to {here}", abs(anchor.down_m), 0.0, GEOMETRY, grows_m=abs(anchor.down_m))
    slack = _rigging("traverse_slack")
    straight = math.hypot(anchor.along_m, anchor.down_m)
    line = anchor.role in ("traverse", "hand-line")
    slackened = straight if line else abs(anchor.along_m)
    if slackened == 0:
        return Part(f"leg to {here}", straight, 0.0, GEOMETRY, grows_m=abs(anchor.down_m))
    # The slack a route wishes at another anchor is its loop, counted there.
    wished = anchor.loop_m if line else None
    more = slackened * slack.value if wished is None else wished
    what = f"leg to {here}, with the slack of a traverse line"
    source = f"{GEOMETRY}; slack {slack.source}"
    return Part(what, straight + more, slackened * slack.sd, source, abs(anchor.down_m))


def _ties(anchor: Anchor, here: str, knots: KnotLengths) -> tuple[Part, ...]:
    """Knots at an anchor, with the legs of a Y-hang: the second leg is a loop, so it counts twice."""
    first = knot_part(anchor.knot or KNOT_OF_ROLE[anchor.role], here, knots)
    if anchor.role != "y-hang":
        again = (first,) * (anchor.bolts - 1)
        return (first, *again)
    held = _rigging("y_hang_leg")
    leg, sd, source = held.value, held.sd, held.source
    if anchor.leg_m is not None:
        leg, sd, source = anchor.leg_m, _rigging("y_hang_leg_spread").value * anchor.leg_m, GIVEN
    legs = (
        Part(f"first leg of the Y at {here}", leg, sd, source),
        Part(f"second leg of the Y at {here}, a loop", 2 * leg * (anchor.bolts - 1), 2 * sd, source),
    )
    return (first, knot_part("butterfly", here, knots), *legs)


def _loop(anchor: Anchor, here: str) -> tuple[Part, ...]:
    """Slack left once the rope above has contracted: at rebelays, and at a Y-hang that ends a drop."""
    held = _rigging("rebelay_loop")
    if anchor.role in ("traverse", "hand-line"):
        return ()  # its slack is in the leg
    if anchor.loop_m is not None:
        return (Part(f"loop at {here}", anchor.loop_m, held.sd, GIVEN),) if anchor.loop_m > 0 else ()
    hangs = anchor.role == "rebelay" or (anchor.role == "y-hang" and anchor.down_m >= _rigging("least_run").value)
    return (Part(f"loop at {here}", held.value, held.sd, held.source),) if hangs else ()


def _detour(pitch: Pitch, number: int, down_m: float) -> Part:
    """A deviation pulls the rope aside: sqrt(h1² + d²) + sqrt(h2² + d²) - h1 - h2, default where d is unknown."""
    anchor, what = pitch.anchors[number - 1], f"detour over deviation {number}"
    if anchor.along_m == 0 or anchor.down_m <= 0:
        held = _rigging("deviation_detour")
        return Part(what, held.value, held.sd, held.source)
    following: Iterable[Anchor] = pitch.anchors[number : number + 1]
    below = next((a.down_m for a in following), pitch.depth_m - pitch.rope_above_floor_m - down_m)
    aside, above, below = abs(anchor.along_m), anchor.down_m, max(below, 0.0)
    metres = math.hypot(above, aside) + math.hypot(below, aside) - above - below
    return Part(what, metres, _rigging("deviation_detour_spread").value * metres, GEOMETRY)
