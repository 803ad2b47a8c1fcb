"""The force that stops a fall: a backup, a rebelay, a cow's tail, a traverse."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from django.http import HttpResponse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from tethera import labels
from tethera.rope import (
    FALL_CAUTIONS,
    FallModulus,
    FallQuestion,
    RopeType,
    ask_backup,
    ask_lanyard,
    ask_rebelay,
    ask_traverse,
    fall_modulus,
    figure,
    looks_bad,
    tape_modulus,
)
from tethera.web.accounts.visit import Visit, page
from tethera.web.sums.asked import Asked, answer
from tethera.web.sums.fields import Field, RopeOfSum, caver, rope_of_sum, told_by_label

_SCENARIOS = ("backup", "rebelay", "cowstail", "traverse")


@dataclass
class _Form:
    """The fields of one question as they are read, with what each stands for in a formula."""

    asked: Asked
    fields: list[Field] = field(default_factory=list)
    named: dict[str, str] = field(default_factory=dict)

    def length(self, name: str, label: str, span: tuple[float, float], default: float, hint: str = "") -> float:
        """A length in the visitor's unit."""
        self.fields.append(Field(name, label, self.asked.words(name, self.asked.typed_length(default)), hint))
        self.named[f"{name}_m"] = f"“{label}”"
        return self.asked.length_m(name, label, *span, default)

    def height(self, name: str, label: str, most: float, hint: str = "") -> float:
        """A height in metres, below zero too."""
        self.fields.append(Field(name, label, self.asked.words(name, "0"), hint))
        self.named[f"{name}_m"] = f"“{label}”"
        return self.asked.number(name, label, -most, most, "m", 0)


@page()
def falls(visit: Visit) -> HttpResponse:
    """A fall, asked whole."""
    asked = Asked(visit.request.GET, visit.units)
    scenario = asked.choice("what", _SCENARIOS, "backup")
    rope = rope_of_sum(visit, asked, force=scenario != "cowstail")
    form = _Form(asked)
    ask = _QUESTIONS[scenario](form)
    mass, weight = caver(asked, bag=False)
    wet, used, measured = (bool(asked.words(name)) for name in ("wet", "used", "measured"))
    context: dict[str, Any] = {
        "heading": _("Falls"),
        "what": scenario,
        "scenarios": [(each, words) for each, words in _named().items()],
        "fields": (
            *form.fields,
            Field("measured", _("Slack was measured, not guessed"), "on" if measured else "", tick=True),
            weight,
            *(rope.fields if scenario != "cowstail" else ()),
            Field("wet", _("The rope is wet"), "on" if wet else "", tick=True),
            Field("used", _("The rope has been used much"), "on" if used else "", tick=True),
        ),
        "cautions": FALL_CAUTIONS,
    }
    if not asked.wrong:
        known = {"known_by": "measured" if measured else "guessed", "used": used}
        try:
            stiff = fall_modulus(rope.rope_type, rope.elongation, rope.impact_force_kn, wet=wet)
            context |= _worked_out(scenario, ask(mass, stiff, wet, known), rope)
        except ValueError as error:
            asked.wrong.append(told_by_label(error, form.named))
    return answer(visit, "sums/falls.html", context, asked.wrong)


_Ask = Callable[[float, FallModulus, bool, dict[str, Any]], FallQuestion]


def _backup(form: _Form) -> _Ask:
    link = form.length("link", _("Rope between the two anchors"), (0, 20), 0.5, _("Knot to knot, as it lies."))
    below = form.length(
        "below",
        _("Rope down to the caver"),
        (0.2, 1000),
        2.0,
        _("From the main anchor: least is worst."),
    )
    above = form.height("backup_above", _("Backup above the main anchor, metres"), 10)
    return lambda mass, stiff, wet, known: ask_backup(below, link, mass, stiff, backup_above_m=above, **known)


def _rebelay(form: _Form) -> _Ask:
    hang = form.length("hang", _("Down from the anchor above"), (0.5, 500), 10.0)
    slack = form.length("slack", _("Slack in the loop"), (0, 50), 1.0, _("Rope beyond that height, with nobody above."))
    # Another name than the backup's: what was typed there is not meant here.
    below = form.length("under", _("Rope down to the caver"), (0, 500), 0.5, _("From the rebelay."))
    form.named["below_m"] = form.named["under_m"]
    return lambda mass, stiff, wet, known: ask_rebelay(hang, slack, mass, stiff, below_m=below, **known)


def _tail(form: _Form) -> tuple[float, float, Callable[[bool], FallModulus]]:
    tail = form.length("tail", _("Length of the cow's tail"), (0.1, 3), 0.5)
    above = form.height("above", _("Harness above the anchor, metres"), 3, _("Nought: level with it. Below it: −0.2."))
    kinds = ("dynamic", "A", "B", "tape")
    kind = form.asked.choice("of", kinds, "dynamic")
    words = (_("dynamic rope, knotted"), _("low-stretch, type A"), _("low-stretch, type B"), _("sewn tape"))
    form.fields.append(Field("of", _("The cow's tail is of"), kind, options=tuple(zip(kinds, words, strict=True))))
    rope_kind: RopeType = "A" if kind == "A" else "B" if kind == "B" else "dynamic"
    return tail, above, lambda wet: tape_modulus() if kind == "tape" else fall_modulus(rope_kind, wet=wet)


def _cowstail(form: _Form) -> _Ask:
    tail, above, stiffness = _tail(form)
    form.named["length_m"] = form.named["tail_m"]
    return lambda mass, stiff, wet, known: ask_lanyard(tail, above, mass, stiffness(wet), **known)


def _traverse(form: _Form) -> _Ask:
    span = form.length("span", _("Between the two anchors"), (0.3, 50), 3.0)
    slack = form.length("slack", _("Slack in the line"), (0, 25), 0.2, _("Rope beyond that, half as much at most."))
    tail, above, stiffness = _tail(form)
    form.named["line_m"] = form.named["slack_m"]
    return lambda mass, stiff, wet, known: ask_traverse(
        span, slack, mass, stiff, stiffness(wet), tail_m=tail, above_m=above, **known
    )


_QUESTIONS: dict[str, Callable[[_Form], _Ask]] = {
    "backup": _backup,
    "rebelay": _rebelay,
    "cowstail": _cowstail,
    "traverse": _traverse,
}


def _named() -> dict[str, str]:
    return {
        "backup": _("The main anchor fails, the backup takes over"),
        "rebelay": _("A rebelay fails, the anchor above holds"),
        "cowstail": _("A fall on a cow's tail"),
        "traverse": _("A fall at the middle of a traverse"),
    }


def _worked_out(scenario: str, question: FallQuestion, rope: RopeOfSum) -> dict[str, Any]:
    fall, chances = question.answer(), question.chances()
    slacks, grown = question.against_slack()
    force = (float(fall.force_kn.low), float(fall.force_kn.likely), float(fall.force_kn.high))
    limits = (figure("rope", "falls", "warn_from").value, figure("rope", "falls", "ceiling").value)
    slack_word = {"backup": _("rope between the anchors"), "cowstail": _("free fall")}.get(scenario, _("slack"))
    words = {"slack": slack_word, "mass": _("mass"), "stiffness": _("stiffness of the rope")}
    ranking = [(words[name], rho) for name, rho in chances.ranking]
    low, likely, high = ([float(each) for each in row] for row in (grown.low, grown.likely, grown.high))
    lines = (low, likely, high)
    chart = ([float(each) for each in slacks], lines, question.slack_m.mean, limits)
    every = max(1, (len(slacks) - 1) // 4)
    told = (*rope.known, *rope.told) if scenario in ("backup", "rebelay", "traverse") else ()
    return {
        "fall": fall,
        "force": force,
        "bad": looks_bad(fall.force_kn),
        "chances": chances,
        "ranking": ranking,
        "measure_it": chances.ranking[0][0] == "slack",
        "slack_word": slack_word,
        "grown": [(float(slacks[i]), *(row[i] for row in lines)) for i in range(0, len(slacks), every)],
        "assumptions": (*told, *fall.assumptions),
        "drawings": [
            {
                "band": mark_safe(labels.force_band_svg(force, limits, wide=wide, name=f"force-{wide}")),
                "chart": mark_safe(labels.force_chart_svg(*chart, said=slack_word, wide=wide, name=f"slack-{wide}")),
                "ranking": mark_safe(labels.ranking_svg(ranking, wide=wide, name=f"ranking-{wide}")),
            }
            for wide in (640, 340)
        ],
    }
