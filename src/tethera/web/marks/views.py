"""Marks: which ropes need them, the strips as a PDF, and that both ends carry them."""

from collections.abc import Sequence
from urllib.parse import urlencode

from django.http import HttpResponse
from django.http.request import QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.basics import PartialDate
from tethera.labels import tubes_to_cut
from tethera.rope import tube_cautions
from tethera.store import Marked, RopeState
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.marks.rows import PAPER_WORDS, Row, in_hand, marked_words, needs_marks, paper_of, read_mm, rows
from tethera.web.paper.numbers import read_numbers

_MOST = 200


@page(May.READ, post=May.PREPARE)
def marks(visit: Visit) -> HttpResponse:
    """The ropes that need marks and those asked for; a press records that both ends carry theirs."""
    if visit.request.method == "POST" and "record" in visit.request.POST:
        return _record(visit)
    told = visit.request.POST if visit.request.method == "POST" else visit.request.GET
    return _shown(visit, told, wrong="")


def _shown(visit: Visit, told: QueryDict, wrong: str) -> HttpResponse:
    numbers = read_numbers(visit.register, " ".join([*told.getlist("rope"), told.get("more", "")])[:20_000])
    ticked = list(numbers.ropes)[:_MOST]
    waiting = in_hand(visit)
    asked = [visit.rope(each) for each in ticked if each not in {rope.id for rope in waiting}]
    # What was asked for is ticked; where nothing was, all that waits.
    picked = set(ticked) if ticked or "paper" in told else {rope.id for rope in waiting}
    paper = paper_of(visit, told.get("paper"))
    over = {name.removeprefix("over-"): str(told.get(name, ""))[:20] for name in told if name.startswith("over-")}
    all_rows = rows(visit, [*asked, *waiting], paper, over)
    chosen = [row for row in all_rows if row.rope.id in picked and row.marking is not None]
    return visit.page(
        "marks/marks.html",
        {
            "rows": all_rows,
            "picked": picked,
            "chosen": chosen,
            "paper": paper,
            "papers": PAPER_WORDS.items(),
            "unknown": numbers.told,
            "more": " ".join(numbers.unknown),
            "wrong": wrong,
            "tubes": tubes_to_cut([row.marking for row in chosen if row.marking is not None]),
            "cautions": tube_cautions(),
            "print_url": _print_url(visit, chosen, paper),
            "hand_url": _hand_url(visit, chosen),
            "later": [rope for rope in visit.ropes if needs_marks(rope) and rope not in waiting],
        },
        422 if wrong else 200,
    )


def _print_url(visit: Visit, chosen: Sequence[Row], paper: str) -> str:
    ropes = [row.rope.id for row in chosen if row.can_be_printed]
    if not ropes:
        return ""
    over = {f"over-{row.rope.id}": row.over_typed for row in chosen if row.over_typed and not row.over_wrong}
    query = urlencode({"rope": ropes, "paper": paper, **over}, doseq=True)
    return f"{reverse('marks-pdf', args=[visit.store.slug])}?{query}"


def _hand_url(visit: Visit, chosen: Sequence[Row]) -> str:
    if not chosen:
        return ""
    first, *others = [row.rope.id for row in chosen]
    then = f"?{urlencode({'then': ' '.join(others)})}" if others else ""
    return reverse("mark-rope", args=[visit.store.slug, first]) + then


@page(May.READ)
def strips(visit: Visit) -> HttpResponse:
    """The strips for both ends of the ropes asked for."""
    from tethera import labels

    told = visit.request.GET
    ropes = [visit.rope(each) for each in list(dict.fromkeys(told.getlist("rope")))[:_MOST]]
    paper = paper_of(visit, told.get("paper"))
    over: dict[str, float] = {}
    for rope in ropes:
        measured, wrong = read_mm(told.get(f"over-{rope.id}", "")[:20])
        if wrong:
            raise ValueError(wrong)
        if measured is not None:
            over[rope.id] = measured
    ends = [labels.end_marks(rope, visit.rules, visit.today, owner=visit.store.name) for rope in ropes]
    pdf = labels.strips_pdf(ends, paper, diameters_mm=over)
    name = f"marks-{ropes[0].id}.pdf" if len(ropes) == 1 else "marks.pdf"
    return HttpResponse(
        pdf, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )


def _record(visit: Visit) -> HttpResponse:
    """Both ends of the ticked ropes carry what the page says: all or none is recorded."""
    told = visit.request.POST
    numbers = read_numbers(visit.register, " ".join(told.getlist("rope"))[:20_000])
    ropes: list[RopeState] = [visit.rope(each) for each in numbers.ropes[:_MOST]]
    if not ropes:
        return _shown(visit, told, _("Tick the ropes whose ends carry their marks first."))
    found = rows(visit, ropes, paper_of(visit, told.get("paper")), {})
    without = [row for row in found if row.marking is None]
    if without:
        said = "; ".join(f"{row.rope.id}: {row.why}" for row in without)
        return _shown(visit, told, _("Nothing is recorded. No mark can be made for {ropes}").format(ropes=said))
    today = PartialDate.of(visit.today)
    events = [
        Marked(rope=row.rope.id, happened=today, length_m=row.marking.ends[0].length_m, words=marked_words(row.marking))
        for row in found
        if row.marking is not None
    ]
    findings = visit.record(events)
    visit.tell(_("Both ends marked: {ropes}.").format(ropes=", ".join(row.rope.id for row in found)), findings)
    return redirect("marks", visit.store.slug)
