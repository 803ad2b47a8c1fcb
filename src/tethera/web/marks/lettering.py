"""Lettering by hand: one rope on a telephone at the bench, large, with a tick for each end."""

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.marks.rows import marked, paper_of, rows
from tethera.web.marks.views import letter_url
from tethera.web.paper.numbers import read_numbers


@page(May.READ, post=May.PREPARE)
def mark_rope(visit: Visit, number: str) -> HttpResponse:
    """What to letter on both ends of one rope; recorded once both are ticked."""
    rope = visit.rope(number)
    (row,) = rows(visit, [rope], paper_of(visit, None), {})
    posted = visit.request.method == "POST"
    told = visit.request.POST if posted else visit.request.GET
    then = [each for each in read_numbers(visit.register, told.get("then", "")[:20_000]).ropes if each != rope.id]
    done = [end for end in ("a", "b") if told.get(f"end-{end}")] if posted else []
    wrong = ""
    if posted and row.marking is not None:
        if len(done) == 2 and "says" not in told:
            done, wrong = [], _("Nothing is recorded. The form does not say what the ends carry: look again.")
        elif told.get("says", row.says) != row.says:
            # Whatever the ends carry by now, it is not this.
            done, wrong = [], _("Nothing is recorded. What this rope may say has changed meanwhile: look again.")
        elif len(done) == 2:
            findings = visit.record([marked(visit, row.marking)])
            visit.tell(_("Both ends marked: {rope}.").format(rope=rope.id), findings)
            return redirect(letter_url(visit, then) if then else reverse("marks", args=[visit.store.slug]))
        else:
            wrong = _still(row.marking.ends[0].end != "", done)
    context = {
        "row": row,
        "then": then,
        "then_url": letter_url(visit, then) if then else "",
        "done": done,
        "wrong": wrong,
        "mark": row.ends[0] if row.ends else None,
    }
    return visit.page("marks/letter.html", context, 422 if wrong else 200)


def _still(lettered: bool, done: list[str]) -> str:
    """Which end is missing, in a sentence."""
    if not done:
        return _("Nothing is recorded yet: tick each end when it carries its mark.")
    if lettered:
        other = "B" if done == ["a"] else "A"
        return _("Nothing is recorded yet: end {end} is missing.").format(end=other)
    return _("Nothing is recorded yet: the other end is missing.")
