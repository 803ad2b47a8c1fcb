"""What of a plan that was made earlier does not hold any more: each rope that is gone, short or not ready, by name.

A plan is kept beside a trip, and its ropes go on living: one is set aside, one is cut, one is measured shorter, a route
is mended. Every page and paper of the trip asks here, so that none of them names such a rope as if nothing had been.
"""

import math
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from tethera.basics import need_cm, show_metres
from tethera.planning.margins import chance_short
from tethera.planning.trip import RopeUse, Trip

if TYPE_CHECKING:
    from tethera.rigging import KnotLengths, Run
    from tethera.store import RopeState

#: A rope in one of these states is not to be had for the trip: its pitch is without a rope.
GONE = ("retired", "missing", "set aside", "rigged")
#: How much likelier a rope may have become to be short before that is said.
_WORSE = 0.005
#: Needs that differ by less are the same need, reckoned twice [m].
_SAME_M = 0.005
_NO_RECORD = "it is not in this record any more"
_MID_DROP = "join in mid-drop"


@dataclass(frozen=True, slots=True)
class Broken:
    """A rope of a plan that does not hold any more, and why. `gone`: its pitches are without a rope."""

    rope: str
    pitches: tuple[str, ...]
    why: str
    gone: bool

    @property
    def sentence(self) -> str:
        """Which rope, which pitch, why."""
        where = f" for {' and '.join(self.pitches)}" if self.pitches else ""
        return f"{self.rope}{where}: {self.why.rstrip('.')}.{f' {self.without}' if self.without else ''}"

    @property
    def without(self) -> str:
        """Which pitches are left without a rope by it; empty where none is."""
        if not (self.gone and self.pitches):
            return ""
        return f"{' and '.join(self.pitches)} {'has' if len(self.pitches) == 1 else 'have'} no rope on this plan."

    def to_mapping(self) -> dict[str, Any]:
        """As the papers take it."""
        return {
            "rope": self.rope,
            "pitches": list(self.pitches),
            "why": self.why,
            "gone": self.gone,
            "message": self.sentence,
        }


def no_longer_holds(
    trip: Trip,
    uses: Iterable[RopeUse],
    ropes: "Mapping[str, RopeState]",
    knots: "KnotLengths | None" = None,
    judged: Collection[str] | None = None,
) -> tuple[Broken, ...]:
    """Each rope of a plan for one route that does not hold any more, in order of use; none where all is as planned.

    Parameters
    ----------
    uses : the ropes of the plan for this route
    ropes : what is known of each now, without what the record holds for this very trip
    judged : numbers of the ropes that are judged, None for all: one that is back from the trip already is not
    """
    told = tuple(uses)
    runs = _runs(trip, told, knots)
    broken = (_broken(trip, use, ropes.get(use.rope), runs) for use in told if judged is None or use.rope in judged)
    return tuple(each for each in broken if each is not None)


def as_it_is(
    trip: Trip,
    uses: Iterable[RopeUse],
    ropes: "Mapping[str, RopeState]",
    knots: "KnotLengths | None" = None,
    judged: Collection[str] | None = None,
) -> tuple[RopeUse, ...]:
    """The ropes of a plan with the length each has now, what its run needs now, and what that leaves.

    One that is not `judged` stays as it was planned.
    """
    told = tuple(uses)
    runs = _runs(trip, told, knots)
    return tuple(
        _as_it_is(use, ropes.get(use.rope), runs) if judged is None or use.rope in judged else use for use in told
    )


_Runs = Callable[[RopeUse], "Run | None"]


def _broken(trip: Trip, use: RopeUse, rope: "RopeState | None", runs: _Runs) -> Broken | None:
    if rope is None:
        return Broken(use.rope, use.pitches, _NO_RECORD, gone=True)
    missing = [name for name in use.pitches if name not in {pitch.name for pitch in trip.route.pitches}]
    if missing:
        return Broken(use.rope, (), f"the route has no pitch {' and '.join(missing)} any more", gone=False)
    first, last = trip.begins, trip.ends or trip.begins
    not_to_be_had = rope.why_not_on(first, last) if first is not None and last is not None else rope.why_not
    gone = rope.state in GONE or rope.over_age is not None or rope.length_cm is None
    whys = [not_to_be_had] if not_to_be_had else []
    if not gone and (short := _shortness(use, rope, runs)):
        whys.insert(0, short)
    return Broken(use.rope, use.pitches, "; ".join(whys), gone) if whys else None


def _shortness(use: RopeUse, rope: "RopeState", runs: _Runs) -> str:
    """How the rope falls short of what is asked of it here, or is less sure to reach; empty where it does neither."""
    now = _as_it_is(use, rope, runs)
    has = f"now {show_metres(now.length_cm)} m"
    if _joined(use):
        chosen = f"chosen with {show_metres(use.length_cm)} m for a join in mid-drop"
        return f"{has}, {chosen}" if now.length_cm < use.length_cm else ""
    if runs(use) is None:
        return "the route has changed where it hangs: what it needs there now is not reckoned"
    if now.left_cm < 0:
        if now.length_cm == use.length_cm:
            has = f"has {show_metres(now.length_cm)} m, and the route has changed"
        return f"{has}, needs {show_metres(now.need_cm)} m, short by {show_metres(-now.left_cm)} m"
    if now.length_cm < use.length_cm:
        left = f"needs {show_metres(now.need_cm)} m, left {show_metres(now.left_cm)} m"
        return f"{has}, chosen with {show_metres(use.length_cm)} m; {left}"
    if now.chance_short > use.chance_short + _WORSE:
        return f"its length is known less well than when it was chosen: {100 * now.chance_short:.0f} % that it is short"
    return ""


def _as_it_is(use: RopeUse, rope: "RopeState | None", runs: _Runs) -> RopeUse:
    if rope is None or rope.length_cm is None:
        return use
    length_cm = rope.length_cm
    if _joined(use):
        left_cm = use.left_cm + length_cm - use.length_cm
        return replace(use, length_cm=length_cm, left_cm=left_cm)
    mean_m, sd_m, need = use.need_mean_m, use.need_sd_m, use.need_cm
    run = runs(use)
    if run is not None and abs(run.mean_m - mean_m) > _SAME_M:
        # The margin grows or shrinks with the spread, so that it stays as many spreads as were asked for.
        rope_sd_m = rope.length_sd_cm / 100
        spread_m = math.hypot(sd_m, rope_sd_m)
        share = math.hypot(run.sd_m, rope_sd_m) / spread_m if spread_m else 0.0
        need = need_cm(run.mean_m + share * max(0.0, need / 100 - mean_m))
        mean_m, sd_m = run.mean_m, run.sd_m
    return replace(
        use,
        length_cm=length_cm,
        need_cm=need,
        need_mean_m=mean_m,
        need_sd_m=sd_m,
        left_cm=length_cm - need,
        chance_short=chance_short(length_cm, rope.length_sd_cm, mean_m, sd_m),
        mass_g=round(use.mass_g * length_cm / use.length_cm) if use.length_cm else use.mass_g,
    )


def _joined(use: RopeUse) -> bool:
    """Whether it is one of several ropes knotted together in mid-drop."""
    return _MID_DROP in (use.begins, use.ends)


def _runs(trip: Trip, uses: Sequence[RopeUse], knots: "KnotLengths | None") -> _Runs:
    """Which run of the route as it is now a rope of the plan hangs on."""
    from tethera.planning.trip import longest_run_m
    from tethera.rigging import rope_lines

    longest_m = longest_run_m([trip], [use.length_cm for use in uses], knots)
    by_label: dict[tuple[object, ...], Run] = {}
    by_place: dict[tuple[object, ...], Run] = {}
    for line in rope_lines(trip.route, longest_m=longest_m, knots=knots) if uses else ():
        for run in line.runs:
            on = (line.name, _names(trip, run.pitches))
            by_label[*on, line.places[run.begin].label, line.places[run.end].label] = run
            by_place[*on, run.begin, run.end] = run

    def run_of(use: RopeUse) -> "Run | None":
        # A place is called after its neighbours too: where one of those has another name now, its number still holds.
        on = (use.line, use.pitches)
        return by_label.get((*on, use.begins, use.ends)) or by_place.get((*on, use.begin_place, use.end_place))

    return run_of


def _names(trip: Trip, pitches: Sequence[int]) -> tuple[str, ...]:
    return tuple(trip.route.pitches[pitch].name for pitch in pitches)
