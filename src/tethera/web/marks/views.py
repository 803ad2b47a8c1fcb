"""Marks: which ropes need them, the strips as a PDF, and that both ends carry them."""

from collections.abc import Sequence
from urllib.parse import urlencode

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.labels import end_marks, strips_pdf, tubes_to_cut
from tethera.rope import tube_cautions
from tethera.store import Event
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.marks.asked import Asked
from tethera.web.marks.rows import (
    PAPER_WORDS,
    Row,
    first,
    in_hand,
    marked,
    not_yet,
    paper_of,
    read_mm,
    rows,
    with_strips,
)

#: So many ropes are printed at once, and the strips of so many are drawn on the page.
_MOST_PRINTED, _MOST_DRAWN = 200, 12


@page(May.READ, post=May.READ)
def marks(visit: Visit) -> HttpResponse:
    """The ropes that need marks and those asked for. The form prints, leads to lettering, or records what is on."""
    told = visit.request.POST
    if visit.request.method != "POST":
        return _shown(visit, Asked.of(visit, visit.request.GET))
    asked = Asked.of(visit, told)
    if "record" in told:
        visit.must(May.PREPARE)
        return _record(visit, asked)
    if "print" in told:
        return _print(visit, asked)
    if "hand" in told:
        return _letter(visit, asked)
    return _shown(visit, asked)


def _shown(visit: Visit, asked: Asked, wrong: str = "") -> HttpResponse:
    waiting = in_hand(visit)
    beside = [visit.rope(each) for each in asked.shown if each not in {rope.id for rope in waiting}]
    # What was asked for is ticked; where nothing was, all that waits.
    picked = set(asked.ropes) if asked.ropes or asked.sent else {rope.id for rope in waiting}
    all_rows = rows(visit, [*beside, *waiting], asked.paper, asked.over)
    chosen = [row for row in all_rows if row.rope.id in picked and row.marking is not None]
    context = {
        "rows": with_strips(all_rows, _MOST_DRAWN),
        "picked": picked,
        "chosen": chosen,
        "with_tube": ", ".join(row.rope.id for row in chosen if row.marking and row.marking.cut_mm),
        "paper": asked.paper,
        "papers": PAPER_WORDS.items(),
        "unknown": asked.told,
        "more": " ".join(asked.unknown),
        "wrong": wrong,
        "tubes": tubes_to_cut([row.marking for row in chosen if row.marking is not None]),
        "cautions": tube_cautions(),
        "later": [(rope, first(rope)) for rope in not_yet(visit) if rope.id not in asked.shown],
    }
    return visit.page("marks/marks.html", context, 422 if wrong else 200)


def _chosen(visit: Visit, asked: Asked) -> list[Row]:
    return rows(visit, [visit.rope(each) for each in asked.ropes], asked.paper, asked.over)


def _print(visit: Visit, asked: Asked) -> HttpResponse:
    """To the strips of all that are ticked and typed, or what stands in the way of some."""
    chosen = _chosen(visit, asked)
    if asked.told:
        return _shown(visit, asked, _("Nothing is printed yet: correct the number, or leave it out."))
    if not chosen:
        return _shown(visit, asked, _("Tick the ropes to print marks for first."))
    if without := [row.rope.id for row in chosen if row.not_printed]:
        told = _("Nothing is printed yet. See beside {ropes}, or untick.").format(ropes=", ".join(without))
        return _shown(visit, asked, told)
    over = {f"over-{row.rope.id}": row.over_typed for row in chosen if row.over_typed}
    query = urlencode({"rope": asked.ropes, "paper": asked.paper, **over}, doseq=True)
    return redirect(f"{reverse('marks-pdf', args=[visit.store.slug])}?{query}")


def _letter(visit: Visit, asked: Asked) -> HttpResponse:
    """To lettering by hand, one rope after the other."""
    chosen = [row.rope.id for row in _chosen(visit, asked) if row.marking is not None]
    if asked.told:
        return _shown(visit, asked, _("Correct the number, or leave it out."))
    if not chosen:
        return _shown(visit, asked, _("Tick the ropes to letter first."))
    return redirect(letter_url(visit, chosen))


def letter_url(visit: Visit, ropes: Sequence[str]) -> str:
    """Where the first of the ropes is lettered, and after it the others."""
    now, *then = ropes
    query = f"?{urlencode({'then': ' '.join(then)})}" if then else ""
    return reverse("mark-rope", args=[visit.store.slug, now]) + query


@page(May.READ)
def strips(visit: Visit) -> HttpResponse:
    """The strips for both ends of the ropes asked for."""
    told = visit.request.GET
    ropes = [visit.rope(each) for each in dict.fromkeys(told.getlist("rope"))]
    if len(ropes) > _MOST_PRINTED:
        raise ValueError(_("Print the strips of at most {n} ropes at once.").format(n=_MOST_PRINTED))
    over: dict[str, float] = {}
    for rope in ropes:
        measured, wrong = read_mm(told.get(f"over-{rope.id}", "")[:20])
        if wrong:
            raise ValueError(wrong)
        if measured is not None:
            over[rope.id] = measured
    ends = [end_marks(rope, visit.rules, visit.today, owner=visit.store.name) for rope in ropes]
    paper = paper_of(visit, told.get("paper"))
    with visit.let_go():
        pdf = strips_pdf(ends, paper, diameters_mm=over)
    name = f"marks-{ropes[0].id}.pdf" if len(ropes) == 1 else "marks.pdf"
    return HttpResponse(
        pdf, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )


def _record(visit: Visit, asked: Asked) -> HttpResponse:
    """Both ends of the ticked ropes carry what the page says: all or none is recorded."""
    if asked.typed or asked.told:
        return _shown(visit, asked, _("Nothing is recorded yet: look first at what the ropes you added may say."))
    if not asked.ropes:
        return _shown(visit, asked, _("Tick the ropes whose ends carry their marks first."))
    found = _chosen(visit, asked)
    if without := [row for row in found if row.marking is None]:
        said = "; ".join(f"{row.rope.id}: {row.why}" for row in without)
        return _shown(visit, asked, _("Nothing is recorded. No mark can be made for {ropes}").format(ropes=said))
    shown = {row.rope.id: visit.request.POST.get(f"says-{row.rope.id}") for row in found}
    if untold := [rope for rope, says in shown.items() if says is None]:
        told = _("Nothing is recorded. The form does not say what these carry: {ropes}. Look at their ends.")
        return _shown(visit, asked, told.format(ropes=", ".join(untold)))
    if other := [row.rope.id for row in found if shown[row.rope.id] != row.says]:
        told = _("Nothing is recorded. What these may say has changed since you opened this page: {ropes}. Look again.")
        return _shown(visit, asked, told.format(ropes=", ".join(other)))
    events: list[Event] = [marked(visit, row.marking) for row in found if row.marking is not None]
    findings = visit.record(events)
    visit.tell(_("Both ends marked: {ropes}.").format(ropes=", ".join(row.rope.id for row in found)), findings)
    return redirect("marks", visit.store.slug)
