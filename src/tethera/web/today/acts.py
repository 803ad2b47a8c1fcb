"""What can wait, in words: what it is called on the page, where it is done, whether it needs a hand at once."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True)
class Act:
    """`what` is the register's word for it, `finding` the code of the finding it answers, `page` where it is done."""

    what: str
    title: Promise
    page: str
    go: Promise
    at_once: bool = False
    finding: str = ""


ACTS = (
    Act("mark it anew", _("The mark says more than there is"), "preparation", _("Mark anew"), True, "mark-overstates"),
    Act("retire", _("Over its age"), "ropes", _("Retire"), True, "over-age"),
    Act("fetch it back", _("Should be back"), "out-and-back", _("Bring back"), True, "overdue"),
    Act("inspect", _("To be examined"), "inspect", _("Examine"), True, "inspection-due"),
    Act("look for it", _("Missing"), "stocktake", _("Look for it"), True),
    Act("wash", _("To be washed"), "preparation", _("Record the wash")),
    Act("dry", _("Drying"), "preparation", _("Record that it is dry")),
    Act("check", _("To be checked"), "preparation", _("Record the check")),
    Act("measure", _("To be measured"), "measure", _("Measure"), finding="never-measured"),
    Act("mark", _("To be marked"), "preparation", _("Record the marks")),
    Act("put into service", _("Waits to be put into service"), "preparation", _("Put into service")),
    Act("find its age", _("Nobody knows its age"), "ropes", _("Look for its papers"), finding="age-unknown"),
)
