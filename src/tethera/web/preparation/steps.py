"""The steps of preparation, in words: what each is called, and what its button says."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True)
class Step:
    """`word` stands in the address. A step with `details` is asked about on a screen of its own before it is recorded.

    `first` is what a rope waits for when this is its next step, "" for a step that no rope waits for.
    """

    word: str
    name: Promise
    button: Promise
    done: Promise
    first: str = ""
    title: Promise | str = ""
    details: bool = False


STEPS = (
    Step("chained", _("chained"), _("Record the chaining"), _("Chained: {ropes}."), details=True),
    Step("washed", _("washed"), _("Record the wash"), _("Washed: {ropes}."), "wash", _("To be washed"), True),
    Step("spun", _("spun"), _("Record the spin"), _("Spun, still damp: {ropes}.")),
    Step("dried", _("dry"), _("Record that they are dry"), _("Dry: {ropes}."), "dry", _("Drying")),
    Step("marked", _("marked"), _("Record the marks"), _("Both ends marked: {ropes}."),
         "mark", _("To be marked"), True),
    Step("checked", _("checked"), _("Record the check"), _("Checked: {ropes}."), "check", _("To be checked"), True),
    Step("put-into-service", _("put into service"), _("Put into service"), _("In service: {ropes}."),
         "put into service", _("Waits to be put into service")),
)  # fmt: skip

BY_WORD = {step.word: step for step in STEPS}
BY_WAIT = {step.first: step for step in STEPS if step.first}
