"""What can be recorded of several ropes at once: its name, its button, who may, and the event each rope gets."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms as django_forms
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

from tethera.basics import PartialDate
from tethera.store import (
    Booked,
    Chained,
    Dried,
    Event,
    Inspected,
    PutIntoService,
    Retired,
    RopeState,
    SetAside,
    Spun,
    TakenOut,
    Washed,
)
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit
from tethera.web.ropes import list_act_forms as many
from tethera.web.ropes import one_acts
from tethera.web.ropes import one_forms as one


@dataclass(frozen=True)
class ManyAct:
    """`button` and `done` are counted: they say of how many ropes."""

    word: str
    name: Promise
    button: Any
    done: Promise
    needs: May
    form: Callable[..., django_forms.Form]
    build: Callable[[Visit, RopeState, dict[str, Any]], Event]
    caution: Promise | str = ""

    def says(self, count: int) -> str:
        """What the button says."""
        return str(self.button % {"n": count})


def _plain(event: Callable[..., Event]) -> Callable[[Visit, RopeState, dict[str, Any]], Event]:
    """The event with what was filled in as its own."""
    of_rope = one_acts.plain(event)

    def build(visit: Visit, state: RopeState, told: dict[str, Any]) -> Event:
        return of_rope(state, told)

    return build


def _for_somebody(event: Callable[..., Event]) -> Callable[[Visit, RopeState, dict[str, Any]], Event]:
    def build(visit: Visit, state: RopeState, told: dict[str, Any]) -> Event:
        more = {"happened": PartialDate.of(visit.today), **told, "person": visit.person(told["person"])}
        return _plain(event)(visit, state, more)

    return build


def _examined(visit: Visit, state: RopeState, told: dict[str, Any]) -> Event:
    return _plain(Inspected)(visit, state, {**told, "person": visit.membership.person})


ACTS = {
    act.word: act
    for act in (
        ManyAct("washed", _("Washed"), ngettext_lazy("Record the wash of %(n)d rope",
                "Record the wash of %(n)d ropes", "n"), _("Washed: {ropes}."), May.PREPARE, one.WashedForm,
                _plain(Washed)),
        ManyAct("spun", _("Spun"), ngettext_lazy("Record the spin of %(n)d rope", "Record the spin of %(n)d ropes",
                "n"), _("Spun, still damp: {ropes}."), May.PREPARE, one.ActForm, _plain(Spun)),
        ManyAct("dried", _("Dry"), ngettext_lazy("Record that %(n)d rope is dry", "Record that %(n)d ropes are dry",
                "n"), _("Dry: {ropes}."), May.PREPARE, one.ActForm, _plain(Dried)),
        ManyAct("chained", _("Chained"), ngettext_lazy("Record the chain of %(n)d rope",
                "Record the chains of %(n)d ropes", "n"), _("Chained: {ropes}."), May.PREPARE, one.ChainedForm,
                _plain(Chained)),
        ManyAct("put-into-service", _("Put into service"), ngettext_lazy("Put %(n)d rope into service",
                "Put %(n)d ropes into service", "n"), _("In service: {ropes}."), May.PREPARE, one.ActForm,
                _plain(PutIntoService), _("This declares that they may be taken.")),
        ManyAct("take-out", _("Take out"), ngettext_lazy("Take %(n)d rope out", "Take %(n)d ropes out", "n"),
                _("Taken out: {ropes}."), May.TAKE, many.TakeForm, _for_somebody(TakenOut)),
        ManyAct("book", _("Book for some days"), ngettext_lazy("Book %(n)d rope", "Book %(n)d ropes", "n"),
                _("Booked: {ropes}."), May.PREPARE, many.BookForm, _for_somebody(Booked)),
        ManyAct("set-aside", _("Set aside"), ngettext_lazy("Set aside %(n)d rope", "Set aside %(n)d ropes", "n"),
                _("Set aside: {ropes}."), May.TAKE, one.SetAsideForm, _plain(SetAside),
                _("Nobody may take them until a competent person writes otherwise.")),
        ManyAct("examined", _("Examined"), ngettext_lazy("Record the examination of %(n)d rope",
                "Record the examination of %(n)d ropes", "n"), _("Examined: {ropes}."), May.INSPECT,
                many.ExaminedForm, _examined,
                _("Only for ropes each of which went through your hands. You sign for every one of them.")),
        ManyAct("retire", _("Retire"), ngettext_lazy("Retire %(n)d rope for good", "Retire %(n)d ropes for good",
                "n"), _("Retired: {ropes}. Cut them up, and take their marks off."), May.KEEP, many.RetireManyForm,
                _plain(Retired), _("This is final. Cut them up afterwards, so that nobody takes them by mistake.")),
    )
}  # fmt: skip
#: Not acts that record: they lead to paper, each by the name of its page.
ELSEWHERE = {"print": "store-record-pdf", "marks": "marks"}


def offered(visit: Visit) -> list[ManyAct]:
    """What this visitor may record of picked ropes."""
    return [each for each in ACTS.values() if visit.may(each.needs)]
