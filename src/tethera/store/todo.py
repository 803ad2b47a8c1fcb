"""What waits: the next step of each rope in preparation, and what its findings ask for."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from tethera.store.rope_state import RopeState


@dataclass(frozen=True, slots=True)
class Waiting:
    """Something to do: which rope, what, since when, and why."""

    rope: str
    what: str
    since: str
    why: str


_IN_HAND = ("mark-overstates", "mark-void", "inspection-due", "never-measured", "length-unknown")
_TO_DO = {
    "mark-overstates": "mark it anew",
    "mark-void": "mark it anew",
    "inspection-due": "inspect",
    "overdue": "fetch it back",
    "over-age": "retire",
    "never-measured": "measure",
    "length-unknown": "measure",
    "age-unknown": "find its age",
}


def waiting(states: Iterable[RopeState]) -> Iterator[Waiting]:
    """What waits for each rope, with the findings of the day in it."""
    for state in states:
        if state.retired is not None:
            if state.with_somebody:
                since = state.out_since.spoken() if state.out_since else ""
                yield Waiting(state.id, "fetch it back", since, "It is retired, and somebody has it.")
            continue
        yield from _by_state(state)
        fetched = state.state == "set aside" and state.with_somebody
        for finding in state.findings:
            # Nobody measures, marks or examines a rope that is not there.
            if finding.code in _TO_DO and not (state.state == "missing" and finding.code in _IN_HAND):
                if fetched and finding.code == "overdue":
                    continue
                yield Waiting(state.id, _TO_DO[finding.code], "", finding.message)


def _by_state(state: RopeState) -> Iterator[Waiting]:
    since = state.waits_since.spoken() if state.waits_since else ""
    if state.state == "in preparation" and not (state.marks_void and state.waits[0] == "mark"):
        yield Waiting(state.id, state.waits[0], since, ", ".join(state.waits))
    elif state.state == "set aside":
        if state.with_somebody:
            since = state.out_since.spoken() if state.out_since else ""
            yield Waiting(state.id, "fetch it back", since, "It is set aside, and somebody has it.")
        yield Waiting(state.id, "inspect", "", state.set_aside or "")
    elif state.state == "missing":
        yield Waiting(state.id, "look for it", "", "missing")
