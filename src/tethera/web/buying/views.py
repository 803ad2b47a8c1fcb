"""The pages of buying: what is asked, the lists made so far, and one list with its reasons."""

from datetime import date
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _

from tethera import labels
from tethera.basics import show_metres
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit, page
from tethera.web.buying.forms import BuyingForm
from tethera.web.buying.made import BUY
from tethera.web.buying.models import BuyingList
from tethera.web.buying.years import price_of, years_of
from tethera.web.routes.known import routes
from tethera.web.work.doing import start
from tethera.web.work.models import Work

#: So many lists are named on the page; older ones stay at their address.
_MOST_LISTED = 20


@page(May.READ, post=May.KEEP)
def buying(visit: Visit) -> HttpResponse:
    """What to buy for, and the lists that were made."""
    if visit.request.method != "POST":
        return _form_page(visit, BuyingForm(visit=visit, initial=_usual(visit)))
    form = BuyingForm(visit.request.POST, visit=visit)
    if not form.is_valid():
        return _form_page(visit, form)
    # As the record calls them: of two whose accounts have the same name it tells one from the other.
    by = visit.name(visit.membership.person)[:120]
    paper = BuyingList.objects.create(store=visit.store, asked=_asked(visit, form), by=by)
    return _work_out(visit, paper)


def _work_out(visit: Visit, paper: BuyingList) -> HttpResponse:
    work = start(visit, BUY, _("What to buy"), list=paper.pk)
    BuyingList.objects.filter(pk=paper.pk).update(work=work.pk)
    return redirect("buying-list", visit.store.slug, paper.pk)


def _usual(visit: Visit) -> dict[str, Any]:
    """What the last list was asked for; else the kind of rope the store has most of."""
    last = BuyingList.objects.filter(store=visit.store).first()
    on = date(visit.today.year + 1, 1, 1)
    if last is not None:
        asked = last.asked
        return {
            **asked,
            "on": on,
            "reels": "\n".join(_reel_words(each) for each in asked["reels"]),
            "needs": ", ".join(f"{show_metres(cm)} m" for cm in asked["needs"]),
            "per_metre": _pounds(asked["per_metre"]),
            "ceiling": _pounds(asked["ceiling"]),
        }
    return {"on": on}


def _reel_words(reel: list[Any]) -> str:
    length_cm, price, count, name = reel
    return f"{f'{count} x ' if count else ''}{name or f'{show_metres(length_cm)} m'} £{_pounds(price)}"


def _pounds(pence: int | None) -> str:
    return "" if pence is None else f"{pence / 100:.2f}".removesuffix(".00")


def _asked(visit: Visit, form: BuyingForm) -> dict[str, Any]:
    """What was asked, as plain values."""
    told = form.cleaned_data
    reels = [[each.length_cm, each.price_pence, each.count, each.name] for each in told["reels"] or ()]
    return {
        "routes": told["routes"],
        "at_once": told["at_once"] or 1,
        "needs": list(told["needs"] or ()),
        "spare": told["spare"] or 0,
        "years": int(told["years"] or 1),
        "confidence": int(told["confidence"]),
        "fibre": told["fibre"],
        "diameter_mm": told["diameter_mm"],
        "rope_type": told["rope_type"],
        "habit": told["habit"],
        "reels": reels,
        "per_metre": told["per_metre"],
        "ceiling": told["ceiling"],
        "on": (told["on"] or visit.today).isoformat(),
        "today": visit.today.isoformat(),
    }


def _form_page(visit: Visit, form: BuyingForm) -> HttpResponse:
    lists = BuyingList.objects.filter(store=visit.store)[:_MOST_LISTED]
    names = {each.key: each.name for each in routes(visit.opened)}
    made = [(each, for_what(each, names), None if each.answer is None else price_of(each.answer)) for each in lists]
    context = {"form": form, "lists": made}
    return visit.page("buying/buying.html", context, 422 if form.is_bound else 200)


def for_what(paper: BuyingList, names: dict[str, str]) -> str:
    """What a list is for, in a few words."""
    asked = paper.asked
    if asked["needs"]:
        return ", ".join(f"{show_metres(cm)} m" for cm in asked["needs"])
    said = ", ".join(names.get(key, key) for key in asked["routes"])
    return said if asked["at_once"] < 2 else _("{routes}: any {n} at once").format(routes=said, n=asked["at_once"])


def _kind_words(asked: dict[str, Any]) -> str:
    told = (asked["fibre"], f"{asked['diameter_mm']:g} mm" if asked["diameter_mm"] else "")
    return ", ".join(each for each in (*told, f"type {asked['rope_type']}" if asked["rope_type"] else "") if each)


def list_of(visit: Visit, number: int) -> BuyingList:
    """A list of this store."""
    paper = BuyingList.objects.filter(pk=number, store=visit.store).first()
    if paper is None:
        raise Http404(_("There is no such list."))
    return paper


@page(May.READ, post=May.KEEP)
def buying_list(visit: Visit, number: int) -> HttpResponse:
    """One list: what to buy, why, how it is cut, what else it could cost; while it is made, how far it is."""
    paper = list_of(visit, number)
    work = Work.objects.filter(pk=paper.work or 0, store=visit.store).first()
    if visit.request.method == "POST":
        if "stop" in visit.request.POST:
            Work.objects.filter(pk=paper.work or 0, ended=None).update(stop_asked=True)
        elif "again" in visit.request.POST and (work is None or work.ended is not None):
            BuyingList.objects.filter(pk=paper.pk).update(answer=None)
            paper.asked["today"] = visit.today.isoformat()
            paper.save(update_fields=["asked"])
            return _work_out(visit, paper)
        return redirect("buying-list", visit.store.slug, number)
    working = work is not None and work.ended is None
    part = "buying/answer.html" if getattr(visit.request, "htmx", False) else "buying/list.html"
    names = {each.key: each.name for each in routes(visit.opened)}
    answer = paper.answer or {}
    context = {
        "paper": paper,
        "asked": paper.asked,
        "for_what": for_what(paper, names),
        "kind": _kind_words(paper.asked),
        "on": date.fromisoformat(paper.asked["on"]),
        "working": working,
        "work": work,
        "plan": answer,
        "years": years_of(answer),
        "reels": [_shown_reel(visit, paper, reel, place) for place, reel in enumerate(answer.get("reels", ()))],
    }
    return visit.page(part, context)


def _shown_reel(visit: Visit, paper: BuyingList, reel: dict[str, Any], place: int) -> dict[str, Any]:
    """A reel with its cuts as they lie along it, and the address that fills in New ropes."""
    at, cuts = 0, []
    for piece in reel["pieces"]:
        cuts.append({**piece, "from_cm": at, "to_cm": at + piece["cut_cm"]})
        at += piece["cut_cm"]
    asked = paper.asked
    told = {
        "length": f"{show_metres(reel['length_cm'])} m",
        "price": _pounds(reel["price_pence"]),
        "into": ", ".join(f"{show_metres(piece['cut_cm'])} m" for piece in reel["pieces"]),
        "diameter_mm": asked["diameter_mm"],
        "rope_type": asked["rope_type"],
        "material": asked["fibre"],
    }
    if asked["habit"] != "cut-then-soak":
        # The reel is written down whole; it is cut once it has been soaked and measured.
        told["into"] = ""
    later = {"wanted": ", ".join(f"{show_metres(p['needed_cm'] or p['counted_cm'])} m" for p in reel["pieces"])}
    later |= {"length": told["length"], "fibre": asked["fibre"], "habit": asked["habit"]}
    query = urlencode({name: value for name, value in told.items() if value})
    along: dict[str, Any] = {"length_cm": reel["room_cm"], "off_cut_cm": reel["off_cut_cm"]}
    along["spans"] = [(cut["from_cm"], cut["to_cm"]) for cut in cuts]
    drawings = {
        "drawing": labels.reel_svg(along, name=f"reel-{place}"),
        "narrow": labels.reel_svg(along, wide=340, name=f"reel-{place}-narrow"),
    }
    return {
        **reel,
        **drawings,
        "cuts": cuts,
        "new_ropes": f"{reverse('new-ropes', args=[visit.store.slug])}?{query}",
        "cutting": f"{reverse('cutting', args=[visit.store.slug])}?{urlencode(later)}",
    }
