"""Plan trips: routes and the ropes of a store in, the ropes to take out, with the reason for each.

Margins are on by default and joint over the ropes of all trips planned together: one number of spreads z is used for
every rope, and the least z that gives the confidence asked for is found by bisection over whole plans.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING, Literal

from tethera.planning.check import faults
from tethera.planning.choices import Choices, Wishes, read_wishes
from tethera.planning.margins import z_of
from tethera.planning.plan import Budget, Plan, Progress, no_limit, silent
from tethera.planning.trip_problem import FreeRope, Joins, TripProblem, free_ropes

if TYPE_CHECKING:
    from tethera.rigging import KnotLengths, Line, Route
    from tethera.store import Known, RopeState

#: Plans tried between the least and the largest margin that could be right.
_BISECTIONS = 7
#: Runs up to this length are known to the planner even where no rope reaches, so that it can say what is missing.
_LONGEST_RUN_M = 250.0


@dataclass(frozen=True)
class Trip:
    """A route to be rigged between two days, both of them included."""

    route: "Route"
    begins: date | None = None
    ends: date | None = None

    @property
    def window(self) -> tuple[int, int]:
        """Days as whole numbers, the last one excluded; a trip without days overlaps all others.

        A rope that comes back is washed, dried and checked before another trip may have it.
        """
        if self.begins is None:
            return (0, 10**7)
        from tethera.rope import load_table, read_figure

        turnaround = round(read_figure(load_table("planning", "joins")["turnaround"]).value)
        return self.begins.toordinal(), (self.ends or self.begins).toordinal() + 1 + turnaround


@dataclass(frozen=True, slots=True)
class RopeUse:
    """One rope of the plan, where it hangs and why.

    `need_cm` is the need with the margin asked for; `chance_short` the probability that the rope is too short.
    """

    trip: str
    line: str
    rope: str
    begins: str
    ends: str
    pitches: tuple[str, ...]
    need_mean_m: float
    need_sd_m: float
    need_cm: int
    length_cm: int
    left_cm: int
    chance_short: float
    mass_g: int
    why: str
    joined_to: str | None = None
    begin_place: int = 0
    end_place: int = 0
    line_index: int = 0
    trip_index: int = 0
    #: Number of the anchor within its pitch where the rope begins, None at a head; and that pitch's name.
    begin_anchor: int | None = None
    begin_pitch: str = ""


@dataclass(frozen=True, slots=True)
class ConfidenceCost:
    """What another confidence would cost: None stands for nominal needs, without margins."""

    confidence: float | None
    possible: bool
    mass_g: int | None = None
    changes: int | None = None
    joins: int | None = None
    chance_any_short: float | None = None


@dataclass(frozen=True, slots=True)
class Unmet:
    """Why it cannot be done, or what would help, in one sentence with its numbers.

    `buy_m` must be left of each rope once washed; `order_cm` is what to order for that, in the same order.
    """

    kind: str
    sentence: str
    pitch: str | None = None
    short_cm: int | None = None
    nearest_rope: str | None = None
    buy_m: tuple[int, ...] = ()
    order_cm: tuple[int, ...] = ()
    #: Which of several trips planned together it is about, None where it is about all of them.
    trip_index: int | None = None


@dataclass(frozen=True)
class TripPlan:
    """Ropes to take for the trips planned together.

    `status`, `joins`, `changes`, `mass_g` and `left_over_cm` are the plan's; `bound` says in words how good it provably
    is; `excluded` names each rope that may not be planned, with the reason.
    """

    status: Literal["optimal", "feasible", "impossible", "unknown"]
    uses: tuple[RopeUse, ...] = ()
    joins: int = 0
    changes: int = 0
    mass_g: int = 0
    left_over_cm: int = 0
    bound: str = ""
    confidence: float | None = None
    chance_any_short: float | None = None
    z: float = 0.0
    costs: tuple[ConfidenceCost, ...] = ()
    unmet: tuple[Unmet, ...] = ()
    excluded: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    plan: Plan = field(default_factory=lambda: Plan("unknown"), repr=False)

    @property
    def found(self) -> bool:
        """Whether there is something to carry out."""
        return self.status in ("optimal", "feasible")


@dataclass(frozen=True)
class _Tried:
    z: float
    problem: TripProblem
    plan: Plan
    chance_any_short: float


def plan_trip(
    trips: Sequence[Trip],
    ropes: Sequence["RopeState"],
    choices: Choices | None = None,
    *,
    knots: "KnotLengths | None" = None,
    shrinkages: "Callable[[], Known] | None" = None,
    seconds: Budget = no_limit,
    progress: Progress = silent,
) -> TripPlan:
    """Choose ropes for one trip or several that share a store; ValueError when a wish names no rope or pitch.

    Ctrl-C while it works gives the best plan so far; `seconds` is asked for the time left, `shrinkages` for what the
    store measured of first washes where rope is to be bought.
    """
    from tethera.rigging import rope_lines

    wanted = choices or Choices()
    days = [day for trip in trips for day in (trip.begins, trip.ends or trip.begins) if day is not None]
    free, excluded = free_ropes(ropes, min(days, default=None), max(days, default=None))
    # Every pitch stays in, also one that no rope of the store reaches: it must be named, not lost.
    longest_m = longest_run_m(trips, [rope.length_cm for rope in free], knots)
    lines = [
        (t, line) for t, trip in enumerate(trips) for line in rope_lines(trip.route, longest_m=longest_m, knots=knots)
    ]
    wishes = read_wishes(wanted, trips, [rope.rope for rope in free], dict(excluded))
    free = [rope for rope in free if rope.rope not in wishes.leave]
    excluded = [*excluded, *((rope, "left at home as you asked") for rope in sorted(wishes.leave))]
    search = _Search(list(trips), lines, free, wishes, wanted, seconds, progress)
    best = _searched(search, wanted)
    wrong = faults(best.problem.problem, best.plan) if best.plan.found else []
    if wrong:
        # The judge shares nothing with the planner: a plan it faults is never given to anybody.
        raise RuntimeError(f"a plan failed its check: {'; '.join(wrong)}")
    return replace(_told(search, best, wanted, shrinkages), excluded=tuple(excluded))


def longest_run_m(trips: Sequence[Trip], ropes_cm: Sequence[int], knots: "KnotLengths | None" = None) -> float:
    """How long a run the planner looks at [m]: one that no rope of these reaches must still be named."""
    from tethera.rigging import rope_needs

    pitches_m = [need.mean_m + 1 for trip in trips for need in rope_needs(trip.route, knots)]
    return max([_LONGEST_RUN_M, *(1.5 * length_cm / 100 for length_cm in ropes_cm), *pitches_m])


class _Search:
    """Plans at one margin or another, each worked out once."""

    def __init__(
        self,
        trips: list[Trip],
        lines: "list[tuple[int, Line]]",
        free: list[FreeRope],
        wishes: Wishes,
        choices: Choices,
        seconds: Budget,
        progress: Progress,
    ) -> None:
        self.trips, self.lines, self.free, self.wishes, self.choices = trips, lines, free, wishes, choices
        self._seconds, self._progress = seconds, progress
        self.stopped = False
        #: Time was up before the margin was settled.
        self.cut_short = False
        self.tried: dict[float, _Tried] = {}

    def seconds(self) -> float:
        """Time left; none once the user has stopped the work."""
        return 0.0 if self.stopped else self._seconds()

    def progress(self, stage: str, best: float | None, bound: float | None) -> None:
        """Pass on what is being done, and notice a stop."""
        self.stopped = self.stopped or stage == "stopped"
        self._progress(stage, best, bound)

    def at(self, z: float) -> _Tried:
        """The plan with z spreads of margin on every rope; joins in mid-drop only where nothing else goes."""
        from tethera.planning.assign import assign_ropes

        z = round(z, 4)
        if z in self.tried:
            return self.tried[z]
        ways: tuple[Joins, ...] = ("none", "where no rope reaches", "anywhere")
        for joins in ways if self.choices.mid_drop_joins else ways[:1]:
            problem = TripProblem(self.trips, self.lines, self.free, self.wishes, z, joins)
            plan = assign_ropes(
                problem.problem,
                allowance=self.choices.mass_allowance,
                prefer=self.choices.prefer,
                seconds=self.seconds,
                progress=self.progress,
            )
            if plan.status != "impossible":
                break
        self.tried[z] = _Tried(z, problem, plan, problem.chance_any_short(plan))
        return self.tried[z]

    def at_confidence(self, confidence: float | None) -> _Tried:
        """The best plan whose ropes all reach with this probability; if there is none, the last one tried."""
        if confidence is None:
            return self.at(0.0)
        low = z_of(confidence)
        first = self.at(low)
        if not first.plan.found or not self.choices.joint or 1 - first.chance_any_short >= confidence:
            return first
        ropes = sum(len(hang.ropes) for hang in first.plan.hangs)
        high = z_of(confidence, 2 * ropes)
        good: list[_Tried] = []
        last = first
        for _ in range(_BISECTIONS):
            if self.seconds() <= 0:
                self.cut_short = True
                return min(good, key=_cost) if good else last
            middle = z_of(confidence, ropes) if not good and last is first else (low + high) / 2
            last = self.at(middle)
            if last.plan.found and 1 - last.chance_any_short >= confidence:
                good.append(last)
                high = middle
            elif last.plan.found:
                low = middle
            else:
                high = middle
        if good:
            return min(good, key=_cost)
        return last if not last.plan.found else self.at(high)


def _searched(search: _Search, wanted: Choices) -> _Tried:
    """The best plan, or after Ctrl-C the best so far."""
    try:
        return search.at_confidence(wanted.confidence)
    except KeyboardInterrupt:
        search.stopped = search.cut_short = True
        sure = [t for t in search.tried.values() if t.plan.found and 1 - t.chance_any_short >= (wanted.confidence or 0)]
        so_far = sure or [t for t in search.tried.values() if t.plan.found]
        if not so_far:
            raise
        return min(so_far, key=_cost) if sure else max(so_far, key=lambda tried: tried.z)


def _cost(tried: _Tried) -> tuple[int, int, int]:
    return tried.plan.joins, tried.plan.changes, tried.plan.mass_g


def _told(search: _Search, best: _Tried, choices: Choices, shrinkages: "Callable[[], Known] | None" = None) -> TripPlan:
    """The plan in the words of the trade, with what other confidences would cost."""
    from tethera.planning.reasons import bound_in_words, rope_uses, unmet_in_words
    from tethera.planning.to_order import ToOrder

    plan = best.plan
    if search.cut_short and plan.status == "optimal":
        # Best at this margin, but a smaller margin that is still sure enough was not looked for.
        plan = replace(plan, status="feasible")
    costs = []
    for confidence in choices.compare if search.seconds() > 1 else ():
        other = search.at_confidence(confidence)
        found = other.plan.found
        costs.append(
            ConfidenceCost(
                confidence,
                found,
                other.plan.mass_g if found else None,
                other.plan.changes if found else None,
                other.plan.joins if found else None,
                other.chance_any_short if found else None,
            )
        )
    reached = plan.found and (choices.confidence is None or 1 - best.chance_any_short >= choices.confidence)
    notes = () if reached or not plan.found or not choices.joint else (_not_reached(best, choices),)
    if search.cut_short:
        notes = (*notes, "Stopped before the margin was settled: a lighter plan may be as sure.")
    return TripPlan(
        plan.status,
        tuple(rope_uses(best.problem, plan, search.free)) if plan.found else (),
        plan.joins,
        plan.changes,
        plan.mass_g,
        plan.left_over_cm,
        bound_in_words(best.plan),
        choices.confidence,
        best.chance_any_short if plan.found else None,
        best.z,
        tuple(costs),
        tuple(unmet_in_words(best.problem, plan, ToOrder(choices.confidence, shrinkages))),
        (),
        notes,
        plan,
    )


def _not_reached(best: _Tried, choices: Choices) -> str:
    asked = round(100 * (choices.confidence or 0))
    return (
        f"No plan of this store is {asked} % sure that no rope is short; this one is "
        f"{100 * (1 - best.chance_any_short):.0f} % sure."
    )
