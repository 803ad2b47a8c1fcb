"""What was seen on a walk along the racks, against what should be there."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import PartialDate
from tethera.store import Event, Found, Missed, Returned, RopeState, Stocktaken
from tethera.web.accounts.visit import Visit
from tethera.web.paper.fields import WhenField
from tethera.web.paper.forms import say_plainly
from tethera.web.paper.numbers import read_numbers


class WalkForm(forms.Form):
    """Where and when; the ropes are ticked, or their numbers written."""

    place = forms.CharField(
        label=gettext_lazy("Where"), required=False, max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=gettext_lazy("Walk the whole store: a rope that is not seen is doubted, wherever it should hang."),
    )  # fmt: skip
    happened = WhenField(label=gettext_lazy("Walked"))
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        say_plainly(self)


@dataclass(frozen=True)
class Walk:
    """Ropes seen, by number; words typed that are no number, and what is said of each."""

    seen: tuple[RopeState, ...] = ()
    unknown: tuple[str, ...] = ()
    told: tuple[str, ...] = ()

    @classmethod
    def of(cls, visit: Visit) -> "Walk":
        """What the form sent says."""
        sent = visit.request.POST
        typed = read_numbers(visit.register, sent.get("numbers", "")[:40_000])
        ticked = read_numbers(visit.register, " ".join(sent.getlist("rope")))
        seen = {*ticked.ropes, *typed.ropes}
        words = tuple(dict.fromkeys((*ticked.unknown, *typed.unknown)))
        told = tuple(dict.fromkeys((*ticked.told, *typed.told)))
        return cls(tuple(rope for rope in visit.ropes if rope.id in seen), words, told)

    @property
    def numbers(self) -> frozenset[str]:
        """The numbers seen."""
        return frozenset(each.id for each in self.seen)

    def _seen_while(self, *states: str) -> tuple[RopeState, ...]:
        return tuple(each for each in self.seen if each.state in states)

    @property
    def as_expected(self) -> tuple[RopeState, ...]:
        """Seen where they should be."""
        return tuple(each for each in self.seen if each.in_the_store)

    @property
    def away(self) -> tuple[RopeState, ...]:
        """Seen, though somebody has them or they hang in a cave."""
        gone = self._seen_while("out", "rigged", "set aside")
        return tuple(each for each in gone if not each.in_the_store)

    @property
    def found(self) -> tuple[RopeState, ...]:
        """Seen, though they were missing."""
        return self._seen_while("missing")

    @property
    def retired(self) -> tuple[RopeState, ...]:
        """Seen, though they are out of service for good."""
        return self._seen_while("retired")

    def not_seen(self, ropes: Sequence[RopeState]) -> list[RopeState]:
        """The ropes that should be in the store and were not seen."""
        return [each for each in ropes if each.in_the_store and each.id not in self.numbers]

    def events(self, told: dict[str, Any], back: Sequence[str], missed: Sequence[str]) -> list[Event]:
        """What to record: first what explains why a rope was there, then the walk, then what is gone."""
        when: PartialDate = told["happened"]
        place, note = told["place"].strip(), told["note"].strip()
        if self.unknown:
            kept = _("Numbers nobody knows: {words}.").format(words=", ".join(self.unknown))
            note = f"{note} {kept}".strip()
        returned: list[Event] = [
            Returned(rope=each.id, happened=when, note=_("seen at the stocktake")) for each in self.away
            if each.id in back
        ]  # fmt: skip
        found: list[Event] = [Found(rope=each.id, happened=when, place=place) for each in self.found]
        walked = Stocktaken(happened=when, seen=tuple(each.id for each in self.seen), place=place, note=note)
        gone: list[Event] = [Missed(rope=each, happened=when) for each in missed]
        return [*returned, *found, walked, *gone]


def racks(visit: Visit, by: str) -> list[RopeState]:
    """Every rope not retired, as it hangs: by length, or by number."""
    ropes = [each for each in visit.ropes if each.state != "retired" and each.born]
    return ropes if by == "number" else sorted(ropes, key=lambda each: -(each.length_cm or 0))
