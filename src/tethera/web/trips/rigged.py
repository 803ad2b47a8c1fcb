"""What hangs in which cave, since when, and when somebody is to look at it again."""

from dataclasses import dataclass
from datetime import date

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from tethera.basics import PartialDate
from tethera.store import LeftRigged, RopeState, by_number
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.fields import MaybeWhenField
from tethera.web.paper.shown import so_long


@dataclass(frozen=True)
class Hanging:
    """A rope in a cave: since when, where, how long, and when it is to be looked at again."""

    rope: RopeState
    route: str
    pitch: str
    since: date
    long: str
    look_again: PartialDate | None
    due: bool
    note: str


def hanging(visit: Visit) -> list[Hanging]:
    """Every rope left rigged: those to be looked at first, then the longest underground."""
    found = []
    for rope in visit.ropes:
        if rope.state != "rigged":
            continue
        events = [each.event for each in visit.register.events(rope.id) if isinstance(each.event, LeftRigged)]
        left = events[-1] if events else None
        days = [day for day, state in visit.register.passage(rope.id) if state == "rigged"]
        since = days[-1] if days else visit.today
        again = rope.look_again
        found.append(
            Hanging(
                rope,
                left.route if left else "",
                left.pitch if left else "",
                since,
                so_long((visit.today - since).days),
                again,
                again is not None and again.latest <= visit.today,
                left.note if left else "",
            )
        )
    return sorted(found, key=lambda each: (not each.due, each.since, by_number(each.rope.id)))


@page(May.READ, post=May.TAKE)
def rigged(visit: Visit) -> HttpResponse:
    """The list, cave by cave; a new day on which to look at a rope again."""
    if visit.request.method == "POST":
        state = visit.rope(str(visit.request.POST.get("rope", ""))[:20])
        try:
            when = MaybeWhenField(required=False).clean(visit.request.POST.get("look_again", ""))
        except ValueError as error:
            visit.tell(" ".join(getattr(error, "messages", [str(error)])))
            return redirect("rigged", visit.store.slug)
        last = next((each for each in hanging(visit) if each.rope.id == state.id), None)
        if last is None:
            visit.tell(_("{rope} is not left rigged any more.").format(rope=state.id))
            return redirect("rigged", visit.store.slug)
        today = PartialDate.of(visit.today)
        note = str(visit.request.POST.get("note", ""))[:2000].strip()
        findings = visit.record(
            [LeftRigged(rope=state.id, happened=today, route=last.route, pitch=last.pitch, look_again=when, note=note)]
        )
        visit.tell(_("Looked at where it hangs: {rope}.").format(rope=state.id), findings)
        return redirect("rigged", visit.store.slug)
    caves: dict[str, list[Hanging]] = {}
    for each in hanging(visit):
        caves.setdefault(each.route, []).append(each)
    return visit.page("trips/rigged.html", {"caves": list(caves.items())})
