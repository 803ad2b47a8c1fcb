"""What can wait, in words: what it is called on the page, where it is done, whether it needs a hand at once."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.urls import reverse
from django.utils.functional import Promise
from django.utils.http import urlencode
from django.utils.translation import gettext_lazy as _

from tethera.web.accounts.roles import May


@dataclass(frozen=True)
class Act:
    """`what` is the register's word for it, `finding` the code of its finding, `page` where who `needs` may does it."""

    what: str
    title: Promise
    page: str
    go: Promise
    needs: May
    at_once: bool = False
    finding: str = ""


ACTS = (
    Act(
        "mark it anew",
        _("Marks no longer true"),
        "marks",
        _("Mark anew"),
        May.PREPARE,
        True,
        "mark-overstates",
    ),
    Act("retire", _("Over its age"), "ropes", _("Retire"), May.KEEP, True, "over-age"),
    Act("fetch it back", _("Should be back"), "out-and-back", _("Bring back"), May.TAKE, True, "overdue"),
    Act("inspect", _("To be examined"), "inspect", _("Examine"), May.INSPECT, True, "inspection-due"),
    Act("look for it", _("Missing"), "stocktake", _("Look for it"), May.PREPARE, True),
    Act("wash", _("To be washed"), "preparation", _("Record the wash"), May.PREPARE),
    Act("dry", _("Drying"), "preparation", _("Record that it is dry"), May.PREPARE),
    Act("check", _("To be checked"), "preparation", _("Record the check"), May.INSPECT),
    Act("measure", _("To be measured"), "measure", _("Measure"), May.PREPARE, finding="never-measured"),
    Act("mark", _("To be marked"), "marks", _("Mark them"), May.PREPARE),
    Act("put into service", _("Waits to be put into service"), "preparation", _("Put into service"), May.PREPARE),
    Act("find its age", _("Nobody knows its age"), "ropes", _("Look for its papers"), May.KEEP, finding="age-unknown"),
)

#: Where the act is done when one rope alone waits for it: the page, and what its address asks for.
ALONE = {
    "mark it anew": ("marks", None, "rope"),
    "wash": ("preparation-step", "washed", "rope"),
    "mark": ("marks", None, "rope"),
    "check": ("preparation-step", "checked", "rope"),
    "fetch it back": ("bring-back", None, "numbers"),
    "retire": ("rope-retire", "", None),
    "inspect": ("inspect-rope", "", None),
    "measure": ("measure-rope", "", None),
    "find its age": ("rope-describe", "", None),
    # Their next act stands on the rope's own page.
    "look for it": ("rope", "", None),
    "dry": ("rope", "", None),
    "put into service": ("rope", "", None),
}


def address(slug: str, act: Act, ropes: Sequence[str]) -> str:
    """Where an act is done: for one rope at once, for several on the page where they are picked."""
    if len(ropes) != 1:
        query = f"?{urlencode({'doubt': act.finding})}" if act.page == "ropes" else ""
        return reverse(act.page, args=[slug]) + query
    page, word, asks = ALONE[act.what]
    more = [] if word is None else [word or ropes[0]]
    return reverse(page, args=[slug, *more]) + (f"?{urlencode({asks: ropes[0]})}" if asks else "")


#: Doubts that are said above already, as something that waits.
SAID = frozenset((*(act.finding for act in ACTS if act.finding), "mark-void", "length-unknown"))
