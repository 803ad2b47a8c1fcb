"""Where one rope would hang on the routes of some trips, and why it does not where it does not."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tethera.planning.margins import need_at_cm
from tethera.planning.reasons import metres
from tethera.planning.trip_problem import FreeRope

if TYPE_CHECKING:
    from tethera.planning.trip import Trip
    from tethera.rigging import KnotLengths, Line, Route, Run

#: Runs longer than the rope by more than this are of no interest [m].
_BEYOND_M = 150.0


@dataclass(frozen=True, slots=True)
class Fit:
    """One run for one rope: the pitch (one for each the run serves), what is left over [cm], why it may not hang there.

    `left_cm` below zero is by how much it is short.
    """

    trip: int
    pitch: int
    where: str
    left_cm: int
    not_allowed: str | None

    @property
    def does(self) -> bool:
        """Whether the rope could hang there."""
        return self.left_cm >= 0 and self.not_allowed is None


def fits_of(trips: "Sequence[Trip]", rope: FreeRope, z: float, knots: "KnotLengths | None") -> list[Fit]:
    """Every run of the main way of each trip, at z spreads of margin."""
    from tethera.rigging import rope_lines, rope_needs

    fits = []
    for number, trip in enumerate(trips):
        longest_m = max([rope.length_cm / 100 + _BEYOND_M, *(need.mean_m for need in rope_needs(trip.route, knots))])
        for line in rope_lines(trip.route, longest_m=longest_m, knots=knots):
            # A wish for a rope is one for the main way; second lines come after all its stretches.
            if line.name.startswith("main"):
                fits += [fit for run in line.runs for fit in _fits(number, trip.route, line, run, rope, z)]
    return fits


def _fits(trip: int, route: "Route", line: "Line", run: "Run", rope: FreeRope, z: float) -> list[Fit]:
    left = rope.length_cm - need_at_cm(run.mean_m, run.sd_m, rope.sd_cm, z)
    names = " and ".join(route.pitches[pitch].name for pitch in run.pitches)
    begin, end = line.places[run.begin], line.places[run.end]
    whole = begin.anchor is None and end.anchor is None
    where = f"on {names}" if whole else f"from {begin.label} to {end.label}"
    return [Fit(trip, pitch, where, left, _not_allowed(run, rope)) for pitch in run.pitches]


def _not_allowed(run: "Run", rope: FreeRope) -> str | None:
    if run.type_a_only and rope.rope_type != "A":
        return "only type A may hang there"
    if run.min_diameter_mm and (rope.diameter_mm or 0.0) < run.min_diameter_mm:
        return (
            f"thinner than the {run.min_diameter_mm:g} mm asked for there"
            if rope.diameter_mm
            else "of unknown diameter"
        )
    if run.max_g_per_m is not None and rope.g_per_m > run.max_g_per_m:
        return f"heavier than the {run.max_g_per_m:g} g/m asked for there"
    return None


def short_everywhere(rope: FreeRope, fits: Sequence[Fit]) -> str:
    """Why a rope does nowhere, in a sentence: it is too short for every run, or may not hang where it reaches."""
    who = f"{rope.rope} ({metres(rope.length_cm)})"
    if not fits:
        return f"{who} has nowhere to hang: the routes take no rope of the store."
    if reaching := [fit for fit in fits if fit.left_cm >= 0]:
        best = min(reaching, key=lambda fit: (fit.left_cm, fit.trip, fit.pitch))
        why = best.not_allowed or ""
        return f"{who} is long enough {best.where}, but {why if why.startswith('only') else f'it is {why}'}."
    best = max(fits, key=lambda fit: (fit.left_cm, -fit.trip, -fit.pitch))
    return f"{who} is too short everywhere: nearest {best.where}, where it is {metres(-best.left_cm)} short."
