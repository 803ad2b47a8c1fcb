"""The plan in sentences: why each rope, how good the plan provably is, and what is missing when there is none."""

from collections.abc import Iterator, Sequence

from tethera.planning.margins import need_at_cm
from tethera.planning.plan import Hang, Plan, Shortfall
from tethera.planning.to_order import ToOrder
from tethera.planning.trip import RopeUse, Unmet
from tethera.planning.trip_problem import FreeRope, TripProblem

#: Two ropes of nearly one length are known nearly as well: their needs differ by no more than this [cm].
_SAME_CM = 10


def metres(length_cm: float) -> str:
    """Centimetres as metres, without needless zeros: 3800 is 38 m, 3805 is 38.05 m."""
    return f"{length_cm / 100:.2f}".rstrip("0").rstrip(".") + " m"


def rope_uses(problem: TripProblem, plan: Plan, free: Sequence[FreeRope]) -> list[RopeUse]:
    """Each rope of the plan, trip by trip in order of use; a second line goes with its pitch."""
    hangs = sorted(plan.hangs, key=lambda hang: (hang.line, hang.begin))
    uses = [
        use
        for before, hang in zip([None, *hangs], hangs, strict=False)
        for use in _uses(problem, plan, before, hang, free)
    ]
    order = [
        (problem.lines[hang.line][0], min(hang.pitches, default=0), hang.line, hang.begin)
        for hang in hangs
        for _ in hang.ropes
    ]
    return [use for _, use in sorted(zip(order, uses, strict=True), key=lambda pair: pair[0])]


def _uses(
    problem: TripProblem, plan: Plan, before: Hang | None, hang: Hang, free: Sequence[FreeRope]
) -> Iterator[RopeUse]:
    """The ropes of one hang, from the top; of joined ropes only the last has something left over."""
    pinned = {(pin.rope, pin.line) for pin in problem.problem.pins}
    trip, line = problem.lines[hang.line]
    run = problem.run_of(hang)
    follows = before is not None and before.line == hang.line and bool(before.changes)
    above = before.ropes[-1] if before is not None and follows else None
    spare_cm = _together_cm(problem, hang) - hang.need_cm
    for number, name in enumerate(hang.ropes):
        rope = problem.by_name[name]
        first, last = number == 0, number == len(hang.ropes) - 1
        if len(hang.ropes) > 1:
            need_cm = rope.length_cm - (spare_cm if last else 0)
        else:
            need_cm = need_at_cm(run.mean_m, run.sd_m, rope.sd_cm, problem.z)
        yield RopeUse(
            trip=problem.trips[trip].route.name,
            line=line.name,
            rope=name,
            begins=problem.place(hang.line, hang.begin) if first else "join in mid-drop",
            ends=problem.place(hang.line, hang.end) if last else "join in mid-drop",
            pitches=tuple(problem.pitch_name(hang.line, pitch) for pitch in hang.pitches),
            need_mean_m=run.mean_m,
            need_sd_m=run.sd_m,
            need_cm=need_cm,
            length_cm=rope.length_cm,
            left_cm=rope.length_cm - need_cm,
            chance_short=problem.chance_hang_short(hang),
            mass_g=rope.mass_g,
            why="you asked for it here" if (name, hang.line) in pinned else _why(problem, plan, hang, rope, free),
            joined_to=above if first else hang.ropes[number - 1],
            begin_place=hang.begin,
            end_place=hang.end,
            line_index=hang.line,
            trip_index=trip,
            begin_anchor=line.places[hang.begin].anchor if first else None,
            begin_pitch=problem.pitch_name(hang.line, line.places[hang.begin].pitch),
        )


def _together_cm(problem: TripProblem, hang: Hang) -> int:
    return sum(problem.by_name[name].length_cm for name in hang.ropes)


def _why(problem: TripProblem, plan: Plan, hang: Hang, rope: FreeRope, free: Sequence[FreeRope]) -> str:
    parts = []
    if len(hang.ropes) > 1:
        others = " and ".join(name for name in hang.ropes if name != rope.rope)
        parts.append(f"joined in mid-drop with {others}: no one rope that may be used here reaches")
    else:
        parts.append(_beside_others(problem, plan, hang, rope, free))
    if len(hang.pitches) > 1:
        parts.append(f"rigs {_number(len(hang.pitches))} pitches, which saves {_number(len(hang.pitches) - 1)} rope")
        parts[-1] += "s" if len(hang.pitches) > 2 else ""
    return "; ".join(parts)


def _beside_others(problem: TripProblem, plan: Plan, hang: Hang, rope: FreeRope, free: Sequence[FreeRope]) -> str:
    """What the ropes left in the store would have done here."""
    idle = [other for other in free if not _away(problem, plan, other.rope, hang.line)]
    run = next(
        run
        for run in problem.problem.lines[hang.line].runs
        if (run.begin, run.end) == (hang.begin, hang.end) and run.changes == hang.changes
    )
    stock = problem.problem.rope_by_name
    may = [other for other in idle if run.rule.accepts(stock[other.rope])]
    reach = [other for other in may if other.length_cm >= run.needs_cm[stock[other.rope].accuracy]]
    shorter = [other for other in reach if other.length_cm < rope.length_cm]
    lighter = [other for other in reach if other.mass_g < rope.mass_g]
    too_short = max(
        (other for other in may if other.length_cm < run.needs_cm[stock[other.rope].accuracy]),
        key=lambda other: (other.length_cm - run.needs_cm[stock[other.rope].accuracy], other.rope),
        default=None,
    )
    if not shorter:
        words = "the shortest free rope that reaches"
    elif not lighter:
        words = f"the lightest free rope that reaches ({shorter[0].rope}, {metres(shorter[0].length_cm)}, is heavier)"
    else:
        words = "chosen for the plan as a whole: with the other ropes it wastes or wears least"
    if too_short is not None:
        nearest = f"{too_short.rope} of {metres(too_short.length_cm)}"
        words += f"; the nearest that does not, {nearest}, is {_short(problem, hang, rope, too_short)}"
    return words


def _short(problem: TripProblem, hang: Hang, rope: FreeRope, too_short: FreeRope) -> str:
    """By how much a rope is short of the need that is told; where its own need is another one, of that and why."""
    run = problem.run_of(hang)
    told_cm, own_cm = (need_at_cm(run.mean_m, run.sd_m, each.sd_cm, problem.z) for each in (rope, too_short))
    if abs(own_cm - told_cm) <= _SAME_CM and told_cm > too_short.length_cm:
        return f"{metres(told_cm - too_short.length_cm)} short"
    known = "known less well, it must have" if own_cm > told_cm else "known better, it would do with"
    return f"{metres(own_cm - too_short.length_cm)} short: {known} {metres(own_cm)}"


def _away(problem: TripProblem, plan: Plan, rope: str, line: int) -> bool:
    begin, end = problem.problem.lines[line].window
    windows = (problem.problem.lines[hang.line].window for hang in plan.hangs if rope in hang.ropes)
    return any(first < end and begin < until for first, until in windows)


def _number(count: int) -> str:
    return ("no", "one", "two", "three", "four", "five", "six")[count] if count <= 6 else str(count)


def bound_in_words(plan: Plan) -> str:
    """How good the plan provably is."""
    if not plan.found:
        return "proven impossible" if plan.status == "impossible" else "nothing found in time, nothing proven"
    if plan.status == "optimal":
        if plan.bounds is not None and plan.mass_g > plan.bounds.mass_g:
            more_g = plan.mass_g - plan.bounds.mass_g
            return (
                "proven at this margin: fewest joins and changes; "
                f"{more_g} g heavier than the lightest plan, for less rope left over or less wear"
            )
        return "proven best at this margin: no plan has fewer joins, then fewer changes, then less mass"
    if plan.bounds is None:
        return "worked out by hand rules only: nothing is proven"
    best = plan.bounds
    if (plan.joins, plan.changes) != (best.joins, best.changes):
        return f"at least {best.joins} joins in mid-drop and {best.changes} changes are needed; mass is not proven"
    return f"at most {100 * plan.gap:.1f} % heavier than the lightest there can be"


def unmet_in_words(problem: TripProblem, plan: Plan, order: ToOrder) -> Iterator[Unmet]:
    """Each reason why it cannot be done, and what would help."""
    for short in plan.unmet:
        yield _unmet(problem, short, order)


def _unmet(problem: TripProblem, short: Shortfall, order: ToOrder) -> Unmet:
    proof = "" if short.proven else " (the best found in time)"
    match short.kind:
        case "leg":
            return _leg(problem, short)
        case "too-few":
            longer = metres(short.need_cm or 0)
            words = (
                f"However it is rigged, {short.needed} ropes longer than {longer} are needed; {short.free} are free."
            )
            return Unmet("too-few", words)
        case "pitches":
            names = _unrigged(problem, short)
            trips = {problem.lines[line][0] for line, _ in short.pitches}
            count = len(short.pitches)
            stay = "1 pitch stays" if count == 1 else f"{count} pitches stay"
            words = f"With these ropes at least {stay} unrigged: {names}{proof}."
            return Unmet("pitches", words, trip_index=trips.pop() if len(trips) == 1 else None)
        case "free":
            return Unmet("free", f"It goes when {' and '.join(short.ropes)}, booked for others, can be had{proof}.")
        case _:
            return order.told(tuple(sorted(-(-length // 100) for length in short.lengths_cm)), proof)


def _leg(problem: TripProblem, short: Shortfall) -> Unmet:
    assert short.line is not None
    assert short.begin is not None
    assert short.end is not None
    need, longest = short.need_cm or 0, short.longest_cm or 0
    begin, end = problem.place(short.line, short.begin), problem.place(short.line, short.end)
    pitch = problem.pitch_name(short.line, short.pitches[0][1]) if short.pitches else None
    trip = problem.lines[short.line][0]
    # Of several trips planned together it must be said whose pitch it is.
    words = f"{problem.trips[trip].route.name}: from" if len(problem.trips) > 1 else "From"
    words += f" {begin} to {end}: {metres(need)} of rope needed"
    if short.nearest_rope:
        words += f"; the longest free rope that may be used, {short.nearest_rope}, has {metres(longest)}, "
        words += f"{metres(need - longest)} short."
    else:
        words += "; no free rope may be used there."
    return Unmet("leg", words, pitch, need - longest, short.nearest_rope, trip_index=trip)


def _unrigged(problem: TripProblem, short: Shortfall) -> str:
    """The pitches that stay without a rope, by route where several are planned together."""
    by_trip: dict[int, list[str]] = {}
    for line, pitch in short.pitches:
        by_trip.setdefault(problem.lines[line][0], []).append(problem.pitch_name(line, pitch))
    if len(problem.trips) == 1:
        return ", ".join(name for names in by_trip.values() for name in names)
    return "; ".join(f"{', '.join(names)} of {problem.trips[trip].route.name}" for trip, names in by_trip.items())
