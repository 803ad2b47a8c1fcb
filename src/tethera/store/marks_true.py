"""Whether what stands on a rope's ends is still true; if not, it waits until both are marked anew."""

import re
from collections.abc import Iterable

from tethera.basics import Finding, show_metres
from tethera.store.events import StoreDescribed
from tethera.store.rope_state import RopeState, changed
from tethera.store.waits import with_wait, without_wait

#: What a mark says that is nobody's name: lengths, diameters, dates, kinds, ends.
_NO_NAME = re.compile(
    r"\d+(?:[.,/]\d+)*\s*(?:mm|m|ft)?\b"
    r"|\b(?:type|dynamic|dyn|accessory|cord|rope|end|in|service|since|new|[ab]"
    r"|jan|feb|mar|apr|may|jun|jul|aug|sept?|oct|nov|dec)\b",
    re.IGNORECASE,
)


def marks_still_true(state: RopeState) -> RopeState:
    """Void marks must be made anew, whatever else happens.

    A mark that says more than was measured is void until it is marked anew, even when a later count gives more: one of
    the two counts is wrong. What only paper speaks against, a measured length answers.
    """
    if state.retired is not None:
        return state
    if state.mark_overstates:
        measured, has = state.known_by == "measured", show_metres(state.length_cm or 0)
        if measured:
            told = f"it was measured {has} m, shorter than its mark of {state.marked_m} m"
        else:
            told = f"its mark says {state.marked_m} m but it has {has} m"
        state = changed(state, mark_too_long=told, mark_measured_false=measured or state.mark_measured_false)
    elif state.mark_too_long and not state.mark_measured_false:
        kept = state.waits if state.given_to else without_wait(state.waits, "mark")
        state = changed(state, mark_too_long="", waits=kept)
    return changed(state, waits=with_wait(state.waits, "mark")) if state.marks_void else state


def marked_anew(state: RopeState, length_m: int, words: str) -> RopeState:
    """With new marks on both ends the old ones hold nothing back any more."""
    return changed(
        state,
        marked_m=length_m,
        mark_words=words,
        mark_too_long="",
        mark_measured_false=False,
        given_to="",
        waits=without_wait(state.waits, "mark"),
    )


def given(state: RopeState, owner: str) -> RopeState:
    """A rope of which somebody said whose it is: its marks are void when they name another, or named another before."""
    if state.marked_m is None or state.retired is not None:
        return state
    if not (state.given_to or _names_another(state, owner)):
        return state
    if names(state.mark_words, owner):
        kept = state.waits if state.mark_too_long else without_wait(state.waits, "mark")
        return changed(state, given_to="", waits=kept)
    return changed(state, given_to=owner)


def _names_another(state: RopeState, owner: str) -> bool:
    """Whether its ends name another owner than this one; where nobody wrote what they say, the one declared before."""
    if names(state.mark_words, owner):
        return False
    before = state.owner or ""
    return _names_somebody(state) or (bool(before) and before.casefold() != owner.casefold())


def _names_somebody(state: RopeState) -> bool:
    """Whether a mark says more than a number, what the rope is, and dates."""
    words = re.sub(rf"\b{re.escape(state.id)}\b", " ", state.mark_words, flags=re.IGNORECASE)
    return re.search(r"[^\W\d_]{2}", _NO_NAME.sub(" ", words)) is not None


def names(words: str, owner: str, short: str = "") -> bool:
    """Whether the words of a mark name an owner: in full, by its short name, or by its first letters.

    >>> names("UG3 · 9 mm A · UCC", "Ulvergarth Caving Club"), names("UG3 · 9 mm A", "Ulvergarth Caving Club")
    (True, False)
    """
    if not owner:
        return False
    if owner.casefold() in words.casefold():
        return True
    return any(re.search(rf"(?<!\w){re.escape(each)}(?!\w)", words) for each in {short, initials(owner)} if each)


def initials(owner: str) -> str:
    """The short form of an owner who gave none: the first letters of the words that have capitals.

    >>> initials("Ulvergarth Caving Club"), initials("the Outdoor Centre of Fell Head"), initials("Ulvergarth")
    ('UCC', 'OCFH', 'Ulvergarth')
    """
    capitals = [word[0] for word in owner.split() if word[0].isupper()]
    return "".join(capitals) if len(capitals) > 1 else owner


def mark_of_old_name(state: RopeState, now: StoreDescribed, before: Iterable[StoreDescribed]) -> tuple[Finding, ...]:
    """A doubt where the ends name the store as it was called before, and not as it is called now.

    That changes nothing about the rope. A rope with an owner of its own, or of whose mark the words are not known, has
    no such doubt.
    """
    words = state.mark_words
    if not words or state.retired is not None or state.owner or state.marked_m is None or state.given_to:
        return ()
    if not now.owner or names(words, now.owner, now.owner_short):
        return ()
    old = next((each.owner for each in before if names(words, each.owner, each.owner_short)), "")
    if not old:
        return ()
    told = f"Its ends still name {old}, as the store was called before."
    return (Finding("mark-other-owner", f"rope {state.id}", told, "Mark both ends anew when it is next in hand."),)
