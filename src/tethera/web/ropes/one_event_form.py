"""A form for any event, made from its fields: what is corrected is shown as it stands, each detail in its own kind."""

import dataclasses
import re
import types
import typing
from datetime import date
from typing import Any, Literal

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import LAST_YEAR, PartialDate, show_metres
from tethera.store import Bought, Event, Piece, RecordedAsFound, RopeEvent, UnknownRope
from tethera.store.events import check_rope_id
from tethera.web.accounts.visit import Visit
from tethera.web.paper.fields import (
    DayField,
    LeftOverField,
    LengthField,
    LengthsField,
    MassField,
    MaybeWhenField,
    WhenField,
)
from tethera.web.paper.forms import say_plainly
from tethera.web.paper.numbers import RopesField
from tethera.web.paper.words import chosen_from
from tethera.web.ropes.one_event_words import LABELS

#: Kept as they were: the sheet's own words, what a photograph is, which entry a word belongs to, a route's words.
_KEPT = ("written", "source", "sha256", "to_event", "booking", "text")
#: Numbers that a calendar must be able to hold; of others a slip does no harm.
_BETWEEN = {"year_made": (0, LAST_YEAR), "age_limit_years": (1, 100)}


class PiecesField(forms.CharField):
    """Pieces of a cut, a number and a length on each line."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.Textarea(attrs={"rows": 3}))
        kwargs.setdefault("help_text", gettext_lazy("One on each line, as: UG48 30 m"))
        super().__init__(max_length=2000, **kwargs)

    def clean(self, value: Any) -> tuple[Piece, ...]:
        """The pieces."""
        length = LengthField(label=_("Length"))
        pieces = []
        for line in str(super().clean(value)).splitlines():
            if not line.strip():
                continue
            number, _space, metres = line.strip().partition(" ")
            try:
                pieces.append(Piece(rope=number.upper(), length_cm=length.clean(metres) or 0))
            except ValueError as error:
                raise forms.ValidationError(str(error)) from None
        return tuple(pieces)


class PitchesField(forms.CharField):
    """Names of pitches in the order they were rigged, one on each line."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.Textarea(attrs={"rows": 2}))
        kwargs.setdefault("help_text", gettext_lazy("One on each line, from the head down."))
        super().__init__(max_length=2000, **kwargs)

    def clean(self, value: Any) -> tuple[str, ...]:
        """The names."""
        return tuple(" ".join(line.split()) for line in str(super().clean(value)).splitlines() if line.strip())


def fields_of(event: Event, visit: Visit) -> dict[str, tuple[forms.Field, Any]]:
    """A form field, and what it says now, for each detail of an event that can be corrected."""
    hints = typing.get_type_hints(type(event))
    told = {}
    for each in sorted(dataclasses.fields(event), key=lambda f: (f.name == "note", f.name not in ("happened", "rope"))):
        if each.name in _KEPT:
            continue
        value = getattr(event, each.name)
        field = _field(each, hints[each.name])
        if isinstance(field, RopesField):
            field.register = visit.register
        field.label = LABELS.get(each.name, each.name.replace("_", " ").capitalize())
        told[each.name] = (field, _initial(each.name, value, visit))
    return told


def _field(each: "dataclasses.Field[Any]", hint: Any) -> forms.Field:
    options = typing.get_args(hint) if typing.get_origin(hint) in (types.UnionType, typing.Union) else (hint,)
    wanted = next(option for option in options if option is not types.NoneType)
    required = types.NoneType not in options and each.default is dataclasses.MISSING
    special = _special(each.name, required)
    if special is not None:
        return special
    if typing.get_origin(wanted) is Literal:
        said = chosen_from(typing.get_args(wanted))
        return forms.ChoiceField(choices=said if required else [("", gettext_lazy("not said")), *said],
                                 required=required)  # fmt: skip
    if wanted is bool:
        return forms.BooleanField(required=False)
    if wanted is PartialDate:
        return WhenField(required=True, help_text="") if required else MaybeWhenField()
    if wanted is date:
        return DayField(required=required)
    if wanted in (int, float):
        number = forms.IntegerField if wanted is int else forms.FloatField
        least, most = _BETWEEN.get(each.name, (0, 1_000_000))
        return number(required=required, min_value=least, max_value=most)
    rows = {"rows": 2} if each.name in ("note", "findings", "reason") else None
    widget = forms.Textarea(attrs=rows) if rows else forms.TextInput()
    return forms.CharField(required=required, max_length=4000, widget=widget)


def _special(name: str, required: bool) -> forms.Field | None:
    """Details that are written in a way of their own."""
    if name == "left_over_cm":
        return LeftOverField(required=required)
    if name == "length_cm":
        return LengthField(required=required)
    if name == "counts_cm":
        return LengthsField(required=required)
    if name == "mass_g":
        return MassField(required=required)
    if name == "price_pence":
        return forms.DecimalField(required=False, min_value=0, max_digits=9, decimal_places=2)
    if name == "into":
        return PiecesField(required=required)
    if name == "pitches":
        return PitchesField(required=required)
    if name == "seen":
        help_text = gettext_lazy("Rope numbers, with spaces between.")
        return RopesField(required=False, help_text=help_text, widget=forms.Textarea(attrs={"rows": 4}))
    return None


def _initial(name: str, value: Any, visit: Visit) -> Any:
    """What a detail says now, as somebody would write it."""
    if value is None or value == ():
        return ""
    if isinstance(value, PartialDate):
        return value.spoken()
    if name in ("length_cm", "left_over_cm"):
        return f"{show_metres(value)} m"
    if name == "counts_cm":
        return "\n".join(f"{show_metres(each)} m" for each in value)
    if name == "mass_g":
        return f"{value} g"
    if name == "price_pence":
        return f"{value / 100:.2f}"
    if name == "into":
        return "\n".join(f"{piece.rope} {show_metres(piece.length_cm)} m" for piece in value)
    if name == "seen":
        return " ".join(value)
    if name == "pitches":
        return "\n".join(value)
    return visit.name(value) if name == "person" else value


class EventForm(forms.Form):
    """Any event as it stands; only what is changed is changed."""

    reason = forms.CharField(
        label=gettext_lazy("Why it is corrected"),
        max_length=1000,
        help_text=gettext_lazy("It stands beside both, for good: read the wrong line of the bench."),
    )

    def __init__(self, *args: Any, event: Event, visit: Visit, struck: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.event, self.visit, self.struck = event, visit, struck
        why = self.fields.pop("reason")
        for name, (field, initial) in fields_of(event, visit).items():
            field.initial = initial
            self.fields[f"to_{name}"] = field
        self.fields["reason"] = why
        say_plainly(self)

    def clean(self) -> dict[str, Any] | None:
        """Build what happened instead; what no event can say is told at the foot of the form."""
        told = super().clean() or self.cleaned_data
        self.replacement: Event | None = None
        if self.errors:
            return told
        names = [name for name in self.changed_data if name.startswith("to_")]
        try:
            changed = {name[3:]: self._value(name[3:], told[name]) for name in names}
            replacement = dataclasses.replace(self.event, **changed)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
        # What was struck out can stand again just as it was.
        if replacement == self.event and not self.struck:
            raise forms.ValidationError(_("Nothing was changed. Change what is wrong, or say that it did not happen."))
        self.replacement = replacement
        return told

    def _value(self, name: str, value: Any) -> Any:
        """A cleaned detail in the event's own type."""
        if name == "rope":
            return self._rope(str(value))
        if name == "person":
            return self.visit.person(str(value))
        if name == "price_pence":
            return None if value is None else int(value * 100)
        if isinstance(value, str):
            value = value.replace("\r\n", "\n")
        default = next(each.default for each in dataclasses.fields(self.event) if each.name == name)
        if value in ("", None) and default is not dataclasses.MISSING:
            return default
        return value

    def _rope(self, typed: str) -> str:
        """The rope it happened to; where a rope begins, its number may be a new one."""
        if isinstance(self.event, Bought | RecordedAsFound):
            number = re.sub(r"[\s-]", "", typed).upper()
            check_rope_id(number)
            return number
        try:
            return self.visit.register.find(typed)
        except UnknownRope as unknown:
            raise forms.ValidationError({"to_rope": str(unknown)}) from None


def ropes_of(event: Event) -> tuple[str, ...]:
    """The ropes an event speaks of."""
    if isinstance(event, RopeEvent):
        pieces = getattr(event, "into", ())
        return (event.rope, *(piece.rope for piece in pieces))
    return tuple(getattr(event, "seen", ()))
