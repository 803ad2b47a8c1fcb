"""The form for taking out: which ropes, who, until when, for which trip; and what speaks against each."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import PartialDate
from tethera.store import Event, RopeState, TakenOut, speaks_against
from tethera.web.accounts.visit import Visit
from tethera.web.paper.fields import MaybeWhenField, WhenField
from tethera.web.paper.forms import say_plainly
from tethera.web.paper.numbers import RopesField, read_numbers

_ANOTHER = "another"
#: Doubts that speak against taking a rope, and are said so already.
_SPEAK_AGAINST = frozenset(("mark-overstates", "mark-void", "length-unknown", "over-age", "inspection-due"))


def sundays(today: date) -> tuple[date, date]:
    """This Sunday, today where it is one, and the next.

    >>> sundays(date(2026, 11, 25)), sundays(date(2026, 11, 29))[0]
    ((datetime.date(2026, 11, 29), datetime.date(2026, 12, 6)), datetime.date(2026, 11, 29))
    """
    this = today + timedelta(days=6 - today.weekday())
    return this, this + timedelta(days=7)


@dataclass(frozen=True)
class Asked:
    """A rope somebody wants to take, and what speaks against it."""

    rope: RopeState
    against: tuple[str, ...]
    #: What is doubted of it beside that.
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Looked:
    """What was typed so far: the ropes, what no rope is called, and the total [cm]."""

    rows: tuple[Asked, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def total_cm(self) -> int:
        """Metres in all, where known [cm]."""
        return sum(each.rope.length_cm or 0 for each in self.rows)

    @property
    def warned(self) -> tuple[Asked, ...]:
        """The ropes that something speaks against."""
        return tuple(each for each in self.rows if each.against)

    @property
    def seal(self) -> str:
        """What a second press says yes to; empty where nothing speaks against any."""
        told = "\n".join(f"{each.rope.id}: {'; '.join(each.against)}" for each in self.warned)
        return hashlib.sha256(told.encode()).hexdigest()[:16] if told else ""


class TakeForm(forms.Form):
    """Numbers in any order; one field keeps the keys, for a scanner ends each with a new line."""

    ropes = RopesField(
        widget=forms.Textarea(
            attrs={
                "rows": 2,
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
                "data-scan": "",
            }
        ),
        help_text=gettext_lazy("Type or scan them in any order, one after the other: 41 42 45."),
    )
    person = forms.CharField(
        label=gettext_lazy("Who takes them"), required=False, max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "known_people"}),
    )  # fmt: skip
    until = forms.CharField(label=gettext_lazy("Due back"), required=False, max_length=20, widget=forms.RadioSelect)
    until_day = MaybeWhenField(label=gettext_lazy("Which day"))
    trip = forms.CharField(
        label=gettext_lazy("Trip"), required=False, max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off", "list": "known_trips"}),
    )  # fmt: skip
    happened = WhenField(label=gettext_lazy("Taken"))
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.visit = visit
        this, following = sundays(visit.today)
        self.fields["until"].widget.choices = [
            (this.isoformat(), _("this Sunday, {day}").format(day=PartialDate.of(this).spoken())),
            (following.isoformat(), _("next Sunday, {day}").format(day=PartialDate.of(following).spoken())),
            (_ANOTHER, _("another day")),
            ("", _("not said")),
        ]
        self.fields["until"].initial = this.isoformat()
        self.fields["person"].initial = visit.name(visit.membership.person)
        say_plainly(self)
        ropes = self.fields["ropes"]
        assert isinstance(ropes, RopesField)
        ropes.register = visit.register
        ropes.error_messages["required"] = _("Type or scan the numbers of the ropes first.")

    @classmethod
    def asked_for(cls, visit: Visit) -> "TakeForm":
        """The form with what the address says: ropes to take, for whom, for which trip, until when."""
        told = visit.request.GET
        initial: dict[str, Any] = {name: told[name][:200] for name in ("person", "trip") if told.get(name)}
        if told.get("take"):
            initial["ropes"] = told["take"][:20_000]
        form = cls(visit=visit, initial=initial)
        offered = [value for value, _words in form.fields["until"].widget.choices]
        if (until := told.get("until", "")[:40]) in offered and until:
            form.initial["until"] = until
        elif until:
            form.initial.update({"until": _ANOTHER, "until_day": until})
        return form

    def clean(self) -> dict[str, Any]:
        """When they are due back: one of the Sundays, or the day written."""
        told: dict[str, Any] = super().clean() or self.cleaned_data
        chosen = told.get("until", "")
        told["due"] = told.get("until_day") if chosen == _ANOTHER else _sunday(chosen)
        if chosen == _ANOTHER and "until_day" not in self.errors and told["due"] is None:
            self.add_error("until_day", _("Write the day, or choose “not said”."))
        taken, due = told.get("happened"), told["due"]
        if taken is not None and due is not None and due.latest < taken.earliest:
            self.add_error("until_day" if chosen == _ANOTHER else "until", _("That is before they are taken."))
        return told

    def looked(self) -> Looked:
        """What was typed so far, whether or not all of it can be taken as it is."""
        told = getattr(self, "cleaned_data", {})
        text = str(self["ropes"].value() or "")
        numbers = read_numbers(self.visit.register, text)
        taken, due = told.get("happened"), told.get("due")
        first = taken.earliest if taken else self.visit.today
        person, trip = str(self["person"].value() or ""), str(self["trip"].value() or "")
        wanted = " ".join(person.split()).casefold()
        known = next((key for key, name in self.visit.names.items() if name and name.casefold() == wanted), None)
        rows = (self.visit.rope(number) for number in numbers.ropes)
        doubts = {r.id: tuple(f.message for f in r.findings if f.code not in _SPEAK_AGAINST) for r in self.visit.ropes}
        asked = (
            Asked(r, speaks_against(r, first, self._last(due), person=known, trip=trip), doubts.get(r.id, ()))
            for r in rows
        )
        return Looked(tuple(asked), numbers.told)

    def _last(self, due: PartialDate | None) -> date | None:
        if self.is_bound:
            return due.latest if due else None
        until = str(self["until"].value() or "")
        known = _sunday(str(self["until_day"].value() or "") if until == _ANOTHER else until)
        return known.latest if known else None

    def events(self, ropes: Sequence[str]) -> list[Event]:
        """What to record."""
        told = self.cleaned_data
        person = self.visit.person(told["person"])
        return [
            TakenOut(rope=rope, happened=told["happened"], note=told["note"], person=person, until=told["due"],
                     trip=told["trip"].strip())
            for rope in ropes
        ]  # fmt: skip


def _sunday(text: str) -> PartialDate | None:
    try:
        return PartialDate.fromisoformat(text)
    except ValueError:
        return None
