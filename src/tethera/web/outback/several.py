"""Several ropes on one screen, each with its own fields below what is said of all."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _

from tethera.store import RopeState
from tethera.web.accounts.visit import Visit
from tethera.web.paper.forms import in_units, say_plainly
from tethera.web.paper.numbers import Numbers, read_numbers
from tethera.web.ropes.one_routes import known_pitches, known_routes


class OfVisit(forms.Form):
    """A form that knows who fills it in."""

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.visit = visit
        in_units(self, visit.units)
        say_plainly(self)


class OfRope(OfVisit):
    """What is said of one rope; its fields begin with the rope's number."""

    def __init__(self, *args: Any, state: RopeState, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, visit=visit, prefix=state.id, **kwargs)
        self.state = state


def picked(visit: Visit, *names: str) -> Numbers:
    """The ropes ticked or typed, in the address or in the form sent; those left out again are not among them."""
    told = visit.request.POST if visit.request.method == "POST" else visit.request.GET
    text = "\n".join([*told.getlist("rope"), *(told.get(name, "") for name in names)])
    numbers = read_numbers(visit.register, text[:40_000])
    without = told.get("without", "")
    return Numbers(tuple(each for each in numbers.ropes if each != without), numbers.unknown, numbers.told)


def suggestions(visit: Visit) -> dict[str, list[str]]:
    """People, routes and pitches the store knows, offered while typing."""
    return {"people": visit.known_names, "routes": list(known_routes()), "pitches": list(known_pitches())}


def offered(name: str) -> dict[str, str]:
    """Attributes of a field that offers what the store knows."""
    return {"autocomplete": "off", "list": f"known_{name}"}


def listed(ropes: "list[str] | tuple[str, ...]") -> str:
    """Ropes in a sentence."""
    return ", ".join(ropes) or _("none")
