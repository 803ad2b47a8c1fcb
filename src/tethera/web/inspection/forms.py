"""The form of an examination (EN 365): why, what was found, the outcome, when next, and who signs for it."""

from typing import Any

from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import PartialDate
from tethera.store import RopeState, likely_reason, months_on
from tethera.web.accounts.visit import Visit
from tethera.web.paper.fields import MaybeWhenField, WhenField
from tethera.web.paper.forms import say_plainly
from tethera.web.paper.numbers import RopesField
from tethera.web.paper.words import OUTCOMES

_REASONS: list[tuple[str, str | Promise]] = [
    ("periodic", gettext_lazy("its time has come")),
    ("before first use", gettext_lazy("before its first use")),
    ("back from a trip", gettext_lazy("back from a trip")),
    ("after a fall", gettext_lazy("after a fall")),
    ("after a chemical", gettext_lazy("after a chemical")),
    ("exceptional", gettext_lazy("exceptional: something out of the common happened")),
    ("in doubt", gettext_lazy("somebody doubts it")),
]


class ExamineForm(forms.Form):
    """What is said of the whole rope; what was found at a place is in rows of its own."""

    reason = forms.ChoiceField(label=gettext_lazy("Why it is examined"), widget=forms.RadioSelect, choices=_REASONS)
    findings = forms.CharField(
        label=gettext_lazy("What you saw otherwise"), required=False, max_length=3000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=gettext_lazy("The sheath, the feel of the core in a bend, ends and marks; or that you saw nothing."),
    )  # fmt: skip
    outcome = forms.ChoiceField(
        label=gettext_lazy("Having examined it, I say"), widget=forms.RadioSelect, choices=OUTCOMES
    )
    next_due = MaybeWhenField(label=gettext_lazy("Next examination due"))
    happened = WhenField(label=gettext_lazy("Examined"))
    clear = forms.BooleanField(label=gettext_lazy("I clear it: what it was set aside for is answered"), required=False)
    answered = forms.CharField(
        label=gettext_lazy("What answers it"), required=False, max_length=2000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )  # fmt: skip
    signed = forms.BooleanField(label=gettext_lazy("I sign"))

    def __init__(self, *args: Any, visit: Visit, state: RopeState, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.visit, self.state = visit, state
        say_plainly(self)
        self.fields["signed"].error_messages["required"] = _(
            "Tick it when you examined the rope yourself. Without a signature it is no examination."
        )
        self.fields["reason"].initial = likely_reason(state)
        months = visit.rules.inspection_months
        if months:
            self.fields["next_due"].initial = PartialDate.of(months_on(visit.today, months)).spoken()
            told = _("This store examines every {months} months; sooner where you say so.").format(months=months)
            self.fields["next_due"].help_text = told
        if state.set_aside is None:
            del self.fields["clear"], self.fields["answered"]

    def clean(self) -> dict[str, Any]:
        """What clears a rope is written down, and a next day lies ahead."""
        told: dict[str, Any] = super().clean() or self.cleaned_data
        when, due = told.get("happened"), told.get("next_due")
        if when is not None and due is not None and due.latest <= when.earliest:
            self.add_error("next_due", _("That is not after this examination."))
        if told.get("clear") and told.get("outcome") in ("not fit", "undecided"):
            self.add_error("clear", _("Only a rope that is fit to go back can be cleared. Take the tick away."))
        return told


class SetAsideForm(forms.Form):
    """Which ropes nobody may take, and why."""

    ropes = RopesField()
    reason = forms.CharField(
        label=gettext_lazy("Why"), max_length=500,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=gettext_lazy("What was seen or happened, and where along the rope: flat spot at 12.4 m."),
    )  # fmt: skip
    happened = WhenField()

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        ropes = self.fields["ropes"]
        assert isinstance(ropes, RopesField)
        ropes.register = visit.register
        say_plainly(self)
