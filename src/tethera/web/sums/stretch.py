"""How far a hanging rope stretches, and what that does to the length to take."""

from typing import Any

from django.http import HttpResponse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from tethera import labels
from tethera.basics import measured_cm, need_cm
from tethera.rope import STRETCH_CAUTIONS, Band, hang, reach, rebelay_loop_m
from tethera.web.accounts.visit import Visit, page
from tethera.web.sums.asked import Asked, answer
from tethera.web.sums.fields import Field, RopeOfSum, caver, rope_of_sum


@page()
def stretch(visit: Visit) -> HttpResponse:
    """Where the foot of a rope hangs, unloaded and loaded."""
    asked = Asked(visit.request.GET, visit.units)
    rope = rope_of_sum(visit, asked, mass=True)
    floor = asked.length_m("floor", _("From anchor to floor"), 0.5, 1000, 40)
    length = _length(asked, rope, floor)
    mass, weight = caver(asked, bag=False)
    slack = asked.length_m("slack", _("Slack wanted in the loop"), 0, 20, 0.8)
    wet = bool(asked.words("wet"))
    context: dict[str, Any] = {"heading": _("Stretch"), "cautions": STRETCH_CAUTIONS}
    context["fields"] = _fields(asked, rope, weight, wet)
    if not asked.wrong:
        context |= _worked_out(floor, length, rope, mass, slack, wet)
    return answer(visit, "sums/stretch.html", context, asked.wrong)


def _fields(asked: Asked, rope: RopeOfSum, weight: Field, wet: bool) -> tuple[Field, ...]:
    below = _("Washed, without its knots. Empty: the whole rope of the store, or as long as the floor is deep.")
    loop = _("Were there a rebelay at the floor: what should be left once nobody hangs above it.")
    return (
        Field("floor", _("From anchor to floor"), asked.words("floor", asked.typed_length(40))),
        Field("length", _("Rope below the anchor"), asked.words("length"), below),
        weight,
        *rope.fields,
        Field("wet", _("The rope is wet"), "on" if wet else "", tick=True),
        Field("slack", _("Slack wanted in a rebelay's loop"), asked.words("slack", asked.typed_length(0.8)), loop),
    )


def _length(asked: Asked, rope: RopeOfSum, floor: float) -> float:
    known = rope.state.length_cm / 100 if rope.state and rope.state.length_cm else floor
    if not asked.words("length"):
        return known
    return asked.length_m("length", _("Rope below the anchor"), 0.5, 1000, known)


def _worked_out(floor: float, length: float, rope: RopeOfSum, mass: float, slack: float, wet: bool) -> dict[str, Any]:
    found = reach(floor, rope.kg_per_m, mass, rope.elongation, wet=wet)
    hung = hang(length, rope.kg_per_m, mass, rope.elongation, wet=wet)
    loop = rebelay_loop_m(min(floor, 500.0), rope.kg_per_m, mass, slack, rope.elongation, wet=wet)
    facts = {"floor_m": floor, "unloaded": _three(hung.unloaded_foot_m), "loaded": _three(hung.loaded_foot_m)}
    short = floor - float(hung.unloaded_foot_m.low)
    return {
        "length_cm": measured_cm(length),
        "floor_m": floor,
        "take_cm": need_cm(float(found.take_m)),
        "touches_cm": measured_cm(float(found.touches_loaded_m)),
        "short_m": short if short > 0.005 else None,
        "springs": float(hung.loaded_foot_m.high) >= floor,
        "drawing": mark_safe(labels.stretch_svg(facts)),
        "drawing_narrow": mark_safe(labels.stretch_svg(facts, wide=340, name="stretch-narrow")),
        "rows": (
            (_("Foot with nobody on the rope"), _three(hung.unloaded_foot_m), True),
            (_("Foot with the caver at it"), _three(hung.loaded_foot_m), True),
            (_("The caver stretches it by, and it springs up by"), _three(hung.recoil_m), False),
            (_("To leave in the loop of a rebelay at the floor, while hanging above"), _three(loop), False),
        ),
        "assumptions": (*rope.known, *rope.told, *hung.assumptions),
    }


def _three(band: Band) -> tuple[float, float, float]:
    return float(band.low), float(band.likely), float(band.high)
