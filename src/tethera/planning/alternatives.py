"""The next best plans, and why a rope is not in the plan: other plans made, and told by what differs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from tethera.planning.choices import Choices, UnknownWish, read_wishes
from tethera.planning.fits import Fit, fits_of, short_everywhere
from tethera.planning.plan import Budget, no_limit
from tethera.planning.reasons import metres
from tethera.planning.trip import Trip, TripPlan, plan_trip
from tethera.planning.trip_problem import free_ropes

if TYPE_CHECKING:
    from tethera.rigging import KnotLengths
    from tethera.store import RopeState

#: Pitches a rope is tried on: the ones where it leaves least over.
_TRIED = 3
#: Pitches named one by one in what differs.
_NAMED = 4
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six")


@dataclass(frozen=True)
class Alternative:
    """Another plan, what differs from the one it was asked beside, in sentences, and what it costs more (or less)."""

    plan: TripPlan
    differs: tuple[str, ...]
    mass_more_g: int
    changes_more: int
    joins_more: int = 0


@dataclass(frozen=True)
class WhyNot:
    """Why a rope is not in the plan, in sentences; and the best plan found that takes it, if there is one."""

    sentences: tuple[str, ...]
    plan: TripPlan | None = None


def next_best(
    trips: Sequence[Trip],
    ropes: "Sequence[RopeState]",
    choices: Choices | None,
    plan: TripPlan,
    *,
    knots: "KnotLengths | None" = None,
    seconds: Budget = no_limit,
    count: int = 3,
) -> tuple[Alternative, ...]:
    """The next best plans, each with other ropes: fewest joins, then changes, then least mass.

    Every one leaves at least one rope of the plan, and of each better one, at home: no set is told twice, nor one that
    only adds a rope. Plans are looked for by leaving ropes at home, one more each time; what is left out of a plan can
    only make it worse, so the best of those at hand is the next best there is. When the time is up, those found so far
    are given.
    """
    wanted = replace(choices or Choices(), compare=())
    if not plan.found:
        return ()
    kept = _asked_for(trips, ropes, wanted)
    tried: dict[frozenset[str], TripPlan] = {}
    open_: list[frozenset[str]] = []
    found: list[TripPlan] = []
    sets = [_ropes_of(plan)]
    waiting = [frozenset({rope}) for rope in _least_replaceable(plan, ropes) if rope not in kept]
    while True:
        for left in waiting:
            if left in tried or seconds() <= 0:
                continue
            other = _planned(trips, ropes, replace(wanted, leave=(*wanted.leave, *sorted(left))), knots, seconds)
            if other is not None and _as_sure(other, plan):
                tried[left] = other
                open_.append(left)
        if not open_ or len(found) == count:
            break
        best = min(open_, key=lambda left: (_cost(tried[left]), sorted(_ropes_of(tried[left])), sorted(left)))
        open_.remove(best)
        taken = _ropes_of(tried[best])
        if not any(taken >= before for before in sets):
            found.append(tried[best])
            sets.append(taken)
        # The same ropes by another way: what else may be left at home lies behind it all the same.
        waiting = [best | {rope} for rope in sorted(taken) if rope not in kept] if len(found) < count else []
    return tuple(_beside(plan, other) for other in found)


def why_not(
    trips: Sequence[Trip],
    ropes: "Sequence[RopeState]",
    choices: Choices | None,
    plan: TripPlan,
    rope: str,
    *,
    knots: "KnotLengths | None" = None,
    seconds: Budget = no_limit,
) -> WhyNot:
    """Why a rope is not in the plan: it may not be planned, it does not do anywhere, or what it would cost."""
    wanted = replace(choices or Choices(), compare=())
    state = next((each for each in ropes if each.id == rope), None)
    if state is None:
        return WhyNot((f"The store has no rope {rope}.",))
    if on := [use for use in plan.uses if use.rope == rope]:
        where = " and ".join(dict.fromkeys(name for use in on for name in use.pitches))
        return WhyNot((f"{rope} ({metres(on[0].length_cm)}) is in the plan, on {where}.",), plan)
    days = [day for trip in trips for day in (trip.begins, trip.ends or trip.begins) if day is not None]
    free, excluded = free_ropes([state], min(days, default=None), max(days, default=None))
    if not free:
        return WhyNot((f"{rope} may not be planned: {dict(excluded)[rope]}.",))
    said = []
    left = read_wishes(Choices(leave=wanted.leave), trips, [each.id for each in ropes], {}).leave
    if rope in left:
        said.append(f"You asked to leave {rope} at home.")
        wanted = replace(wanted, leave=tuple(sorted(left - {rope})))
    fits = fits_of(trips, free[0], plan.z, knots)
    if not (good := [fit for fit in fits if fit.does]):
        return WhyNot((*said, short_everywhere(free[0], fits)))
    best = next(iter(sorted(good, key=lambda fit: (fit.left_cm, fit.trip, fit.pitch))))
    said.append(
        f"{rope} ({metres(free[0].length_cm)}) is long enough {best.where}, with {metres(best.left_cm)} left over; "
        "the plan does better without it."
        if plan.found
        else f"{rope} ({metres(free[0].length_cm)}) is long enough {best.where}, with {metres(best.left_cm)} left over."
    )
    return _with_it(trips, ropes, wanted, plan, rope, good, said, knots, seconds)


def _with_it(
    trips: Sequence[Trip],
    ropes: "Sequence[RopeState]",
    wanted: Choices,
    plan: TripPlan,
    rope: str,
    good: Sequence[Fit],
    said: Sequence[str],
    knots: "KnotLengths | None",
    seconds: Budget,
) -> WhyNot:
    """What a plan costs that takes the rope where it would fit best."""
    pitches = list(dict.fromkeys((fit.trip, fit.pitch) for fit in sorted(good, key=lambda fit: fit.left_cm)))[:_TRIED]
    found: list[tuple[TripPlan, str]] = []
    names = []
    for trip, pitch in pitches:
        if seconds() <= 0:
            break
        route = trips[trip].route
        name = route.pitches[pitch].name
        names.append(name)
        wish = f"{rope}@{route.name}:{pitch + 1}" if len(trips) > 1 else f"{rope}@{pitch + 1}"
        other = _planned(trips, ropes, replace(wanted, take=(*wanted.take, wish)), knots, seconds)
        if other is not None:
            found.append((other, name))
    if not found:
        tried = f"no plan works out with it on {_or(names)}" if names else "time was up before a plan with it was found"
        return WhyNot((*said, f"{tried[0].upper()}{tried[1:]}."))
    other, name = min(found, key=lambda each: (not _as_sure(each[0], plan), _cost(each[0])))
    if not plan.found:
        return WhyNot((*said, f"With {rope} on {name} it can be done."), other)
    cost = f"With {rope} on {name} the ropes {_cost_words(plan, other)}."
    if not _as_sure(other, plan):
        cost += f" No plan with it is {100 * (plan.confidence or 0):.0f} % sure that no rope is short."
    return WhyNot((*said, cost), other)


def _planned(
    trips: Sequence[Trip],
    ropes: "Sequence[RopeState]",
    choices: Choices,
    knots: "KnotLengths | None",
    seconds: Budget,
) -> TripPlan | None:
    """The plan by these wishes; None where there is none, or the wish cannot be said of these routes."""
    try:
        plan = plan_trip(trips, ropes, choices, knots=knots, seconds=seconds)
    except UnknownWish:
        return None
    return plan if plan.found else None


def _asked_for(trips: Sequence[Trip], ropes: "Sequence[RopeState]", choices: Choices) -> frozenset[str]:
    """Ropes that must hang somewhere by the wishes: they are never left at home."""
    return frozenset(pin[0] for pin in read_wishes(choices, trips, [rope.id for rope in ropes], {}).pins)


def _least_replaceable(plan: TripPlan, ropes: "Sequence[RopeState]") -> list[str]:
    """The ropes of the plan, those first that the fewest others could stand in for."""
    taken = _ropes_of(plan)
    needs: dict[str, int] = {}
    for use in plan.uses:
        needs[use.rope] = max(needs.get(use.rope, 0), use.need_cm)
    idle = [rope.length_cm or 0 for rope in ropes if rope.id not in taken]
    return sorted(taken, key=lambda rope: (sum(length >= needs[rope] for length in idle), rope))


def _ropes_of(plan: TripPlan) -> frozenset[str]:
    return frozenset(use.rope for use in plan.uses)


def _cost(plan: TripPlan) -> tuple[int, int, int]:
    return plan.joins, plan.changes, plan.mass_g


def _as_sure(other: TripPlan, plan: TripPlan) -> bool:
    """Whether the other plan has the confidence asked for, or at least that of this plan where it has not."""
    if other.confidence is None or plan.chance_any_short is None or other.chance_any_short is None:
        return True
    # Where the confidence is one for each rope, nothing is noted of all together.
    return other.chance_any_short <= max(1 - other.confidence, plan.chance_any_short) + 1e-9 or not other.notes


def _beside(plan: TripPlan, other: TripPlan) -> Alternative:
    return Alternative(
        other,
        tuple(_differences(plan, other)),
        other.mass_g - plan.mass_g,
        other.changes - plan.changes,
        other.joins - plan.joins,
    )


def _differences(plan: TripPlan, other: TripPlan) -> Iterator[str]:
    """What goes instead of what, pitch by pitch, and what it costs."""
    lengths = {use.rope: use.length_cm for use in (*plan.uses, *other.uses)}
    stay, go = (
        _named(ropes, lengths) for ropes in (_ropes_of(plan) - _ropes_of(other), _ropes_of(other) - _ropes_of(plan))
    )
    one = len(_ropes_of(plan) - _ropes_of(other)) == 1
    yield f"{stay} {'stays' if one else 'stay'} at home" + (f"; {go} instead." if go else ".")
    before, after = _on_pitches(plan), _on_pitches(other)
    changed = [key for key in after if before.get(key) != after[key]]
    for key in changed[:_NAMED]:
        yield f"{key[1]}: {_joined(after[key], lengths)} instead of {_joined(before.get(key, ()), lengths)}."
    if len(changed) > _NAMED:
        more = len(changed) - _NAMED
        yield f"{_number(more).capitalize()} more {'pitch hangs' if more == 1 else 'pitches hang'} on other ropes too."
    yield f"The ropes {_cost_words(plan, other)}."


def _on_pitches(plan: TripPlan) -> dict[tuple[int, str, str], tuple[str, ...]]:
    """The ropes on each pitch of each trip and line, from the top."""
    on: dict[tuple[int, str, str], tuple[str, ...]] = {}
    for use in plan.uses:
        for pitch in use.pitches:
            key = (use.trip_index, pitch, use.line)
            on[key] = (*on.get(key, ()), use.rope)
    return on


def _cost_words(plan: TripPlan, other: TripPlan) -> str:
    """ "weigh 1.2 kg more, with one change more inside a pitch"; what is left over where nothing else differs."""
    grams = other.mass_g - plan.mass_g
    mass = f"{abs(grams) / 1000:.1f} kg" if abs(grams) >= 100 else f"{abs(grams)} g"
    words = f"weigh {mass} {'more' if grams > 0 else 'less'}" if grams else "weigh the same"
    counts = [
        (other.joins - plan.joins, "join", "joins", "in mid-drop"),
        (other.changes - plan.changes, "change", "changes", "inside a pitch"),
    ]
    extra = [
        f"{_number(abs(more))} {one if abs(more) == 1 else many} {'more' if more > 0 else 'less'} {where}"
        for more, one, many, where in counts
        if more
    ]
    over_cm = other.left_over_cm - plan.left_over_cm
    if not extra and grams <= 0 and over_cm:
        extra = [f"{metres(abs(over_cm))} {'more' if over_cm > 0 else 'less'} left over"]
    return words + (f", with {' and '.join(extra)}" if extra else "")


def _named(ropes: frozenset[str], lengths: dict[str, int]) -> str:
    names = [f"{rope} ({metres(lengths[rope])})" for rope in sorted(ropes)]
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1]))) if names else ""


def _joined(ropes: Sequence[str], lengths: dict[str, int]) -> str:
    return " and ".join(f"{rope} ({metres(lengths[rope])})" for rope in ropes) or "no rope"


def _or(names: Sequence[str]) -> str:
    return " or ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _number(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)
