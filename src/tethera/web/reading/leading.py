"""Where a number that was read leads, and which rope a code means."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.store import Register
from tethera.web.accounts.visit import Visit
from tethera.web.paper.numbers import read_numbers


@dataclass(frozen=True)
class Purpose:
    """What marks are read for: the page it leads to, what its address calls the ropes, and what to say.

    Where `asks` is None one rope's number stands in the address itself; else it may be many, one after the other.
    """

    page: str
    asks: str | None
    words: object


PURPOSES = {
    "open": Purpose("rope", None, gettext_lazy("Opens the rope's page.")),
    "take": Purpose("out-and-back", "take", gettext_lazy("For taking ropes out.")),
    "back": Purpose("bring-back", "numbers", gettext_lazy("For ropes that came back.")),
    "stocktake": Purpose("stocktake", "numbers", gettext_lazy("For the stocktake.")),
    "measure": Purpose("measure-rope", None, gettext_lazy("For measuring the rope.")),
    "marks": Purpose("marks", "rope", gettext_lazy("For marking ropes.")),
}
#: Where on the page it leads to the form is.
_PLACES = {"take": "#take"}
_MOST_LETTERS = 4000


@dataclass(frozen=True)
class Asked:
    """What marks are read for, and the numbers read or typed before."""

    what: str
    have: tuple[str, ...]

    @classmethod
    def of(cls, visit: Visit) -> "Asked":
        """What the address or the form sent says."""
        told = visit.request.POST if visit.request.method == "POST" else visit.request.GET
        what = told.get("for", "")
        several = what in PURPOSES and PURPOSES[what].asks is not None
        numbers = read_numbers(visit.register, told.get("have", "")[:_MOST_LETTERS] if several else "")
        # What is no number of this store was typed too, and is told where it leads.
        return cls(what if what in PURPOSES else "open", (*numbers.ropes, *numbers.unknown))

    @property
    def purpose(self) -> Purpose:
        """What for."""
        return PURPOSES[self.what]

    def leads(self, visit: Visit, *numbers: str) -> str:
        """The address these numbers lead to, with those read before."""
        purpose, slug = self.purpose, visit.store.slug
        if purpose.asks is None:
            return reverse(purpose.page, args=[slug, numbers[0]])
        ropes = " ".join(dict.fromkeys((*self.have, *numbers)))
        return f"{reverse(purpose.page, args=[slug])}?{urlencode({purpose.asks: ropes})}{_PLACES.get(self.what, '')}"


def rope_of_code(register: Register, said: str) -> str | None:
    """The rope whose mark says this. A code carries the whole number: a price of 41 on a tub is no rope.

    A number that somebody types may lack the store's code; what is printed on a mark never does.
    """
    known = register.known(said)
    return known if known is not None and re.sub(r"[^A-Z0-9]", "", said.upper()).endswith(known) else None


def no_rope(said: Sequence[str]) -> str:
    """What to say of codes that belong to no rope of the store."""
    return _("{number} is no rope of this store.").format(number=said[0].strip()[:40])
