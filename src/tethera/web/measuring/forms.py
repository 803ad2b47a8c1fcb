"""The counts of one rope, and its weight, cleaned into types."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.store import Event, Measured, Settled, Weighed, agree_cm, settle
from tethera.web.accounts.visit import Visit
from tethera.web.paper.fields import LengthField, MassField, WhenField
from tethera.web.paper.forms import in_units


class MeasureForm(forms.Form):
    """Two counts, a third where they do not agree, and the weight if it was weighed."""

    count_1 = LengthField(
        label=gettext_lazy("First count"),
        error_messages={"required": gettext_lazy("Count it off, then write it here.")},
    )
    count_2 = LengthField(label=gettext_lazy("Second count"), required=False)
    count_3 = LengthField(
        label=gettext_lazy("Third count"),
        required=False,
        help_text=gettext_lazy("Only if the first two do not agree: it decides."),
    )
    mass = MassField(
        label=gettext_lazy("Weight, dry"),
        required=False,
        help_text=gettext_lazy(
            "If you weighed it: 2.4 kg or 2400 g. It says whether metres have gone astray, never how long it is."
        ),
    )
    happened = WhenField()
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        in_units(self, visit.units)
        unit = _("a bare number is feet") if visit.units == "ft" else _("a bare number is metres")
        self.fields["count_1"].help_text = _("As 29.40; {unit}.").format(unit=unit)

    def counts(self) -> list[int]:
        """The counts that were made, in their order [cm]."""
        told = (self.cleaned_data.get(f"count_{number}") for number in (1, 2, 3))
        return [each for each in told if each]

    def clean(self) -> dict[str, Any]:
        """Ask for the third count where the first two do not agree."""
        cleaned: dict[str, Any] = super().clean() or {}
        counts = self.counts()
        if len(counts) == 2 and not self.errors and not settle(counts).agreed:
            told = _("The first two differ by more than {limit} cm. Count a third time: it decides.")
            self.add_error("count_3", told.format(limit=agree_cm()))
        return cleaned

    def settled(self) -> Settled:
        """What the counts come to."""
        return settle(self.counts())

    def events(self, rope: str) -> list[Event]:
        """What to record: the measurement, and then the weighing, which is judged by it."""
        told, settled = self.cleaned_data, self.settled()
        note = " ".join(each for each in (settled.said, told["note"]) if each)
        events: list[Event] = [
            Measured(
                rope=rope,
                happened=told["happened"],
                length_cm=settled.length_cm,
                counts_cm=settled.rests_on,
                note=note,
            )
        ]
        if told["mass"]:
            events.append(Weighed(rope=rope, happened=told["happened"], mass_g=told["mass"], dry=True))
        return events
