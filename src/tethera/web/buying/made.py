"""From what was asked to a list to buy: as long work, so that the page can show how far it is, and Stop."""

import dataclasses
import json
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.store import KindOfRope
from tethera.web.buying.models import BuyingList
from tethera.web.routes.known import knots, routes
from tethera.web.store.opened import held
from tethera.web.work.doing import Progress, Stopped, does
from tethera.web.work.models import Work
from tethera.web.work.watch import Watch

if TYPE_CHECKING:
    from tethera.planning import BuyPlan, BuyQuestion, BuyYear
    from tethera.rigging import Route

BUY = "buying-list"
LIMIT_SECONDS = 90.0


def kind_asked(asked: Mapping[str, Any]) -> KindOfRope:
    """The kind of rope that is to be bought."""
    return KindOfRope(asked["fibre"], asked["diameter_mm"] or 0.0, asked["rope_type"].casefold())


def spent_so_far(best: float) -> str:
    """The price of the best list so far [£], in words that follow what is being done."""
    return _(", £{pounds} so far").format(pounds=f"{best:.0f}")


@does(BUY)
def make_the_list(work: Work, progress: Progress) -> None:
    """Work a list out; on Stop the best so far is kept."""
    from tethera.planning import NewRope, Offers, Reel, what_to_buy, years_ahead  # they bring numpy

    paper = BuyingList.objects.get(pk=work.asked["list"], store=work.store_id)
    work.leads_to = reverse("buying-list", args=[work.store.slug, paper.pk])
    asked = paper.asked
    with held(work.store_id) as opened:
        known = {each.key: each.route for each in routes(opened) if each.route is not None}
        gone = [key for key in asked["routes"] if key not in known]
        ropes = opened.register.ropes(date.fromisoformat(asked["today"]))
        rules = opened.register.store_rules()
        shrinks = opened.register.shrinkages().prediction(kind_asked(asked))
        lengths = knots()
    if gone:
        raise ValueError(_("The route “{key}” cannot be read or is put away.").format(key=gone[0]))
    question = _question(asked, known)
    offers = Offers(tuple(Reel(*each) for each in asked["reels"]), asked["per_metre"])
    new = NewRope(shrinks, asked["diameter_mm"], asked["rope_type"] or None)
    watch = Watch(progress, LIMIT_SECONDS, spent_so_far)
    on = date.fromisoformat(asked["on"])
    limit = rules.age_limit_years
    if asked["years"] == 1:
        plan = what_to_buy(
            question, offers, new, ropes, until=on, age_limit_years=limit, knots=lengths,
            seconds=watch.seconds, progress=watch.tell,
        )  # fmt: skip
        plans, answer = [plan], plain(plan)
    else:
        years = years_ahead(
            question, offers, new, ropes, first_year=on.year, years=asked["years"], age_limit_years=limit,
            knots=lengths, seconds=watch.seconds, progress=watch.tell,
        )  # fmt: skip
        plans = [each.plan for each in years]
        answer = {"years": [_plain_year(each) for each in years]}
    if watch.stopped and not any(each.found for each in plans):
        raise Stopped
    BuyingList.objects.filter(pk=paper.pk).update(answer=answer)


def _question(asked: Mapping[str, Any], known: "Mapping[str, Route | None]") -> "BuyQuestion":
    from tethera.planning import BuyQuestion

    return BuyQuestion(
        tuple(route for key in asked["routes"] if (route := known[key]) is not None),
        at_once=min(asked["at_once"], max(len(asked["routes"]), 1)),
        lengths_cm=tuple(asked["needs"]),
        spare=asked["spare"],
        confidence=asked["confidence"] / 100,
        habit=asked["habit"],
        ceiling_pence=asked["ceiling"],
        compare=tuple(each / 100 for each in (80, 90, 95, 99) if each != asked["confidence"]),
    )


def _plain_year(year: "BuyYear") -> dict[str, Any]:
    leaving = [[each.rope, each.length_cm, each.last_day.isoformat()] for each in year.leaving]
    return {"year": year.year, "leaving": leaving, "leaving_cm": year.leaving_cm, "plan": plain(year.plan)}


def plain(plan: "BuyPlan") -> dict[str, Any]:
    """A plan as plain values, days as 2027-03-01; with what follows from it for the page."""
    told: dict[str, Any] = json.loads(json.dumps(dataclasses.asdict(plan), default=str))
    return told | {"found": plan.found, "net_pence": plan.net_pence, "gap": plan.gap}
