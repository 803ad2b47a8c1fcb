"""How to cut a reel or a rope: cuts in order, what to letter on each, and anew once a piece is measured."""

from typing import Any
from urllib.parse import urlencode

from django.http import HttpResponse
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from tethera import labels
from tethera.basics import measured_cm, read_length, show_metres
from tethera.planning import CutDone, CutPlan, CutQuestion, ReelAtHand, how_to_cut
from tethera.store import KindOfRope, RopeState
from tethera.web.accounts.visit import Visit, page
from tethera.web.buying.forms import CONFIDENCES, FIBRES, HABITS
from tethera.web.reels.pieces import read_pieces
from tethera.web.sums.asked import Asked, answer
from tethera.web.sums.fields import Field

_REEL = "the reel"
_MOST_DONE, _MOST_WANTED, _LONGEST = 40, 60, 400


@page()
def cutting(visit: Visit) -> HttpResponse:
    """The cuts of one reel, worked out as one types."""
    asked = Asked(visit.request.GET, visit.units)
    ropes = {rope.id: rope for rope in visit.ropes if rope.in_the_store and rope.length_cm}
    rope = ropes.get(asked.words("rope"))
    context: dict[str, Any] = {"heading": _("How to cut it"), "rope": rope}
    fibre = asked.choice("fibre", tuple(value for value, _words in FIBRES), "nylon")
    wanted = _pieces(asked, "wanted", _("Lengths wanted"), _MOST_WANTED)
    habit = asked.choice("habit", tuple(value for value, _words in HABITS), "cut-then-soak")
    soaked = bool(asked.words("soaked")) or (rope is not None and rope.washed and rope.known_by == "measured")
    confidence = asked.choice("confidence", CONFIDENCES, "95")
    damaged = _places(asked)
    length_cm = (rope and rope.length_cm) or measured_cm(
        asked.length_m("length", _("Length of the reel"), 1, 5000, 200)
    )
    name = rope.id if rope else _REEL
    done = _done(asked, name)
    context["fields"] = _fields(asked, ropes, rope, (habit, fibre, confidence, soaked))
    if asked.wrong or not wanted:
        return answer(visit, "buying/cutting.html", context, asked.wrong)
    kind = KindOfRope.of(rope) if rope else KindOfRope(fibre)
    shrinks = visit.register.shrinkages().prediction(kind)
    try:
        with visit.let_go():
            reel = ReelAtHand(name, length_cm, damaged, soaked)
            habit_then = "soak-then-cut" if habit == "soak-then-cut" else "cut-then-soak"
            question = CutQuestion((reel,), wanted, habit_then, int(confidence) / 100, done=done)  # type: ignore[arg-type]
            plan = how_to_cut(question, shrinks)
    except ValueError as error:
        return answer(visit, "buying/cutting.html", context, [str(error)])
    return answer(visit, "buying/cutting.html", context | _told(visit, plan, reel, rope, fibre), [])


def _pieces(asked: Asked, name: str, label: str, most: int) -> tuple[int, ...]:
    typed = asked.words(name, most=_LONGEST)
    try:
        found = read_pieces(typed, "ft" if asked.units == "ft" else "m") if typed else ()
    except ValueError as error:
        asked.wrong.append(f"{label}: {error}")
        return ()
    if len(found) > most:
        asked.wrong.append(_("{label}: at most {most} at once.").format(label=label, most=most))
        return ()
    return found


def _places(asked: Asked) -> tuple[int, ...]:
    """Damaged places along it, from its outer end."""
    return _pieces(asked, "damaged", _("Damaged at"), _MOST_DONE)


def _done(asked: Asked, reel: str) -> tuple[CutDone, ...]:
    """Pieces cut already, in order: 46 = 41.1, or 46 where it is not measured yet."""
    done: list[CutDone] = []
    parts = [part.strip() for part in asked.words("done", most=_LONGEST).replace(";", ",").split(", ") if part.strip()]
    for part in parts[:_MOST_DONE]:
        lengths = [read_length(each, unit="ft" if asked.units == "ft" else "m") for each in part.split("=")]
        if len(lengths) > 2 or any(each.length_cm is None for each in lengths):
            told = _("Cut already: “{part}” cannot be read. Write 46 = 41.1, or 46 where it is not measured yet.")
            asked.wrong.append(told.format(part=part[:40]))
            return ()
        cut_cm, left_cm = lengths[0].length_cm or 0, lengths[1].length_cm if len(lengths) > 1 else None
        done.append(CutDone(reel, (done[-1].until_cm if done else 0) + cut_cm, cut_cm, left_cm))
    return tuple(done)


def _fields(
    asked: Asked, ropes: dict[str, RopeState], rope: RopeState | None, chosen: tuple[str, str, str, bool]
) -> list[Field]:
    habit, fibre, confidence, soaked = chosen
    fields = [
        Field(
            "wanted",
            _("Lengths wanted"),
            asked.words("wanted", most=_LONGEST),
            _("After the wash: 40, 40, 55 or 3 x 50."),
            long=True,
        ),
        Field("rope", _("What is cut"), rope.id if rope else "", options=[("", _("a new reel")), *_named(ropes)]),
    ]
    if rope is None:
        fields.append(Field("length", _("Length of the reel"), asked.words("length", asked.typed_length(200))))
        fields.append(Field("fibre", _("Fibre"), fibre, options=[(value, str(words)) for value, words in FIBRES]))
    fields.append(Field("habit", _("How"), habit, options=[(value, str(words)) for value, words in HABITS]))
    if rope is None or not (rope.washed and rope.known_by == "measured"):
        fields.append(Field("soaked", _("It is soaked and measured already"), "on" if soaked else "", tick=True))
    hint = _("Metres from its outer end: 12.4, 80. They are cut around.")
    fields.append(Field("damaged", _("Damaged at"), asked.words("damaged", most=_LONGEST), hint, long=True))
    hint = _("In order, and what each has since it was washed: 46 = 41.1, 46. The rest is planned anew.")
    fields.append(Field("done", _("Cut already"), asked.words("done", most=_LONGEST), hint, long=True))
    options = [(each, f"{each} %") for each in CONFIDENCES]
    fields.append(Field("confidence", _("How sure, for all together"), confidence, options=options))
    return fields


def _named(ropes: dict[str, RopeState]) -> list[tuple[str, str]]:
    return [(each.id, f"{each.id} ({show_metres(each.length_cm or 0)} m)") for each in ropes.values()]


def _told(visit: Visit, plan: CutPlan, reel: ReelAtHand, rope: RopeState | None, fibre: str) -> dict[str, Any]:
    spans = [(each.from_cm, each.until_cm) for each in plan.steps]
    waste = [(each.from_cm, each.until_cm) for each in plan.rests if each.why and each.why == "damaged"]
    facts = {"length_cm": max([reel.length_cm, *(end for _start, end in spans)]), "spans": spans, "gone": waste}
    return {
        "plan": plan,
        "reel": reel,
        "drawing": mark_safe(labels.reel_svg(facts)),
        "narrow": mark_safe(labels.reel_svg(facts, wide=340, name="reel-narrow")),
        "record": _record(visit, plan, reel, rope, fibre),
    }


def _record(visit: Visit, plan: CutPlan, reel: ReelAtHand, rope: RopeState | None, fibre: str) -> str:
    """Where the cut is recorded with its lengths filled in; empty where there is nothing to record yet."""
    pieces = [f"{show_metres(cm)} m" for cm in plan.pieces_cm(reel.name)]
    if not plan.found or not plan.steps or (plan.habit == "soak-then-cut" and not reel.soaked):
        return ""
    if rope is None:
        told = {"length": f"{show_metres(reel.length_cm)} m", "into": ", ".join(pieces), "material": fibre}
        return f"{reverse('new-ropes', args=[visit.store.slug])}?{urlencode(told)}"
    told = {"piece_1": pieces[0], "piece_2": "".join(pieces[1:2]), "more": "\n".join(pieces[2:])}
    address = reverse("rope-do", args=[visit.store.slug, rope.id, "cut"])
    return f"{address}?{urlencode({name: value for name, value in told.items() if value})}"
