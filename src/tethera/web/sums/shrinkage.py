"""What new rope loses in its washes, as the store has measured it, and how long to buy."""

import math
from typing import Any

from django.http import HttpResponse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from tethera import labels
from tethera.basics import measured_cm, need_cm
from tethera.rope import (
    SHRINKAGE_CAUTIONS,
    Shrinkage,
    foresee,
    length_left_m,
    length_to_buy_m,
    share_left_together,
    shrinkage_rests_on,
)
from tethera.store import KindOfRope, KindTold, Known
from tethera.web.accounts.visit import Visit, page
from tethera.web.sums.asked import Asked, answer
from tethera.web.sums.fields import Field

_CONFIDENCES = ("80", "90", "95", "99")
#: Shares lost that the chart shows, and in how many steps.
_FROM, _TO, _STEPS = -0.02, 0.25, 109


@page()
def shrinkage(visit: Visit) -> HttpResponse:
    """How long to buy so that so much is left; and what a reel gives."""
    asked = Asked(visit.request.GET, visit.units)
    known = visit.register.shrinkages()
    kinds = known.all_told()
    told = _chosen(asked, known, kinds)
    left = asked.length_m("left", _("Length that is to be left"), 0.5, 1000, 40)
    ropes = round(asked.number("ropes", _("How many"), 1, 100, "", 1))
    sure = int(asked.choice("confidence", _CONFIDENCES, "95"))
    life = bool(asked.words("life"))
    reel = asked.length_m("reel", _("A reel of"), 1, 2000, 100)
    fibres = [("nylon", _("any other nylon")), ("polyester", _("any other polyester"))]
    named = [(str(number), each.name) for number, each in enumerate(kinds)]
    fields = [
        Field("kind", _("Kind of rope"), asked.words("kind"), options=[*named, *fibres]),
        Field("left", _("Length that is to be left"), asked.words("left", asked.typed_length(40))),
        Field("ropes", _("How many of them"), asked.words("ropes", "1")),
        Field("confidence", _("How sure, for all together"), str(sure), options=[(c, f"{c} %") for c in _CONFIDENCES]),
        Field("life", _("Left at the end of its life, not after the first washes"), "on" if life else "", tick=True),
        Field("reel", _("What does a reel give of"), asked.words("reel", asked.typed_length(100))),
    ]
    context: dict[str, Any] = {
        "heading": _("Shrinkage"),
        "fields": fields,
        "kind": told,
        "cautions": (*SHRINKAGE_CAUTIONS, _("An estimate. The length that counts is the one measured after the wash.")),
    }
    if not asked.wrong:
        with visit.let_go():
            context |= _worked_out(told, left, ropes, sure / 100, math.inf if life else 0.0)
            band = length_left_m(reel, told.prediction)
        context |= {"reel_cm": measured_cm(reel), "gives": [measured_cm(float(e)) for e in (band.low, band.likely)]}
        context |= {"life": life, "left_cm": need_cm(left), "ropes": ropes, "sure": sure, "left_out": known.left_out}
    return answer(visit, "sums/shrinkage.html", context, asked.wrong)


def _chosen(asked: Asked, known: Known, kinds: tuple[KindTold, ...]) -> KindTold:
    typed = asked.words("kind", "0" if kinds else "nylon")
    if typed.isdecimal() and int(typed) < len(kinds):
        return kinds[int(typed)]
    return known.told(KindOfRope("polyester" if typed == "polyester" else "nylon"))


def _worked_out(told: KindTold, left: float, ropes: int, sure: float, uses: float) -> dict[str, Any]:
    def to_buy(level: float) -> int:
        return need_cm(float(length_to_buy_m(left, level, told.prediction, ropes=ropes, uses=uses)))

    buy_cm = to_buy(sure)
    found: dict[str, Any] = {
        "buy_cm": buy_cm,
        "others": [(int(each), to_buy(int(each) / 100)) for each in _CONFIDENCES],
        "prior": _loss(told.prior),
        "prediction": _loss(told.prediction),
        "measured": [(each, 1 - each.share_left) for each in told.measured],
        "assumptions": shrinkage_rests_on(
            told.kind.material, told.prediction, kinds=told.kinds, ropes=ropes, uses=uses
        ),
    }
    if not uses and ropes == 1:
        foreseen = foresee(left, sure, told.prediction)
        rows = [(loss, need_cm(then)) for loss, then in zip(foreseen.losses, foreseen.then_m, strict=True)]
        found["foreseen"] = {"rows": rows, "chance": foreseen.chance_less}
    facts = _facts(told, share_left_together(told.prediction, sure, ropes, 0.0))
    found["drawing"] = mark_safe(labels.shrinkage_svg(facts))
    found["narrow"] = mark_safe(labels.shrinkage_svg(facts, wide=340, name="shrinkage-narrow"))
    return found


def _loss(told: Shrinkage) -> tuple[float, float, float]:
    """Least, likely and most that nine of ten ropes lose."""
    most, likely, least = (1 - float(each) for each in told.quantile([0.05, 0.5, 0.95]))
    return least, likely, most


def _facts(told: KindTold, counted_on: float) -> dict[str, Any]:
    losses = [_FROM + step * (_TO - _FROM) / (_STEPS - 1) for step in range(_STEPS)]
    shares = [1 - loss for loss in losses]
    return {
        "losses": losses,
        "prior": [float(each) for each in told.prior.density(shares)],
        "prediction": [float(each) for each in told.prediction.density(shares)],
        "band": _loss(told.prediction),
        "count_on": 1 - counted_on,
        "measured": [1 - each.share_left for each in told.measured],
    }
