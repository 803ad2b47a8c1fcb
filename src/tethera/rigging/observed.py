"""What a rope told of the pitches it hung on: its length less what was left over, and which part of them it covered."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from tethera.basics import Finding
from tethera.rigging.knots import KnotLengths
from tethera.rigging.lines import Line, Run, rope_lines
from tethera.rigging.parts import step_shares, steps_of
from tethera.rigging.route import Route
from tethera.rope import figure

#: Longer than any rope: every run of the route is looked at, however wrong its reckoning may be.
_ANY_LENGTH_M = 1e5
#: What a plan calls the end of a rope that is knotted to another on the way down.
_MID_DROP = "join in mid-drop"


@dataclass(frozen=True, slots=True)
class Seen:
    """A rope that hung on pitches in a row took so many metres: its length less what was left over.

    Parameters
    ----------
    when : the day in words, for the account
    pitches : names, from the top
    taken_m, sd_m : metres, and how well they are known (the rope's length and what was left over, in squares)
    begins, ends : places of the route; empty means the head of the first pitch and the foot of the last
    line : the second line it was, if it was one
    """

    rope: str
    when: str
    pitches: tuple[str, ...]
    taken_m: float
    sd_m: float
    begins: str = ""
    ends: str = ""
    line: str = ""


def seen_of(
    rope: str,
    when: str,
    length_cm: int,
    length_sd_cm: float,
    left_over_cm: int,
    pitches: Sequence[str],
    begins: str = "",
    ends: str = "",
    line: str = "",
) -> Seen:
    """What a rope told, from its length and what was left over at the foot (below zero: so much short).

    Left over is what lies beyond the usual tail and its stopper knot: the need holds those already.

    >>> seen_of("TV7", "May 2031", 4000, 5.0, 250, ["Barrow"]).taken_m
    37.5
    """
    by_eye = figure("rigging", "learning", "left_over").value
    more = figure("rigging", "learning", "left_over_share").value * abs(left_over_cm) / 100
    sd = math.hypot(length_sd_cm / 100, by_eye, more)
    return Seen(rope, when, tuple(pitches), (length_cm - left_over_cm) / 100, sd, begins, ends, line)


@dataclass(frozen=True)
class Placed:
    """A rope that told something: its run, and the share of each pitch (by its index in the route) it covered."""

    seen: Seen
    line: str
    run: Run
    shares: Mapping[int, float]


@dataclass(frozen=True)
class Places:
    """Where ropes hang on a route as it is written, whatever was learnt of it before."""

    route: Route
    knots: KnotLengths
    lines: tuple[Line, ...] = field(default=())

    @classmethod
    def of(cls, route: Route, knots: KnotLengths) -> "Places":
        """The places of the main way; second lines are left out."""
        plain = replace(route, pitches=tuple(replace(p, learnt=None, second_line=None) for p in route.pitches))
        return cls(plain, knots, rope_lines(plain, longest_m=_ANY_LENGTH_M, knots=knots))

    def placed(self, seen: Seen) -> Placed | Finding:
        """The run a rope hung on, or why it tells nothing of this route."""
        numbers = {pitch.name.casefold(): number for number, pitch in reversed(list(enumerate(self.route.pitches)))}
        asked = [name.strip().casefold() for name in seen.pitches]
        if unknown := [name for name in seen.pitches if name.strip().casefold() not in numbers]:
            return _unknown_pitch(seen, unknown, self.route.name)
        wanted = {numbers[name] for name in asked}
        if why := self._tells_nothing(seen, wanted):
            return Finding("rope-tells-nothing", f"rope {seen.rope}", why, "Nothing is to be done.")
        for line in self.lines:
            for run in line.runs:
                if set(run.pitches) == wanted and self._begins(line, run, seen) and self._ends(line, run, seen):
                    return Placed(seen, line.name, run, self._shares(line, run))
        return self._no_such_run(seen, wanted)

    def _tells_nothing(self, seen: Seen, wanted: set[int]) -> str | None:
        pitches = [self.route.pitches[number] for number in sorted(wanted)]
        names = " and ".join(pitch.name for pitch in pitches)
        if not pitches:
            return f"{seen.rope} ({seen.when}) names no pitch, so it tells nothing of what one takes."
        if seen.line and not seen.line.casefold().startswith("main"):
            return f"{seen.rope} ({seen.when}) was a second line on {names}: nothing is learnt from those."
        if any(pitch.pull_through for pitch in pitches):
            return f"{seen.rope} ({seen.when}) was pulled down on {names}: what is over tells of neither strand."
        if any(pitch.left_in_place for pitch in pitches):
            return f"{seen.rope} ({seen.when}) is told of on {names}, where a rope is left in place."
        if _MID_DROP in (seen.begins, seen.ends):
            return f"{seen.rope} ({seen.when}) was joined to another in mid-drop on {names}."
        return None

    def _begins(self, line: Line, run: Run, seen: Seen) -> bool:
        place, said = line.places[run.begin], seen.begins.strip().casefold()
        head = f"head of {self.route.pitches[run.pitches[0]].name}".casefold()
        return _is_place(place.label, said) or (place.anchor is None and said in ("", head))

    def _ends(self, line: Line, run: Run, seen: Seen) -> bool:
        place, said = line.places[run.end], seen.ends.strip().casefold()
        foot = f"foot of {self.route.pitches[run.pitches[-1]].name}".casefold()
        return _is_place(place.label, said) or (place.anchor is None and said in ("", foot))

    def _shares(self, line: Line, run: Run) -> dict[int, float]:
        begin, end = line.places[run.begin].anchor, line.places[run.end].anchor
        shares = {}
        for number in run.pitches:
            steps = steps_of(self.route.pitches[number], self.knots)
            first = _step_at(begin, steps) + 1 if begin is not None and number == run.pitches[0] else 0
            last = _step_at(end, steps) + 1 if end is not None and number == run.pitches[-1] else len(steps)
            whole = (first, last) == (0, len(steps))
            shares[number] = 1.0 if whole else sum(step_shares(steps)[first:last])
        return shares

    def _no_such_run(self, seen: Seen, wanted: set[int]) -> Finding:
        labels = [place.label for line in self.lines for place in line.places]
        for said in (seen.begins, seen.ends):
            if said and not any(_is_place(label, said.strip().casefold()) for label in labels):
                return Finding(
                    "rope-place-unknown",
                    f"rope {seen.rope}",
                    f"{seen.rope} ({seen.when}) is told from or to “{said}”, where the route changes no rope.",
                    "If the anchors were written otherwise since, leave it; else correct the place.",
                )
        names = " and ".join(self.route.pitches[number].name for number in sorted(wanted))
        return Finding(
            "rope-runs-otherwise",
            f"rope {seen.rope}",
            f"{seen.rope} ({seen.when}) is told of on {names}, but by the route no one rope can hang so.",
            "Say in the route how far the next pitch is (to_next) and that the rope may go on.",
        )


def _unknown_pitch(seen: Seen, unknown: Sequence[str], route: str) -> Finding:
    return Finding(
        "rope-on-unknown-pitch",
        f"rope {seen.rope}",
        f"{seen.rope} ({seen.when}) is told of on {' and '.join(unknown)}, which is no pitch of {route}.",
        "If the pitch has another name now, correct what was written; until then nothing is learnt from it.",
    )


def _step_at(anchor: int, steps: Sequence[object]) -> int:
    return next(number for number, step in enumerate(steps) if getattr(step, "anchor", None) == anchor)


def _is_place(label: str, said: str) -> bool:
    """Whether these words point at the place: its label, or what is said of it on one side ("head of Second")."""
    label = label.casefold()
    return bool(said) and (said == label or label.startswith(f"{said}, ") or label.endswith(f", {said}"))
