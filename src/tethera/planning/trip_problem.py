"""From trips and a store's ropes to the planner's whole centimetres and grams, and back to their words."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

from tethera.basics import need_cm
from tethera.planning.choices import Wishes
from tethera.planning.margins import KnownLength, chain_need_cm, chains, chance_short
from tethera.planning.plan import Hang, Plan
from tethera.planning.problem import KnottedRun, Line, Pin, PlanningProblem, RopeRule, Run, StockRope

if TYPE_CHECKING:
    from tethera import rigging
    from tethera.planning.trip import Trip
    from tethera.store import RopeState

#: Where ropes may be joined in mid-drop: nowhere, in legs that no free rope covers, in any leg long enough.
Joins = Literal["none", "where no rope reaches", "anywhere"]


#: The thickest rope commonly carried underground (common practice, no source).
_UNKNOWN_DIAMETER_MM = 11.0


@dataclass(frozen=True, slots=True)
class FreeRope:
    """A rope that may be planned; `mass_known` is False where its mass is a usual one for its diameter."""

    rope: str
    length_cm: int
    sd_cm: float
    mass_g: int
    diameter_mm: float | None
    rope_type: str | None
    g_per_m: float
    wear: int
    mass_known: bool = True


def free_ropes(
    ropes: Sequence["RopeState"], first_day: date | None, last_day: date | None = None
) -> tuple[list[FreeRope], list[tuple[str, str]]]:
    """Ropes that may be planned on these days, and those that may not, each with its reason."""
    free, excluded = [], []
    for rope in ropes:
        why_not = rope.why_not_on(first_day, last_day or first_day) if first_day else rope.why_not
        if why_not is not None or rope.length_cm is None:
            excluded.append((rope.id, why_not or "its length is not known: measure it"))
            continue
        g_per_m = rope.mass_g_per_m or usual_g_per_m(rope.diameter_mm)
        mass_g = round(g_per_m * rope.length_cm / 100)
        free.append(
            FreeRope(
                rope.id,
                rope.length_cm,
                rope.length_sd_cm,
                mass_g,
                rope.diameter_mm,
                rope.rope_type,
                g_per_m,
                rope.wear,
                rope.mass_g_per_m is not None,
            )
        )
    return free, excluded


def usual_g_per_m(diameter_mm: float | None) -> float:
    """Usual mass of such a rope [g/m]; one of unknown diameter is taken for heavy, so that no bag surprises."""
    from tethera.rope import typical_mass_g_per_m

    return typical_mass_g_per_m(_UNKNOWN_DIAMETER_MM if diameter_mm is None else min(max(diameter_mm, 3.0), 20.0))


class TripProblem:
    """The planning problem at one margin, with the way back from its numbers to places, pitches and ropes."""

    def __init__(
        self,
        trips: Sequence["Trip"],
        lines: "Sequence[tuple[int, rigging.Line]]",
        free: Sequence[FreeRope],
        wishes: Wishes,
        z: float,
        joins: Joins = "none",
    ) -> None:
        self.trips, self.lines, self.free, self.z = trips, lines, list(free), z
        self.by_name = {rope.rope: rope for rope in self.free}
        self.longest_m = max((rope.length_cm for rope in self.free), default=0) / 100
        self.sd_cm = max((rope.sd_cm for rope in self.free), default=0.0)
        known = [KnownLength(rope.length_cm, rope.sd_cm) for rope in self.free]
        parts = chains(known, z)
        # Without any rope the needs are still told, as of a rope whose length is known exactly.
        self.chains = [[known[i] for i in part] for part in parts] or [[KnownLength(0, 0.0)]]
        chain_of = {i: number for number, part in enumerate(parts) for i in part}
        stock = tuple(self._stock_rope(rope, chain_of[i]) for i, rope in enumerate(self.free))
        self.runs: dict[tuple[int, int, int, tuple[int, ...]], rigging.Run] = {}
        planned = tuple(self._line(number, joins) for number in range(len(lines)))
        self.problem = PlanningProblem(planned, stock, self._pins(wishes))

    def _stock_rope(self, rope: FreeRope, chain: int) -> StockRope:
        return StockRope(
            rope.rope,
            rope.length_cm,
            rope.mass_g,
            math.floor((rope.diameter_mm or 0) * 10 + 1e-6),
            rope.rope_type or "",
            math.ceil(rope.g_per_m * 10 - 1e-6),
            rope.wear,
            chain,
        )

    def _line(self, number: int, joins: Joins) -> Line:
        trip, line = self.lines[number]
        runs, knotted = [], []
        legs: dict[str, int] = {}
        for run in line.runs:
            self.runs[number, run.begin, run.end, tuple(run.pitches)] = run
            rule = rule_of(run)
            changes = line.places[run.end].changes if run.end < len(line.places) - 1 else 0
            needs = tuple(chain_need_cm(chain, run.mean_m, run.sd_m, self.z) for chain in self.chains)
            runs.append(Run(run.begin, run.end, needs, rule, changes, tuple(run.pitches)))
            for joint in run.joints if joins != "none" and run.mean_m <= 4 * self.longest_m else ():
                if joins == "anywhere" or joint.leg_m > self.longest_m:
                    leg = legs.setdefault(joint.leg, len(legs))
                    knotted.append(self._knotted(run, joint, leg, rule, changes))
        name = line.name if len(self.trips) == 1 else f"{self.trips[trip].route.name}, {line.name}"
        return Line(name, len(line.places), tuple(runs), self.trips[trip].window, tuple(knotted))

    def _knotted(
        self, run: "rigging.Run", joint: "rigging.Joint", leg: int, rule: RopeRule, changes: int
    ) -> KnottedRun:
        """Up to four joined ropes: their spreads add as squares, so twice the largest covers them."""
        clear_m, end_m = _join_figure("clear_of_anchors"), _join_figure("rope_in_each_end")
        all_m = self.z * math.hypot(run.sd_m, 2 * self.sd_cm / 100)
        one_m = self.z * math.hypot(run.sd_m, self.sd_cm / 100)
        return KnottedRun(
            leg,
            run.begin,
            run.end,
            need_cm(run.mean_m + all_m),
            need_cm(joint.above_m + clear_m + end_m + one_m),
            need_cm(joint.below_m + clear_m + end_m + one_m),
            need_cm(2 * end_m),
            rule,
            changes,
            tuple(run.pitches),
        )

    def _pins(self, wishes: Wishes) -> tuple[Pin, ...]:
        pins = []
        for rope, trip, pitch in wishes.pins:
            line = next(
                (
                    n
                    for n, (t, line) in enumerate(self.lines)
                    if t == trip and any(pitch in run.pitches for run in line.runs)
                ),
                None,
            )
            if line is None:
                name = self.trips[trip].route.pitches[pitch].name
                raise ValueError(f"{name} takes no rope of the store, so {rope} cannot hang on it.")
            pins.append(Pin(rope, line, pitch))
        return tuple(pins)

    def place(self, line: int, place: int) -> str:
        """A place in words."""
        return str(self.lines[line][1].places[place].label)

    def pitch_name(self, line: int, pitch: int) -> str:
        """A pitch by its name."""
        return str(self.trips[self.lines[line][0]].route.pitches[pitch].name)

    def run_of(self, hang: Hang) -> "rigging.Run":
        """The run of a hang, with its mean need and spread."""
        return self.runs[hang.line, hang.begin, hang.end, hang.pitches]

    def chance_hang_short(self, hang: Hang) -> float:
        """Probability that a hang is short; the ropes of a joined one count together."""
        run, ropes = self.run_of(hang), [self.by_name[name] for name in hang.ropes]
        total_cm = sum(rope.length_cm for rope in ropes) - (len(ropes) - 1) * need_cm(
            2 * _join_figure("rope_in_each_end")
        )
        sd_cm = math.sqrt(sum(rope.sd_cm**2 for rope in ropes))
        return chance_short(total_cm, sd_cm, run.mean_m, run.sd_m)

    def chance_any_short(self, plan: Plan) -> float:
        """Probability that some rope of the plan is short, errors of different runs taken as independent."""
        if not plan.found:
            return 1.0
        return 1 - math.prod(1 - self.chance_hang_short(hang) for hang in plan.hangs)


def rule_of(run: "rigging.Run") -> RopeRule:
    """What a run asks of a rope beside its length."""
    heaviest = None if run.max_g_per_m is None else math.floor(run.max_g_per_m * 10 + 1e-6)
    return RopeRule(math.ceil((run.min_diameter_mm or 0) * 10 - 1e-6), run.type_a_only, heaviest)


def _join_figure(name: str) -> float:
    from tethera.rope import load_table, read_figure

    return read_figure(load_table("planning", "joins")["join"][name]).value
