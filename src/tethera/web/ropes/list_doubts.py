"""Each kind of doubt in a word or two, for a column of the list and for its filter."""

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from tethera.store import RopeState
from tethera.web.today.acts import ACTS

#: By the finding's code; docs/glossary.md says at length what each is.
WORDS: dict[str, Promise] = {
    "unknown-rope": _("nobody knows where from"),
    "number-twice": _("number given twice"),
    "before-bought": _("dates out of order"),
    "before-it-was": _("dates out of order"),
    "made-later": _("dates out of order"),
    "not-yet": _("a day still to come"),
    "after-retirement": _("used after it was retired"),
    "retired-while-out": _("retired while out"),
    "cut-twice": _("cut twice"),
    "cut-before-found": _("cut before it was found whole"),
    "longer-than-before": _("became longer"),
    "much-shorter": _("much shorter"),
    "shrinkage-astray": _("shrank unlike its kind"),
    "counts-disagree": _("counts disagree"),
    "counted-once": _("counted once"),
    "washed-hot": _("washed hot"),
    "measured-wet": _("measured wet"),
    "weight-astray": _("weight astray"),
    "pieces-too-long": _("pieces too long"),
    "length-not-counted": _("length none of its counts says"),
    "beyond-its-end": _("a place beyond its end"),
    "not-washed": _("never washed"),
    "not-dried": _("not known to be dry"),
    "not-measured": _("in service unmeasured"),
    "not-marked": _("in service unmarked"),
    "taken-unready": _("taken unready"),
    "used-unready": _("used unready"),
    "never-taken": _("back, but never taken"),
    "not-missing": _("found, but not missing"),
    "not-set-aside": _("cleared, but not set aside"),
    "no-such-booking": _("no such booking"),
    "booked-no-more": _("was booked"),
    "odd-elongation": _("odd elongation"),
    "odd-impact-force": _("odd impact force"),
    "longer-than-a-reel": _("longer than a reel"),
    "mark-overstates": _("mark says too much"),
    "mark-void": _("marks void"),
    "mark-other-owner": _("names the store as it was"),
    "booked-mark-void": _("booked, marks void"),
    "fit-with-faults": _("fit, beside a fault"),
    "length-unknown": _("length not known"),
    "never-measured": _("never measured"),
    "type-unknown": _("type not declared"),
    "age-unknown": _("age not known"),
    "over-age": _("over its age"),
    "perhaps-over-age": _("perhaps over its age"),
    "inspection-due": _("examination due"),
    "overdue": _("should be back"),
    "booked-twice": _("booked twice"),
    "seen-on-rack": _("seen on the rack"),
    "not-seen": _("not seen at the stocktake"),
    "no-such-event": _("corrects what is not there"),
}
#: Those that need a hand now.
AT_ONCE = frozenset(act.finding for act in ACTS if act.at_once and act.finding)
_GRAVE = (*sorted(AT_ONCE), "mark-void", "length-unknown", "never-measured")
_GRAVEST = {code: place for place, code in enumerate(_GRAVE)}


def word(code: str) -> str:
    """A kind of doubt in a word or two."""
    return str(WORDS.get(code) or code.replace("-", " "))


def codes_of(state: RopeState) -> tuple[str, ...]:
    """The kinds of doubt about a rope, each once, what needs a hand now first."""
    found = dict.fromkeys(each.code for each in state.findings)
    return tuple(sorted(found, key=lambda code: _GRAVEST.get(code, len(_GRAVEST))))
