"""From routes, a store's ropes and what is on offer to the problem of what to buy, at one confidence per rope."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from tethera.basics import measured_cm, need_cm
from tethera.planning.buy_problem import FleetLine, FleetPiece, FleetProblem, FleetRun
from tethera.planning.buy_question import BuyQuestion, NewRope, Offers, rule_figure
from tethera.planning.margins import z_of
from tethera.planning.problem import RopeRule, StockRope

if TYPE_CHECKING:
    from tethera.rigging import KnotLengths, Line, Route, Run
    from tethera.store import RopeState

#: A rope of the shop is never cut longer than this where no reel says how long rope comes [cm].
_LONGEST_CM = 20_000
#: Runs up to this length are known, so that a pitch no rope reaches is named and not lost [m].
_LONGEST_RUN_M = 500.0


@dataclass(frozen=True, slots=True)
class Owned:
    """A rope there is: what the plan counts on, and until when."""

    rope: str
    length_cm: int
    counted_cm: int
    leaves: date | None = None


@dataclass(frozen=True)
class _Reach:
    """Every rope there is or could be had, as rules judge it, with what is counted on [cm]."""

    ropes: tuple[tuple[StockRope, int], ...]

    @property
    def longest_cm(self) -> int:
        """The longest of them."""
        return max(cm for _, cm in self.ropes)

    def of(self, rule: RopeRule) -> int:
        """The longest that may hang under a rule; 0 where none may."""
        return max((cm for rope, cm in self.ropes if rule.accepts(rope)), default=0)


@dataclass(frozen=True)
class Ground:
    """All that stays the same whatever the confidence per rope: lines, rules, ropes there are, and those left out."""

    question: BuyQuestion
    offers: Offers
    new: NewRope
    lines: tuple[FleetLine, ...]
    accepts: tuple[tuple[bool, ...], ...]
    owned: tuple[tuple[Owned, int], ...]
    not_counted: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    pitch_names: tuple[tuple[str, ...], ...] = field(default=())

    @property
    def route_names(self) -> tuple[str, ...]:
        """Routes by name, the list of lengths last."""
        names = tuple(route.name for route in self.question.routes)
        return (*names, "lengths you asked for") if self.question.lengths_cm else names

    def problem(self, confidence: float) -> FleetProblem:
        """The problem when every new rope is counted at what it has left with this confidence."""
        share = float(self.new.shrinks.share_left(confidence))
        offers, soak_first = self.offers, self.question.habit == "soak-then-cut"
        rooms = tuple(
            measured_cm(reel.length_cm / 100 * share) if soak_first else reel.length_cm for reel in offers.reels
        )
        longest_cm = max([*rooms, _LONGEST_CM if not offers.reels else 0])
        pieces: dict[int, FleetPiece] = {}
        for need in {run.need_cm for line in self.lines for run in line.runs if self.accepts[0][run.rule]}:
            piece = _piece(need, offers.step_cm, 1.0 if soak_first else share)
            if piece.cut_cm <= longest_cm:
                pieces[piece.cut_cm] = piece
        per_m = min((reel.price_pence / reel.length_cm for reel in offers.reels), default=0.0) * 100
        worth = rule_figure("off_cut_worth") if offers.off_cut_worth is None else offers.off_cut_worth
        useful_cm = offers.off_cut_from_cm or min(pieces, default=0)
        return FleetProblem(
            self.route_names,
            self.lines,
            self.question.combinations,
            tuple((owned.counted_cm, group) for owned, group in self.owned),
            self.accepts,
            tuple(pieces[cut] for cut in sorted(pieces)),
            offers.reels,
            rooms,
            offers.pence_per_m,
            ((useful_cm, math.floor(worth * per_m)),),
            self.question.spare,
            offers.step_cm,
            share if soak_first else 1.0,
        )


def _piece(need: int, step_cm: int, share: float) -> FleetPiece:
    """The shortest piece in whole steps that still has the need once washed."""
    cut = math.ceil(need / share / step_cm - 1e-9) * step_cm
    while measured_cm(cut / 100 * share) < need:
        cut += step_cm
    return FleetPiece(cut, measured_cm(cut / 100 * share))


def _needs_z(question: BuyQuestion) -> float:
    """Spreads of margin on each need: as sure for each hang as makes all of the largest combination sure together."""
    pitches = [len(route.pitches) for route in question.routes]
    hangs = max((sum(pitches[r] for r in each if r < len(pitches)) for each in question.combinations), default=1)
    return z_of(question.needs_confidence ** (1 / max(hangs, 1)))


def ground(
    question: BuyQuestion,
    offers: Offers,
    new: NewRope,
    ropes: "Sequence[RopeState]" = (),
    *,
    until: date | None = None,
    age_limit_years: int | None = None,
    knots: "KnotLengths | None" = None,
    also_owned: Sequence[Owned] = (),
) -> Ground:
    """Read the question: needs with margins, ropes still in service after `until`, rules that tell ropes apart."""
    z = _needs_z(question)
    rules: dict[RopeRule, int] = {RopeRule(): 0}
    owned, not_counted = _owned(ropes, z, until, age_limit_years)
    sure_share = float(new.shrinks.share_left(0.99))
    offered_cm = [reel.length_cm for reel in offers.reels] or [_LONGEST_CM]
    new_rope = _stock_rope("", 1, new.diameter_mm, new.rope_type, new.g_per_m)
    placed = [
        (each, _stock_rope(each.rope, 1, state.diameter_mm, state.rope_type, state.mass_g_per_m))
        for each, state in owned
    ]
    there = [(rope, each.counted_cm) for each, rope in placed] + [(new_rope, each.counted_cm) for each in also_owned]
    reach = _Reach((*there, *((new_rope, int(cm * sure_share)) for cm in offered_cm)))
    lines = [
        each
        for number, route in enumerate(question.routes)
        for each in _lines(number, route, z, rules, question, reach, knots)
    ]
    lines += [
        FleetLine(len(question.routes), 2, (FleetRun(0, 1, length),), f"{length / 100:g} m")
        for length in question.lengths_cm
    ]
    ordered = list(rules)
    new_keeps = tuple(rule.accepts(new_rope) for rule in ordered)
    groups: dict[tuple[bool, ...], int] = {new_keeps: 0}
    in_groups = [
        (each, groups.setdefault(tuple(rule.accepts(rope) for rule in ordered), len(groups))) for each, rope in placed
    ]
    in_groups += [(each, 0) for each in also_owned]
    notes = _notes(ordered, new_keeps)
    names = tuple(tuple(pitch.name for pitch in route.pitches) for route in question.routes)
    return Ground(
        question, offers, new, tuple(lines), tuple(groups), tuple(in_groups), tuple(not_counted), notes, names
    )


def _notes(rules: Sequence[RopeRule], keeps: Sequence[bool]) -> tuple[str, ...]:
    """Where the new rope may not hang."""
    barred = [_rule_words(rule) for rule, kept in zip(rules, keeps, strict=True) if not kept]
    return tuple(f"The new rope may not hang everywhere: {words}." for words in barred)


def _rule_words(rule: RopeRule) -> str:
    words = []
    if rule.min_diameter_tenths_mm:
        words.append(f"{rule.min_diameter_tenths_mm / 10:g} mm or more is asked for")
    if rule.type_a_only:
        words.append("type A is asked for")
    if rule.max_tenths_g_per_m is not None:
        words.append(f"{rule.max_tenths_g_per_m / 10:g} g/m or less is asked for")
    return " and ".join(words)


def _stock_rope(
    name: str, length_cm: int, diameter_mm: float | None, rope_type: str | None, g_per_m: float | None
) -> StockRope:
    """A rope as rules judge it: of unknown diameter it is thin, of unknown mass it is heavy for its diameter."""
    from tethera.planning.trip_problem import usual_g_per_m

    grams = g_per_m or usual_g_per_m(diameter_mm)
    return StockRope(
        name, length_cm, 0, math.floor((diameter_mm or 0) * 10 + 1e-6), rope_type or "", math.ceil(grams * 10 - 1e-6)
    )


def _owned(
    ropes: "Sequence[RopeState]", z: float, until: date | None, age_limit_years: int | None
) -> "tuple[list[tuple[Owned, RopeState]], list[tuple[str, str]]]":
    """Ropes the plan may count on after a day, and why not on the others; retired ones are not spoken of."""
    from tethera.store import leaves_on, length_sd_cm

    owned, without = [], []
    for rope in ropes:
        leaves = leaves_on(rope, age_limit_years)
        if rope.state == "retired":
            continue
        if rope.state in ("missing", "set aside", "rigged"):
            without.append((rope.id, rope.state))
        elif rope.over_age or (leaves is not None and until is not None and leaves < until):
            without.append((rope.id, f"leaves service in {leaves.year}" if leaves else str(rope.over_age)))
        elif rope.length_cm is None:
            without.append((rope.id, "its length is not known"))
        elif rope.state == "in preparation" and "measure" in rope.waits:
            without.append((rope.id, "not measured since its wash"))
        else:
            # What is known worse than by measuring counts for so much less: its spread is longer by the difference.
            worse_cm = max(0.0, rope.length_sd_cm - length_sd_cm(rope.length_cm, "measured"))
            owned.append((Owned(rope.id, rope.length_cm, math.floor(rope.length_cm - z * worse_cm), leaves), rope))
    return [(each, rope) for each, rope in owned if each.counted_cm > 0], without


def _lines(
    number: int,
    route: "Route",
    z: float,
    rules: dict[RopeRule, int],
    question: BuyQuestion,
    reach: _Reach,
    knots: "KnotLengths | None",
) -> list[FleetLine]:
    """A route's lines: ropes change between pitches, and inside one only where no single rope could hang."""
    from tethera.rigging import rope_lines

    shared_cm = question.longest_shared_cm or round(rule_figure("longest_shared") * 100)
    found = []
    for line in rope_lines(route, longest_m=max(2 * reach.longest_cm / 100, _LONGEST_RUN_M), knots=knots):
        heads = [place.index for place in line.places if place.changes == 0]
        whole = _line(number, line, heads, z, rules, shared_cm)
        if not _goes(whole, list(rules), reach):
            beyond = [(heads[at], heads[at + 1]) for at in _beyond(whole, list(rules), reach)]
            some = [p.index for p in line.places if not p.changes or any(a < p.index < b for a, b in beyond)]
            whole = _line(number, line, some, z, rules, shared_cm)
        if not _goes(whole, list(rules), reach):
            whole = _line(number, line, [place.index for place in line.places], z, rules, shared_cm)
        found.append(whole)
    return found


def _line(
    number: int, line: "Line", places: list[int], z: float, rules: dict[RopeRule, int], shared_cm: int
) -> FleetLine:
    from tethera.planning.trip_problem import rule_of

    index = {place: at for at, place in enumerate(places)}
    runs = []
    for run in line.runs:
        if run.begin in index and run.end in index:
            need = _need_cm(run, z)
            if len(run.pitches) == 1 or need <= shared_cm:
                rule = rules.setdefault(rule_of(run), len(rules))
                runs.append(FleetRun(index[run.begin], index[run.end], need, rule, tuple(run.pitches)))
    inside = tuple((at, line.places[place].label) for place, at in index.items() if line.places[place].changes)
    return FleetLine(number, len(places), tuple(runs), line.name, inside)


def _need_cm(run: "Run", z: float) -> int:
    """What a measured rope must have for a run, with the margin trips are planned with."""
    from tethera.store import length_sd_cm

    rope_sd_m = length_sd_cm(math.ceil(run.mean_m * 100), "measured") / 100
    return need_cm(run.mean_m + z * math.hypot(run.sd_m, rope_sd_m))


def _hung(line: FleetLine, rules: Sequence[RopeRule], reach: _Reach) -> list[FleetRun]:
    """Runs on which some rope there is or could be had can hang, from the top."""
    longest_cm = [reach.of(rule) for rule in rules]
    runs = (run for run in line.runs if run.need_cm <= longest_cm[run.rule])
    return sorted(runs, key=lambda run: run.begin)


def _goes(line: FleetLine, rules: Sequence[RopeRule], reach: _Reach) -> bool:
    """Whether ropes reach from the first place to the last."""
    reached = {0}
    for run in _hung(line, rules, reach):
        if run.begin in reached:
            reached.add(run.end)
    return line.places - 1 in reached


def _beyond(line: FleetLine, rules: Sequence[RopeRule], reach: _Reach) -> list[int]:
    """Places from which to the next one no rope can hang, alone or on a longer run."""
    covered = {place for run in _hung(line, rules, reach) for place in range(run.begin, run.end)}
    return [place for place in range(line.places - 1) if place not in covered]
