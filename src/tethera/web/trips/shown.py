"""A plan as its page shows it: rope by rope with its reason, what it costs to be surer, and what stands in the way."""

from dataclasses import dataclass, replace

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tethera.basics import show_metres
from tethera.planning import Broken, RopeUse, TripPlan, as_it_is, begins, ends, second_line
from tethera.store import RopeState
from tethera.web.accounts.visit import Visit
from tethera.web.routes.known import KnownRoute
from tethera.web.trips.holding import broken_in, judged
from tethera.web.trips.models import Trip
from tethera.web.trips.planned import Ground, Kept, kept_plan

#: From here on a rope's chance of being short stands beside it.
_WORTH_SAYING = 0.0005


@dataclass(frozen=True)
class ShownUse:
    """One rope of the plan."""

    use: RopeUse
    order: int
    rope: RopeState
    begins: str
    ends: str
    second_line: str | None
    why: str
    short: str
    locked: str
    broken: Broken | None = None

    @property
    def left_m(self) -> str:
        """What is left of it, to the decimetre and rounded down [m]; what it lacks, to the centimetre."""
        if self.use.left_cm < 0:
            return _("short {m}").format(m=f"{show_metres(-self.use.left_cm)}\u202fm")
        return f"{self.use.left_cm // 10 / 10:.1f}\u202fm"

    @property
    def gone(self) -> bool:
        """Whether it is not to be had any more."""
        return self.broken is not None and self.broken.gone

    @property
    def pitch(self) -> str:
        """The pitch on which a lock would keep it."""
        return self.use.pitches[0] if self.use.pitches else ""


@dataclass(frozen=True)
class ShownRoute:
    """One route of the trip with its ropes in order of use."""

    key: str
    name: str
    uses: tuple[ShownUse, ...]
    known: KnownRoute


@dataclass(frozen=True)
class Cost:
    """What another confidence would cost."""

    percent: str
    possible: bool
    mass: str
    changes: int | None
    short: str


@dataclass(frozen=True)
class ShownPlan:
    """A plan in the words of its page. `broken`: its ropes that do not hold any more."""

    plan: TripPlan
    holds: bool
    broken: tuple[Broken, ...]
    routes: tuple[ShownRoute, ...]
    others: tuple[tuple[Trip, tuple[RopeUse, ...]], ...]
    #: The trip of each route planned together.
    of_trip: tuple[int, ...]
    sure: str
    #: What was asked for, where the ropes are surer than that.
    asked: str
    costs: tuple[Cost, ...]
    excluded: tuple[tuple[str, str], ...]
    spare: tuple[RopeState, ...]

    @property
    def elsewhere(self) -> tuple[Trip, ...]:
        """The other trips whose pitches no rope reaches, where that alone keeps this one from its ropes."""
        at = {self.of_trip[each.trip_index] for each in self.plan.unmet if each.trip_index is not None}
        others = {other.pk: other for other, _uses in self.others}
        return tuple(others[pk] for pk in sorted(at)) if at and at <= others.keys() else ()

    @property
    def numbers(self) -> set[str]:
        """The ropes it names for this trip."""
        return {use.use.rope for route in self.routes for use in route.uses}

    @property
    def _there(self) -> list[RopeUse]:
        """The ropes that are still to be had."""
        return [use.use for route in self.routes for use in route.uses if not use.gone]

    @property
    def ropes(self) -> int:
        """How many ropes the trip takes, without those that are gone."""
        return len({use.rope for use in self._there})

    @property
    def mass_kg(self) -> float:
        """What its ropes weigh [kg]."""
        return sum(use.mass_g for use in self._there) / 1000

    @property
    def metres_cm(self) -> int:
        """How long its ropes are in all [cm]."""
        return sum(use.length_cm for use in self._there)

    @property
    def in_words(self) -> str:
        """The answer in one sentence after the numbers."""
        changes, joins = self.plan.changes, self.plan.joins
        changed = ngettext("{n} change of rope inside a pitch", "{n} changes of rope inside a pitch", changes)
        joined = ngettext("{n} join in mid-drop", "{n} joins in mid-drop", joins)
        said = [
            changed.format(n=changes) if changes else _("no change of rope inside a pitch"),
            joined.format(n=joins) if joins else _("no join in mid-drop"),
        ]
        return ", ".join(said)


def how_sure(chance: float) -> str:
    """A probability in percent, never rounded up to certainty.

    >>> how_sure(0.957), how_sure(0.99997), how_sure(0.0004)
    ('95 %', 'over 99 %', 'under 1 %')
    """
    if chance > 0.99:
        return _("over 99 %")
    return _("under 1 %") if chance < 0.01 else f"{int(100 * chance)} %"


def shown_plan(visit: Visit, trip: Trip, ground: Ground) -> ShownPlan | None:
    """The plan beside a trip; None where there is none yet."""
    kept = kept_plan(trip, ground.seal)
    if kept is None:
        return None
    broken, counted = broken_in(visit, trip, ground, kept), judged(trip, visit.ropes, visit.today)
    states = with_doubts(visit, ground)
    plan = kept.plan
    shown = tuple(
        ShownRoute(
            part.route.key, part.route.name, _uses(kept, trip, ground, part.route, states, broken, counted), part.route
        )
        for part in ground.parts
        if part.trip.pk == trip.pk
    )
    others = {part.trip.pk: part.trip for part in ground.parts if part.trip.pk != trip.pk}
    taken = {use.rope for use in plan.uses}
    return ShownPlan(
        plan,
        kept.holds,
        broken,
        shown,
        tuple((other, kept.uses_of(other)) for other in others.values()),
        tuple(pk for pk, _key in kept.planned_for),
        how_sure(1 - plan.chance_any_short) if plan.chance_any_short is not None and not broken else "",
        _asked(plan),
        tuple(_costs(plan)),
        tuple((rope, why) for rope, why in plan.excluded if not why.startswith("retired")),
        tuple(rope for rope in ground.ropes if rope.id not in taken),
    )


def with_doubts(visit: Visit, ground: Ground) -> dict[str, RopeState]:
    """Every rope as a plan meets it, with all that is doubted of it today."""
    doubts = {rope.id: rope.findings for rope in visit.ropes}
    return {number: replace(rope, findings=doubts.get(number, rope.findings)) for number, rope in ground.known.items()}


def _asked(plan: TripPlan) -> str:
    """The confidence asked for, where the ropes of the plan give a greater one [%]."""
    if plan.confidence is None or plan.chance_any_short is None:
        return ""
    asked = f"{100 * plan.confidence:g} %"
    surer = how_sure(1 - plan.chance_any_short) != asked and 1 - plan.chance_any_short > plan.confidence
    return asked if surer else ""


def _uses(
    kept: Kept,
    trip: Trip,
    ground: Ground,
    route: KnownRoute,
    states: dict[str, RopeState],
    broken: tuple[Broken, ...],
    counted: frozenset[str] | None,
) -> tuple[ShownUse, ...]:
    number = ground.number(trip, route.key)
    assert number is not None
    made = ground.trips[number]
    locks = {(w["rope"], w["pitch"]) for w in trip.wishes.get("take", []) if w["route"] == route.key}
    names = {pitch.name for pitch in made.route.pitches}
    found = []
    # A route that was changed since may not have the pitch any more; that is told above the table.
    here = [use for use in kept.uses_of(trip, route.key) if set(use.pitches) <= names]
    now = as_it_is(made, here, states, ground.knots, counted)
    for order, use in enumerate(now, start=1):
        short = f"{100 * use.chance_short:.1f} %" if use.chance_short >= _WORTH_SAYING else ""
        locked = next((pitch for rope, pitch in locks if rope == use.rope), "")
        why = use.why[:1].upper() + use.why[1:].rstrip(".") + "."
        line = second_line(made, use)
        rope = states.get(use.rope, RopeState(use.rope))
        gone = next((each for each in broken if (each.rope, each.pitches) == (use.rope, use.pitches)), None)
        found.append(ShownUse(use, order, rope, begins(use), ends(use), line, why, short, locked, gone))
    return tuple(found)


def _costs(plan: TripPlan) -> list[Cost]:
    found = []
    for cost in plan.costs:
        percent = _("no margin") if cost.confidence is None else f"{100 * cost.confidence:g} %"
        if not cost.possible:
            found.append(Cost(percent, False, "", None, ""))
            continue
        more = (cost.mass_g or 0) - plan.mass_g
        mass = _("the same") if abs(more) < 50 else f"{more / 1000:+.1f} kg".replace("-", "−")
        short = "" if cost.chance_any_short is None else how_sure(cost.chance_any_short)
        found.append(Cost(percent, True, mass, cost.changes, short))
    return found
