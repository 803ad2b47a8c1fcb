"""Lettering by hand: one rope on a telephone at the bench, large, with a tick for each end."""

from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.basics import PartialDate
from tethera.store import Marked
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.marks.rows import marked_words, paper_of, rows
from tethera.web.paper.numbers import read_numbers


@page(May.READ, post=May.PREPARE)
def mark_rope(visit: Visit, number: str) -> HttpResponse:
    """What to letter on both ends of one rope; recorded once both are ticked."""
    rope = visit.rope(number)
    (row,) = rows(visit, [rope], paper_of(visit, None), {})
    told = visit.request.POST if visit.request.method == "POST" else visit.request.GET
    then = [each for each in read_numbers(visit.register, told.get("then", "")[:20_000]).ropes if each != rope.id]
    done = [end for end in ("a", "b") if told.get(f"end-{end}")]
    wrong = ""
    if visit.request.method == "POST" and row.marking is not None:
        if len(done) == 2:
            mark = row.marking.ends[0]
            event = Marked(
                rope=rope.id,
                happened=PartialDate.of(visit.today),
                length_m=mark.length_m,
                words=marked_words(row.marking),
            )
            findings = visit.record([event])
            visit.tell(_("Both ends marked: {rope}.").format(rope=rope.id), findings)
            return redirect(_next(visit, then))
        wrong = _still(row.marking.ends[0].end != "", done)
    context = {"row": row, "then": then, "done": done, "wrong": wrong, "mark": row.ends[0] if row.ends else None}
    return visit.page("marks/letter.html", context, 422 if wrong else 200)


def _still(lettered: bool, done: list[str]) -> str:
    """Which end is missing, in a sentence."""
    if not done:
        return _("Nothing is recorded yet: tick each end when it carries its mark.")
    if lettered:
        other = "B" if done == ["a"] else "A"
        return _("Nothing is recorded yet: end {end} is missing.").format(end=other)
    return _("Nothing is recorded yet: the other end is missing.")


def _next(visit: Visit, then: list[str]) -> str:
    if not then:
        return reverse("marks", args=[visit.store.slug])
    first, *others = then
    more = f"?{urlencode({'then': ' '.join(others)})}" if others else ""
    return reverse("mark-rope", args=[visit.store.slug, first]) + more
