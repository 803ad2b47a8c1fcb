"""One rope: what it is, what to do next, what is doubted, and its whole life."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from tethera.store import LifeLine, Marked, RopeState, weight
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.ropes.one_acts import offered
from tethera.web.ropes.one_drawings import drawings
from tethera.web.ropes.one_life import lines_of, shown_lengths, shown_lines
from tethera.web.ropes.one_next import doubts_of, next_of
from tethera.web.routes.known import reaches

#: Entries of a life shown at once; the older ones are folded away.
_NEWEST = 15


@page(May.READ)
def rope(visit: Visit, number: str) -> HttpResponse:
    """A rope's page."""
    state = visit.rope(number)
    if state.id != number:
        return redirect("rope", visit.store.slug, state.id)
    lines = lines_of(visit, state.id)
    life = shown_lines(visit, lines)
    todo = next_of(visit, state)
    told = {
        "rope": state,
        "next": todo,
        "seen": len(visit.register),
        "doubts": doubts_of(visit, state),
        "acts": [each for each in offered(visit, state) if each is not todo.act],
        "life": life[:_NEWEST],
        "older": life[_NEWEST:],
        "photos": [each for each in life if each.photo],
        "drawn": drawings(visit, state, lines),
        "lengths": shown_lengths(state.id, lines),
        "pieces": [visit.rope(each) for each in state.children],
        "lineage": visit.register.lineage(state.id, visit.today)[:-1],
        "reaches": () if state.state == "retired" or state.length_cm is None else reaches(visit.opened, state),
    }
    return visit.page("ropes/rope.html", told | _marks(state, lines) | _weight(state, lines))


def _marks(state: RopeState, lines: tuple[LifeLine, ...]) -> dict[str, Any]:
    """What both ends say [cm], or what they said before a cut made it void."""
    marks = [each.event for each in lines if isinstance(each.event, Marked)]
    how = {
        "measured": _("as measured"),
        "label": _("by its label only"),
        "sheet": _("by the old sheet only"),
        "bought": _("by the maker's label; washing takes some"),
        "cut": _("when it was cut"),
    }.get(state.known_by, "")
    if state.marked_m is not None:
        return {"marked_cm": state.marked_m * 100, "mark_words": marks[-1].words if marks else "", "how_known": how}
    void = marks[-1].length_m * 100 if marks and (state.cut_on or state.parent) else None
    return {"void_mark_cm": void, "how_known": how}


def _weight(state: RopeState, lines: tuple[LifeLine, ...]) -> dict[str, Any]:
    told = weight(state, (each.event for each in lines if each.event is not None))
    if told is None:
        return {"weight": None}
    kg = {
        name: None if g is None else f"{g / 1000:.1f}\u202fkg"
        for name, g in (("now", told.mass_g), ("last", told.last_g))
    }
    return {"weight": told, "weight_kg": kg, "g_per_m": f"{told.g_per_m:g}\u202fg/m"}
