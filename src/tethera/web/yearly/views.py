"""The whole store on a page, its record on paper, and the calendar of what is due."""

from collections import Counter

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from tethera import labels
from tethera.store import age_years, by_age, by_kind, by_length, kind, last_prices, leaving
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.paper.shown import age_words
from tethera.web.store.models import Store
from tethera.web.store.opened import held
from tethera.web.work.doing import start
from tethera.web.yearly import feed, outlook, records

YEARS_AHEAD = 3


@page()
def year(visit: Visit) -> HttpResponse:
    """Ages, lengths, wear, what leaves service in three years, and what that costs."""
    ropes = [rope for rope in visit.ropes if rope.state != "retired"]
    years = leaving(ropes, visit.rules.age_limit_years, visit.today, YEARS_AHEAD)
    happened = tuple(visit.register.as_it_stands())
    prices = last_prices(happened)
    this_year = Counter(kind(each) for each in happened if each.happened.year == visit.today.year)
    bars = outlook.bars(years, visit.today)
    return visit.page(
        "yearly/year.html",
        {
            "in_store": ropes,
            "total_cm": sum(rope.length_cm or 0 for rope in ropes),
            "kinds": by_kind(ropes, visit.today),
            "lengths": by_length(ropes),
            "ages": [(age_words(years), each) for years, each in by_age(ropes, visit.today)],
            "unaged": [rope for rope in ropes if age_years(rope, visit.today) is None],
            "leaving": outlook.costed(years, prices),
            "years_drawing": labels.years_svg(bars),
            "years_narrow": labels.years_svg(bars, wide=340, name="years-narrow"),
            "has_limits": any(each.ropes for each in years) or visit.rules.age_limit_years is not None,
            "has_prices": bool(prices),
            "worn": sorted((rope for rope in ropes if rope.wear), key=lambda rope: -rope.wear)[:10],
            "this_year": [(word, this_year[code]) for code, word in outlook.COUNTED if this_year[code]],
        },
    )


@page()
def rope_record(visit: Visit, number: str) -> HttpResponse:
    """The EN 365 record of one rope as a PDF."""
    rope = visit.rope(number)
    found = records.record(visit.opened, visit.store, rope, visit.today, visit.name)
    foot = records.proof(visit.opened)
    with visit.let_go():
        pdf = labels.record_pdf([found], visit.store.name, visit.today, foot)
    return _pdf(pdf, f"record-{rope.id}.pdf")


@page(May.READ, post=May.READ)
def store_record(visit: Visit) -> HttpResponse:
    """The records of the whole store, or of the ropes picked: at once when few, else as long work."""
    wanted = visit.request.POST.getlist("rope") or visit.request.GET.getlist("rope")
    ropes = [visit.rope(number).id for number in wanted] or [rope.id for rope in visit.ropes]
    if not ropes:
        raise Http404(_("There are no ropes yet, so there is no record of them."))
    if len(ropes) <= records.AT_ONCE:
        found = [records.record(visit.opened, visit.store, visit.rope(r), visit.today, visit.name) for r in ropes]
        foot = records.proof(visit.opened)
        with visit.let_go():
            pdf = labels.record_pdf(found, visit.store.name, visit.today, foot)
        return _pdf(pdf, f"record-{visit.store.slug}.pdf")
    if visit.request.method != "POST":
        return redirect("year", visit.store.slug)
    work = start(visit, records.STORE_RECORD, _("The record of the store on paper"), ropes=ropes)
    return redirect("work", visit.store.slug, work.pk)


def _pdf(data: bytes, name: str) -> HttpResponse:
    return HttpResponse(
        data, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )


@require_safe
def calendar(request: HttpRequest, key: str) -> HttpResponse:
    """What is due, for whoever has the secret address: no sign-in, and nobody's name."""
    store = Store.objects.filter(calendar_key=key).first()
    if store is None:
        raise Http404("There is no calendar at this address. The tackle keeper may have renewed it.")
    with held(store.pk) as opened:
        today = timezone.localdate()
        dues = feed.due(opened.ropes(today), opened.register.store_rules().age_limit_years, today)
    host = request.get_host().split(":")[0]
    data = feed.calendar(store.name, store.slug, host, dues, timezone.now())
    answer = HttpResponse(data, content_type="text/calendar; charset=utf-8")
    answer["Cache-Control"] = "private, max-age=3600"
    answer["Content-Disposition"] = f'inline; filename="{store.slug}.ics"'
    return answer
