"""What a measurement says of a rope: what is doubted of it, and which length counts while it is in doubt.

What was counted stays in the record as it was written. A length that speaks against its own counts, or that is longer
than the rope was, is not used until it is settled: until then the lower one counts, for a rope said to be longer than
it is hurts somebody. It is settled by a correction, by the next measurement without such a doubt, or by one that says
the same again.
"""

import math
from collections.abc import Iterator

from tethera.basics import show_metres
from tethera.store.events import Measured
from tethera.store.limits import limit
from tethera.store.rope_state import RopeState, changed, length_sd_cm
from tethera.store.waits import without_wait

_Doubt = tuple[str, str, str]
_OF_COUNTS = ("counts-disagree", "length-not-counted")
#: What the next measurement answers; it may raise them anew.
_ANSWERED = ("longer-than-before", *_OF_COUNTS, "counted-once", "pieces-too-long")


def measuring_doubts(state: RopeState, event: Measured) -> Iterator[_Doubt]:
    """What is odd about a measurement, given the rope before it: code, sentence, way out."""
    against = tuple(_against(state, event))
    for code, told, way_out in against:
        careful_cm = _careful_cm(state, event, against)[0]
        yield code, f"{told} Until it is counted again, {show_metres(careful_cm)} m counts.", way_out
    if not against and _counted_once(state, event):
        yield "counted-once", "Counted once only.", "Count again: two counts that agree find a slip."
    if "dry" in state.waits and state.washed:
        yield "measured-wet", "It was measured before it was dry.", "Measure it again when it is dry."
    old = state.length_cm
    if old is not None and event.length_cm < old * (1 - limit("most_lost")) - 2 * _spread(state, event):
        yield (
            "much-shorter",
            f"Much shorter than washing explains: {_told(old, event)}.",
            ("Count again; was a piece cut off?"),
        )


def measured(state: RopeState, event: Measured) -> RopeState:
    """The rope once it was measured: with its new length, or the lower one while that is in doubt."""
    against = tuple(_against(state, event))
    length_cm, before_holds = _careful_cm(state, event, against)
    if before_holds:
        # Known as it was before; what nobody had counted before is still to be counted.
        waits = without_wait(state.waits, "measure") if state.known_by == "measured" else state.waits
        after = changed(state, waits=waits)
    else:
        waits = without_wait(state.waits, "measure")
        after = changed(
            state, length_cm=length_cm, known_by="measured", measured_on=event.happened, waits=waits
        )  # fmt: skip
    return changed(
        after,
        doubted_cm=event.length_cm if against else None,
        length_doubt=" ".join(told for _code, told, _way_out in against),
        findings=tuple(each for each in state.findings if each.code not in _ANSWERED),
    )


def _against(state: RopeState, event: Measured) -> Iterator[_Doubt]:
    """What speaks against using the length: its own counts, or the length before."""
    counts = event.counts_cm
    if counts and max(counts) - min(counts) > limit("counts_agree") * 100:
        told = ", ".join(f"{show_metres(each)} m" for each in counts)
        yield "counts-disagree", f"The counts do not agree: {told}.", "Count once more."
    if counts and not min(counts) <= event.length_cm <= max(counts):
        told = f"Its length is given as {show_metres(event.length_cm)} m, which none of its counts says."
        yield "length-not-counted", told, "Correct the length or the counts."
    old = state.length_cm
    if old is not None and event.length_cm > old + 2 * _spread(state, event) and not _says_the_same(state, event):
        yield "longer-than-before", f"It has become longer: {_told(old, event)}.", "Count again; is it this rope?"


def _told(old_cm: int, event: Measured) -> str:
    return f"measured {show_metres(event.length_cm)} m, {show_metres(old_cm)} m before"


def _spread(state: RopeState, event: Measured) -> float:
    """Standard deviation [cm] between a measured length and the one known."""
    return math.hypot(state.length_sd_cm, length_sd_cm(event.length_cm, "measured"))


def _says_the_same(state: RopeState, event: Measured) -> bool:
    """Whether it confirms the measurement before it, which is in doubt."""
    if state.doubted_cm is None:
        return False
    sds = (length_sd_cm(each, "measured") for each in (state.doubted_cm, event.length_cm))
    return abs(event.length_cm - state.doubted_cm) <= 2 * math.hypot(*sds)


def _careful_cm(state: RopeState, event: Measured, against: tuple[_Doubt, ...]) -> tuple[int, bool]:
    """The length that counts [cm], and whether that is the one before."""
    codes = {code for code, _told, _way_out in against}
    counted_cm = min(event.length_cm, *event.counts_cm) if codes.intersection(_OF_COUNTS) else event.length_cm
    if "longer-than-before" in codes and state.length_cm is not None and state.length_cm <= counted_cm:
        return state.length_cm, True
    return counted_cm, False


def _counted_once(state: RopeState, event: Measured) -> bool:
    """Whether one count alone says so; a second one, written down as a measurement of its own, counts as well."""
    if len(event.counts_cm) > 1:
        return False
    once_before = any(each.code == "counted-once" for each in state.findings) and state.length_cm is not None
    return not (once_before and abs(event.length_cm - (state.length_cm or 0)) <= limit("counts_agree") * 100)
