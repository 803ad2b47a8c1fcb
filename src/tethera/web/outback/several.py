"""Several ropes on one screen, each with its own fields below what is said of all."""

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from tethera.store import RopeState
from tethera.web.accounts.visit import Visit
from tethera.web.paper.forms import in_units, say_plainly
from tethera.web.paper.numbers import Numbers, read_numbers
from tethera.web.routes.known import known_pitches, known_routes


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


def asks_again(visit: Visit) -> bool:
    """Whether only a rope was added or left out: nothing is to be recorded yet."""
    return "more" in visit.request.POST or "without" in visit.request.POST


def screen(visit: Visit, form: OfVisit, each_form: Sequence[OfRope], away: Iterable[RopeState]) -> dict[str, Any]:
    """What the screen of several ropes shows: the forms, words that are no number, and the others of `away`."""
    numbers, shown = picked(visit, "numbers"), {each.state.id for each in each_form}
    return {
        "form": form,
        "each_form": each_form,
        "unknown": numbers.told,
        "unknown_words": " ".join(numbers.unknown),
        "others": [rope for rope in away if rope.id not in shown],
        "known": suggestions(visit),
    }


def suggestions(visit: Visit) -> dict[str, list[str]]:
    """People, routes and pitches the store knows, offered while typing."""
    known = {"routes": known_routes(visit.opened), "pitches": known_pitches(visit.opened)}
    return {"people": visit.known_names, **{name: list(words) for name, words in known.items()}}


def offered(name: str) -> dict[str, str]:
    """Attributes of a field that offers what the store knows."""
    return {"autocomplete": "off", "list": f"known_{name}"}


def listed(ropes: Sequence[str]) -> str:
    """Ropes in a sentence."""
    return ", ".join(ropes) or _("none")
