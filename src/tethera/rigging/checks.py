"""What cannot be, and what is odd, about a route."""

from collections.abc import Iterator

from tethera.basics import Finding
from tethera.rigging.route import Edition, Pitch, Route, chain_of, in_a_choice
from tethera.rigging.route_text import plain_number
from tethera.rigging.words import depth_words, down_words, metres_words, rope_words

#: Slack for numbers typed to the decimetre [m].
_ROUNDING_M = 0.05
#: Two guides disagree beyond this share of the larger and beyond this much: depths in metres, ropes in metres, which
#: guides give to 5 m, and anchors, which they count differently at a head (our choice, no source).
_FACTS = {"depth": (0.1, 2.0), "rope": (0.0, 5.0), "anchors": (0.0, 2.0)}
_ROUNDING_SLACK = 1e-6


def check_geometry(pitch: Pitch) -> tuple[str, str] | None:
    """The key that is impossible and what was expected there, or None. Anchors are named "anchor 0"."""
    bottom = pitch.depth.high_m
    if pitch.rope_above_floor_m > pitch.depth.low_m:
        return "rope_above_floor", f"expected less than the depth of {pitch.depth.low_m:g} m"
    down = 0.0
    for number, anchor in enumerate(pitch.anchors):
        down += anchor.down_m
        if down > bottom + _ROUNDING_M:
            return f"anchor {number}", (
                f"anchor {number + 1} of “{pitch.name}” lies {down:g} m down, below the foot at {bottom:g} m; "
                "down is counted from the anchor before"
            )
    if pitch.pull_through and pitch.left_in_place:
        return "pull_through", "a rope left in place is not pulled through; expected one of the two"
    if pitch.pull_through and pitch.direction == "up":
        return "pull_through", 'an up-climb cannot be pulled through; expected direction = "down"'
    return None


def route_findings(route: Route) -> tuple[Finding, ...]:
    """Doubts that need nothing but the route's own words."""
    found = [finding for pitch in route.pitches for finding in _pitch_findings(pitch)]
    return (*found, *_second_line_findings(route), *_total_findings(route))


def _second_line_findings(route: Route) -> list[Finding]:
    choice = in_a_choice(route.pitches)
    return [
        Finding(
            "second-line-left-out",
            pitch.name,
            f"No rope is planned for its second line ({pitch.second_line}): it is one way of a choice.",
            "If it is rigged, take a rope for it, or leave only that way in the route and plan again.",
        )
        for pitch in route.pitches
        if pitch.second_line and pitch.name in choice
    ]


def _guides_disagree(pitch: Pitch) -> Iterator[Finding]:
    """Other guides that are far from what the route goes by, or else from each other: which say what."""
    own = Edition("", pitch.depth, pitch.guide_rope, pitch.count)
    agree: dict[str, list[Edition]] = {fact: [] for fact in _FACTS}
    for each in pitch.editions:
        apart = [fact for fact in _FACTS if _apart(fact, own, each)]
        for fact in _FACTS.keys() - set(apart):
            agree[fact].append(each)
        if apart:
            told = " and ".join(f"{_told(fact, each)} instead of {_told(fact, own, short=True)}" for fact in apart)
            yield _disagree(pitch, f"{each.source} says {told}.")
    for fact, editions in agree.items():  # those told already are not told again
        ends = _furthest_apart(fact, editions)
        if ends is not None and _apart(fact, *ends):
            low, high = ends
            yield _disagree(pitch, f"{low.source} says {_told(fact, low)}, {high.source} {_told(fact, high)}.")


def _disagree(pitch: Pitch, told: str) -> Finding:
    return Finding("guides-disagree", pitch.name, told, "Measure it there, or take the longer until then.")


def _ends_of(fact: str, said: Edition) -> tuple[float, float] | None:
    """The least and the most that is said; of a rope the longest, as that is known to have sufficed."""
    match fact:
        case "depth":
            return None if said.depth is None else (said.depth.low_m, said.depth.high_m)
        case "rope":
            return None if said.guide_rope is None else (said.guide_rope.high_m, said.guide_rope.high_m)
    return None if said.anchors is None else (said.anchors, said.anchors)


def _apart(fact: str, one: Edition, other: Edition) -> bool:
    first, second = _ends_of(fact, one), _ends_of(fact, other)
    if first is None or second is None:
        return False
    between = max(first[0] - second[1], second[0] - first[1])
    share, least = _FACTS[fact]
    return between > max(least, share * max(first[1], second[1])) + _ROUNDING_SLACK


def _furthest_apart(fact: str, editions: list[Edition]) -> tuple[Edition, Edition] | None:
    told = [(ends, each) for each in editions if (ends := _ends_of(fact, each)) is not None]
    if len(told) < 2:
        return None
    return min(told, key=lambda one: one[0][1])[1], max(told, key=lambda one: one[0][0])[1]


def _told(fact: str, said: Edition, *, short: bool = False) -> str:
    if fact == "depth" and said.depth is not None:
        return depth_words(said.depth)
    if fact == "rope" and said.guide_rope is not None:
        return rope_words(said.guide_rope) + ("" if short else " of rope")
    return str(said.anchors) if short else f"{said.anchors} anchor{'' if said.anchors == 1 else 's'}"


def _pitch_findings(pitch: Pitch) -> list[Finding]:
    found = list(_guides_disagree(pitch))
    rope = pitch.guide_rope
    wanted = pitch.depth.low_m - pitch.rope_above_floor_m
    if rope is not None and rope.high_m < wanted * (2 if pitch.pull_through else 1):
        twice = ", which is pulled through and needs twice that" if pitch.pull_through else ""
        found.append(
            Finding(
                "rope-shorter-than-drop",
                pitch.name,
                f"{plain_number(rope.high_m)} m of rope cannot reach down {down_words(wanted)}{twice}.",
                "One of the two numbers is wrong; the guide's rope is left out of the reckoning until it is put right.",
            )
        )
    if pitch.anchors and pitch.anchor_count is not None and pitch.count != pitch.anchor_count:
        found.append(
            Finding(
                "anchors-do-not-add-up",
                pitch.name,
                f"{pitch.anchor_count} anchors are stated, {pitch.count} are listed one by one.",
                "The list is used; check whether one is missing.",
            )
        )
    among = (pitch.rebelays or 0) + (pitch.deviations or 0)
    if not pitch.anchors and pitch.anchor_count is not None and among > pitch.anchor_count:
        found.append(
            Finding(
                "anchors-fewer-than-their-parts",
                pitch.name,
                f"{pitch.anchor_count} anchors are stated, but {among} rebelays and deviations among them.",
                "The number of anchors is used; write it with rebelays and deviations included.",
            )
        )
    if pitch.pull_through and (pitch.rebelays or any(anchor.role == "rebelay" for anchor in pitch.anchors)):
        found.append(
            Finding(
                "pull-through-rebelay",
                pitch.name,
                "A doubled rope cannot be pulled down through a rebelay; no rope is counted for its knot and loop.",
                "Write a pitch for each hang the rope is pulled from, or leave pull_through out.",
            )
        )
    if pitch.rope_goes_on and pitch.to_next_m is None:
        found.append(
            Finding(
                "passage-unknown",
                pitch.name,
                "The rope may go on, but how far the next pitch is nobody wrote.",
                "Write to_next; until then no metres are counted for the passage.",
            )
        )
    return found


def _total_findings(route: Route) -> list[Finding]:
    totals, found = route.stated_totals, []
    chain = chain_of(route)
    joint = {name for group in route.together for name in group.pitches}
    ropes = [(p.guide_rope.low_m, p.guide_rope.high_m) for p in chain if p.guide_rope and p.name not in joint]
    ropes += [(group.guide_rope.low_m, group.guide_rope.high_m) for group in route.together]
    whole = all(p.guide_rope or p.name in joint or p.left_in_place for p in chain)
    rows = [
        ("rope", totals.rope, sum(r[0] for r in ropes), sum(r[1] for r in ropes), whole),
        ("depth", totals.depth, sum(p.depth.low_m for p in chain), sum(p.depth.high_m for p in chain), True),
    ]
    for what, stated, low, high, complete in rows:
        if stated is None:
            continue
        over, under = low > stated.high_m + _ROUNDING_M, complete and high < stated.low_m - _ROUNDING_M
        if over or under:
            found.append(_does_not_add_up(what, f"{low:g}" if low == high else f"{low:g} to {high:g}", stated.high_m))
    counts = [pitch.count for pitch in chain if pitch.count is not None]
    if totals.anchors is not None and len(counts) == len(chain) and sum(counts) != totals.anchors:
        found.append(
            Finding(
                "total-does-not-add-up",
                "totals",
                f"The rows hold {sum(counts)} anchors, the stated total is {totals.anchors}.",
                "One row or the total is wrong; the rows are used.",
            )
        )
    return found


def _does_not_add_up(what: str, rows: str, stated_m: float) -> Finding:
    return Finding(
        "total-does-not-add-up",
        "totals",
        f"The rows add up to {rows}\u00a0m of {what}, the stated total is {metres_words(stated_m)}.",
        "One row or the total is wrong; the rows are used.",
    )
