"""Why a problem cannot be solved: cheap and plain statements first, each a proof and not a guess.

1. a run that no free rope covers, though every way down needs it or a longer one
2. fewer long ropes than any rigging needs
3. the fewest pitches that stay unrigged
4. what would help: the least metres to buy, and the fewest booked ropes to free

Steps 3 and 4 are the same exact model with made-up ropes of an accuracy of their own, so that each made-up rope fits
only the runs it is meant for. That step 3 comes out above nothing also confirms, by another model, that the problem is
impossible.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from tethera.planning.plan import Budget, Shortfall, no_limit
from tethera.planning.problem import Line, PlanningProblem, RopeRule, Run, StockRope

_NEVER_CM = 10**8
#: Lengths sold cut to measure [m], and the rope that is thought of: 10 mm, type A, 65 g/m.
_SHORTEST_SOLD_M, _LONGEST_SOLD_M = 8, 200
_SOLD = StockRope("", 0, 0, 100, "A", 650)


def why_not(
    problem: PlanningProblem, seconds: Budget = no_limit, *, booked: Sequence[StockRope] = ()
) -> tuple[Shortfall, ...]:
    """The reasons a problem has no plan, simplest first, then what would help; as far as time goes."""
    found = [*uncovered_runs(problem)]
    too_few = None if found else too_few_long_ropes(problem, seconds)
    found += [too_few] if too_few else []
    for step in (fewest_unrigged, least_to_buy):
        if seconds() > 0:
            answer = step(problem, seconds)
            found += [answer] if answer else []
    if booked and seconds() > 0:
        freed = fewest_to_free(problem, booked, seconds)
        found += [freed] if freed else []
    return tuple(found)


def uncovered_runs(problem: PlanningProblem) -> Iterator[Shortfall]:
    """Step 1: per line that no run of the free ropes can cross somewhere, the crossing that lacks least."""
    for number, line in enumerate(problem.lines):
        covered = [run for run in line.runs if _longest(problem, run, reaching=True) is not None]
        down, up = {0}, {line.places - 1}
        for run in sorted(covered, key=lambda run: run.begin):
            down |= {run.end} if run.begin in down else set()
        for run in sorted(covered, key=lambda run: -run.end):
            up |= {run.begin} if run.end in up else set()
        if line.places - 1 in down:
            continue
        # Joined ropes are another matter: this says only what one rope can do.
        top = max(down)
        across = [run for run in line.runs if run.begin == top] or [run for run in line.runs if run.end > top]
        lacks = [(_lack_cm(problem, run), run) for run in across]
        if lacks:
            _, run = min(lacks, key=lambda lack: (lack[0], lack[1].end))
            yield _leg(problem, number, run)


def _leg(problem: PlanningProblem, number: int, run: Run) -> Shortfall:
    rope = _longest(problem, run, reaching=False)
    return Shortfall(
        "leg",
        number,
        run.begin,
        run.end,
        run.needs_cm[rope.accuracy] if rope else min(run.needs_cm),
        rope.length_cm if rope else None,
        rope.rope if rope else None,
        pitches=tuple((number, pitch) for pitch in run.pitches),
    )


def _longest(problem: PlanningProblem, run: Run, *, reaching: bool) -> StockRope | None:
    """The rope with most to spare (or least lacking) on a run, among those its rule accepts."""
    may = [rope for rope in problem.stock if run.rule.accepts(rope)]
    best = max(may, key=lambda rope: (rope.length_cm - run.needs_cm[rope.accuracy], rope.rope), default=None)
    return best if best and (not reaching or best.length_cm >= run.needs_cm[best.accuracy]) else None


def _lack_cm(problem: PlanningProblem, run: Run) -> int:
    rope = _longest(problem, run, reaching=False)
    return run.needs_cm[rope.accuracy] - rope.length_cm if rope else _NEVER_CM


def too_few_long_ropes(problem: PlanningProblem, seconds: Budget = no_limit) -> Shortfall | None:
    """Step 2: a length and a rule for which any rigging needs more ropes at once than there are."""
    rules = list(dict.fromkeys(run.rule for line in problem.lines for run in line.runs))
    by_accepted = {frozenset(r.rope for r in problem.stock if rule.accepts(r)): rule for rule in reversed(rules)}
    worst: tuple[int, int, Shortfall] | None = None
    for accepted, rule in by_accepted.items():
        inside = {r for r in rules if all(rope.rope in accepted for rope in problem.stock if r.accepts(rope))}
        lengths = sorted({rope.length_cm for rope in problem.stock if rope.rope in accepted})
        for over_cm in [0, *lengths]:
            if seconds() <= 0:
                break
            have = [rope for rope in problem.stock if rope.rope in accepted and rope.length_cm > over_cm]
            for clique in problem.cliques:
                needed = sum(_fewest_long(problem.lines[number], inside, over_cm) for number in clique)
                if needed > len(have) and (worst is None or (needed - len(have), over_cm) > worst[:2]):
                    short = Shortfall(
                        "too-few",
                        need_cm=over_cm,
                        needed=needed,
                        free=len(have),
                        type_a_only=rule.type_a_only,
                        min_diameter_tenths_mm=rule.min_diameter_tenths_mm,
                    )
                    worst = (needed - len(have), over_cm, short)
    return worst[2] if worst else None


def _fewest_long(line: Line, inside: set[RopeRule], over_cm: int) -> int:
    """Fewest runs that only a rope over this length, and within these rules, can serve, over all ways down."""
    best = [0] + [_NEVER_CM] * (line.places - 1)
    for run in sorted(line.runs, key=lambda run: run.begin):
        costs = 1 if run.rule in inside and min(run.needs_cm) > over_cm else 0
        best[run.end] = min(best[run.end], best[run.begin] + costs)
    return best[-1] if best[-1] < _NEVER_CM else 0


def fewest_unrigged(problem: PlanningProblem, seconds: Budget = no_limit) -> Shortfall | None:
    """Step 3: the fewest pitches that must be left out, and which; no joins in mid-drop."""
    accuracies = 1 + max((rope.accuracy for rope in problem.stock), default=0)
    lines, pitch_of = [], {}
    for number, line in enumerate(problem.lines):
        runs = [replace(run, needs_cm=(*run.needs_cm[:accuracies], _NEVER_CM)) for run in line.runs]
        for begin, end, pitches in _whole_pitches(line):
            pitch_of[number, begin, end] = [(number, pitch) for pitch in pitches]
            runs.append(Run(begin, end, (_NEVER_CM,) * accuracies + (1,), pitches=pitches))
        lines.append(replace(line, runs=tuple(runs), knotted=()))
    nobody = tuple(StockRope(f"nobody {n}", 1, 0, 10**6, "A", 0, accuracy=accuracies) for n in range(len(pitch_of)))
    rows = _solve(replace(problem, lines=tuple(lines), stock=(*problem.stock, *nobody)), "nobody ", seconds)
    if rows is None:
        return None
    hangs, proven = rows
    left = tuple(
        pitch for line, begin, end, rope in hangs if rope.startswith("nobody ") for pitch in pitch_of[line, begin, end]
    )
    return Shortfall("pitches", pitches=left, proven=proven) if left else None


def _whole_pitches(line: Line) -> Iterator[tuple[int, int, tuple[int, ...]]]:
    """Spans that can be left out whole: between places where ropes change without a change inside a pitch."""
    between = {0, line.places - 1} | {run.end for run in line.runs if run.changes == 0}
    spans = {
        (run.begin, run.end): run.pitches
        for run in line.runs
        if run.changes == 0 and run.begin in between and len(set(run.pitches)) == 1
    }
    # Pitches too deep for any run that is listed: leave out the stretch between neighbouring pitch ends.
    for begin, end in pairwise(sorted(between)):
        if not any(begin == first for first, _ in spans) or not any(end == last for _, last in spans):
            inner = {pitch for run in line.runs if begin <= run.begin and run.end <= end for pitch in run.pitches}
            spans[begin, end] = tuple(sorted(inner))
    yield from ((begin, end, tuple(dict.fromkeys(pitches))) for (begin, end), pitches in sorted(spans.items()))


def least_to_buy(problem: PlanningProblem, seconds: Budget = no_limit) -> Shortfall | None:
    """Step 4: the fewest metres of new rope, cut to whole metres, that make a plan possible."""
    accuracies = 1 + max((rope.accuracy for rope in problem.stock), default=0)
    lines, sold_m = [], set()
    for line in problem.lines:
        runs = []
        for run in line.runs:
            need_cm = min(run.needs_cm)
            runs.append(replace(run, needs_cm=(*run.needs_cm[:accuracies], need_cm)))
            sold_m.add(max(_SHORTEST_SOLD_M, -(-need_cm // 100)))
        lines.append(replace(line, runs=tuple(runs), knotted=()))
    legs = sum(line.places - 1 for line in problem.lines)
    new = tuple(
        replace(_SOLD, rope=f"new {m} {n}", length_cm=100 * m, mass_g=65 * m, accuracy=accuracies)
        for m in sorted(sold_m)
        if m <= _LONGEST_SOLD_M
        for n in range(min(legs, 60))
    )
    rows = _solve(replace(problem, lines=tuple(lines), stock=(*problem.stock, *new)), "new ", seconds)
    if rows is None:
        return None
    hangs, proven = rows
    bought = tuple(sorted(100 * int(rope.split()[1]) for *_, rope in hangs if rope.startswith("new ")))
    return Shortfall("buy", lengths_cm=bought, proven=proven) if bought else None


def fewest_to_free(
    problem: PlanningProblem, booked: Sequence[StockRope], seconds: Budget = no_limit
) -> Shortfall | None:
    """Step 4: the fewest booked ropes that would have to be freed; None when even all of them do not help."""
    # Their names begin with a word of their own, and the wear keeps them apart from free ropes like them.
    apart = tuple(replace(rope, rope=f"booked {rope.rope}", wear=rope.wear + 10**6) for rope in booked)
    rows = _solve(replace(problem, stock=(*problem.stock, *apart)), "booked ", seconds)
    if rows is None:
        return None
    hangs, proven = rows
    freed = tuple(sorted(rope.removeprefix("booked ") for *_, rope in hangs if rope.startswith("booked ")))
    return Shortfall("free", ropes=freed, proven=proven) if freed else None


def _solve(problem: PlanningProblem, word: str, seconds: Budget) -> tuple[list[tuple[int, int, int, str]], bool] | None:
    """Hangs (line, begin, end, rope) that use least of the made-up ropes: fewest, or of new ones fewest metres."""
    from tethera.planning.assign import minimise
    from tethera.planning.cascade import Cascade
    from tethera.planning.highs import NoAnswer
    from tethera.planning.recover import hangs_of

    cascade = Cascade(problem)
    by_metres = word == "new "
    cost = cascade.cost(
        per_rope=lambda c: (c.length_cm // 100 if by_metres else 1) if c.ropes[0].startswith(word) else 0
    )
    try:
        solved = minimise(cascade, cost, [], seconds)
    except NoAnswer:
        return None
    hangs = hangs_of(cascade, solved.columns)
    return [(hang.line, hang.begin, hang.end, hang.ropes[0]) for hang in hangs], solved.proven
