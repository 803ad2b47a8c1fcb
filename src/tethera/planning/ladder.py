"""Why a problem cannot be solved: cheap and plain statements first, each a proof and not a guess."""

from tethera.planning.plan import Budget, Shortfall
from tethera.planning.problem import PlanningProblem


def why_not(problem: PlanningProblem, seconds: Budget) -> tuple[Shortfall, ...]:
    """The reasons a problem has no plan, simplest first."""
    return ()
