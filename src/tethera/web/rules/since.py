"""Since when each rule of a store holds, and who made it so."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from tethera.basics import PartialDate
from tethera.store import Event, Recorded, StoreDescribed

#: The rules, by the name of their field.
RULES = (
    *("owner", "code", "age_limit_years", "inspection_months", "label_keeps_back_percent", "knots"),
    *("owner_short", "ends_lettered", "bands"),
)


@dataclass(frozen=True)
class Since:
    """From which day a rule holds, and the id of who recorded it."""

    day: PartialDate
    by: str | None


def rules_since(log: Sequence[Recorded], stands: Callable[[int], Event | None]) -> dict[str, Since]:
    """For each rule that was ever made: the description that last changed it."""
    told: dict[str, Since] = {}
    before: StoreDescribed | None = None
    for number, event in sorted(_descriptions(log, stands), key=lambda each: (each[1].happened.earliest, each[0])):
        for name in RULES:
            value = getattr(event, name)
            # A first description makes those rules that it names.
            if value != getattr(before, name) if before else value not in (None, "", 0, False):
                told[name] = Since(event.happened, log[number].by)
        before = event
    return told


def _descriptions(
    log: Sequence[Recorded], stands: Callable[[int], Event | None]
) -> Iterable[tuple[int, StoreDescribed]]:
    for number, recorded in enumerate(log):
        if isinstance(recorded.event, StoreDescribed):
            event = stands(number)
            if isinstance(event, StoreDescribed):
                yield number, event
