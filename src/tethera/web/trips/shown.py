"""A plan as its page shows it: rope by rope with its reason, what it costs to be surer, and what stands in the way."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from tethera.planning import RopeUse, TripPlan, begins, ends, second_line
from tethera.store import RopeState
from tethera.web.accounts.visit import Visit
from tethera.web.routes.known import KnownRoute
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

    @property
    def left_m(self) -> str:
        """What is left of it, to the decimetre and rounded down [m]."""
        return f"{self.use.left_cm // 10 / 10:.1f}\u202fm"

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
    """A plan in the words of its page."""

    plan: TripPlan
    holds: bool
    routes: tuple[ShownRoute, ...]
    others: tuple[tuple[Trip, tuple[RopeUse, ...]], ...]
    sure: str
    #: What was asked for, where the ropes are surer than that.
    asked: str
    costs: tuple[Cost, ...]
    excluded: tuple[tuple[str, str], ...]
    spare: tuple[RopeState, ...]

    @property
    def numbers(self) -> set[str]:
        """The ropes it names for this trip."""
        return {use.use.rope for route in self.routes for use in route.uses}

    @property
    def ropes(self) -> int:
        """How many ropes the trip takes."""
        return len(self.numbers)

    @property
    def mass_kg(self) -> float:
        """What its ropes weigh [kg]."""
        return sum(use.use.mass_g for route in self.routes for use in route.uses) / 1000

    @property
    def metres_cm(self) -> int:
        """How long its ropes are in all [cm]."""
        return sum(use.use.length_cm for route in self.routes for use in route.uses)

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
    states = {rope.id: rope for rope in ground.ropes}
    plan = kept.plan
    shown = tuple(
        ShownRoute(part.route.key, part.route.name, _uses(kept, trip, ground, part.route, states), part.route)
        for part in ground.parts
        if part.trip.pk == trip.pk
    )
    others = {part.trip.pk: part.trip for part in ground.parts if part.trip.pk != trip.pk}
    taken = {use.rope for use in plan.uses}
    return ShownPlan(
        plan,
        kept.holds,
        shown,
        tuple((other, kept.uses_of(other)) for other in others.values()),
        how_sure(1 - plan.chance_any_short) if plan.chance_any_short is not None else "",
        _asked(plan),
        tuple(_costs(plan)),
        tuple((rope, why) for rope, why in plan.excluded if not why.startswith("retired")),
        tuple(rope for rope in ground.ropes if rope.id not in taken),
    )


def _asked(plan: TripPlan) -> str:
    """The confidence asked for, where the ropes of the plan give a greater one [%]."""
    if plan.confidence is None or plan.chance_any_short is None:
        return ""
    asked = f"{100 * plan.confidence:g} %"
    surer = how_sure(1 - plan.chance_any_short) != asked and 1 - plan.chance_any_short > plan.confidence
    return asked if surer else ""


def _uses(
    kept: Kept, trip: Trip, ground: Ground, route: KnownRoute, states: dict[str, RopeState]
) -> tuple[ShownUse, ...]:
    number = ground.number(trip, route.key)
    assert number is not None
    made = ground.trips[number]
    locks = {(w["rope"], w["pitch"]) for w in trip.wishes.get("take", []) if w["route"] == route.key}
    names = {pitch.name for pitch in made.route.pitches}
    found = []
    for order, use in enumerate(kept.uses_of(trip, route.key), start=1):
        # A route that was changed since may not have the pitch any more.
        if use.rope not in states or not set(use.pitches) <= names:
            continue
        short = f"{100 * use.chance_short:.1f} %" if use.chance_short >= _WORTH_SAYING else ""
        locked = next((pitch for rope, pitch in locks if rope == use.rope), "")
        why = use.why[:1].upper() + use.why[1:].rstrip(".") + "."
        line = second_line(made, use)
        found.append(ShownUse(use, order, states[use.rope], begins(use), ends(use), line, why, short, locked))
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
