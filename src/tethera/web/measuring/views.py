"""Measuring: choose a rope, count it off with wet hands, record what two counts agree on."""

from collections.abc import Callable

from django.http import HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.labels import NoMark, most_m
from tethera.store import RopeState, UnknownRope, Weighed, agree_cm, said_by_weight
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.marks.rows import in_hand
from tethera.web.measuring.forms import MeasureForm
from tethera.web.paper.forms import when_doubts
from tethera.web.paper.shown import shown_length

#: Findings that a count answers.
_BY_COUNTING = {
    *("never-measured", "length-unknown", "mark-overstates", "longer-than-before"),
    *("counts-disagree", "length-not-counted", "counted-once"),
}


@page(May.PREPARE)
def choose(visit: Visit) -> HttpResponse:
    """Which rope: its number, typed or scanned, or one of those that wait for it."""
    words = visit.request.GET.get("number", "").strip()
    problem = ""
    if words:
        try:
            return redirect("measure-rope", visit.store.slug, visit.register.find(words))
        except UnknownRope as unknown:
            problem = str(unknown)
    waiting = [rope for rope in visit.ropes if rope.state == "in preparation" and "measure" in rope.waits]
    doubted = [
        rope
        for rope in visit.ropes
        if rope.in_the_store and rope not in waiting and any(each.code in _BY_COUNTING for each in rope.findings)
    ]
    done = next((rope for rope in visit.ropes if rope.id == visit.request.GET.get("done")), None)
    context = {"waiting": waiting, "doubted": doubted, "problem": problem, "words": words, "done": done}
    # Measured one after the other, they are marked together.
    context["to_mark"] = [rope for rope in in_hand(visit) if rope != done]
    return visit.page("measuring/choose.html", context, status=422 if problem else 200)


@page(May.PREPARE, post=May.PREPARE)
def measure(visit: Visit, number: str) -> HttpResponse:
    """Count off one rope. A phone sends its counts when it has a signal, and is answered in a few words."""
    rope = visit.rope(number)
    if visit.request.method != "POST":
        return _measure_page(visit, rope, MeasureForm(visit=visit))
    from_phone = visit.request.headers.get("X-Kept") == "phone"
    counted_by = visit.request.POST.get("counted_by", "")
    if counted_by and counted_by != visit.membership.person:
        told = _("{name} counted this. Sign in as {name} to record it.").format(name=visit.name(counted_by))
        return JsonResponse({"told": told, "keep": True}, status=409)
    form = MeasureForm(visit.request.POST, visit=visit)
    if not form.is_valid():
        if from_phone:
            told = " ".join(str(each) for errors in form.errors.values() for each in errors)
            return JsonResponse({"told": told, "keep": True}, status=422)
        return _measure_page(visit, rope, form, status=422)
    life = [each.event for each in visit.register.events(rope.id)]
    events = form.events(rope.id)
    findings = (*visit.record(events), *when_doubts(form))
    # Sent long after, the page it comes from shows the answer itself, in plain words.
    later = from_phone and bool(visit.request.POST.get("later"))
    after = visit.rope(rope.id)
    done = _told(visit, after, form, _in_brackets(visit) if later else shown_length)
    for weighed in (each for each in events if isinstance(each, Weighed)):
        by_weight = said_by_weight(rope, life, weighed, after.length_cm or form.settled().length_cm)
        done, findings = f"{done} {by_weight.words}".strip(), (*findings, *by_weight.doubts)
    if later:
        return JsonResponse({"told": done, "doubts": [str(each) for each in findings]})
    visit.tell(done, findings)
    url = f"{reverse('measure', args=[visit.store.slug])}?done={rope.id}"
    return JsonResponse({"next": url}) if from_phone else redirect(url)


def _measure_page(visit: Visit, rope: RopeState, form: MeasureForm, status: int = 200) -> HttpResponse:
    wet = "dry" in rope.waits or "wash" in rope.waits
    context = {"rope_state": rope, "form": form, "agree_cm": agree_cm(), "wet": wet}
    return visit.page("measuring/measure.html", context, status=status)


def _told(visit: Visit, after: RopeState, form: MeasureForm, length: Callable[[int], str]) -> str:
    """What was recorded, which counts decided, and what a mark may now say; `length` writes a length [cm]."""
    settled = form.settled()
    told = _("{rope} measures {length}.").format(rope=after.id, length=length(settled.length_cm))
    if after.length_doubt:
        told = _("{rope}: {length} counted, and that is in doubt.").format(
            rope=after.id, length=length(settled.length_cm)
        )
    try:
        may_say = length(most_m(after, visit.rules) * 100)
        mark = _("Its mark may say {length}.").format(length=may_say)
        if after.length_doubt:
            mark = _("Until it is counted again, its mark may say {length} and no more.").format(length=may_say)
    except NoMark as none:
        mark = _("It is too short for a mark in whole metres.")
        if after.retired is not None:
            mark = none.way_out
        elif after.length_doubt:
            mark = _("Until it is counted again, no mark can be made for it.")
    return " ".join(each for each in (told, settled.said, mark) if each)


def _in_brackets(visit: Visit) -> Callable[[int], str]:
    """A length where no capsule can be drawn."""
    return lambda cm: f"({shown_length(cm, visit.units)})"
