"""The details of each step, rope by rope where they differ."""

from collections.abc import Collection, Sequence
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import label_m
from tethera.labels.mark import mark_words
from tethera.store import (
    Chained,
    Dried,
    Event,
    Inspected,
    Marked,
    PutIntoService,
    RopeState,
    Spun,
    Washed,
    warmest_wash_c,
)
from tethera.web.accounts.visit import Visit
from tethera.web.paper.fields import WhenField
from tethera.web.paper.words import WAYS_TO_WASH, chosen_from
from tethera.web.preparation.board import folding


class StepForm(forms.Form):
    """When, and a note; the same for all ropes ticked. `details` comes before them."""

    happened = WhenField()
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=2000)

    def __init__(
        self, *args: Any, visit: Visit, ropes: Sequence[RopeState], ticked: Collection[str], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.visit, self.ropes = visit, ropes
        self.ticked = [rope for rope in ropes if rope.id in ticked]
        self.suit()
        self.order_fields([name for name in self.fields if name not in ("happened", "note")])

    def clean(self) -> dict[str, Any]:
        """What is written beside a rope that is not ticked is kept, and not judged."""
        cleaned: dict[str, Any] = super().clean() or {}
        ticked = {f"of-{rope.id}" for rope in self.ticked}
        for name in [each for each in self.errors if each.startswith("of-") and each not in ticked]:
            del self.errors[name]
        return cleaned

    def suit(self) -> None:
        """Add what is asked rope by rope."""

    def of_rope(self, rope: RopeState) -> BoundField | None:
        """The field that is asked of one rope."""
        return self[f"of-{rope.id}"] if f"of-{rope.id}" in self.fields else None

    def shared(self) -> list[BoundField]:
        """The fields that are asked once for all."""
        return [self[name] for name in self.fields if not name.startswith("of-")]

    def event(self, rope: RopeState) -> Event:
        """What to record of one rope."""
        raise NotImplementedError

    def seal(self) -> str:
        """What a second press says yes to; empty where nothing is asked twice."""
        return ""

    def doubt(self) -> str:
        """Why to look once more before this is recorded."""
        return ""

    def _common(self, rope: RopeState) -> dict[str, Any]:
        return {"rope": rope.id, "happened": self.cleaned_data["happened"], "note": self.cleaned_data["note"]}


class WashedForm(StepForm):
    """How, how warm, with what."""

    how = forms.ChoiceField(
        label=gettext_lazy("How"),
        required=False,
        widget=forms.RadioSelect,
        choices=[
            *chosen_from(WAYS_TO_WASH),
            ("", gettext_lazy("not said")),
        ],
    )
    temperature_c = forms.IntegerField(
        label=gettext_lazy("Degrees Celsius"),
        required=False,
        min_value=0,
        max_value=100,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 4, "autocomplete": "off"}),
        help_text=format_lazy(
            gettext_lazy("Cool: {most} °C at most (common practice, no source)."), most=warmest_wash_c()
        ),
        error_messages={"invalid": gettext_lazy("Write whole degrees, as 30.")},
    )
    soap = forms.CharField(
        label=gettext_lazy("Soap"), required=False, max_length=100, help_text=gettext_lazy("Only if pure.")
    )

    def event(self, rope: RopeState) -> Event:
        """Washed."""
        told = self.cleaned_data
        how = told["how"] or None
        return Washed(**self._common(rope), how=how, temperature_c=told["temperature_c"], soap=told["soap"] or None)


class ChainedForm(StepForm):
    """Into how many strands each was folded."""

    def suit(self) -> None:
        """One number a rope."""
        for rope in self.ropes:
            strands, chain = folding(rope)
            told = _("Fold into {strands}; the chain is then about {chain}\u202fm long, an estimate.")
            self.fields[f"of-{rope.id}"] = forms.IntegerField(
                label=_("Strands of {rope}").format(rope=rope.id),
                min_value=1,
                max_value=64,
                initial=strands or 1,
                widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 4, "autocomplete": "off"}),
                help_text=told.format(strands=strands, chain=chain) if strands else "",
                error_messages=dict.fromkeys(("required", "invalid"), _("Write a whole number of strands.")),
            )

    def event(self, rope: RopeState) -> Event:
        """Chained."""
        return Chained(**self._common(rope), strands=self.cleaned_data[f"of-{rope.id}"])


class SpunForm(StepForm):
    """Nothing but when."""

    def event(self, rope: RopeState) -> Event:
        """Spun."""
        return Spun(**self._common(rope))


class DriedForm(StepForm):
    """Nothing but when."""

    def event(self, rope: RopeState) -> Event:
        """Dried."""
        return Dried(**self._common(rope))


class MarkedForm(StepForm):
    """How many metres both ends of each rope say."""

    def suit(self) -> None:
        """One length a rope, filled in by the store's rule for marks."""
        for rope in self.ropes:
            may_say = self.may_say(rope)
            self.fields[f"of-{rope.id}"] = forms.IntegerField(
                label=_("Both ends of {rope} say, in metres").format(rope=rope.id),
                min_value=1,
                max_value=1000,
                initial=may_say,
                help_text=rope.length_in_doubt,
                widget=forms.TextInput(attrs={"inputmode": "numeric", "size": 5, "autocomplete": "off"}),
                error_messages={
                    "required": _("Write whole metres, or leave this rope unticked."),
                    "invalid": _("Write whole metres, as 28."),
                },
            )

    def may_say(self, rope: RopeState) -> int | None:
        """The most a mark may say by the store's rule; None where the length is not known or too short."""
        try:
            return label_m(rope.length_cm or 0, self.visit.rules.label_keeps_back_percent)
        except ValueError:
            return None

    def words(self, rope: RopeState) -> str:
        """The words beside the length."""
        rules = self.visit.rules
        return mark_words(rope, rules.owner or self.visit.store.name, self.visit.today)

    def _too_long(self) -> list[RopeState]:
        told = self.cleaned_data
        return [rope for rope in self.ticked if rope.length_cm is None or told[f"of-{rope.id}"] * 100 > rope.length_cm]

    def seal(self) -> str:
        """The marks that say more than was measured."""
        return ",".join(f"{rope.id}:{self.cleaned_data[f'of-{rope.id}']}" for rope in self._too_long())

    def doubt(self) -> str:
        """A mark above the length."""
        names = ", ".join(rope.id for rope in self._too_long())
        return _("These marks say more metres than the rope is known to have: {ropes}.").format(ropes=names)

    def event(self, rope: RopeState) -> Event:
        """Marked."""
        return Marked(**self._common(rope), length_m=self.cleaned_data[f"of-{rope.id}"], words=self.words(rope))


class CheckedForm(StepForm):
    """A look along the whole rope that found nothing."""

    findings = forms.CharField(
        label=gettext_lazy("What you did and saw"),
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": gettext_lazy("Write what you did and saw.")},
        help_text=gettext_lazy(
            "As: run through the hands from end to end, nothing found that speaks against use. "
            "The same for all that are ticked; a rope with something amiss is examined by itself."
        ),
    )

    def event(self, rope: RopeState) -> Event:
        """Inspected, by whoever is signed in."""
        told = self.cleaned_data["findings"]
        by = self.visit.membership.person
        return Inspected(**self._common(rope), reason=_("before it goes back"), findings=told, outcome="fit", person=by)


class PutIntoServiceForm(StepForm):
    """Nothing but when."""

    def event(self, rope: RopeState) -> Event:
        """Declared: it may be taken."""
        return PutIntoService(**self._common(rope))


FORMS: dict[str, type[StepForm]] = {
    "chained": ChainedForm,
    "washed": WashedForm,
    "spun": SpunForm,
    "dried": DriedForm,
    "marked": MarkedForm,
    "checked": CheckedForm,
    "put-into-service": PutIntoServiceForm,
}
