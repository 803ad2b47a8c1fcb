"""Forms of what can be recorded of one rope on its own page."""

from typing import Any, ClassVar

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import label_m, show_metres
from tethera.labels.mark import mark_words
from tethera.store import RopeState, warmest_wash_c
from tethera.web.accounts.visit import Visit
from tethera.web.paper.fields import LeftOverField, LengthField, LengthsField, MassField, WhenField
from tethera.web.paper.forms import in_units, say_plainly
from tethera.web.paper.shown import shown_days
from tethera.web.paper.words import WAYS_TO_WASH, chosen_from
from tethera.web.routes.known import known_pitches, known_routes

_ROWS = {"rows": 2}


class ActForm(forms.Form):
    """When it was, and a note; the rest depends on what was done."""

    happened = WhenField()
    note = forms.CharField(
        label=gettext_lazy("Note"), required=False, max_length=2000, widget=forms.Textarea(attrs=_ROWS)
    )
    #: Fields that come first.
    first: ClassVar[tuple[str, ...]] = ()

    def __init__(self, *args: Any, visit: Visit, state: RopeState, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.visit, self.state = visit, state
        self.order_fields([*self.first, *(name for name in self.fields if name not in (*self.first, "note")), "note"])
        in_units(self, visit.units)
        for name in self.suggestions():
            self.fields[name].widget.attrs["list"] = f"known_{name}"
        self.suit()
        say_plainly(self)

    def suit(self) -> None:
        """Fill in what follows from the rope."""

    def suggestions(self) -> dict[str, tuple[str, ...]]:
        """What a field may say, offered while typing, by the field's name."""
        return {}

    def needed_fields(self) -> list[forms.BoundField]:
        """What must be said, for the rope's own page."""
        return [each for each in self if each.field.required]

    def other_fields(self) -> list[forms.BoundField]:
        """What may be said."""
        return [each for each in self if not each.field.required]


class WashedForm(ActForm):
    """How it was washed."""

    how = forms.ChoiceField(
        label=gettext_lazy("How"),
        required=False,
        choices=[
            ("", gettext_lazy("not said")),
            *chosen_from(WAYS_TO_WASH),
        ],
    )
    temperature_c = forms.IntegerField(
        label=gettext_lazy("Degrees Celsius"),
        required=False,
        min_value=0,
        max_value=100,
        help_text=format_lazy(
            gettext_lazy("Cool is usual: {most} °C at most (common practice, no source)."), most=warmest_wash_c()
        ),
    )
    soap = forms.CharField(label=gettext_lazy("Soap"), required=False, max_length=100)
    first = ("how", "temperature_c", "soap")


class ChainedForm(ActForm):
    """How it was folded."""

    strands = forms.IntegerField(label=gettext_lazy("Strands"), min_value=1, max_value=64, initial=1)
    first = ("strands",)


class WeighedForm(ActForm):
    """What it weighs."""

    mass_g = MassField()
    dry = forms.BooleanField(label=gettext_lazy("It is dry"), required=False, initial=True)
    first = ("mass_g", "dry")


class MarkedForm(ActForm):
    """What both ends say now."""

    length_m = forms.IntegerField(label=gettext_lazy("Metres on both ends"), min_value=1, max_value=2000)
    words = forms.CharField(
        label=gettext_lazy("What else the mark says"),
        required=False,
        max_length=200,
        help_text=gettext_lazy("Number, what it is, since when, whose."),
    )
    first = ("length_m", "words")

    def suit(self) -> None:
        """The store's own rule says how much less than measured a mark says."""
        self.fields["words"].initial = mark_words(
            self.state, self.visit.rules.owner or self.visit.store.name, self.visit.today
        )
        keeps_back = self.visit.rules.label_keeps_back_percent
        try:
            said = label_m(self.state.length_cm or 0, keeps_back)
        except ValueError:
            return
        said_of = _("Measured {metres} m, rounded down.").format(metres=show_metres(self.state.length_cm or 0))
        if keeps_back:
            said_of = _("Measured {metres} m; this store's marks keep {percent} % back, rounded down.").format(
                metres=show_metres(self.state.length_cm or 0), percent=keeps_back
            )
        said_of = f"{said_of} {self.state.length_in_doubt}".strip()
        self.fields["length_m"].initial = said
        self.fields["length_m"].help_text = (
            said_of if self.state.known_by == "measured" else _("It was never measured.")
        )


class NoteForm(ActForm):
    """Only words."""

    note = forms.CharField(label=gettext_lazy("Note"), max_length=2000, widget=forms.Textarea(attrs={"rows": 4}))


class SetAsideForm(ActForm):
    """Why nobody may take it."""

    reason = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=500,
        help_text=gettext_lazy("What was seen, and where along the rope: flat spot at 12.4 m."),
    )
    first = ("reason",)


class FoundForm(ActForm):
    """Where it was."""

    place = forms.CharField(label=gettext_lazy("Where"), required=False, max_length=200)
    first = ("place",)


class LeftRiggedForm(ActForm):
    """Where it stays."""

    route = forms.CharField(label=gettext_lazy("Route"), required=False, max_length=200)
    pitch = forms.CharField(label=gettext_lazy("Pitch"), required=False, max_length=200)
    first: ClassVar[tuple[str, ...]] = ("route", "pitch")

    def suggestions(self) -> dict[str, tuple[str, ...]]:
        """The routes the store knows."""
        return {"route": known_routes(self.visit.opened), "pitch": known_pitches(self.visit.opened)}


class UsedForm(LeftRiggedForm):
    """How it served."""

    days = forms.IntegerField(label=gettext_lazy("Days"), min_value=1, max_value=3660, initial=1)
    left_over_cm = LeftOverField(required=False)
    fall = forms.BooleanField(label=gettext_lazy("It held a fall or a hard knock"), required=False)
    chemical = forms.CharField(
        label=gettext_lazy("Chemical it met"),
        required=False,
        max_length=200,
        help_text=gettext_lazy("A fall or a chemical sets it aside at once."),
    )
    first = ("route", "pitch", "left_over_cm", "days", "fall", "chemical")


class CutForm(ActForm):
    """The pieces, measured."""

    piece_1 = LengthField(label=gettext_lazy("First piece"))
    piece_2 = LengthField(
        label=gettext_lazy("Second piece"),
        required=False,
        help_text=gettext_lazy("Leave it empty when only a short end came off and was thrown away."),
    )
    more = LengthsField(label=gettext_lazy("More pieces, one on each line"), required=False)
    reason = forms.CharField(
        label=gettext_lazy("Why"), required=False, max_length=500, help_text=gettext_lazy("As: flat spot at 12.4 m.")
    )
    first = ("piece_1", "piece_2", "more", "reason")

    def pieces_cm(self) -> tuple[int, ...]:
        """The lengths of all pieces [cm]."""
        told = self.cleaned_data
        return tuple(each for each in (told["piece_1"], told["piece_2"], *told["more"]) if each is not None)


class ReleaseForm(ActForm):
    """Which booking is given back."""

    booking = forms.TypedChoiceField(label=gettext_lazy("Booking"), coerce=int)
    first = ("booking",)

    def suit(self) -> None:
        """The bookings there are."""
        field = self.fields["booking"]
        assert isinstance(field, forms.TypedChoiceField)
        field.choices = [
            (each.number, f"{shown_days(each.first_day, each.last_day)} {each.trip}".strip())
            for each in self.state.bookings
        ]
