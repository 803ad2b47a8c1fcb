"""What can be recorded of one rope on its own page: each act has one screen with its form and one button."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from tethera.basics import Finding, show_metres
from tethera.store import (
    BookingReleased,
    Chained,
    Cut,
    Described,
    Dried,
    Event,
    Found,
    LeftRigged,
    Marked,
    Missed,
    Piece,
    PutIntoService,
    Refused,
    RopeState,
    SetAside,
    Spun,
    Used,
    Washed,
    Weighed,
)
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.forms import when_doubts
from tethera.web.ropes import one_forms as forms

Builds = Callable[[RopeState, dict[str, Any]], Event]


@dataclass(frozen=True)
class Act:
    """Something that can be recorded: its word in the address, what it is called, and what the button says."""

    word: str
    name: str | Promise
    button: str | Promise
    needs: May
    form: type[forms.ActForm]
    build: Builds
    caution: str | Promise = ""
    #: States in which the page offers it; empty is all but retired.
    when: tuple[str, ...] = ()

    def offered(self, state: RopeState) -> bool:
        """Whether the page of a rope in this state names it."""
        if self.word == "release" and not state.bookings:
            return False
        if self.word == "put-into-service" and "put into service" not in state.waits:
            return False
        return state.state in self.when if self.when else state.state != "retired"


def plain(event: Callable[..., Event]) -> Builds:
    """The event with the form's fields as its own."""

    def build(state: RopeState, told: dict[str, Any]) -> Event:
        return event(rope=state.id, **{name: value for name, value in told.items() if value not in ("", None)})

    return build


_ACTS = (
    Act("washed", gettext_lazy("Washed"), gettext_lazy("Record the wash"), May.PREPARE, forms.WashedForm,
        plain(Washed)),
    Act("spun", gettext_lazy("Spun"), gettext_lazy("Record the spin"), May.PREPARE, forms.ActForm, plain(Spun)),
    Act("dried", gettext_lazy("Dry"), gettext_lazy("Record that it is dry"), May.PREPARE, forms.ActForm,
        plain(Dried)),
    Act("chained", gettext_lazy("Chained"), gettext_lazy("Record the chain"), May.PREPARE, forms.ChainedForm,
        plain(Chained)),
    Act("weighed", gettext_lazy("Weighed"), gettext_lazy("Record the weight"), May.PREPARE, forms.WeighedForm,
        plain(Weighed), gettext_lazy("Washing keeps the mass, so the weight says whether metres have gone astray. It "
                                      "is an alarm, never a length.")),
    Act("marked", gettext_lazy("Marked"), gettext_lazy("Record the marks"), May.PREPARE, forms.MarkedForm,
        plain(Marked), gettext_lazy("Both ends say the same: the length largest, then number, what it is, since when, "
                                     "whose.")),
    Act("put-into-service", gettext_lazy("Put into service"), gettext_lazy("Put into service"), May.PREPARE,
        forms.ActForm, plain(PutIntoService), gettext_lazy("This declares that the rope may be taken.")),
    Act("used", gettext_lazy("Used on a pitch"), gettext_lazy("Record the use"), May.TAKE, forms.UsedForm,
        plain(Used)),
    Act("left-rigged", gettext_lazy("Left rigged"), gettext_lazy("Record that it stays rigged"), May.TAKE,
        forms.LeftRiggedForm, plain(LeftRigged), gettext_lazy("A rope left in a cave ages there and is on its own "
                                                               "list.")),
    Act("set-aside", gettext_lazy("Set aside"), gettext_lazy("Set it aside"), May.TAKE, forms.SetAsideForm,
        plain(SetAside), gettext_lazy("Nobody may take it until a competent person writes otherwise.")),
    Act("missed", gettext_lazy("Missing"), gettext_lazy("Record that it is missing"), May.TAKE, forms.ActForm,
        plain(Missed), when=("ready", "in preparation", "out", "rigged", "set aside")),
    Act("found", gettext_lazy("Found"), gettext_lazy("Record that it was found"), May.TAKE, forms.FoundForm,
        plain(Found), gettext_lazy("What became of it meanwhile nobody knows: it waits for a wash and a check."),
        ("missing",)),
    Act("cut", gettext_lazy("Cut into pieces"), gettext_lazy("Record the cut"), May.PREPARE, forms.CutForm,
        plain(Cut), gettext_lazy("It ceases to be. Each piece becomes a new rope with a new number, its age and its "
                                  "history; the marks it has are void.")),
    Act("release", gettext_lazy("Release a booking"), gettext_lazy("Release the booking"), May.PREPARE,
        forms.ReleaseForm, plain(BookingReleased)),
    Act("note", gettext_lazy("A note"), gettext_lazy("Write it down"), May.TAKE, forms.NoteForm, plain(Described),
        when=("ready", "in preparation", "out", "rigged", "set aside", "missing", "retired")),
)  # fmt: skip
ACTS = {each.word: each for each in _ACTS}


def offered(visit: Visit, state: RopeState) -> list[Act]:
    """What this visitor may record of a rope in its state."""
    return [each for each in _ACTS if visit.may(each.needs) and each.offered(state)]


def form_of(visit: Visit, state: RopeState, act: Act) -> forms.ActForm:
    """An empty form of an act, with what the address says of it filled in."""
    told = {name: visit.request.GET[name] for name in act.form.base_fields if name in visit.request.GET}
    return act.form(visit=visit, state=state, initial=told)


@page(May.TAKE, post=May.TAKE)
def act(visit: Visit, number: str, word: str) -> HttpResponse:
    """One act."""
    chosen = ACTS.get(word)
    if chosen is None:
        raise Http404(_("There is nothing of that name to record. Go back to the rope."))
    visit.must(chosen.needs)
    state = visit.rope(number)
    if visit.request.method != "POST":
        return _page(visit, state, chosen, form_of(visit, state, chosen))
    form = chosen.form(visit.request.POST, visit=visit, state=state)
    if not form.is_valid():
        return _page(visit, state, chosen, form, status=400)
    try:
        told, findings = _record(visit, state, chosen, form)
    except Refused as refused:
        return _page(visit, state, chosen, form, refused.missing, 409)
    visit.tell(told, (*findings, *when_doubts(form)))
    return redirect("rope", visit.store.slug, state.id)


def _page(
    visit: Visit, state: RopeState, chosen: Act, form: forms.ActForm, missing: Sequence[str] = (), status: int = 200
) -> HttpResponse:
    told = {"rope": state, "act": chosen, "form": form, "missing": missing, "seen": len(visit.register)}
    return visit.page("ropes/rope_act.html", told, status)


def _record(visit: Visit, state: RopeState, chosen: Act, form: forms.ActForm) -> tuple[str, tuple[Finding, ...]]:
    """Record it; what to say, and what is doubted."""
    if isinstance(form, forms.CutForm):
        return _cut(visit, state, form)
    event = chosen.build(state, {k: v for k, v in form.cleaned_data.items() if k in form.fields})
    findings = visit.record((event,), seen=visit.seen)
    name = str(chosen.name)
    return _("Recorded for {rope}: {what}.").format(rope=state.id, what=name[:1].lower() + name[1:]), findings


def _cut(visit: Visit, state: RopeState, form: forms.CutForm) -> tuple[str, tuple[Finding, ...]]:
    """Cut it; every piece gets a number nobody else got."""
    told, lengths = form.cleaned_data, form.pieces_cm()

    def build(numbers: Sequence[str]) -> Sequence[Event]:
        into = tuple(Piece(rope=number, length_cm=cm) for number, cm in zip(numbers, lengths, strict=True))
        return (Cut(rope=state.id, happened=told["happened"], note=told["note"], into=into, reason=told["reason"]),)

    numbers, findings = visit.record_new(len(lengths), build)
    pieces = ", ".join(f"{number} {show_metres(cm)} m" for number, cm in zip(numbers, lengths, strict=True))
    said = _("{rope} was cut into {pieces}. Mark both ends of each: the old marks are void.")
    return said.format(rope=state.id, pieces=pieces), findings
