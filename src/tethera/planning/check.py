"""A second, simple judge of every plan. It shares nothing with what made the plan but the words of the problem."""

from tethera.planning.plan import Hang, Plan
from tethera.planning.problem import PlanningProblem


def faults(problem: PlanningProblem, plan: Plan) -> list[str]:
    """What is wrong with a plan, in words; nothing when it can be carried out and its sums are right."""
    wrong: list[str] = []
    for number, line in enumerate(problem.lines):
        place = 0
        for hang in sorted((h for h in plan.hangs if h.line == number), key=lambda h: h.begin):
            if hang.begin != place:
                wrong.append(f"{line.name}: nothing hangs from place {place} to {hang.begin}")
            place = hang.end
            wrong += _hang_faults(problem, hang)
        if place != line.places - 1:
            wrong.append(f"{line.name}: the ropes end at place {place} of {line.places - 1}")
    wrong += _twice_taken(problem, plan)
    for pin in problem.pins:
        if not any(pin.rope in h.ropes and h.line == pin.line and pin.pitch in h.pitches for h in plan.hangs):
            wrong.append(f"{pin.rope} does not hang on pitch {pin.pitch} of {problem.lines[pin.line].name}")
    return wrong + _sum_faults(problem, plan)


def _hang_faults(problem: PlanningProblem, hang: Hang) -> list[str]:
    line = problem.lines[hang.line]
    where = f"{line.name}, place {hang.begin} to {hang.end}"
    ropes = [problem.rope_by_name.get(name) for name in hang.ropes]
    known = [rope for rope in ropes if rope is not None]
    if len(known) < len(ropes) or not ropes:
        return [f"{where}: a rope that is not in the stock"]
    if len(ropes) == 1:
        rope = known[0]
        fits = any(
            (run.begin, run.end, run.changes) == (hang.begin, hang.end, hang.changes)
            and run.rule.accepts(rope)
            and run.needs_cm[rope.accuracy] == hang.need_cm <= rope.length_cm
            for run in line.runs
        )
        return [] if fits else [f"{where}: {rope.rope} is too short or may not be used there"]
    total_cm = sum(rope.length_cm for rope in known)
    fits = any(
        (run.begin, run.end, run.changes) == (hang.begin, hang.end, hang.changes)
        and all(run.rule.accepts(rope) for rope in known)
        and run.need_cm + (len(known) - 1) * run.join_cm == hang.need_cm <= total_cm
        and known[0].length_cm >= run.above_cm
        and known[-1].length_cm >= run.below_cm
        for run in line.knotted
    )
    return [] if fits else [f"{where}: {' + '.join(hang.ropes)} do not reach or join outside the leg"]


def _twice_taken(problem: PlanningProblem, plan: Plan) -> list[str]:
    wrong = []
    uses = [(rope, problem.lines[hang.line].window) for hang in plan.hangs for rope in hang.ropes]
    for i, (rope, (start, end)) in enumerate(uses):
        if any(rope == other and start < until and begin < end for other, (begin, until) in uses[i + 1 :]):
            wrong.append(f"{rope} is taken twice at the same time")
    return wrong


def _sum_faults(problem: PlanningProblem, plan: Plan) -> list[str]:
    ropes = [problem.rope_by_name[rope] for h in plan.hangs for rope in h.ropes if rope in problem.rope_by_name]
    sums = {
        "joins": (plan.joins, sum(len(h.ropes) - 1 for h in plan.hangs)),
        "changes": (plan.changes, sum(h.changes for h in plan.hangs)),
        "grams": (plan.mass_g, sum(rope.mass_g for rope in ropes)),
        "wear": (plan.wear, sum(rope.wear for rope in ropes)),
        "left over": (plan.left_over_cm, sum(r.length_cm for r in ropes) - sum(h.need_cm for h in plan.hangs)),
    }
    wrong = [f"{what}: said {said}, counted {counted}" for what, (said, counted) in sums.items() if said != counted]
    if plan.bounds is not None and (plan.joins, plan.changes) == (plan.bounds.joins, plan.bounds.changes):
        below = plan.mass_g < plan.bounds.mass_g
        wrong += [f"{plan.mass_g} g is below the bound of {plan.bounds.mass_g} g"] if below else []
    return wrong
