"""Why each rope is in a list to buy, what goes wrong without it, and what each route's share of the price is."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from tethera.basics import measured_cm, show_metres
from tethera.planning.buy_chance import Rung, Sureness
from tethera.planning.buy_combinations import Combinations, Undecided
from tethera.planning.buy_plan import NewPiece, NewReel, RouteCost
from tethera.planning.buy_problem import FleetAnswer, FleetLine, FleetProblem, FleetRun, Hung
from tethera.planning.buy_routes import Ground
from tethera.planning.plan import Budget

#: Combinations looked for that no longer go without a rope.
_MOST_LOST = 25


class Reasons:
    """The reasons of one answer."""

    def __init__(self, ground: Ground, rung: Rung, sure: Sureness, seconds: Budget) -> None:
        self.ground, self.problem, self.answer, self.sure = ground, rung.problem, rung.answer, sure
        self.seconds = seconds
        impossible = set(self.answer.impossible)
        kept = tuple(tuple(r for r in each if r not in impossible) for each in self.problem.combinations)
        self.judge = Combinations(replace(self.problem, combinations=kept))
        #: Of each combination, its hangs on new rope's group, longest first.
        self.ranked = [
            sorted((h for h in hung if h.group == 0), key=lambda h: -h.run.need_cm) for hung in self.answer.hung
        ]
        self._lost: dict[int, str] = {}

    def reels(self) -> tuple[tuple[NewReel, ...], tuple[NewPiece, ...]]:
        """Reels with their pieces and off-cuts, and pieces cut to length in the shop."""
        problem, answer = self.problem, self.answer
        offers = [pattern.reel for pattern, times in answer.patterns for _ in range(times)]
        places: dict[int | None, list[int]] = defaultdict(list)
        for place, piece in enumerate(self.sure.pieces):
            places[piece.reel].append(place)
        reels = []
        for number, offer in enumerate(offers):
            reel, room = problem.reels[offer], problem.rooms_cm[offer]
            used = sum(problem.pieces[self.sure.pieces[place].piece].cut_cm for place in places[number])
            prices = _shared(reel.price_pence, [self._cut_cm(place) for place in places[number]])
            pieces = tuple(self.piece(place, price) for place, price in zip(places[number], prices, strict=True))
            off_cut = room - used
            reels.append(
                NewReel(
                    reel.name or f"{show_metres(reel.length_cm)} m", reel.length_cm, room, reel.price_pence, pieces,
                    off_cut, problem.off_cut_pence(off_cut), self._use(off_cut),
                )
            )  # fmt: skip
        shop = tuple(self.piece(place, problem.shop_pence(self._cut_cm(place)) or 0) for place in places[None])
        return tuple(sorted(reels, key=lambda each: -each.length_cm)), shop

    def _cut_cm(self, place: int) -> int:
        return self.problem.pieces[self.sure.pieces[place].piece].cut_cm

    def piece(self, place: int, price_pence: int) -> NewPiece:
        """One piece with its reason."""
        each = self.sure.pieces[place]
        piece, need = self.problem.pieces[each.piece], self.sure.needs_cm[place]
        rank = self._rank(place)
        wanting = [n for n, hangs in enumerate(self.ranked) if len(hangs) > rank and hangs[rank].run.need_cm == need]
        routes = dict.fromkeys(self.ground.route_names[r] for n in wanting for r in self._routes(n))
        share = float(self.ground.new.shrinks.share_left(0.5))
        soaked = self.ground.question.habit == "soak-then-cut"
        bought = piece.cut_cm if each.reel is not None else self.problem.shop_cm(piece.cut_cm)
        typical = piece.cut_cm if soaked and each.reel is not None else measured_cm(bought / 100 * share)
        return NewPiece(
            bought, piece.left_cm, typical, need, self.sure.each[place],
            self._why(wanting, rank, need), self._without(each.piece), len(wanting), tuple(routes), price_pence,
        )  # fmt: skip

    def _rank(self, place: int) -> int:
        """How many ropes of its group, new or owned, are counted as longer; spare ones stand before those in use."""
        stock = [(length, -1) for length, group in self.problem.stock if group == 0]
        mine = [(self.problem.pieces[p.piece].left_cm, i) for i, p in enumerate(self.sure.pieces)]
        order = sorted([*stock, *mine], key=lambda each: (-each[0], each[1]))
        return max(0, next(n for n, (_, i) in enumerate(order) if i == place) - self.problem.spare)

    def _routes(self, combination: int) -> tuple[int, ...]:
        return tuple(r for r in self.problem.combinations[combination] if r not in self.answer.impossible)

    def named(self, combination: int) -> str:
        """A combination by its routes.

        Several are joined as people say it: A; A with B; A with B and C.
        """
        names = [self.ground.route_names[route] for route in self._routes(combination)]
        if len(names) < 3:
            return " with ".join(names)
        return f"{names[0]} with {', '.join(names[1:-1])} and {names[-1]}"

    def _why(self, wanting: Sequence[int], rank: int, need_cm: int) -> str:
        if not wanting:
            return "No combination is short of it: it comes with the cheapest way to cut the reel."
        hang = self.ranked[wanting[0]][rank]
        if self._asked_for(hang):
            return f"You asked for {show_metres(need_cm)} m.{_as_much(len(wanting) - 1)}"
        others = "its longest rope" if rank == 0 else f"one of {rank + 1} ropes that long or longer it needs"
        spare = f", and {self.problem.spare} to spare" if self.problem.spare else ""
        return (
            f"{self.named(wanting[0])}: {self.where(hang)} takes {show_metres(need_cm)} m, {others}{spare}."
            f"{_as_much(len(wanting) - 1)}"
        )

    def _asked_for(self, hang: Hung) -> bool:
        """Whether it is one of the lengths asked for beside all routes."""
        return self.problem.lines[hang.line].route >= len(self.ground.pitch_names)

    def where(self, hang: Hung) -> str:
        """The pitches of a hang in words."""
        line = self.problem.lines[hang.line]
        if line.route >= len(self.ground.pitch_names):
            return f"the {line.name} you asked for"
        return _where(self.ground, line, hang.run)

    def _without(self, piece: int) -> str:
        """What no longer goes with one piece of this length less."""
        if piece not in self._lost:
            counts = self.answer.counts(len(self.problem.pieces))
            counts[piece] -= 1
            self._lost[piece] = self._lost_with(counts)
        return self._lost[piece]

    def _lost_with(self, counts: Sequence[int]) -> str:
        try:
            failed, _ = self.judge.judged(counts, self.seconds, most=_MOST_LOST)
        except Undecided:
            return ""
        if not failed:
            return "Every combination still goes without it."
        first = self.named(failed[0])
        if not self.ground.pitch_names:
            return "Left out, one of the lengths you asked for is missing."
        others, some = len(failed) - 1, "at least " if len(failed) == _MOST_LOST else ""
        more = (
            f", nor {'another combination' if others == 1 else f'{some}{others} other combinations'}" if others else ""
        )
        return f"Left out, {first} no longer goes{more}."

    def _use(self, off_cut_cm: int) -> str:
        """What an off-cut would rig one day: the longest pitch it reaches."""
        share = (
            1.0 if self.ground.question.habit == "soak-then-cut" else float(self.ground.new.shrinks.share_left(0.95))
        )
        left = measured_cm(off_cut_cm / 100 * share)
        fits = [
            Hung(number, run, 0)
            for number, line in enumerate(self.problem.lines)
            for run in line.runs
            if run.need_cm <= left and self.problem.accepts[0][run.rule]
        ]
        if not fits or not self.problem.off_cut_pence(off_cut_cm):
            return ""
        best = max(fits, key=lambda h: h.run.need_cm)
        if self._asked_for(best):
            return f"long enough for one more of the {show_metres(best.run.need_cm)} m you asked for"
        route = self.ground.route_names[self.problem.lines[best.line].route]
        return f"long enough for {self.where(best)} of {route} ({show_metres(best.run.need_cm)} m)"


def _where(ground: Ground, line: FleetLine, run: FleetRun) -> str:
    """The pitches of a run in words; with its ends where ropes are changed inside a pitch."""
    names = " and ".join(ground.pitch_names[line.route][pitch] for pitch in run.pitches) or line.name
    inside = dict(line.inside)
    if run.begin not in inside and run.end not in inside:
        return names
    return f"{names} (from {inside.get(run.begin, 'the head')} to {inside.get(run.end, 'the foot')})"


def _as_much(others: int) -> str:
    if not others:
        return ""
    return " Another combination needs as much." if others == 1 else f" {others} other combinations need as much."


def _shared(price: int, lengths: Sequence[int]) -> list[int]:
    """A price shared out by length, to the penny: the first bears what rounding leaves."""
    total = sum(lengths)
    parts = [price * length // total for length in lengths]
    return [part + (price - sum(parts) if i == 0 else 0) for i, part in enumerate(parts)]


def by_route(names: Sequence[str], pieces: Sequence[NewPiece]) -> tuple[RouteCost, ...]:
    """The price by route: each rope's price to the routes that need it, in equal parts, to the penny."""
    shares: dict[str, int] = defaultdict(int)
    for piece in pieces:
        routes = list(piece.routes) or list(names)
        part, rest = divmod(piece.price_pence, len(routes))
        for number, route in enumerate(routes):
            shares[route] += part + (number < rest)
    return tuple(RouteCost(name, shares[name]) for name in sorted(shares, key=lambda name: -shares[name]))


def too_few_words(ground: Ground, answer: FleetAnswer) -> str:
    """Why there is no list at all, though a rope could be had for each pitch."""
    what = "The reels on offer are too few"
    if len(ground.accepts) > 1:
        what += ", or the store has too few ropes of a kind that is not on offer"
    if not answer.active:
        return f"No list makes every combination go. {what}: offer more, or ask for fewer routes at once."
    routes = ground.question.combinations[answer.active[0]]
    names = " with ".join(ground.route_names[route] for route in routes if route not in answer.impossible)
    return f"No list makes {names} go. {what}: offer more, or another kind of rope."


def impossible_words(ground: Ground, problem: FleetProblem, route: int) -> str:
    """Why no rope on offer rigs a route: the pitch that takes most, beside the longest rope there could be."""
    name = ground.route_names[route]
    if not (wanted := _single_pitches(problem, route)):
        return f"{name} cannot be rigged with any rope on offer: look through its pitches."
    # What no rope reaches; where each is reached by some rope, what takes most.
    line, run, longest = max(wanted, key=lambda each: (each[1].need_cm > each[2], each[1].need_cm))
    where = _where(ground, line, run) if route < len(ground.pitch_names) else "it"
    barred = "" if problem.accepts[0][run.rule] else "The new rope may not hang there: another kind is asked for. "
    return (
        f"{name} cannot be rigged, whatever is bought: {where} takes {show_metres(run.need_cm)} m, and the longest "
        f"rope that could hang there has {show_metres(longest)} m. {barred}"
        f"Offer a longer reel or another rope{'' if line.inside else ', or describe its rebelays'}. "
        "Joins in mid-drop are not counted here: a trip may still rig it so."
    )


def _single_pitches(problem: FleetProblem, route: int) -> list[tuple[FleetLine, FleetRun, int]]:
    """Runs of one pitch that no other lies in, each with its line and the longest rope that could hang there [cm]."""
    longest = [
        max((lengths[-1] for g, lengths in enumerate(problem.levels) if lengths and keeps[g]), default=0)
        for keeps in zip(*problem.accepts, strict=True)
    ]
    found = []
    for number in problem.lines_of[route]:
        line = problem.lines[number]
        single = [run for run in line.runs if len(run.pitches) <= 1]
        spans = {(run.begin, run.end) for run in single}
        for run in single:
            inside = (begin >= run.begin and end <= run.end for begin, end in spans - {(run.begin, run.end)})
            if not any(inside):
                found.append((line, run, longest[run.rule]))
    return found
