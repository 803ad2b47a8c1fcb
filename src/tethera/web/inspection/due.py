"""What is to be examined and why, and setting ropes aside."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.store import SetAside, ToExamine, due_soon_days, to_examine
from tethera.web.accounts.not_for_you import examiners
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.inspection.forms import SetAsideForm
from tethera.web.paper.forms import when_doubts

_TITLES: dict[str, str | Promise] = {
    "set aside": gettext_lazy("Set aside"),
    "overdue": gettext_lazy("Over their day"),
    "check": gettext_lazy("Back from a trip, not looked over"),
    "due soon": gettext_lazy("Due within {days} days"),
    "never": gettext_lazy("Never examined here"),
}
_AT_ONCE = ("set aside", "overdue")


@dataclass(frozen=True)
class Group:
    """The ropes to be examined for one reason."""

    why: str
    title: str
    rows: tuple[ToExamine, ...]

    @property
    def at_once(self) -> bool:
        """Whether they need a hand now."""
        return self.why in _AT_ONCE


def groups(visit: Visit) -> list[Group]:
    """The ropes to be examined by reason, the most urgent first."""
    found = to_examine(visit.ropes, visit.today)
    rows = {why: tuple(each for each in found if each.why == why) for why in _TITLES}
    days = due_soon_days()
    return [Group(why, str(title).format(days=days), rows[why]) for why, title in _TITLES.items() if rows[why]]


@page(May.READ, post=May.TAKE)
def inspect(visit: Visit) -> HttpResponse:
    """What is due. Whoever may take ropes may set one aside from here."""
    if visit.request.method != "POST":
        return _page(visit, SetAsideForm(visit=visit))
    form = SetAsideForm(visit.request.POST, visit=visit)
    if not form.is_valid():
        return _page(visit, form, 422)
    ropes: Sequence[str] = form.cleaned_data["ropes"]
    told = {"reason": form.cleaned_data["reason"], "happened": form.cleaned_data["happened"]}
    findings = visit.record([SetAside(rope=each, **told) for each in ropes])
    done = _("Set aside: {ropes}. Nobody may take them until a competent person clears them in writing.")
    visit.tell(done.format(ropes=", ".join(ropes)), (*findings, *when_doubts(form)))
    return redirect("inspect", visit.store.slug)


def _page(visit: Visit, form: SetAsideForm, status: int = 200) -> HttpResponse:
    in_store = [rope for rope in visit.ropes if rope.state != "retired"]
    context = {"groups": groups(visit), "form": form, "competent": examiners(visit.store), "in_store": len(in_store)}
    return visit.page("inspection/due.html", context, status)
