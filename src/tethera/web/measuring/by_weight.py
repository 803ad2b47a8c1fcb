"""What the scale says of a length: an alarm, never a length."""

from collections.abc import Iterable
from dataclasses import replace

from django.utils.translation import gettext as _

from tethera.basics import Finding
from tethera.store import Event, RopeState, Weighed, weight


def said_by_weight(before: RopeState, life: Iterable[Event], weighed: Weighed, length_cm: int) -> str:
    """In a sentence, for how many metres a weighing speaks; empty where nobody knows what a metre weighs.

    `before` and `life` are the rope as it was known before this weighing: afterwards its own weight would judge itself.
    """
    told = weight(replace(before, length_cm=length_cm), [*life, weighed])
    if told is None or told.speaks_for_cm is None:
        return ""
    said = _("Its weight speaks for about {metres} m.").format(metres=round(told.speaks_for_cm / 100))
    return said if not told.astray else f"{said} {_('That is far from what was counted.')}"


def alarm(before: RopeState, life: Iterable[Event], weighed: Weighed, length_cm: int) -> tuple[Finding, ...]:
    """The doubt, where a rope of usual mass weighs for many metres more or fewer than were counted.

    A declared or weighed mass is compared where the weighing is recorded.
    """
    told = weight(replace(before, length_cm=length_cm), [*life, weighed])
    if told is None or not told.astray or before.mass_g_per_m is not None:
        return ()
    message = _("By the usual mass of its diameter it weighs for about {metres} m.")
    way_out = _("Count it again. Is it dry, and is it this rope?")
    metres = round((told.speaks_for_cm or 0) / 100)
    return (Finding("weight-astray", f"rope {before.id}", message.format(metres=metres), way_out),)
