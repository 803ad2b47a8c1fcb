"""What a rope should weigh, and what its last weighing says of its length: an alarm, never a length."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from tethera.basics import PartialDate
from tethera.rope import typical_mass_g_per_m
from tethera.store.events import Event, Specified, Weighed
from tethera.store.rope_state import RopeState
from tethera.store.rules import limit

By = Literal["weighed", "declared", "usual"]


@dataclass(frozen=True, slots=True)
class Weight:
    """A rope's weight.

    Parameters
    ----------
    mass_g : what the rope should weigh dry [g], None where its length is not known
    g_per_m : mass of a metre, and `by` how it is known: weighed, declared, or usual for its diameter
    last_g, last_on : its last weighing dry, itself, not as part of what it was cut from
    speaks_for_cm : the length that weighing speaks for [cm]
    astray : whether that differs from the length by more than a scale can be wrong
    """

    mass_g: int | None
    g_per_m: float
    by: By
    last_g: int | None = None
    last_on: PartialDate | None = None
    speaks_for_cm: int | None = None
    astray: bool = False


def weight(state: RopeState, life: Iterable[Event]) -> Weight | None:
    """A rope's weight, from its state and its life in order of happening; None where nothing tells it.

    A usual mass is no ground for an alarm about five metres: its own doubt is added to what a scale can be wrong.
    """
    own, by = None, "usual"
    for event in life:
        if isinstance(event, Weighed) and event.dry:
            own = event if event.rope == state.id else own
            by = "weighed" if state.mass_g_per_m is not None else by
        elif isinstance(event, Specified) and event.mass_g_per_m is not None:
            by = "declared"
    known: By = "usual" if state.mass_g_per_m is None else "weighed" if by == "weighed" else "declared"
    if state.mass_g_per_m is not None:
        g_per_m = state.mass_g_per_m
    elif state.diameter_mm is not None and 3 <= state.diameter_mm <= 20:
        g_per_m = typical_mass_g_per_m(state.diameter_mm)
    else:
        return None
    mass_g = None if state.length_cm is None else round(g_per_m * state.length_cm / 100)
    if own is None:
        return Weight(mass_g, g_per_m, known)
    speaks_for = round(own.mass_g * 100 / g_per_m)
    doubt_cm = limit("weight_astray") * 100
    doubt_cm += limit("usual_mass_doubt") * speaks_for if known == "usual" else 0
    astray = state.length_cm is not None and abs(speaks_for - state.length_cm) > doubt_cm
    return Weight(mass_g, g_per_m, known, own.mass_g, own.happened, speaks_for, astray)
