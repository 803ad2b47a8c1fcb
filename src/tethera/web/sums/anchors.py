"""What an anchor is asked to hold: a Y-hang, deviations, a traverse line."""

from collections.abc import Callable
from typing import Any

from django.http import HttpResponse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from tethera import labels
from tethera.rigging import AnchorAnswer, Holding, ask_deviations, ask_traverse, ask_y
from tethera.web.accounts.visit import Visit, page
from tethera.web.sums.asked import Asked, answer
from tethera.web.sums.fields import Field, caver, rope_of_sum, told_by_label

_KINDS = ("y", "deviation", "traverse")


@page()
def anchors(visit: Visit) -> HttpResponse:
    """An anchor, asked whole."""
    asked = Asked(visit.request.GET, visit.units)
    kind = asked.choice("what", _KINDS, "y")
    fields: list[Field] = []
    ask = _QUESTIONS[kind](asked, fields)
    mass, weight = caver(asked, bag=True)
    rating = asked.maybe("rating", _("What an anchor is rated"), 0.5, 100, "kN")
    cord = asked.maybe("cord", _("Cord of the sling"), 4, 8, "mm") if kind == "deviation" else None
    rope = rope_of_sum(visit, asked, force=True)
    wet, used = (bool(asked.words(name)) for name in ("wet", "used"))
    hint = _("kN, as its maker or whoever tested it declares. Empty: nobody declared any, and none is guessed.")
    fields += [
        weight,
        Field("rating", _("What an anchor is rated, kN"), asked.words("rating"), hint),
        *([Field("cord", _("Cord of the sling, mm"), asked.words("cord"))] if kind == "deviation" else []),
        *rope.fields,
        Field("wet", _("The rope is wet"), "on" if wet else "", tick=True),
        Field("used", _("The rope has been used"), "on" if used else "", tick=True),
    ]
    context: dict[str, Any] = {
        "heading": _("Anchors"),
        "what": kind,
        "kinds": [("y", _("Y-hang")), ("deviation", _("Deviations")), ("traverse", _("Traverse line"))],
        "fields": fields,
    }
    if asked.wrong:
        return answer(visit, "sums/anchors.html", context, asked.wrong)
    declared = rope.rope_type if asked.words("type") or (rope.state and rope.state.rope_type) else None
    held = Holding(
        rating_kn=rating, rope_type=declared, wet=wet, used_years=None if used else 0.0, elongation=rope.elongation,
        impact_force_kn=rope.impact_force_kn, cord_mm=cord,
    )  # fmt: skip
    try:
        with visit.let_go():
            found = ask(mass, held)
    except ValueError as error:
        named = {f"{each.name}_m": f"“{each.label}”" for each in fields}
        return answer(visit, "sums/anchors.html", context, [told_by_label(error, named)])
    return answer(visit, "sums/anchors.html", context | _told(found, rope.known), [])


def _told(found: AnchorAnswer, of_rope: tuple[str, ...]) -> dict[str, Any]:
    told = found.to_mapping()
    return {
        "told": told,
        "assumptions": (*of_rope, *found.assumptions),
        "cautions": found.cautions,
        "findings": found.findings,
        "drawing": mark_safe(labels.anchor_svg(told)),
        "narrow": mark_safe(labels.anchor_svg(told, wide=340, name="anchor-narrow")),
    }


Ask = Callable[[float, Holding], AnchorAnswer]


def _length(asked: Asked, fields: list[Field], name: str, label: str, span: tuple[float, float], usual: float) -> float:
    fields.append(Field(name, label, asked.words(name, asked.typed_length(usual))))
    return asked.length_m(name, label, *span, usual)


def _height(asked: Asked, fields: list[Field], name: str, label: str, most: float) -> float:
    fields.append(Field(name, label, asked.words(name, "0")))
    return asked.number(name, label, -most, most, "m", 0)


def _y(asked: Asked, fields: list[Field]) -> Ask:
    """Two anchors, or three where the third has a leg."""
    apart = _length(asked, fields, "apart", _("Between the two anchors, across"), (0.05, 10), 1.0)
    higher = _height(asked, fields, "higher", _("The right one higher by, metres"), 5)
    legs = [
        _length(asked, fields, "leg1", _("Left leg, anchor to knot"), (0.05, 20), 0.8),
        _length(asked, fields, "leg2", _("Right leg, anchor to knot"), (0.05, 20), 0.8),
    ]
    places = [[0.0, 0.0, 0.0], [apart, 0.0, higher]]
    third = asked.words("leg3")
    hint = _("Empty: there is none.")
    fields.append(Field("leg3", _("Third leg, anchor to knot"), third, hint))
    if third:
        legs.append(asked.length_m("leg3", _("Third leg"), 0.05, 20, 0.8))
        across = asked.number("across3", _("Third anchor across"), -10, 10, "m", apart / 2)
        out = asked.number("out3", _("Third anchor out from the wall"), -10, 10, "m", 0.5)
        up = asked.number("up3", _("Third anchor up"), -5, 5, "m", 0)
        places.append([across, out, up])
    fields += [
        Field("across3", _("Third anchor: right of the left one, metres"), asked.words("across3", f"{apart / 2:g}")),
        Field("out3", _("Third anchor: out from the wall, metres"), asked.words("out3", "0.5")),
        Field("up3", _("Third anchor: above the left one, metres"), asked.words("up3", "0")),
    ]
    aside = asked.number("aside", _("Pull to the right"), -80, 80, "°", 0)
    fields.append(Field("aside", _("Pull to the right of straight down, degrees"), asked.words("aside", "0")))
    return lambda mass, held: ask_y(places, legs, mass, held, aside_deg=aside)


def _deviation(asked: Asked, fields: list[Field]) -> Ask:
    """One deviation, and a second one where it has a sling."""
    aside = _length(asked, fields, "aside1", _("Its anchor aside of the one above"), (0.0, 20), 1.0)
    down = _length(asked, fields, "down1", _("Below the anchor above"), (0.3, 200), 5.0)
    sling = _length(asked, fields, "sling1", _("Its sling"), (0.05, 10), 0.3)
    rows = [(aside, down, sling)]
    second = asked.words("sling2")
    fields.append(Field("sling2", _("Sling of a second one"), second, _("Empty: there is none.")))
    fields += [
        Field("aside2", _("Second anchor aside, metres"), asked.words("aside2", "0.5")),
        Field("down2", _("Second anchor below the one above, metres"), asked.words("down2", "10")),
    ]
    if second:
        sling2 = asked.length_m("sling2", _("Sling of the second"), 0.05, 10, 0.3)
        aside2 = asked.number("aside2", _("Second anchor aside"), -20, 20, "m", 0.5)
        down2 = asked.number("down2", _("Second anchor below"), 0.3, 200, "m", 10)
        rows.append((aside2, down2, sling2))
    return lambda mass, held: ask_deviations(rows, mass, held)


def _traverse(asked: Asked, fields: list[Field]) -> Ask:
    span = _length(asked, fields, "span", _("Between its anchors, level"), (0.5, 50), 3.0)
    slack = _length(asked, fields, "slack", _("Rope beyond the straight line"), (0.0, 25), 0.15)
    drop = _height(asked, fields, "drop", _("Far end lower by, metres"), 20)
    above = _height(asked, fields, "above", _("Harness above the line when falling, metres"), 2)
    return lambda mass, held: ask_traverse(span, slack, mass, held, drop_m=drop, above_m=above)


_QUESTIONS: dict[str, Callable[[Asked, list[Field]], Ask]] = {"y": _y, "deviation": _deviation, "traverse": _traverse}
