"""Taking a rope out of service for good."""

from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.store import Retired
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.fields import WhenField
from tethera.web.paper.forms import say_plainly, when_doubts
from tethera.web.ropes.one_next import doubts_of

_OWN = "own"
#: In the trade's words; kept as they are said here.
REASONS = (
    gettext_lazy("over its age limit"),
    gettext_lazy("worn sheath"),
    gettext_lazy("damaged core"),
    gettext_lazy("cut or crushed"),
    gettext_lazy("a hard fall"),
    gettext_lazy("met a chemical"),
    gettext_lazy("stiff or glazed"),
    gettext_lazy("too short to be of use"),
    gettext_lazy("nobody knows its past"),
    gettext_lazy("lost for good"),
)


class RetireForm(forms.Form):
    """Why it leaves service, and when."""

    choice = forms.ChoiceField(label=gettext_lazy("Why"), widget=forms.RadioSelect)
    own = forms.CharField(
        label=gettext_lazy("In your own words"),
        required=False,
        max_length=500,
        help_text=gettext_lazy("Needed when none of these fits; else what more there is to say."),
    )
    happened = WhenField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["choice"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [*((str(each), each) for each in REASONS), (_OWN, _("another reason"))]
        say_plainly(self)

    def clean(self) -> dict[str, Any] | None:
        """Another reason must be written."""
        told = super().clean() or self.cleaned_data
        if told.get("choice") == _OWN and not told.get("own"):
            self.add_error("own", _("Write the reason."))
        return told

    def reason(self) -> str:
        """The reason in words."""
        choice, own = self.cleaned_data["choice"], self.cleaned_data["own"]
        return str(own) if choice == _OWN else ": ".join(each for each in (choice, own) if each)


@page(May.KEEP, post=May.KEEP)
def retire(visit: Visit, number: str) -> HttpResponse:
    """Retire one rope."""
    state = visit.rope(number)
    form = RetireForm(visit.request.POST) if visit.request.method == "POST" else RetireForm(initial=_likely(visit))
    if visit.request.method == "POST" and form.is_valid():
        event = Retired(rope=state.id, happened=form.cleaned_data["happened"], reason=form.reason())
        findings = (*visit.record((event,)), *when_doubts(form))
        visit.tell(_("{rope} is retired. Cut it up, and take its marks off.").format(rope=state.id), findings)
        return redirect("rope", visit.store.slug, state.id)
    told = {"rope": state, "form": form, "doubts": doubts_of(visit, state)}
    return visit.page("ropes/rope_retire.html", told, 400 if form.errors else 200)


def _likely(visit: Visit) -> dict[str, str]:
    """What the address says of the reason."""
    own = visit.request.GET.get("reason", "")[:500]
    return {"choice": _OWN, "own": own} if own else {}
