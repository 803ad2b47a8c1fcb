"""Whether what stands on a rope's ends is still true; if not, it waits until both are marked anew."""

from tethera.basics import show_metres
from tethera.store.rope_state import RopeState, changed
from tethera.store.waits import with_wait, without_wait

_SAYS_TOO_MUCH = "its mark says "


def marks_still_true(state: RopeState) -> RopeState:
    """Void marks must be made anew, whatever else happens; a mark is void when it says more than the rope has."""
    if state.retired is not None:
        return state
    if state.mark_overstates:
        has = show_metres(state.length_cm or 0)
        void = f"{_SAYS_TOO_MUCH}{state.marked_m} m but it has {has} m"
        return changed(state, marks_void=void, waits=with_wait(state.waits, "mark"))
    if state.marks_void.startswith(_SAYS_TOO_MUCH):  # measured once more, it has what it says
        return changed(state, marks_void="", waits=without_wait(state.waits, "mark"))
    return changed(state, waits=with_wait(state.waits, "mark")) if state.marks_void else state


def named_another(state: RopeState, owner: str) -> bool:
    """Whether its ends name another owner than this one; where nobody wrote what they say, none is known."""
    if state.marked_m is None or state.retired is not None:
        return False
    if owner.casefold() in state.mark_words.casefold():
        return False
    before = state.owner or ""
    return bool(state.mark_words) or (bool(before) and before.casefold() != owner.casefold())
