"""What a rope should weigh, and what its last weighing says of its length: an alarm, never a length."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from tethera.basics import Finding, PartialDate, show_metres
from tethera.rope import typical_mass_g_per_m
from tethera.store.events import Event, Specified, Weighed
from tethera.store.limits import limit, speaks_for
from tethera.store.rope_state import RopeState

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

    A first weighing, where nobody declared a mass, is judged by what is usual for the diameter, with that one's own
    doubt. Declared and usual masses are of new rope: washing takes length and leaves the mass, so a weight may speak
    for as many metres more as a rope can lose.
    """
    own, by, declared = None, "usual", False
    for event in life:
        if isinstance(event, Weighed) and event.dry:
            own = event if event.rope == state.id else own
            by = "weighed" if state.mass_g_per_m is not None else by
        elif isinstance(event, Specified) and event.mass_g_per_m is not None:
            by, declared = "declared", True
    usual = _usual(state.diameter_mm)
    g_per_m = state.mass_g_per_m or usual
    if g_per_m is None:
        return None
    known: By = "usual" if state.mass_g_per_m is None else "weighed" if by == "weighed" else "declared"
    mass_g = None if state.length_cm is None else round(g_per_m * state.length_cm / 100)
    if own is None:
        return Weight(mass_g, g_per_m, known)
    by_usual = known != "declared" and not declared and usual is not None
    speaks_for = round(own.mass_g * 100 / (usual if by_usual and usual else g_per_m))
    astray = state.length_cm is not None and _astray(
        speaks_for, state.length_cm, by_usual=by_usual, of_new_rope=by_usual or known == "declared"
    )
    return Weight(mass_g, g_per_m, known, own.mass_g, own.happened, speaks_for, astray)


@dataclass(frozen=True, slots=True)
class SaidByWeight:
    """What a weighing says of a length just counted: a sentence, empty where nobody can tell, and the doubt if any."""

    words: str = ""
    doubts: tuple[Finding, ...] = ()


def said_by_weight(before: RopeState, life: Iterable[Event], weighed: Weighed, length_cm: int) -> SaidByWeight:
    """For how many metres a weighing speaks, beside the length counted with it [cm].

    `before` and `life` are the rope as it was known before this weighing: afterwards its own weight would judge itself.
    An alarm is told once: by a doubt instead of the words. Where the mass of a metre is declared or was weighed, that
    doubt comes with the record of the weighing (`rules`), and here is none.
    """
    known = before.mass_g_per_m
    if known is not None:
        speaks_for_cm, far = speaks_for(weighed.mass_g, known, length_cm)
        return SaidByWeight("" if far else _words(speaks_for_cm))
    told = weight(replace(before, length_cm=length_cm), [*life, weighed])
    if told is None or told.speaks_for_cm is None:
        return SaidByWeight()
    if not told.astray:
        return SaidByWeight(_words(told.speaks_for_cm))
    message = (
        f"By the usual mass of its diameter its weight speaks for about {round(told.speaks_for_cm / 100)} m; "
        f"{show_metres(length_cm)} m was counted."
    )
    way_out = "Count it again. Is it dry, and is it this rope?"
    return SaidByWeight(doubts=(Finding("weight-astray", f"rope {before.id}", message, way_out),))


def _words(speaks_for_cm: float) -> str:
    return f"Its weight speaks for about {round(speaks_for_cm / 100)} m."


def _usual(diameter_mm: float | None) -> float | None:
    """Usual mass of a metre of such a rope [g/m]."""
    return typical_mass_g_per_m(diameter_mm) if diameter_mm is not None and 3 <= diameter_mm <= 20 else None


def _astray(speaks_for_cm: int, length_cm: int, *, by_usual: bool, of_new_rope: bool) -> bool:
    """Whether a weight speaks for another length than the record, beyond what explains it."""
    doubt_cm = limit("weight_astray") * 100 + (limit("usual_mass_doubt") * speaks_for_cm if by_usual else 0)
    longest_cm = length_cm / (1 - limit("most_lost")) if of_new_rope else length_cm
    return not length_cm - doubt_cm <= speaks_for_cm <= longest_cm + doubt_cm
