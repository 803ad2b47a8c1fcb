"""Preparation: the board of what is at which step, and a screen for each step's details."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.forms import BoundField
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from tethera.store import Refused, RopeEvent, RopeState, missing
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.forms import when_doubts
from tethera.web.preparation.board import board
from tethera.web.preparation.forms import FORMS, MarkedForm, StepForm
from tethera.web.preparation.steps import BY_WORD, STEPS, Step


@dataclass(frozen=True)
class Asked:
    """A rope on the screen of a step: ticked or not, what is asked of it, what it lacks, the words its ends get."""

    rope: RopeState
    ticked: bool
    field: BoundField | None
    lacks: tuple[str, ...] = ()
    words: str = ""
    may_say_cm: int | None = None

    @property
    def to_measure(self) -> bool:
        """Whether counting it off would help."""
        return self.rope.known_by != "measured"

    @property
    def to_mark(self) -> bool:
        """Whether new marks would help."""
        return self.rope.marked_m is None or self.rope.mark_overstates


@page(May.PREPARE, post=May.PREPARE)
def preparation(visit: Visit) -> HttpResponse:
    """The board. Ticked ropes are recorded at once, or go to the screen of the step where it has details."""
    if visit.request.method != "POST":
        return _board_page(visit, visit.request.GET.getlist("rope"))
    picked, word = visit.request.POST.getlist("rope"), visit.request.POST.get("step", "")
    other = word == "other"
    step = _step(visit.request.POST.get("other", "") if other else word)
    if not picked:
        return _board_page(visit, (), _("Tick the ropes first."))
    if step.details or other:
        address = reverse("preparation-step", args=[visit.store.slug, step.word])
        return redirect(f"{address}?{urlencode([('rope', each) for each in picked])}")
    return _recorded(visit, step, picked)


def _board_page(visit: Visit, picked: Sequence[str], told: str = "") -> HttpResponse:
    others = [step for step in STEPS if visit.may(May.INSPECT) or step.word != "checked"]
    context = {"groups": board(visit), "picked": set(picked), "others": others, "problem": told}
    return visit.page("preparation/board.html", context, status=422 if told else 200)


def _step(word: str) -> Step:
    if word not in BY_WORD:
        raise Http404(_("There is no such step of preparation."))
    return BY_WORD[word]


@page(May.PREPARE, post=May.PREPARE)
def step(visit: Visit, word: str) -> HttpResponse:
    """The details of one step for the ropes ticked."""
    step = _step(word)
    if step.word == "checked":
        visit.must(May.INSPECT)
    if visit.request.method != "POST":
        ropes = _ropes(visit, visit.request.GET.getlist("rope"))
        if not ropes:
            return redirect("preparation", visit.store.slug)
        return _step_page(visit, step, FORMS[word](visit=visit, ropes=ropes, ticked={rope.id for rope in ropes}))
    return _recorded(visit, step, visit.request.POST.getlist("rope"))


def _ropes(visit: Visit, numbers: Sequence[str]) -> list[RopeState]:
    return [visit.rope(number) for number in dict.fromkeys(numbers) if number]


def _recorded(visit: Visit, step: Step, picked: Sequence[str]) -> HttpResponse:
    """Record the step for all that are ticked, or nothing; what cannot be done is said beside its rope."""
    ropes = _ropes(visit, picked)
    # Those shown but not ticked stay on the screen, should it be needed again.
    shown = _ropes(visit, [*visit.request.POST.getlist("shown"), *picked])
    form = FORMS[step.word](visit.request.POST, visit=visit, ropes=shown, ticked={rope.id for rope in ropes})
    if not ropes:
        return _step_page(visit, step, form, problem=_("Tick at least one rope."))
    if not form.is_valid():
        return _step_page(visit, step, form, problem=_("Nothing is recorded yet. See below."))
    if form.seal() and visit.request.POST.get("sure") != form.seal():
        return _step_page(visit, step, form, problem=form.doubt(), sure=form.seal())
    events = [form.event(rope) for rope in ropes]
    try:
        findings = visit.record(events, seen=visit.seen)
    except Refused:
        lacks = {each.rope: missing(visit.rope(each.rope), each) for each in events if isinstance(each, RopeEvent)}
        return _step_page(visit, step, form, lacks=lacks)
    visit.tell(str(step.done).format(ropes=", ".join(rope.id for rope in ropes)), (*findings, *when_doubts(form)))
    return redirect("preparation", visit.store.slug)


def _step_page(
    visit: Visit,
    step: Step,
    form: StepForm,
    *,
    problem: str = "",
    sure: str = "",
    lacks: dict[str, tuple[str, ...]] | None = None,
) -> HttpResponse:
    lacks = {rope: told for rope, told in (lacks or {}).items() if told}
    # What cannot be done is unticked: one more press does the rest.
    ticked = {rope.id for rope in form.ticked if rope.id not in lacks}
    rows = [_asked(form, rope, rope.id in ticked, lacks.get(rope.id, ())) for rope in form.ropes]
    context = {"step": step, "form": form, "rows": rows, "problem": problem, "sure": sure, "lacks": lacks}
    status = 409 if lacks else 422 if problem else 200
    more = {"left": len(ticked), "seen": len(visit.register)}
    return visit.page("preparation/step.html", context | more, status=status)


def _asked(form: StepForm, rope: RopeState, ticked: bool, lacks: tuple[str, ...]) -> Asked:
    if not isinstance(form, MarkedForm):
        return Asked(rope, ticked, form.of_rope(rope), lacks)
    may_say = form.may_say(rope)
    return Asked(rope, ticked, form.of_rope(rope), lacks, form.words(rope), None if may_say is None else may_say * 100)
