"""What was ticked and typed on the page of marks, from its form or from an address."""

from dataclasses import dataclass

from django.http.request import QueryDict

from tethera.web.accounts.visit import Visit
from tethera.web.marks.rows import paper_of
from tethera.web.paper.numbers import read_numbers

#: So many letters are read: room for some thousands of numbers.
_LETTERS = 20_000


@dataclass(frozen=True)
class Asked:
    """Numbers as the store has them; `told` says of each word of `unknown` which ropes are nearest.

    `ropes` are ticked or typed, `typed` those of them that were only typed; `shown` stood on the page, ticked or not.
    `over` are diameters over the tape by rope, as typed; `sent` is whether a form was sent, not just an address opened.
    """

    ropes: tuple[str, ...]
    typed: tuple[str, ...]
    shown: tuple[str, ...]
    unknown: tuple[str, ...]
    told: tuple[str, ...]
    over: dict[str, str]
    paper: str
    sent: bool

    @classmethod
    def of(cls, visit: Visit, told: QueryDict) -> "Asked":
        """From what an address or a form says."""
        ticked = read_numbers(visit.register, " ".join(told.getlist("rope"))[:_LETTERS])
        typed = read_numbers(visit.register, told.get("more", "")[:_LETTERS])
        shown = read_numbers(visit.register, " ".join(told.getlist("shown"))[:_LETTERS])
        ropes = tuple(dict.fromkeys((*ticked.ropes, *typed.ropes)))
        return cls(
            ropes=ropes,
            typed=tuple(each for each in typed.ropes if each not in ticked.ropes),
            shown=tuple(dict.fromkeys((*ropes, *shown.ropes))),
            unknown=(*ticked.unknown, *typed.unknown),
            told=(*ticked.told, *typed.told),
            over={name.removeprefix("over-"): told.get(name, "")[:20] for name in told if name.startswith("over-")},
            paper=paper_of(visit, told.get("paper")),
            sent="paper" in told,
        )
