"""What to do next with a rope: one act, by its state and by who looks; and the way out of each doubt."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils.translation import gettext as _

from tethera.basics import Finding
from tethera.store import RopeState
from tethera.web.accounts.roles import May
from tethera.web.accounts.visit import Visit
from tethera.web.ropes.one_acts import ACTS, Act, form_of
from tethera.web.ropes.one_forms import ActForm


@dataclass(frozen=True)
class Next:
    """The first act: a form on the page itself, or a link to the page where it is done, or who must do it."""

    words: str
    act: Act | None = None
    form: ActForm | None = None
    url: str = ""
    label: str = ""


#: What a rope in preparation waits for, and the act that does it here.
_STEPS = {"wash": "washed", "dry": "dried", "put into service": "put-into-service"}


def next_of(visit: Visit, state: RopeState) -> Next:
    """What to do next."""
    codes = {each.code for each in state.findings}
    match state.state:
        case "retired":
            if state.children:
                return Next("")
            if state.with_somebody:
                told = _("It was retired while somebody has it. Fetch it back, then cut it up.")
                return _link(visit, May.TAKE, told, "out-and-back", _("Bring it back"), query=f"?back={state.id}#back")
            return Next(_("It is out of service for good. Cut it up, so that nobody takes it by mistake."))
        case "missing":
            return _form(visit, state, "found", _("It is missing. When it turns up:"), _("It is missing: look for it."))
        case "set aside" if not state.in_the_store:
            told = _("It is set aside, and not here. Fetch it back; a competent person looks at it then.")
            return _link(visit, May.TAKE, told, "out-and-back", _("Bring it back"), query=f"?back={state.id}#back")
        case "set aside":
            waits = _("Nobody may take it until a competent person clears it.")
            return _link(visit, May.INSPECT, waits, "inspect-rope", _("Examine it"), state.id)
        case "out" | "rigged":
            told = _("When it comes back:") if visit.may(May.TAKE) else ""
            return _link(visit, May.TAKE, told, "out-and-back", _("Bring it back"), query=f"?back={state.id}#back")
        case "in preparation":
            return _prepare(visit, state)
    if "over-age" in codes:
        return _link(visit, May.KEEP, _("It is over its age limit."), "rope-retire", _("Retire it"), state.id)
    if "inspection-due" in codes:
        return _link(visit, May.INSPECT, _("Its examination is due."), "inspect-rope", _("Examine it"), state.id)
    if state.length_cm is None or "never-measured" in codes:
        told = _("Nobody here has measured it.")
        return _link(visit, May.PREPARE, told, "measure-rope", _("Measure it"), state.id)
    return _link(visit, May.TAKE, _("It is ready."), "out-and-back", _("Take it out"), query=f"?take={state.id}")


def _prepare(visit: Visit, state: RopeState) -> Next:
    step = state.waits[0]
    told = {
        "wash": _("It waits for its wash."),
        "dry": _("It is drying."),
        "measure": _("It waits to be measured: twice, slack and dry."),
        "mark": _("Its marks are void: {why}.").format(why=state.marks_void)
        if state.marks_void
        else _("It waits for its marks."),
        "check": _("It waits to be looked over by a competent person."),
        "put into service": _("It waits to be put into service."),
    }[step]
    if step == "measure":
        return _link(visit, May.PREPARE, told, "measure-rope", _("Measure it"), state.id)
    if step == "mark":
        return _link(visit, May.PREPARE, told, "marks", _("Print or letter its marks"), query=f"?rope={state.id}")
    if step == "check":
        return _link(visit, May.INSPECT, told, "inspect-rope", _("Examine it"), state.id)
    return _form(visit, state, _STEPS[step], told, told)


def _form(visit: Visit, state: RopeState, word: str, told: str, else_told: str) -> Next:
    act = ACTS[word]
    return Next(told, act, form_of(visit, state, act)) if visit.may(act.needs) else Next(else_told)


def _link(visit: Visit, needs: May, told: str, page: str, label: str, *more: str, query: str = "") -> Next:
    if not visit.may(needs):
        return Next(told)
    return Next(told, url=reverse(page, args=[visit.store.slug, *more]) + query, label=label)


@dataclass(frozen=True)
class Doubt:
    """A finding with the page that answers it, where this visitor may."""

    finding: Finding
    url: str = ""
    by: str = ""


_MEASURE = ("measure-rope", May.PREPARE)
_DESCRIBE = ("rope-describe", May.KEEP)
_EXAMINE = ("inspect-rope", May.INSPECT)
_RETIRE = ("rope-retire", May.KEEP)
#: Where each doubt is answered; those not named here are answered by a correction, in the rope's life.
_ANSWERED = {
    **dict.fromkeys(("length-unknown", "never-measured", "not-measured", "measured-wet", "counts-disagree"), _MEASURE),
    **dict.fromkeys(
        (
            "longer-than-before",
            "much-shorter",
            "weight-astray",
            "pieces-too-long",
            "length-not-counted",
            "counted-once",
        ),
        _MEASURE,
    ),
    **dict.fromkeys(("type-unknown", "age-unknown", "perhaps-over-age"), _DESCRIBE),
    **dict.fromkeys(("inspection-due", "used-unready", "fit-with-faults", "washed-hot"), _EXAMINE),
    "over-age": _RETIRE,
}
_ACT_ANSWERS = {
    "not-washed": "washed",
    "not-dried": "dried",
    "not-seen": "missed",
    "booked-twice": "release",
}


def doubts_of(visit: Visit, state: RopeState) -> list[Doubt]:
    """Every finding of a rope, each with its way out as a link where the visitor may go it."""
    said_by = {"fit-with-faults": visit.name(state.fit_beside_by) if state.fit_beside_by else ""}
    found = dict.fromkeys(state.findings)
    return [Doubt(each, way_out(visit, state, each.code), said_by.get(each.code, "")) for each in found]


def way_out(visit: Visit, state: RopeState, code: str) -> str:
    """Where a doubt about a rope is answered, when the visitor may; an address, or a place on the rope's own page."""
    slug = visit.store.slug
    if code in _ANSWERED:
        page, needs = _ANSWERED[code]
        return reverse(page, args=[slug, state.id]) if visit.may(needs) else ""
    if code in ("mark-overstates", "mark-void", "mark-other-owner", "booked-mark-void", "not-marked"):
        return f"{reverse('marks', args=[slug])}?rope={state.id}" if visit.may(May.PREPARE) else ""
    if code in _ACT_ANSWERS:
        act = ACTS[_ACT_ANSWERS[code]]
        return reverse("rope-do", args=[slug, state.id, act.word]) if visit.may(act.needs) else ""
    if code in ("overdue", "taken-unready", "retired-while-out"):
        return reverse("out-and-back", args=[slug]) + f"?back={state.id}#back" if visit.may(May.TAKE) else ""
    return "#life" if visit.may(May.KEEP) else ""
